"""Trains the page network on simulated photos, in short resumable runs.

    python -m checker.training.train_layout --data shared/handwriting --fonts .fonts --out RUN \\
        --minutes 9 --of 9 --done 0 [--resume RUN/layout.pt]
"""

from __future__ import annotations

import argparse
import math
import os
import time
from collections.abc import Iterator
from pathlib import Path

import cv2
import numpy as np
import torch
from torch import Tensor
from torch.nn import functional
from torch.utils.data import DataLoader, IterableDataset, get_worker_info

from checker.training.hands import Hand, load_hands
from checker.training.layout_model import (
    CORE,
    DOWN,
    DRAWING,
    LONG_SIDE,
    PAPER,
    SPAN,
    STRIDE,
    UP,
    LayoutNet,
)
from checker.training.lines import Split
from checker.training.pages import Page, make_page
from checker.training.photo import Shot, photograph
from checker.training.students import page as student_page
from checker.training.varied import varied

PEAK = 2e-3
FRAME = (1280, 960)  # H, W of an upright training picture


def targets(page: Page, shot: Shot, scale: float, size: tuple[int, int]) -> np.ndarray:
    """Maps (5, H/4, W/4) float32 for a photo that was resized by ``scale`` into ``size`` (H, W)."""
    high, wide = size[0] // STRIDE, size[1] // STRIDE
    maps = np.zeros((5, high, wide), np.float32)
    to_map = lambda mm: shot.to_pixels(mm) * scale / STRIDE  # noqa: E731
    shift = 4
    fixed = lambda points: np.round(points * 2**shift).astype(np.int32)  # noqa: E731
    core = np.zeros((high, wide), np.uint8)
    width, height = page.sheet.size
    edge = np.linspace(0, 1, 12)[:, None]
    corners = np.array([[0, 0], [width, 0], [width, height], [0, height]], float)
    rim = np.concatenate(
        [corners[k] + edge * (corners[(k + 1) % 4] - corners[k]) for k in range(4)]
    )
    paper = np.zeros((high, wide), np.uint8)
    cv2.fillPoly(paper, [fixed(to_map(rim))], 1, shift=shift)
    for x0, y0, x1, y1 in page.drawings:
        box = np.array([[x0, y0], [x1, y0], [x1, y1], [x0, y1]], float)
        cv2.fillPoly(core, [fixed(to_map(box))], 2, shift=shift)
    maps[DRAWING] = core == 2
    for line in page.lines:
        written = line.written
        centre = to_map(written.centre)
        up = np.linalg.norm(to_map(written.centre - [0, 1.0]) - centre, axis=1).mean() * written.up
        down = (
            np.linalg.norm(to_map(written.centre + [0, 1.0]) - centre, axis=1).mean() * written.down
        )
        tall = float((up + down).mean())
        thick = max(1, round(min(0.34 * tall, 0.6 * float(min(up.mean(), down.mean())) + 0.8)))
        one = np.zeros((high, wide), np.uint8)
        cv2.polylines(one, [fixed(centre)], False, 1, thick, cv2.LINE_8, shift)
        inside = one > 0
        core[inside] = 1
        maps[UP][inside] = up.mean() * STRIDE / SPAN
        maps[DOWN][inside] = down.mean() * STRIDE / SPAN
    maps[CORE] = core == 1
    maps[PAPER] = paper
    return maps


class Pages(IterableDataset):
    """Batches of simulated photos with their maps; every worker loads the hands after the fork."""

    def __init__(
        self, split: Split, data: Path, fonts: Path, seed: int, batch: int, crop: int = 0
    ) -> None:
        self.split, self.data, self.fonts = split, data, fonts
        self.seed, self.batch, self.crop = seed, batch, crop

    def __iter__(self) -> Iterator[tuple[Tensor, Tensor, Tensor]]:
        cv2.setNumThreads(1)
        np.empty(31 << 20, np.uint8)  # makes the allocator keep pages
        worker = get_worker_info()
        rng = np.random.default_rng([self.seed, worker.id if worker else 0])
        hands: list[Hand] = load_hands("pen", self.split, self.data, self.fonts)
        hands += load_hands("font", self.split, self.data, self.fonts)
        while True:
            turned = rng.random() < 0.25
            quarter = int(rng.integers(4)) if turned else 0
            made = [one_page(rng, hands, quarter, self.crop) for _ in range(self.batch)]
            image, maps, turns = (
                torch.from_numpy(np.stack([np.asarray(page[k]) for page in made])) for k in range(3)
            )
            yield image, maps, turns


def one_page(
    rng: np.random.Generator, hands: list[Hand], quarter: int, crop: int = 0
) -> tuple[np.ndarray, np.ndarray, int]:
    """A photo, mostly flattened as the reading program does, or a square part of it, and maps."""
    hand = varied(rng, hands)
    texts = student_texts(rng) if rng.random() < 0.5 else None
    page = make_page(rng, hand, texts)
    shot = photograph(page.sheet, rng, megapixels=float(rng.uniform(1.2, 2.6)))
    if rng.random() < 0.7:
        shot = flattened(shot, page, rng)
    high, wide = shot.image.shape[:2]
    scale = min(FRAME[0] / high, FRAME[1] / wide)
    small = cv2.resize(
        shot.image, (round(wide * scale), round(high * scale)), interpolation=cv2.INTER_AREA
    )
    # The frame's rest is grey, as the reading program pads it.
    image = np.full((*FRAME, 3), 127, np.uint8)
    image[: small.shape[0], : small.shape[1]] = small[: FRAME[0], : FRAME[1]]
    maps = targets(page, shot, scale, FRAME)
    if crop:
        y, x = (
            np.argwhere(maps[CORE] > 0)[rng.integers(int(maps[CORE].sum()))]
            if maps[CORE].any()
            else (0, 0)
        )
        cells = crop // STRIDE
        top = int(np.clip(y - rng.integers(cells), 0, FRAME[0] // STRIDE - cells))
        left = int(np.clip(x - rng.integers(cells), 0, FRAME[1] // STRIDE - cells))
        maps = maps[:, top : top + cells, left : left + cells]
        top, left = top * STRIDE, left * STRIDE
        image = image[top : top + crop, left : left + crop]
    image = np.rot90(image, quarter)  # counter-clockwise: to be turned back clockwise
    maps = np.rot90(maps, quarter, (1, 2))
    return np.ascontiguousarray(image.transpose(2, 0, 1)), np.ascontiguousarray(maps), quarter


def student_texts(rng: np.random.Generator) -> list[tuple[str, str]]:
    """Work full of stacked fractions; only where it stands matters here."""
    page = student_page(int(rng.integers(1, 99_999)), "any")
    return [(line.markup, "struck" if line.struck else "working") for line in page.lines]


def flattened(shot: Shot, page: Page, rng: np.random.Generator) -> Shot:
    """The sheet cut out and made level, its corners found about right."""
    width, height = page.sheet.size
    corners = shot.to_pixels(np.array([[0, 0], [width, 0], [width, height], [0, height]], float))
    corners = corners + rng.normal(0, 0.008 * np.ptp(corners), corners.shape)
    size = (round(FRAME[0] * width / height), FRAME[0])
    frame = np.array([[0, 0], [size[0], 0], size, [0, size[1]]], np.float32)
    matrix = cv2.getPerspectiveTransform(corners.astype(np.float32), frame)
    image = cv2.warpPerspective(
        shot.image, matrix, size, flags=cv2.INTER_AREA, borderMode=cv2.BORDER_REPLICATE
    )

    def to_pixels(mm: np.ndarray) -> np.ndarray:
        return cv2.perspectiveTransform(shot.to_pixels(mm)[:, None].astype(np.float64), matrix)[
            :, 0
        ]

    return Shot(image, to_pixels, shot.quality)


def losses(net: LayoutNet, batch: tuple[Tensor, Tensor, Tensor]) -> dict[str, Tensor]:
    image, maps, turns = batch
    found, turn = net((image.float() / 255).contiguous(memory_format=torch.channels_last))
    found = found.float()
    upright = float(turns[0] == 0)  # a batch is turned as a whole
    core, truth = found[:, CORE], maps[:, CORE]
    probability = torch.sigmoid(core)
    dice = 1 - (2 * (probability * truth).sum() + 1) / (probability.sum() + truth.sum() + 1)
    # Cells right above or below a band must stay empty, or crowded lines grow together.
    near = functional.max_pool2d(truth[:, None], (7, 3), 1, (3, 1))[:, 0] - truth
    crossing = functional.binary_cross_entropy_with_logits(core, truth, 1 + 3 * near)
    inside = truth > 0.5
    span = functional.smooth_l1_loss(
        torch.stack([found[:, UP][inside], found[:, DOWN][inside]]),
        torch.stack([maps[:, UP][inside], maps[:, DOWN][inside]]), beta=0.1,
    ) if inside.any() else core.sum() * 0  # fmt: skip
    area = functional.binary_cross_entropy_with_logits(found[:, DRAWING:], maps[:, DRAWING:])
    way = functional.cross_entropy(turn.float(), turns)
    return {"core": upright * crossing, "dice": upright * dice, "span": upright * span,
            "area": area, "turn": way}  # fmt: skip


def main() -> None:
    parse = argparse.ArgumentParser(description=__doc__)
    parse.add_argument("--data", type=Path, required=True)
    parse.add_argument("--fonts", type=Path, required=True)
    parse.add_argument("--out", type=Path, required=True)
    parse.add_argument("--minutes", type=float, required=True)
    parse.add_argument("--of", type=float, required=True)
    parse.add_argument("--done", type=float, default=0.0)
    parse.add_argument("--resume", type=Path)
    parse.add_argument("--workers", type=int, default=max((os.cpu_count() or 2) - 1, 1))
    parse.add_argument("--seed", type=int, default=5)
    parse.add_argument("--batch", type=int, default=8)
    parse.add_argument("--crop", type=int, default=0, help="side of square parts; 0: whole pages")
    parse.add_argument("--peak", type=float, default=PEAK)
    options = parse.parse_args()
    device = "cuda" if torch.cuda.is_available() else "cpu"
    torch.manual_seed(options.seed)
    torch.backends.cudnn.benchmark = True
    net = LayoutNet().to(device, memory_format=torch.channels_last)
    if options.resume:
        net.load_state_dict(torch.load(options.resume, map_location=device))
    optimiser = torch.optim.AdamW(net.parameters(), lr=PEAK, weight_decay=0.01)
    pages = Pages("train", options.data, options.fonts, options.seed, options.batch, options.crop)
    loader = DataLoader(pages, batch_size=None,
                        num_workers=options.workers, prefetch_factor=2)  # fmt: skip
    start, steps = time.monotonic(), 0
    totals: dict[str, float] = {}
    net.train()
    if options.crop:  # small batches: the averages of the long run serve better
        for part in net.modules():
            if isinstance(part, torch.nn.BatchNorm2d):
                part.eval()
    for batch in loader:
        spent = (time.monotonic() - start) / 60
        if spent >= options.minutes:
            break
        progress = min((options.done + spent) / options.of, 1.0)
        for group in optimiser.param_groups:
            rate = options.peak * min(spent / 0.3, 1.0)
            group["lr"] = rate * (0.505 + 0.495 * math.cos(math.pi * progress))
        moved = tuple(part.to(device) for part in batch)
        with torch.autocast(device, torch.bfloat16, enabled=device == "cuda"):
            parts = losses(net, moved)
        loss = (
            4 * parts["core"] + parts["dice"] + parts["span"] + parts["area"] + 0.3 * parts["turn"]
        )
        optimiser.zero_grad(set_to_none=True)
        loss.backward()
        torch.nn.utils.clip_grad_norm_(net.parameters(), 1.0)
        optimiser.step()
        steps += 1
        for key, value in parts.items():
            value = value.detach()
            if value != 0:
                totals[key] = 0.97 * totals.get(key, float(value)) + 0.03 * float(value)
        if steps % 100 == 0 or steps == 1:
            shown = " ".join(f"{key} {value:.3f}" for key, value in totals.items())
            rate = steps * options.batch / spent / 60
            print(f"layout {spent:5.2f} min  step {steps}  {rate:.1f} pages/s  {shown}", flush=True)
    options.out.mkdir(parents=True, exist_ok=True)
    torch.save({k: v.float().cpu() for k, v in net.state_dict().items()}, options.out / "layout.pt")
    print(f"layout trained on {steps * options.batch} pages; long side {LONG_SIDE}", flush=True)


if __name__ == "__main__":
    main()
