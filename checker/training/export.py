"""Writes the trained networks as the ONNX files the package ships.

    python -m checker.training.export RUN checker/reading/models \\
        --data shared/handwriting --fonts .fonts

RUN holds ``reader.pt``, ``layout.pt`` or both, as the training commands leave them.

The line encoder is made to work in 8-bit whole numbers, for which drawn lines in training hands
show how large each value becomes: 0.4 of the time.  The other weights are stored as 16-bit floats
and widened when loaded: half the size, the same arithmetic.
"""

from __future__ import annotations

import argparse
import itertools
import tempfile
from collections.abc import Iterable, Iterator
from pathlib import Path

import numpy as np
import onnx
import torch
from onnx import TensorProto, helper, numpy_helper
from onnxruntime.quantization import CalibrationDataReader, QuantFormat, quantize_static
from onnxruntime.quantization.shape_inference import quant_pre_process

from checker.training.layout_model import LayoutNet
from checker.training.lines import make_lines
from checker.training.reader_model import (
    HEADS,
    LAYERS,
    WIDTH,
    EncoderForExport,
    LineNet,
    StepForExport,
)

SHOWN = 64  # lines


def export_reader(net: LineNet, out: Path, lines: Iterable[np.ndarray]) -> None:
    """The names of the inputs and outputs are what ``checker.reading.ink_reader`` asks for;
    ``lines`` are grey pictures of lines in its frame."""
    out.mkdir(parents=True, exist_ok=True)
    net.eval()
    layers = range(LAYERS)
    memory = [name for k in layers for name in (f"keys_{k}", f"values_{k}")]
    axes = {f"keys_{k}": {0: "n", 3: "s"} for k in layers} | {
        f"values_{k}": {0: "n", 2: "s"} for k in layers
    }
    torch.onnx.export(
        EncoderForExport(net),
        (torch.rand(2, 1, 96, 320), torch.tensor([320, 200])),
        str(out / "line_encoder.onnx"),
        input_names=["image", "widths"],
        output_names=["hidden", *memory, "cells"],
        dynamic_axes={
            "image": {0: "n", 3: "w"},
            "widths": {0: "n"},
            "hidden": {0: "n", 1: "s"},
            "cells": {0: "n", 3: "c"},
        }
        | axes,
        opset_version=17,
        dynamo=False,
    )
    width, s = WIDTH // HEADS, 60
    past = torch.rand(2, 4, HEADS, 3, width)
    inputs, names = [], []
    for k in layers:
        inputs += [torch.rand(2, HEADS, width, s), torch.rand(2, HEADS, s, width), past, past]
        names += [f"keys_{k}", f"values_{k}", f"past_keys_{k}", f"past_values_{k}"]
        axes |= {f"past_{part}_{k}": {0: "n", 1: "b", 3: "t"} for part in ("keys", "values")}
        axes |= {f"new_{part}_{k}": {0: "n", 1: "b", 3: "u"} for part in ("keys", "values")}
    torch.onnx.export(
        StepForExport(net),
        (torch.ones(2, 4, dtype=torch.long), torch.zeros(2, s), *inputs),
        str(out / "line_decoder.onnx"),
        input_names=["token", "hidden", *names],
        output_names=["log_probability", "place"]
        + [f"new_{part}_{k}" for k in layers for part in ("keys", "values")],
        dynamic_axes={"token": {0: "n", 1: "b"}, "hidden": {0: "n", 1: "s"},
                      "log_probability": {0: "n", 1: "b"}, "place": {0: "n", 1: "b"}} | axes,
        opset_version=17,
        dynamo=False,
    )  # fmt: skip
    in_eight_bits(out / "line_encoder.onnx", lines)
    for name in ("line_encoder.onnx", "line_decoder.onnx"):
        halve(out / name)


def export_layout(net: LayoutNet, out: Path) -> None:
    out.mkdir(parents=True, exist_ok=True)
    net.eval()
    torch.onnx.export(
        net, (torch.rand(1, 3, 64, 96),), str(out / "layout.onnx"),
        input_names=["image"], output_names=["maps", "turn"],
        dynamic_axes={"image": {0: "n", 2: "h", 3: "w"}, "maps": {0: "n", 2: "h4", 3: "w4"},
                      "turn": {0: "n"}},
        opset_version=17, dynamo=False,
    )  # fmt: skip
    halve(out / "layout.onnx")


class _Shown(CalibrationDataReader):
    def __init__(self, lines: Iterable[np.ndarray]) -> None:
        self.lines = iter(lines)

    def get_next(self) -> dict[str, np.ndarray] | None:
        line = next(self.lines, None)
        if line is None:
            return None
        image = (255.0 - line[None, None].astype(np.float32)) / 255.0
        return {"image": image, "widths": np.array([line.shape[1]], np.int64)}


def in_eight_bits(path: Path, lines: Iterable[np.ndarray]) -> None:
    """Let all convolutions of the encoder but the first, which sees the picture itself, and what
    stands between them work in 8 bits."""
    with tempfile.TemporaryDirectory() as folder:
        folded = Path(folder) / "folded.onnx"
        quant_pre_process(str(path), str(folded), skip_symbolic_shape=True)
        nodes = onnx.load(str(folded)).graph.node
        first = next(node.name for node in nodes if node.op_type == "Conv")
        quantize_static(
            str(folded), str(path), _Shown(lines), quant_format=QuantFormat.QDQ, per_channel=True,
            op_types_to_quantize=["Conv", "Relu", "Add"], nodes_to_exclude=[first],
        )  # fmt: skip


def drawn_lines(data: Path, fonts: Path) -> Iterator[np.ndarray]:
    """Pictures of lines in training hands, without end."""
    source = make_lines("train", data, fonts, np.random.default_rng(8))
    while True:
        sample = source.sample()
        if sample is not None:
            yield sample.image


def halve(path: Path) -> None:
    """Store large float32 weights as float16 with a cast behind each."""
    model = onnx.load(str(path))
    casts = []
    for weight in list(model.graph.initializer):
        small = len(weight.dims) < 2 or np.prod(weight.dims) < 256
        if weight.data_type != TensorProto.FLOAT or small:
            continue
        half = numpy_helper.from_array(
            numpy_helper.to_array(weight).astype(np.float16), weight.name + ".half"
        )
        casts.append(helper.make_node("Cast", [half.name], [weight.name], to=TensorProto.FLOAT))
        model.graph.initializer.remove(weight)
        model.graph.initializer.append(half)
    nodes = list(model.graph.node)
    del model.graph.node[:]
    model.graph.node.extend(casts + nodes)
    onnx.checker.check_model(model)
    onnx.save(model, str(path))


def main() -> None:
    parse = argparse.ArgumentParser(description=__doc__)
    parse.add_argument("run", type=Path)
    parse.add_argument("out", type=Path)
    parse.add_argument("--data", type=Path, required=True)
    parse.add_argument("--fonts", type=Path, required=True)
    options = parse.parse_args()
    if (options.run / "reader.pt").exists():
        reader = LineNet()
        reader.load_state_dict(torch.load(options.run / "reader.pt", map_location="cpu"))
        lines = itertools.islice(drawn_lines(options.data, options.fonts), SHOWN)
        export_reader(reader, options.out, lines)
    if (options.run / "layout.pt").exists():
        layout = LayoutNet()
        layout.load_state_dict(torch.load(options.run / "layout.pt", map_location="cpu"))
        export_layout(layout, options.out)


if __name__ == "__main__":
    main()
