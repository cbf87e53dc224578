"""Writes the trained networks as the ONNX files the package ships.

    python -m checker.training.export RUN checker/reading/models

RUN holds ``reader.pt``, ``layout.pt`` or both, as the training commands leave them.

Weights are stored as 16-bit floats and widened when loaded: half the size, the same arithmetic.
"""

from __future__ import annotations

import argparse
from pathlib import Path

import numpy as np
import onnx
import torch
from onnx import TensorProto, helper, numpy_helper

from checker.training.layout_model import LayoutNet
from checker.training.reader_model import (
    HEADS,
    LAYERS,
    WIDTH,
    EncoderForExport,
    LineNet,
    StepForExport,
)


def export_reader(net: LineNet, out: Path) -> None:
    """The names of the inputs and outputs are what ``checker.reading.ink_reader`` asks for."""
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


def halve(path: Path) -> None:
    """Store large float32 weights as float16 with a cast behind each."""
    model = onnx.load(str(path))
    casts = []
    for weight in list(model.graph.initializer):
        if weight.data_type != TensorProto.FLOAT or np.prod(weight.dims) < 256:
            continue
        small = numpy_helper.from_array(
            numpy_helper.to_array(weight).astype(np.float16), weight.name + ".half"
        )
        casts.append(helper.make_node("Cast", [small.name], [weight.name], to=TensorProto.FLOAT))
        model.graph.initializer.remove(weight)
        model.graph.initializer.append(small)
    nodes = list(model.graph.node)
    del model.graph.node[:]
    model.graph.node.extend(casts + nodes)
    onnx.checker.check_model(model)
    onnx.save(model, str(path))


def main() -> None:
    parse = argparse.ArgumentParser(description=__doc__)
    parse.add_argument("run", type=Path)
    parse.add_argument("out", type=Path)
    options = parse.parse_args()
    for name, net, write in (
        ("reader.pt", LineNet(), export_reader),
        ("layout.pt", LayoutNet(), export_layout),
    ):
        if (options.run / name).exists():
            net.load_state_dict(torch.load(options.run / name, map_location="cpu"))
            write(net, options.out)


if __name__ == "__main__":
    main()
