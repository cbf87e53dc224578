"""The page network: where the lines of writing run, what is a drawing, which way is up.

Input (N, 3, H, W): the photo, RGB in 0..1, long side 1280, sides multiples of 32.  Output maps at a
quarter of that: core (a band along the middle of every line), up and down (distance from there to
the top and bottom of the line's ink, in sixteenths of a pixel-of-input each), drawing, paper.
"""

from __future__ import annotations

import torch
from torch import Tensor, nn
from torch.nn import functional

from checker.training.reader_model import Block, _conv

LONG_SIDE, STRIDE, SPAN = 1280, 4, 16.0
CORE, UP, DOWN, DRAWING, PAPER = range(5)


class LayoutNet(nn.Module):
    def __init__(self) -> None:
        super().__init__()
        self.stem = nn.Sequential(_conv(3, 16, 2), _conv(16, 32, 2))
        self.quarter = nn.Sequential(_conv(32, 32, 1))
        self.eighth = nn.Sequential(_conv(32, 80, 2), *[Block(80) for _ in range(3)])
        self.sixteenth = nn.Sequential(_conv(80, 128, 2), *[Block(128) for _ in range(4)])
        self.thirtieth = nn.Sequential(_conv(128, 192, 2), *[Block(192) for _ in range(5)])
        self.up16 = nn.Conv2d(192, 128, 1)
        self.mix16 = nn.Sequential(*[Block(128) for _ in range(3)])
        self.up8 = nn.Conv2d(128, 80, 1)
        self.mix8 = nn.Sequential(*[Block(80) for _ in range(3)])
        self.up4 = nn.Conv2d(80, 32, 1)
        self.mix4 = nn.Sequential(_conv(32, 32, 1), nn.Conv2d(32, 5, 1))
        self.turn = nn.Sequential(nn.Linear(192, 64), nn.ReLU(), nn.Linear(64, 4))

    def forward(self, image: Tensor) -> tuple[Tensor, Tensor]:
        """-> maps (N, 5, H/4, W/4) (logits; up and down positive), turn logits (N, 4).

        ``turn`` k: the photo has to be turned k quarters clockwise to stand upright.
        """
        a = self.quarter(self.stem(image))
        b = self.eighth(a)
        c = self.sixteenth(b)
        d = self.thirtieth(c)
        c = self.mix16(c + functional.interpolate(self.up16(d), scale_factor=2.0, mode="nearest"))
        b = self.mix8(b + functional.interpolate(self.up8(c), scale_factor=2.0, mode="nearest"))
        a = a + functional.interpolate(self.up4(b), scale_factor=2.0, mode="nearest")
        maps = self.mix4(a)
        spans = functional.softplus(maps[:, UP : DOWN + 1])
        maps = torch.cat([maps[:, :UP], spans, maps[:, DRAWING:]], 1)
        return maps, self.turn(d.mean((2, 3)))
