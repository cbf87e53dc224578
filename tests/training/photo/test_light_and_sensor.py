"""Light, its removal, and the sensor."""

import cv2
import numpy as np
import pytest

from checker.training import light, sensor


def test_lamps_and_shadows_only_darken_so_far() -> None:
    for seed in range(30):
        rng = np.random.default_rng(seed)
        fall = light.lamps((60, 80), rng, 1.0)
        assert fall.shape == (60, 80) and fall.min() > 0.3 and fall.max() < 1.35
        cast = light.shadow((60, 80), rng, 1.0, 0.5)
        assert cast.shape == (60, 80) and cast.min() > 0.2 and cast.max() <= 1


def test_evening_removes_a_gradient_and_keeps_ink() -> None:
    ramp = np.tile(np.linspace(90, 220, 600), (90, 1))
    ink = np.zeros((90, 600), bool)
    ink[40:44, 50:550] = True
    grey = np.where(ink, 0.3 * ramp, ramp).astype(np.uint8)
    flat = light.even(grey, 8.0, np.random.default_rng(0))
    assert flat[20, 30:-30].min() > 240
    assert flat[42, 60:540] == pytest.approx(np.full(480, 0.3 * 255), abs=20)


def test_stretching_makes_ink_dark_but_leaves_bare_paper_alone() -> None:
    rng = np.random.default_rng(0)
    paper = rng.normal(246, 2, (96, 400)).clip(0, 255).astype(np.uint8)
    assert np.array_equal(light.stretch(paper, 240, 40), paper)
    paper[40:44] = 150
    spread = light.stretch(paper, 240, 40)
    assert spread[42].mean() == pytest.approx(40, abs=4)
    assert spread[10].min() == 255


def test_blur_keeps_the_mean_and_softens_edges() -> None:
    rng = np.random.default_rng(0)
    image = np.zeros((60, 60), np.float32)
    image[:, 30:] = 1
    for _ in range(20):
        camera = sensor.settings(rng, 2.0, 8.0)
        out = sensor.lens(image, camera)
        assert out.mean() == pytest.approx(0.5, abs=0.02)
        assert 0 < out[30, 29] < 0.51


def test_noise_grows_with_light() -> None:
    rng = np.random.default_rng(0)
    camera = sensor.settings(rng, 1.0, 8.0) | {
        "noise_shot": 0.05, "noise_read": 0.005, "gamma": 1.0, "curve": 0.0
    }  # fmt: skip
    dark = sensor.expose(np.full((200, 200), 0.2, np.float32), camera, rng)
    bright = sensor.expose(np.full((200, 200), 0.7, np.float32), camera, rng)
    assert dark.mean() == pytest.approx(51, abs=1) and bright.mean() == pytest.approx(178.5, abs=1)
    assert bright.std() > 1.5 * dark.std() > 1


def test_tone_curves_rise() -> None:
    rng = np.random.default_rng(0)
    for _ in range(50):
        curve = sensor.tone(sensor.settings(rng, 1.0, 8.0)).astype(int)
        assert curve[0] == 0 and curve[255] == 255 and (np.diff(curve) >= 0).all()


def test_jpeg_keeps_the_size_and_loses_with_quality() -> None:
    rng = np.random.default_rng(0)
    image = cv2.GaussianBlur(rng.integers(0, 256, (81, 130), np.uint8), (0, 0), 1.0)
    loss = [
        np.abs(sensor.jpeg(image, quality).astype(int) - image).mean() for quality in (30, 60, 90)
    ]
    assert loss[0] > loss[1] > loss[2] > 0
    colour = sensor.jpeg(cv2.merge([image] * 3), 80)
    assert colour.shape == (81, 130, 3)
