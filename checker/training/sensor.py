"""What a camera does to an even picture: blur, noise, sharpening, tone, JPEG."""

from __future__ import annotations

from collections.abc import Mapping

import cv2
import numpy as np

from checker.training.draw import grain


def settings(rng: np.random.Generator, severity: float, scale: float) -> dict[str, float]:
    """Random camera settings; ``scale`` px per mm keeps the blur within what a person can read."""
    poor = severity * rng.beta(1.2, 2.5)  # one hidden quality: bad pictures are bad in many ways
    most = 0.11 * scale + 0.3
    return {
        "blur": float(min(0.35 + 1.6 * poor * rng.random() + 0.25 * rng.random(), most)),
        "motion": float(min(rng.uniform(1, 5), 2 * most) if rng.random() < 0.35 * poor else 0),
        "motion_angle": float(rng.uniform(0, np.pi)),
        "noise_read": float(severity * 0.002 + 0.012 * poor * rng.random()),
        "noise_shot": float(severity * 0.004 + 0.035 * poor * rng.random()),
        "noise_soft": float(rng.random() < 0.5),  # smeared by the phone's denoiser
        "sharpen": float(rng.uniform(0.2, 1.3) if rng.random() < 0.5 else 0),
        "median": float(rng.random() < 0.08 * severity and scale > 8),
        "gamma": float(np.exp(rng.normal(0, 0.15 * severity))),
        "curve": float(rng.uniform(0, 0.6) if rng.random() < 0.5 else 0),
        "jpeg": float(np.clip(rng.uniform(96 - 66 * min(severity, 1.0), 96), 25, 98)),
    }


def lens(image: np.ndarray, camera: Mapping[str, float]) -> np.ndarray:
    """Defocus and motion blur; any depth, any number of channels."""
    if camera["motion"] > 1:
        image = cv2.filter2D(image, -1, _motion(camera["motion"], camera["motion_angle"]))
    sigma = camera["blur"]
    size = 2 * int(np.ceil(2.2 * sigma)) + 1
    return cv2.GaussianBlur(image, (size, size), sigma)


def _motion(length: float, angle: float) -> np.ndarray:
    size = int(np.ceil(length)) | 1
    kernel = np.zeros((size, size), np.float32)
    centre = size // 2
    for t in np.linspace(-length / 2, length / 2, 4 * size):
        x, y = centre + t * np.cos(angle), centre + t * np.sin(angle)
        x0, y0 = int(np.floor(x)), int(np.floor(y))
        for dx, dy in ((0, 0), (1, 0), (0, 1), (1, 1)):
            if 0 <= x0 + dx < size and 0 <= y0 + dy < size:
                kernel[y0 + dy, x0 + dx] += (1 - abs(x - x0 - dx)) * (1 - abs(y - y0 - dy))
    return kernel / kernel.sum()


def expose(plane: np.ndarray, camera: Mapping[str, float], rng: np.random.Generator) -> np.ndarray:
    """Add noise that grows with the signal, then the tone curve: float32 0..1 -> uint8."""
    noise = grain(rng, plane.shape)
    gain = 1.0
    if camera["noise_soft"]:
        noise, gain = cv2.GaussianBlur(noise, (3, 3), 0.8), 2.2
    # The square root law of photons is near enough a straight line over a sheet's few greys.
    deviation = plane * np.float32(gain * camera["noise_shot"])
    deviation += np.float32(gain * camera["noise_read"])
    noise *= deviation
    noise += plane
    return cv2.LUT(cv2.convertScaleAbs(np.maximum(noise, 0), alpha=255), tone(camera))


def tone(camera: Mapping[str, float]) -> np.ndarray:
    """The (256,) uint8 tone curve: gamma, then an S-curve."""
    x = np.linspace(0, 1, 256) ** camera["gamma"]
    x += camera["curve"] * (x * x * (3 - 2 * x) - x)
    return np.rint(np.clip(x, 0, 1) * 255).astype(np.uint8)


def develop(image: np.ndarray, camera: Mapping[str, float]) -> np.ndarray:
    """Denoising and sharpening artefacts, then JPEG; uint8 grey or BGR."""
    if camera["median"]:
        image = cv2.medianBlur(image, 3)
    amount = camera["sharpen"]
    if amount:
        soft = cv2.GaussianBlur(image, (5, 5), 1.2)
        image = cv2.addWeighted(image, 1 + amount, soft, -amount, 0)
    return jpeg(image, camera["jpeg"])


def jpeg(image: np.ndarray, quality: float) -> np.ndarray:
    """The image after a JPEG round trip, where that would be seen."""
    if quality > 93:
        return image
    _, data = cv2.imencode(".jpg", image, [cv2.IMWRITE_JPEG_QUALITY, round(quality)])
    flag = cv2.IMREAD_GRAYSCALE if image.ndim == 2 else cv2.IMREAD_COLOR
    decoded = cv2.imdecode(data, flag)
    assert decoded is not None
    return decoded
