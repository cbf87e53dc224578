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
from typing import Literal

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
from checker.training.pages import Page, make_page
from checker.training.photo import Shot, photograph

Split = Literal["train", "validation"]
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

    def __init__(self, split: Split, data: Path, fonts: Path, seed: int, batch: int) -> None:
        self.split, self.data, self.fonts, self.seed, self.batch = split, data, fonts, seed, batch

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
            images, maps, turns = [], [], []
            for _ in range(self.batch):
                image, target, turn = one_page(rng, hands, quarter)
                images.append(image)
                maps.append(target)
                turns.append(turn)
            yield tuple(
                torch.from_numpy(np.stack(part)) for part in (images, maps, np.array(turns))
            )  # type: ignore[misc]


def one_page(
    rng: np.random.Generator, hands: list[Hand], quarter: int
) -> tuple[np.ndarray, np.ndarray, int]:
    page = make_page(rng, hands[int(rng.integers(len(hands)))])
    shot = photograph(page.sheet, rng, megapixels=float(rng.uniform(1.2, 2.6)))
    high, wide = shot.image.shape[:2]
    scale = min(FRAME[0] / high, FRAME[1] / wide)
    small = cv2.resize(
        shot.image, (round(wide * scale), round(high * scale)), interpolation=cv2.INTER_AREA
    )
    # The frame's rest is grey, as the reading program pads it.
    image = np.full((*FRAME, 3), 127, np.uint8)
    image[: small.shape[0], : small.shape[1]] = small[: FRAME[0], : FRAME[1]]
    maps = targets(page, shot, scale, FRAME)
    image = np.rot90(image, quarter)  # counter-clockwise: to be turned back clockwise
    maps = np.rot90(maps, quarter, (1, 2))
    return np.ascontiguousarray(image.transpose(2, 0, 1)), np.ascontiguousarray(maps), quarter


def losses(net: LayoutNet, batch: tuple[Tensor, Tensor, Tensor]) -> dict[str, Tensor]:
    image, maps, turns = batch
    found, turn = net(image.float() / 255)
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
    options = parse.parse_args()
    device = "cuda" if torch.cuda.is_available() else "cpu"
    torch.manual_seed(options.seed)
    net = LayoutNet().to(device)
    if options.resume:
        net.load_state_dict(torch.load(options.resume, map_location=device))
    optimiser = torch.optim.AdamW(net.parameters(), lr=PEAK, weight_decay=0.01)
    loader = DataLoader(Pages("train", options.data, options.fonts, options.seed, 8), batch_size=None,
                        num_workers=options.workers, prefetch_factor=2)  # fmt: skip
    start, steps = time.monotonic(), 0
    totals: dict[str, float] = {}
    net.train()
    for batch in loader:
        spent = (time.monotonic() - start) / 60
        if spent >= options.minutes:
            break
        progress = min((options.done + spent) / options.of, 1.0)
        for group in optimiser.param_groups:
            group["lr"] = (
                PEAK * min(spent / 0.3, 1.0) * (0.505 + 0.495 * math.cos(math.pi * progress))
            )
        moved = tuple(part.to(device) for part in batch)
        with torch.autocast(device, torch.bfloat16):
            parts = losses(net, moved)  # type: ignore[arg-type]
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
            print(
                f"layout {spent:5.2f} min  step {steps}  {steps * 8 / spent / 60:.1f} pages/s  {shown}",
                flush=True,
            )
    options.out.mkdir(parents=True, exist_ok=True)
    torch.save({k: v.float().cpu() for k, v in net.state_dict().items()}, options.out / "layout.pt")
    print(f"layout trained on {steps * 8} pages; long side {LONG_SIDE}", flush=True)


if __name__ == "__main__":
    main()
