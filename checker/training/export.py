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
    out.mkdir(parents=True, exist_ok=True)
    net.eval()
    torch.onnx.export(
        EncoderForExport(net), (torch.rand(2, 1, 96, 320), torch.tensor([320, 200])),
        str(out / "line_encoder.onnx"), input_names=["image", "widths"],
        output_names=["keys", "values", "hidden"],
        dynamic_axes={"image": {0: "n", 3: "w"}, "widths": {0: "n"}, "keys": {1: "n", 3: "s"},
                      "values": {1: "n", 3: "s"}, "hidden": {0: "n", 1: "s"}},
        opset_version=17, dynamo=False,
    )  # fmt: skip
    past = torch.rand(LAYERS, 2, 4, HEADS, 3, WIDTH // HEADS)
    memory = torch.rand(LAYERS, 2, HEADS, 60, WIDTH // HEADS)
    torch.onnx.export(
        StepForExport(net), (torch.ones(2, 4, dtype=torch.long), past, past, memory, memory, torch.zeros(2, 60)),
        str(out / "line_decoder.onnx"),
        input_names=["token", "past_keys", "past_values", "keys", "values", "hidden"],
        output_names=["log_probability", "place", "new_keys", "new_values"],
        dynamic_axes={"token": {0: "n", 1: "b"}, "past_keys": {1: "n", 2: "b", 4: "t"},
                      "past_values": {1: "n", 2: "b", 4: "t"}, "keys": {1: "n", 3: "s"},
                      "values": {1: "n", 3: "s"}, "hidden": {0: "n", 1: "s"},
                      "log_probability": {0: "n", 1: "b"}, "place": {0: "n", 1: "b"},
                      "new_keys": {1: "n", 2: "b", 4: "u"}, "new_values": {1: "n", 2: "b", 4: "u"}},
        opset_version=17, dynamo=False,
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
            write(net, options.out)  # type: ignore[operator]


if __name__ == "__main__":
    main()
