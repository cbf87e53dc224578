"""Weights to train on from, taken back out of the reader's shipped ONNX files.

    python -m checker.training.from_shipped checker/reading/models --out RUN/reader.pt \\
        --data shared/handwriting --fonts .fonts

For when the floats they were made from are lost.  Batch normalisation was folded into the
convolutions; it is given back the mean and spread of what lines in training hands bring there, and
the dense head, which does not ship, is fitted to the same lines.  Some 5 minutes on one core.
"""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import onnx
import torch
from onnx import numpy_helper
from torch import Tensor, nn
from torch.nn import functional

from checker.training.lines import CELLS_PER_LINE
from checker.training.reader_model import PAD, Block, LineNet
from checker.training.train_reader import Stream, at_tokens, prepare

LINES, FITTED = 1600, 600  # drawn; updates of the dense head
_NOTHING = (torch.tensor(0.0),) * 3


class Shipped:
    """An ONNX file whose weights can be asked for as floats."""

    def __init__(self, path: Path) -> None:
        graph = onnx.load(str(path)).graph
        self.nodes = list(graph.node)
        self.stored = {i.name: numpy_helper.to_array(i) for i in graph.initializer}
        self.made_by = {out: node for node in self.nodes for out in node.output}

    def of(self, op: str, name: str = "") -> list[onnx.NodeProto]:
        return [n for n in self.nodes if n.op_type == op and n.name.startswith(name)]

    def floats(self, name: str) -> np.ndarray:
        """A stored weight, or one that is stored in 8 or 16 bits."""
        if name in self.stored:
            return self.stored[name].astype(np.float32)
        node = self.made_by[name]
        if node.op_type == "Cast":
            return self.floats(node.input[0])
        axis = next((a.i for a in node.attribute if a.name == "axis"), 1)
        name, scale, zero = node.input
        return self.widened(name, scale, zero, axis)

    def widened(self, name: str, scale: str, zero: str, axis: int = 1) -> np.ndarray:
        whole, by = self.stored[name].astype(np.float32), self.stored[scale]
        shape = [1] * whole.ndim
        if by.ndim:
            shape[axis] = -1
        return (whole - self.stored[zero].astype(np.float32).reshape(shape)) * by.reshape(shape)


def _set(parameter: Tensor, value: np.ndarray) -> None:
    if tuple(parameter.shape) != value.shape:
        raise SystemExit(f"Other layers than in reader_model.py: {value.shape}.")
    parameter.data.copy_(torch.from_numpy(value.copy()))


def folded(net: LineNet) -> Iterator[tuple[nn.Conv2d, nn.BatchNorm2d | None]]:
    """The encoder's convolutions in the order they work, each with its normalisation."""
    encoder = net.encoder
    for part in (*encoder.stem, *encoder.low, *encoder.middle, encoder.pool, *encoder.high):
        if isinstance(part, Block):
            yield from ((step[0], step[1]) for step in (part.first, part.second))
            yield part.third, part.norm
        elif isinstance(part, nn.Conv2d):
            yield part, None
        else:
            yield part[0], part[1]


def unpack(models: Path) -> LineNet:
    """The network that reads as the shipped one does; the dense head is not among the files."""
    net = LineNet().eval()
    encoder, decoder = (Shipped(models / f"line_{part}.onnx") for part in ("encoder", "decoder"))
    convolutions = list(folded(net))
    for (conv, norm), node in zip(convolutions, encoder.of("Conv"), strict=True):
        _set(conv.weight, encoder.floats(node.input[1]))
        bias = encoder.floats(node.input[2])
        if norm is None:
            _set(conv.bias, bias)
            continue
        _set(norm.bias, bias)
        norm.weight.data.fill_(1.0)
        norm.running_mean.zero_()
        norm.running_var.fill_(1.0 - norm.eps)
    rows = [n for n in encoder.of("DequantizeLinear")
            if n.input[0] in encoder.stored and encoder.stored[n.input[0]].ndim == 3]  # fmt: skip
    _set(net.encoder.rows, encoder.floats(rows[0].output[0])[:, 0])
    _set(net.encoder.norm.weight, encoder.floats("net.encoder.norm.weight"))
    _set(net.encoder.norm.bias, encoder.floats("net.encoder.norm.bias"))
    for number, layer in enumerate(net.decoder.layers):
        (node,) = encoder.of("MatMul", f"/memory_{number}/" if number else "/memory/")
        _set(layer.memory.weight, encoder.floats(node.input[1]).T)
        name = f"net.decoder.layers.{number}.memory.bias_quantized"
        (node,) = (n for n in encoder.of("DequantizeLinear") if n.input[0] == name)
        _set(layer.memory.bias, encoder.floats(node.output[0]))
    own = dict(net.decoder.named_parameters())
    for name in decoder.stored:
        plain = name.removeprefix("decoder.").removesuffix(".half")
        if plain in own:
            _set(own[plain], decoder.floats(name))
    names = ("self_in", "self_out", "query", "cross_out", "forward_in", "forward_out")
    linear = [getattr(layer, name) for layer in net.decoder.layers for name in names]
    multiplied = decoder.of("MatMulInteger")
    inside = [n for n in multiplied if not n.name.startswith(("/place/", "/name/"))]
    last = {"/name/": net.decoder.name, "/place/place.0": net.decoder.place[0],
            "/place/place.2": net.decoder.place[2]}  # fmt: skip
    pairs = list(zip(linear, inside, strict=True))
    pairs += [(layer, n) for key, layer in last.items() for n in decoder.of("MatMulInteger", key)]
    for layer, node in pairs:
        whole = node.input[1]
        stem = whole.removesuffix("_quantized")
        _set(layer.weight, decoder.widened(whole, f"{stem}_scale", f"{stem}_zero_point").T)
    return net


@torch.no_grad()
def normalised(net: LineNet, batches: list[tuple[Tensor, ...]]) -> tuple[Tensor, Tensor]:
    """Gives every normalisation the mean and spread of what it sees, so that nothing changes; also
    what the dense head sees of every token (n, 224), and which token it is."""
    norms = [norm for _, norm in folded(net) if norm is not None]
    seen: dict[nn.Module, tuple[Tensor, ...]] = {}

    def look(norm: nn.Module, inputs: tuple[Tensor, ...]) -> None:
        x = inputs[0]
        count = torch.tensor(x.numel() / x.shape[1])
        new = count, x.sum((0, 2, 3)), (x * x).sum((0, 2, 3))
        seen[norm] = tuple(map(torch.add, seen.get(norm, _NOTHING), new))

    hooks = [norm.register_forward_pre_hook(look) for norm in norms]
    cells, tokens = [], []
    for image, ids, boxes, _ in batches:
        boxed = ~torch.isnan(boxes[..., 0]) & (ids != PAD)
        cells.append(at_tokens(net.encoder(prepare(image))[1], boxes, boxed))
        tokens.append(ids[boxed])
    for hook in hooks:
        hook.remove()
    for norm in norms:
        count, total, squares = seen[norm]
        mean = total / count
        spread = (squares / count - mean * mean).clamp(min=1e-8)
        norm.weight.copy_((spread + norm.eps).sqrt())
        norm.bias.add_(mean)
        norm.running_mean.copy_(mean)
        norm.running_var.copy_(spread)
    return torch.cat(cells), torch.cat(tokens)


def fit_dense(net: LineNet, cells: Tensor, tokens: Tensor) -> None:
    """Fits the dense head, and nothing else."""
    size = cells.pow(2).mean(0).sqrt() + 1e-3
    head = nn.Linear(cells.shape[1], net.dense.out_channels)
    optimiser = torch.optim.Adam(head.parameters(), 1e-2, weight_decay=1e-4)
    for step in range(FITTED):
        at = torch.randint(len(cells), (2048,))
        loss = functional.cross_entropy(head(cells[at] / size), tokens[at])
        optimiser.zero_grad()
        loss.backward()
        optimiser.step()
        for group in optimiser.param_groups:
            group["lr"] = 1e-2 * (1 - step / FITTED)
    net.dense.weight.data.copy_((head.weight.data / size)[:, :, None, None])
    net.dense.bias.data.copy_(head.bias.data)


def main() -> None:
    parse = argparse.ArgumentParser(description=__doc__)
    parse.add_argument("models", type=Path)
    parse.add_argument("--out", type=Path, required=True)
    parse.add_argument("--data", type=Path, required=True)
    parse.add_argument("--fonts", type=Path, required=True)
    options = parse.parse_args()
    net = unpack(options.models)
    stream = Stream("train", options.data, options.fonts, 1, most=LINES, cells=64 * CELLS_PER_LINE)
    fit_dense(net, *normalised(net, list(stream)))
    options.out.parent.mkdir(parents=True, exist_ok=True)
    torch.save({k: v.half() if v.is_floating_point() else v for k, v in net.state_dict().items()},
               options.out)  # fmt: skip


if __name__ == "__main__":
    main()
