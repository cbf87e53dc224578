"""Writes the trained networks as the ONNX files the package ships.

    python -m checker.training.export RUN checker/reading/models \\
        --data shared/handwriting --fonts .fonts

RUN holds ``reader.pt``, ``layout.pt`` or both, as the training commands leave them.

All of them multiply in 8-bit whole numbers, which takes less than half the time.  For the line
encoder and the page network, lines and pages drawn in training hands show how large each value
becomes; the line decoder finds that out as it goes.  Weights beside these are stored as 16-bit
floats and widened when loaded.
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
from onnxruntime.quantization import (
    CalibrationDataReader,
    QuantFormat,
    QuantType,
    quantize_dynamic,
    quantize_static,
)
from onnxruntime.quantization.shape_inference import quant_pre_process

from checker.training.hands import load_hands
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
from checker.training.train_layout import one_page

LINES, PAGES = 64, 16  # shown to find out how large values become
Feed = dict[str, np.ndarray]


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
    in_eight_bits(out / "line_encoder.onnx", map(_line_feed, lines))
    in_eight_bits_as_it_goes(out / "line_decoder.onnx")
    for name in ("line_encoder.onnx", "line_decoder.onnx"):
        halve(out / name)


def export_layout(net: LayoutNet, out: Path, pages: Iterable[np.ndarray]) -> None:
    """As ``export_reader``; ``pages`` are RGB pictures (3, H, W), sides multiples of 32."""
    out.mkdir(parents=True, exist_ok=True)
    net.eval()
    torch.onnx.export(
        net, (torch.rand(1, 3, 64, 96),), str(out / "layout.onnx"),
        input_names=["image"], output_names=["maps", "turn"],
        dynamic_axes={"image": {0: "n", 2: "h", 3: "w"}, "maps": {0: "n", 2: "h4", 3: "w4"},
                      "turn": {0: "n"}},
        opset_version=17, dynamo=False,
    )  # fmt: skip
    in_eight_bits(out / "layout.onnx", map(_page_feed, pages), exact_end=True)
    halve(out / "layout.onnx")


class _Shown(CalibrationDataReader):
    def __init__(self, feeds: Iterable[Feed]) -> None:
        self.feeds = iter(feeds)

    def get_next(self) -> Feed | None:
        return next(self.feeds, None)


def in_eight_bits(path: Path, shown: Iterable[Feed], exact_end: bool = False) -> None:
    """Let a model work in 8 bits, all but its first convolution, which sees the picture itself,
    and with ``exact_end`` its last.

    Values are unsigned: only so can a ReLU be one with what stands before it.
    """
    with tempfile.TemporaryDirectory() as folder:
        folded = Path(folder) / "folded.onnx"
        quant_pre_process(str(path), str(folded), skip_symbolic_shape=True)
        convolutions = [n.name for n in onnx.load(str(folded)).graph.node if n.op_type == "Conv"]
        quantize_static(
            str(folded), str(path), _Shown(shown), quant_format=QuantFormat.QDQ, per_channel=True,
            op_types_to_quantize=["Conv", "Relu", "Add", "MatMul"],
            nodes_to_exclude=[convolutions[0], *convolutions[-1:] * exact_end],
            activation_type=QuantType.QUInt8, weight_type=QuantType.QInt8,
        )  # fmt: skip


def in_eight_bits_as_it_goes(path: Path) -> None:
    """Let a model multiply by its weights in 8 bits, with the size of all else found as it runs."""
    with tempfile.TemporaryDirectory() as folder:
        folded = Path(folder) / "folded.onnx"
        quant_pre_process(str(path), str(folded), skip_symbolic_shape=True)
        quantize_dynamic(
            str(folded), str(path), op_types_to_quantize=["MatMul"], per_channel=True,
            weight_type=QuantType.QInt8,
        )  # fmt: skip


def _line_feed(line: np.ndarray) -> Feed:
    image = (255.0 - line[None, None].astype(np.float32)) / 255.0
    return {"image": image, "widths": np.array([line.shape[1]], np.int64)}


def _page_feed(page: np.ndarray) -> Feed:
    return {"image": page[None].astype(np.float32) / 255}


def drawn_lines(data: Path, fonts: Path) -> Iterator[np.ndarray]:
    """Pictures of lines in training hands, without end."""
    source = make_lines("train", data, fonts, np.random.default_rng(8))
    while True:
        sample = source.sample()
        if sample is not None:
            yield sample.image


def drawn_pages(data: Path, fonts: Path) -> Iterator[np.ndarray]:
    """Photos (3, H, W) of pages in training hands, without end."""
    rng = np.random.default_rng(8)
    hands = load_hands("pen", "train", data, fonts) + load_hands("font", "train", data, fonts)
    while True:
        yield one_page(rng, hands, 0)[0]


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
        lines = itertools.islice(drawn_lines(options.data, options.fonts), LINES)
        export_reader(reader, options.out, lines)
    if (options.run / "layout.pt").exists():
        layout = LayoutNet()
        layout.load_state_dict(torch.load(options.run / "layout.pt", map_location="cpu"))
        pages = itertools.islice(drawn_pages(options.data, options.fonts), PAGES)
        export_layout(layout, options.out, pages)


if __name__ == "__main__":
    main()
