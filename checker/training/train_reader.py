"""Trains the line reader in short resumable runs.

    python -m checker.training.train_reader --data shared/handwriting --fonts .fonts --out RUN \\
        --minutes 9 --of 18 --done 0 [--resume RUN/reader_state.pt]

``--minutes`` is this run, ``--of`` all runs together and ``--done`` the minutes trained before:
the learning rate follows the whole plan (warm-up, then a cosine down to nothing).  OUT receives the
checkpoint (``reader_state.pt``) and, to ship, the running mean of the weights (``reader.pt``).
"""

from __future__ import annotations

import argparse
import math
import os
import time
from collections.abc import Iterator
from functools import partial
from pathlib import Path

import cv2
import numpy as np
import torch
from torch import Tensor
from torch.nn import functional
from torch.optim.swa_utils import AveragedModel, get_ema_multi_avg_fn
from torch.utils.data import DataLoader, IterableDataset, get_worker_info

from checker.training.lines import CELLS_PER_LINE, Batch, Lines, Split, batches, load_both, one_of
from checker.training.page_lines import PageLines
from checker.training.reader_model import BOS, CELL, EOS, HEIGHT, MEMORY_ROW, PAD, LineNet, padding
from checker.training.varied import varied

PEAK = 1.5e-3
ECHO = 3
LINES = 256
MEMORY = 500  # updates over which the shipped weights are averaged
LEAN, FLAT = 0.1, (0.97, 1.1)  # how far a line used again leans and how flat it becomes
KEEP = 250  # steps after which a checkpoint is kept
PAGE_WORKERS = 2  # every second worker cuts its lines from whole photos


class Stream(IterableDataset):
    """Every worker loads the hands (after the fork: OpenCV's threads do not survive one) and draws
    its own lines for ever."""

    def __init__(
        self,
        split: Split,
        data: Path,
        fonts: Path,
        seed: int,
        kind: str = "both",
        most: int | None = None,
        cells: int = LINES * CELLS_PER_LINE,
    ) -> None:
        self.split, self.seed, self.most, self.cells = split, seed, most, cells
        self.hands = partial(load_both, split, data, fonts, kind)

    def __iter__(self) -> Iterator[tuple[Tensor, ...]]:
        cv2.setNumThreads(1)
        np.empty(31 << 20, np.uint8)  # makes the allocator keep pages: strips come a third faster
        worker = get_worker_info()
        rng = np.random.default_rng([self.seed, worker.id if worker else 0])
        cuts_pages = worker is not None and worker.id % PAGE_WORKERS == PAGE_WORKERS - 1
        kind = PageLines if cuts_pages else Lines
        source = kind(*self.hands(), rng, choose=one_of if self.split == "validation" else varied)
        made = 0
        for batch in batches(source, self.cells):
            yield to_tensors(batch)
            made += len(batch.widths)
            if self.most and made >= self.most:
                return


def to_tensors(batch: Batch) -> tuple[Tensor, ...]:
    return tuple(map(torch.from_numpy, (batch.image, batch.ids, batch.boxes, batch.widths)))


def prepare(image: Tensor) -> Tensor:
    """uint8 (N, 96, W) -> float (N, 1, 96, W) with ink near 1."""
    return (255.0 - image[:, None].float()) / 255.0


def vary(image: Tensor, boxes: Tensor) -> tuple[Tensor, Tensor]:
    """The same lines leaning otherwise, flatter or taller, and bent a little, with a thinner or
    thicker pen and in another light: contrast, shade and grain drawn anew (uint8 in and out)."""
    n = len(image)
    draw = lambda low, high: torch.empty((n, 1, 1), device=image.device).uniform_(low, high)  # noqa: E731
    lean, flat = draw(-LEAN, LEAN), draw(*FLAT)
    ink = bent(255.0 - image.float(), lean, flat)
    boxes = boxes.clone()
    middle = HEIGHT / 2
    boxes[..., 1::2] = middle + (boxes[..., 1::2] - middle) / flat
    boxes[..., ::2] -= lean * ((boxes[..., 1:2] + boxes[..., 3:4]) / 2 - middle)
    pen = draw(-0.8, 1.0)
    thick = functional.max_pool2d(ink[:, None], 3, 1, 1)[:, 0]
    thin = -functional.max_pool2d(-ink[:, None], 3, 1, 1)[:, 0]
    ink = ink + (thick - ink) * (pen - 0.4).clamp(min=0) + (thin - ink) * (-0.4 - pen).clamp(min=0)
    ink = ink * draw(0.55, 1.25) + draw(-6, 18)
    ink += torch.randn_like(ink) * draw(0, 9)
    return (255.0 - ink).clamp(0, 255).to(torch.uint8), boxes


def losses(net: LineNet, batch: tuple[Tensor, ...]) -> dict[str, Tensor]:
    image, ids, boxes, widths = batch
    n = len(ids)
    memory, cells = net.encoder(prepare(image).contiguous(memory_format=torch.channels_last))
    hidden = padding(widths, memory.shape[1])
    inputs = torch.cat([torch.full((n, 1), BOS, device=ids.device), ids[:, :-1].clamp(min=0)], 1)
    # A tenth of the tokens fed back are wrong: the decoder must trust the ink, not its last word.
    blur = torch.rand(inputs.shape, device=ids.device) < 0.08
    blur[:, 0] = False
    noise = torch.randint(3, net.decoder.name.out_features, inputs.shape, device=ids.device)
    inputs = torch.where(blur, noise, inputs)
    logits, places, guide = net.decoder(inputs, memory, hidden)
    real = ids != PAD
    name = functional.cross_entropy(logits.float()[real], ids[real])

    boxed = ~torch.isnan(boxes[..., 0]) & real
    target = box_target(boxes, HEIGHT)
    place = functional.smooth_l1_loss(places.float()[boxed], target[boxed], beta=0.05)

    columns = image.shape[2] // CELL
    row = (boxes[..., 1] + boxes[..., 3]) / 2
    column = (boxes[..., 0] + boxes[..., 2]) / 2
    at_row = (row / MEMORY_ROW).long().clamp(0, HEIGHT // MEMORY_ROW - 1)
    at_column = (column / CELL).long().clamp(0, columns - 1)
    cell = (at_row * columns + at_column)[boxed]
    where = boxed.nonzero(as_tuple=True)
    attention = torch.log_softmax(guide[where[0], 0, where[1]].float(), -1)
    look = functional.nll_loss(attention, cell)

    picked = at_tokens(net.dense(cells), boxes, boxed)
    dense = functional.cross_entropy(picked.float(), ids[boxed])
    return {"name": name, "place": place, "look": look, "dense": dense}


def at_tokens(cells: Tensor, boxes: Tensor, boxed: Tensor) -> Tensor:
    """What the cells (N, k, rows, columns) hold at the middle of each token that has a box: (n, k),
    for boxes (N, T, 4) in pixels and ``boxed`` (N, T)."""
    its = boxes[boxed]
    row = ((its[:, 1] + its[:, 3]) / 2 / CELL).long().clamp(0, cells.shape[2] - 1)
    column = ((its[:, 0] + its[:, 2]) / 2 / CELL).long().clamp(0, cells.shape[3] - 1)
    return cells.permute(0, 2, 3, 1)[boxed.nonzero(as_tuple=True)[0], row, column]


def box_target(boxes: Tensor, height: int) -> Tensor:
    """(left, top, right, bottom) px -> centre x / 1280, centre y / 96, width / 96, height / 96."""
    left, top, right, bottom = boxes.unbind(-1)
    return torch.stack([(left + right) / 2560, (top + bottom) / 2 / height, (right - left) / height,
                        (bottom - top) / height], -1)  # fmt: skip


def bent(ink: Tensor, lean: Tensor, flat: Tensor) -> Tensor:
    """Every line (N, H, W) leaned by ``lean`` px to the px, made flatter by the factor ``flat``
    (both (N, 1, 1)) and moved by a smooth random displacement of about 1.3 px, another for each."""
    n, high, wide = ink.shape
    knots = torch.randn((n, 2, high // 24 + 1, wide // 24 + 1), device=ink.device)
    knots *= torch.empty((n, 1, 1, 1), device=ink.device).uniform_(0.3, 2.2)
    shift = functional.interpolate(knots, (high, wide), mode="bicubic", align_corners=True)
    below = torch.arange(high, device=ink.device)[:, None] + 0.5 - high / 2
    x = torch.arange(wide, device=ink.device) + 0.5 + lean * below + shift[:, 0]
    y = high / 2 + flat * below + shift[:, 1]
    x, y = x * (2 / wide) - 1, (y * (2 / high) - 1).expand_as(x)
    grid = torch.stack([x, y], -1)
    return functional.grid_sample(ink[:, None], grid, padding_mode="border", align_corners=False)[
        :, 0
    ]


@torch.no_grad()
def greedy(net: LineNet, batch: tuple[Tensor, ...], most: int = 110) -> Tensor:
    image, _, _, widths = batch
    memory, _ = net.encoder(prepare(image))
    hidden = padding(widths, memory.shape[1])
    ids = torch.full((len(image), 1), BOS, device=image.device)
    done = torch.zeros(len(image), dtype=torch.bool, device=image.device)
    for _ in range(most):
        logits, _, _ = net.decoder(ids, memory, hidden)
        new = logits[:, -1].argmax(-1)
        new[done] = PAD
        ids = torch.cat([ids, new[:, None]], 1)
        done |= new == EOS
        if done.all():
            break
    return ids[:, 1:]


def measure(net: LineNet, loader: DataLoader, device: str, most: int) -> dict[str, float]:
    """Lines read exactly and token errors (edit distance), greedy."""
    net.eval()
    right = lines = wrong = count = 0
    for batch in loader:
        batch = tuple(part.to(device) for part in batch)
        with torch.autocast(device, torch.bfloat16):
            out = greedy(net, batch)
        for row, truth in zip(out.tolist(), batch[1].tolist(), strict=True):
            read, real = trim(row), trim(truth)
            right += read == real
            wrong += edits(read, real)
            count += len(real)
            lines += 1
        if lines >= most:
            break
    net.train()
    return {"exact": right / lines, "error": wrong / count, "lines": lines}


def trim(ids: list[int]) -> list[int]:
    return ids[: ids.index(EOS)] if EOS in ids else [value for value in ids if value != PAD]


def edits(a: list[int], b: list[int]) -> int:
    row = list(range(len(b) + 1))
    for i, x in enumerate(a, 1):
        last, row[0] = row[0], i
        for j, y in enumerate(b, 1):
            last, row[j] = row[j], min(row[j] + 1, row[j - 1] + 1, last + (x != y))
    return row[-1]


def main() -> None:
    parse = argparse.ArgumentParser(description=__doc__)
    parse.add_argument("--data", type=Path, required=True)
    parse.add_argument("--fonts", type=Path, required=True)
    parse.add_argument("--out", type=Path, required=True)
    parse.add_argument("--minutes", type=float, required=True)
    parse.add_argument("--of", type=float, required=True)
    parse.add_argument("--done", type=float, default=0.0)
    parse.add_argument("--resume", type=Path)
    parse.add_argument(
        "--everyone", action="store_true", help="also in the hands kept for calibration"
    )
    parse.add_argument("--workers", type=int, default=max((os.cpu_count() or 2) - 1, 1))
    parse.add_argument("--seed", type=int, default=1)
    parse.add_argument("--lines", type=int, default=LINES, help="of middling width to a batch")
    parse.add_argument("--peak", type=float, default=PEAK)
    parse.add_argument("--echo", type=int, default=ECHO, help="times a drawn line is used")
    parse.add_argument(
        "--measure", type=int, default=1500, help="validation lines at the end; 0: none"
    )
    options = parse.parse_args()
    device = "cuda" if torch.cuda.is_available() else "cpu"
    torch.manual_seed(options.seed)
    torch.backends.cuda.matmul.allow_tf32 = True
    torch.backends.cudnn.allow_tf32 = True
    torch.backends.cudnn.benchmark = True  # lines come in a few widths
    net = LineNet().to(device, memory_format=torch.channels_last)
    mean = AveragedModel(net, multi_avg_fn=get_ema_multi_avg_fn(1 - 1 / MEMORY), use_buffers=True)
    decayed = [p for p in net.parameters() if p.ndim > 1]
    plain = [p for p in net.parameters() if p.ndim <= 1]
    optimiser = torch.optim.AdamW(
        [{"params": decayed, "weight_decay": 0.02}, {"params": plain, "weight_decay": 0.0}],
        lr=options.peak, betas=(0.9, 0.98), fused=device == "cuda",
    )  # fmt: skip
    if options.resume:
        load(options.resume, net, mean, optimiser, device)
    cells = options.lines * CELLS_PER_LINE
    hands: Split = "everyone" if options.everyone else "train"
    loader = DataLoader(
        Stream(hands, options.data, options.fonts, options.seed, cells=cells),
        batch_size=None,
        num_workers=options.workers,
        prefetch_factor=4,
        pin_memory=device == "cuda",
        in_order=False,  # whole photos take longer: the others must not wait for them
    )
    start, seen, steps = time.monotonic(), 0, 0
    totals: dict[str, float] = {}
    net.train()
    for batch in loader:
        spent = (time.monotonic() - start) / 60
        if spent >= options.minutes:
            break
        progress = min((options.done + spent) / options.of, 1.0)
        rate = options.peak * min(progress / 0.03, 1.0) * (0.5 + 0.5 * math.cos(math.pi * progress))
        for group in optimiser.param_groups:
            group["lr"] = max(rate, 1e-6)
        moved = tuple(part.to(device, non_blocking=True) for part in batch)
        for again in range(options.echo):
            # Drawing lines is slower than learning from them, so each is used more than once.
            image, boxes = vary(moved[0], moved[2]) if again else (moved[0], moved[2])
            with torch.autocast(device, torch.bfloat16, enabled=device == "cuda"):
                parts = losses(net, (image, moved[1], boxes, moved[3]))
            # Where to look and what each cell holds matter most at the beginning.
            early = 1.0 if progress < 0.25 else 0.4
            loss = parts["name"] + parts["place"] * 4
            loss = loss + early * (0.3 * parts["look"] + 0.5 * parts["dense"])
            optimiser.zero_grad(set_to_none=True)
            loss.backward()
            torch.nn.utils.clip_grad_norm_(net.parameters(), 1.0)
            optimiser.step()
            mean.update_parameters(net)
        steps, seen = steps + 1, seen + len(moved[0])
        if steps % 50 == 0:
            for key, value in parts.items():
                value = value.detach()
                totals[key] = 0.7 * totals.get(key, float(value)) + 0.3 * float(value)
        if steps % KEEP == 0 or steps == 1:
            save(options.out, net, mean, optimiser)
            shown = " ".join(f"{key} {value:.3f}" for key, value in totals.items())
            print(
                f"{spent:5.2f} min  step {steps}  {seen / spent / 60:.0f} lines/s  {shown}",
                flush=True,
            )
    save(options.out, net, mean, optimiser)
    print(f"trained on {seen} lines in {steps} steps", flush=True)
    del loader
    for kind in ("pen", "font") if options.measure else ():
        most = max(options.measure // 8, 1)
        stream = Stream("validation", options.data, options.fonts, 77, kind, most)
        held = DataLoader(stream, batch_size=None, num_workers=8)
        found = measure(mean.module, held, device, options.measure)
        print(kind, "validation", found, flush=True)


def save(out: Path, net: LineNet, mean: AveragedModel, optimiser: torch.optim.Optimizer) -> None:
    out.mkdir(parents=True, exist_ok=True)
    state = {"net": net.state_dict(), "mean": mean.state_dict(), "moments": optimiser.state_dict()}
    torch.save(state, out / "reader_state.pt")
    shipped = {
        k: v.half() if v.is_floating_point() else v for k, v in mean.module.state_dict().items()
    }
    torch.save({k: v.cpu() for k, v in shipped.items()}, out / "reader.pt")


def load(
    path: Path, net: LineNet, mean: AveragedModel, optimiser: torch.optim.Optimizer, device: str
) -> None:
    """From a checkpoint; or from the shipped weights alone, where that is all there is."""
    state = torch.load(path, map_location=device)
    if "moments" not in state:
        # Blocks added since begin as if they were not there.
        net.load_state_dict(state, strict=False)
        mean.module.load_state_dict(net.state_dict())
        return
    net.load_state_dict(state["net"])
    mean.load_state_dict(state["mean"])
    optimiser.load_state_dict(state["moments"])


if __name__ == "__main__":
    main()
