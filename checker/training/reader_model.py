"""The line reader's network: a compact convolutional encoder and a small transformer decoder.

Input: a grey line image, 96 pixels high, ink near 1 and paper near 0, width a multiple of 16 up to
1280.  The encoder looks at 8x8-pixel cells (12 rows); pairs of rows make the decoder's memory.
The decoder writes the markup token by token and says for each token where it stands.  A second,
dense head names the symbol centred in each cell: it teaches the encoder glyphs directly, without
waiting for the decoder to find out where to look.
"""

from __future__ import annotations

import math

import torch
from torch import Tensor, nn
from torch.nn import functional

from checker.markup import TOKENS

PAD, BOS, EOS = 0, 1, 2
SPECIALS = 3
VOCABULARY = SPECIALS + len(TOKENS)
HEIGHT, LONGEST = 96, 1280
CELL, MEMORY_ROW = 8, 16
WIDTH, HEADS, LAYERS, FORWARD = 256, 8, 3, 768
CELL_WIDTH = 224
MOST_TOKENS = 112


class Block(nn.Module):
    """A residual bottleneck: 1x1 down to half the width, 3x3, 1x1 back.

    Plain convolutions keep a GPU's matrix units busy; depthwise ones took it four times as long.
    """

    def __init__(self, width: int, inside: int | None = None) -> None:
        super().__init__()
        inside = inside or width // 2
        self.first = _conv(width, inside, 1, 1)
        self.second = _conv(inside, inside, 1)
        self.third = nn.Conv2d(inside, width, 1, bias=False)
        self.norm = nn.BatchNorm2d(width)
        nn.init.zeros_(self.norm.weight)

    def forward(self, x: Tensor) -> Tensor:
        return functional.relu(x + self.norm(self.third(self.second(self.first(x)))))


def _conv(inside: int, out: int, stride: int | tuple[int, int], size: int = 3) -> nn.Sequential:
    return nn.Sequential(
        nn.Conv2d(inside, out, size, stride=stride, padding=size // 2, bias=False),
        nn.BatchNorm2d(out),
        nn.ReLU(inplace=True),
    )


class Encoder(nn.Module):
    def __init__(self) -> None:
        super().__init__()
        self.stem = nn.Sequential(_conv(1, 32, 2, 5), _conv(32, 80, 2))
        self.low = nn.Sequential(*[Block(80, 64) for _ in range(3)])
        self.middle = nn.Sequential(
            _conv(80, CELL_WIDTH, 2), *[Block(CELL_WIDTH) for _ in range(12)]
        )
        self.pool = nn.Conv2d(CELL_WIDTH, WIDTH, (2, 1), stride=(2, 1))
        self.high = nn.Sequential(*[Block(WIDTH) for _ in range(6)])
        self.rows = nn.Parameter(torch.randn(HEIGHT // MEMORY_ROW, WIDTH) * 0.02)
        self.norm = nn.LayerNorm(WIDTH)
        self.register_buffer("columns", _sinusoids(LONGEST // CELL, WIDTH), persistent=False)

    def forward(self, image: Tensor) -> tuple[Tensor, Tensor]:
        """(N, 1, 96, W) -> memory (N, 6 * W/8, 256) row by row, cells (N, 224, 12, W/8)."""
        cells = self.middle(self.low(self.stem(image)))
        memory = self.high(self.pool(cells)).permute(0, 2, 3, 1)
        memory = memory + self.rows[:, None] + self.columns[: memory.shape[2]]
        return self.norm(memory.flatten(1, 2)), cells


def _sinusoids(length: int, width: int) -> Tensor:
    at = torch.arange(length)[:, None]
    rate = torch.exp(torch.arange(0, width, 2) * (-math.log(10000.0) / width))
    return torch.stack([torch.sin(at * rate), torch.cos(at * rate)], -1).flatten(1)


class Layer(nn.Module):
    def __init__(self) -> None:
        super().__init__()
        self.self_in = nn.Linear(WIDTH, 3 * WIDTH)
        self.self_out = nn.Linear(WIDTH, WIDTH)
        self.query = nn.Linear(WIDTH, WIDTH)
        self.memory = nn.Linear(WIDTH, 2 * WIDTH)
        self.cross_out = nn.Linear(WIDTH, WIDTH)
        self.forward_in = nn.Linear(WIDTH, FORWARD)
        self.forward_out = nn.Linear(FORWARD, WIDTH)
        self.norms = nn.ModuleList(nn.LayerNorm(WIDTH) for _ in range(3))
        self.drop = nn.Dropout(0.1)

    def remember(self, memory: Tensor) -> tuple[Tensor, Tensor]:
        keys, values = self.memory(memory).chunk(2, -1)
        return _split(keys), _split(values)

    def forward(
        self, x: Tensor, keys: Tensor, values: Tensor, hidden: Tensor
    ) -> tuple[Tensor, Tensor]:
        """Teacher-forced pass; ``hidden`` (N, S) is -inf on padding.  Also the attention logits."""
        q, k, v = self.self_in(self.norms[0](x)).chunk(3, -1)
        y = functional.scaled_dot_product_attention(_split(q), _split(k), _split(v), is_causal=True)
        x = x + self.drop(self.self_out(_join(y)))
        query = _split(self.query(self.norms[1](x)))
        scores = query @ keys.transpose(-1, -2) / math.sqrt(WIDTH // HEADS) + hidden[:, None, None]
        x = x + self.drop(
            self.cross_out(_join(torch.softmax(scores.float(), -1).to(values.dtype) @ values))
        )
        y = self.forward_out(self.drop(functional.gelu(self.forward_in(self.norms[2](x)))))
        return x + self.drop(y), scores

    def step(
        self, x: Tensor, past: tuple[Tensor, Tensor], keys: Tensor, values: Tensor, hidden: Tensor
    ) -> tuple[Tensor, Tensor, Tensor]:
        """One token for N lines x B hypotheses: x (N, B, W), past two (N, B, heads, T, d).

        ``keys`` come transposed (N, heads, d, S): turning them at every step would cost more than
        the arithmetic.
        """
        n, b, _ = x.shape
        width = WIDTH // HEADS
        q, k, v = self.self_in(self.norms[0](x)).chunk(3, -1)
        past_k = torch.cat([past[0], k.reshape(n, b, HEADS, 1, width)], 3)
        past_v = torch.cat([past[1], v.reshape(n, b, HEADS, 1, width)], 3)
        scores = q.reshape(n, b, HEADS, 1, width) @ past_k.transpose(-1, -2)
        weights = torch.softmax(scores / math.sqrt(width), -1)
        x = x + self.self_out((weights @ past_v).reshape(n, b, WIDTH))
        query = self.query(self.norms[1](x)).reshape(n, b, HEADS, width).transpose(1, 2)
        scores = query @ keys / math.sqrt(width) + hidden[:, None, None]
        y = (torch.softmax(scores, -1) @ values).transpose(1, 2).reshape(n, b, WIDTH)
        x = x + self.cross_out(y)
        x = x + self.forward_out(functional.gelu(self.forward_in(self.norms[2](x))))
        return x, past_k, past_v


def _split(x: Tensor) -> Tensor:
    return x.unflatten(-1, (HEADS, WIDTH // HEADS)).transpose(1, 2)


def _join(x: Tensor) -> Tensor:
    return x.transpose(1, 2).flatten(2)


class Decoder(nn.Module):
    def __init__(self) -> None:
        super().__init__()
        self.embed = nn.Embedding(VOCABULARY, WIDTH)
        self.register_buffer("places", _sinusoids(MOST_TOKENS + 1, WIDTH), persistent=False)
        self.layers = nn.ModuleList(Layer() for _ in range(LAYERS))
        self.norm = nn.LayerNorm(WIDTH)
        self.name = nn.Linear(WIDTH, VOCABULARY)
        self.place = nn.Sequential(nn.Linear(WIDTH, WIDTH), nn.ReLU(), nn.Linear(WIDTH, 4))

    def forward(
        self, tokens: Tensor, memory: Tensor, hidden: Tensor
    ) -> tuple[Tensor, Tensor, Tensor]:
        """tokens (N, T) -> logits (N, T, V), boxes (N, T, 4), scores (N, h, T, S)."""
        x = self.embed(tokens) + self.places[: tokens.shape[1]]
        guide = torch.empty(0)
        for number, layer in enumerate(self.layers):
            keys, values = layer.remember(memory)
            x, scores = layer(x, keys, values, hidden)
            if number == 1:
                guide = scores
        x = self.norm(x)
        return self.name(x), self.place(x), guide


class LineNet(nn.Module):
    def __init__(self) -> None:
        super().__init__()
        self.encoder = Encoder()
        self.decoder = Decoder()
        self.dense = nn.Conv2d(CELL_WIDTH, VOCABULARY, 1)


class EncoderForExport(nn.Module):
    """image (N, 1, 96, W), widths (N,) -> the padding mask (N, S), then for every layer its keys
    (N, heads, d, S) and values (N, heads, S, d), then the cells (N, 224, 12, W/8)."""

    def __init__(self, net: LineNet) -> None:
        super().__init__()
        self.net = net

    def forward(self, image: Tensor, widths: Tensor) -> tuple[Tensor, ...]:
        memory, cells = self.net.encoder(image)
        out = [padding(widths, memory.shape[1])]
        for layer in self.net.decoder.layers:
            keys, values = layer.remember(memory)
            out += [keys.transpose(-1, -2), values]
        return (*out, cells)


class StepForExport(nn.Module):
    """One decoding step: token (N, B), hidden (N, S), then for every layer keys, values, past keys
    and past values (see ``Layer.step``) -> log-probabilities (N, B, V), places (N, B, 4), then for
    every layer the new past keys and values."""

    def __init__(self, net: LineNet) -> None:
        super().__init__()
        self.decoder = net.decoder

    def forward(self, token: Tensor, hidden: Tensor, *memory: Tensor) -> tuple[Tensor, ...]:
        decoder = self.decoder
        x = decoder.embed(token) + decoder.places[memory[2].shape[3]]
        new: list[Tensor] = []
        for number, layer in enumerate(decoder.layers):
            keys, values, *past = memory[4 * number : 4 * number + 4]
            x, k, v = layer.step(x, (past[0], past[1]), keys, values, hidden)
            new += [k, v]
        x = decoder.norm(x)
        return (torch.log_softmax(decoder.name(x), -1), decoder.place(x), *new)


def padding(widths: Tensor, cells: int) -> Tensor:
    """0 where a memory cell lies on the line, -1e4 beyond its right end: (N, cells)."""
    columns = cells // (HEIGHT // MEMORY_ROW)
    at = torch.arange(columns, device=widths.device).repeat(HEIGHT // MEMORY_ROW)
    beyond = at[None] * CELL >= widths[:, None]
    return beyond.float() * -1e4
