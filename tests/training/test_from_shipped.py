"""The network taken out of the shipped files against onnxruntime running these files."""

from __future__ import annotations

import cv2
import numpy as np
import onnxruntime
import pytest

from checker.reading.ink_reader import MODELS

torch = pytest.importorskip("torch", reason="needs the training extra")
pytest.importorskip("onnx", reason="needs the training extra")


def test_the_network_taken_out_sees_what_the_shipped_one_sees() -> None:
    from checker.training.from_shipped import unpack

    line = np.full((96, 320), 215, np.uint8)
    cv2.putText(line, "C1=4.7", (20, 66), cv2.FONT_HERSHEY_SIMPLEX, 1.4, 110, 2, cv2.LINE_AA)
    grain = np.random.default_rng(1).normal(0, 3, line.shape)
    line = (cv2.GaussianBlur(line, (0, 0), 1.2) + grain).clip(0, 255)
    image = ((255.0 - line) / 255.0).astype(np.float32)[None, None]
    session = onnxruntime.InferenceSession(str(MODELS / "line_encoder.onnx"))
    cells = session.run(["cells"], {"image": image, "widths": np.array([320])})[0]
    with torch.no_grad():
        own = unpack(MODELS).encoder(torch.from_numpy(image))[1].numpy()
    # Many 8-bit steps lie between them; with one layer in the wrong place nothing is alike.
    assert np.linalg.norm(own - cells) < 0.35 * np.linalg.norm(cells)


def test_giving_back_the_normalisation_changes_nothing() -> None:
    from checker.training.from_shipped import normalised, unpack

    image = torch.randint(0, 255, (2, 96, 160), dtype=torch.uint8)
    ids = torch.tensor([[5, 6], [7, 2]])
    boxes = torch.tensor([[[10.0, 20, 30, 60], [40, 20, 60, 60]], [[10, 20, 30, 60], [np.nan] * 4]])
    net = unpack(MODELS)
    picture = (255.0 - image[:, None].float()) / 255.0
    with torch.no_grad():
        before = net.encoder(picture)[0]
        cells, tokens = normalised(net, [(image, ids, boxes, torch.tensor([160, 160]))])
        after = net.encoder(picture)[0]
    assert cells.shape == (3, 224) and tokens.tolist() == [5, 6, 7]
    assert torch.allclose(before, after, atol=0.02)
