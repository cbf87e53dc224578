"""The camera: a vector sheet becomes a photograph, a scan, or one straightened strip of it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import asdict, dataclass
from typing import Any

import cv2
import numpy as np

from checker.training import light, sensor
from checker.training.draw import Layer, draw, kind_of, pick, texture
from checker.training.marks import Mark, Sheet
from checker.training.paper import (
    Paper,
    Ruling,
    Window,
    choose_paper,
    choose_ruling,
    desk,
    fibre,
    holes,
    mottle,
    outline,
    ruling_marks,
)
from checker.training.view import View, flat_view, phone_view

_LUMA = np.array((0.299, 0.587, 0.114))  # ITU-R BT.601


@dataclass(frozen=True)
class Shot:
    """A picture of a sheet: RGB (H, W, 3) or, for a strip, grey (H, W); uint8.

    ``to_pixels`` maps (n, 2) mm on the sheet to (n, 2) px, (0, 0) the centre of the first pixel.
    """

    image: np.ndarray
    to_pixels: Callable[[np.ndarray], np.ndarray]
    quality: dict[str, Any]


def photograph(
    sheet: Sheet,
    rng: np.random.Generator,
    *,
    megapixels: float | None = None,
    mode: str = "any",
    severity: float = 1.0,
    ruling: Ruling | None = None,
) -> Shot:
    """A whole sheet as a phone ("phone") or a scanner ("scan") sees it.

    ``severity`` 0 is a perfect camera over perfect paper, 1 what people send, 2 worse.
    ``ruling`` overrides one chosen at random for ``sheet.ruling``.
    """
    if mode == "any":
        mode = "scan" if rng.random() < 0.15 else "phone"
    if mode not in ("phone", "scan"):
        raise ValueError(f"mode {mode!r}: use phone, scan or any")
    if megapixels is None:
        megapixels = float(np.exp(rng.uniform(np.log(1.5), np.log(12))))
    make = phone_view if mode == "phone" else flat_view
    view, final = make(sheet, rng, megapixels, severity)
    detail = 1.0  # some pictures were enlarged by the program that sent them
    if view.scale > 6 and rng.random() < 0.2 * severity:
        detail = float(rng.uniform(0.6, 0.95))
        view = view.resized(detail)
    size = (round(final[0] * detail), round(final[1] * detail))
    paper = choose_paper(rng, severity if mode == "phone" else 0.3 * severity)
    ruling = ruling or choose_ruling(sheet.ruling, rng)
    camera = sensor.settings(rng, severity if mode == "phone" else 0.4 * severity, view.scale)
    image = _expose_page(sheet, view, size, paper, ruling, camera, rng, mode, severity)
    look = "photo"
    if mode == "scan":
        look = pick(rng, ("colour", "grey", "app") * 3 + ("bilevel",))
        image = _scanner_look(image, look, view.scale, rng)
    image = sensor.develop(image, camera)
    if detail != 1:
        image = cv2.resize(image, (final[1], final[0]), interpolation=cv2.INTER_LINEAR)
        image = sensor.jpeg(image, rng.uniform(60, 95))
        view = view.resized(1 / detail)
    quality = {"mode": mode, "look": look, "px_per_mm": view.scale, "detail": detail,
               "ruling": asdict(ruling), "paper": asdict(paper), **camera}  # fmt: skip
    return Shot(cv2.cvtColor(image, cv2.COLOR_BGR2RGB), view, quality)


def _expose_page(
    sheet: Sheet,
    view: View,
    size: tuple[int, int],
    paper: Paper,
    ruling: Ruling,
    camera: dict[str, float],
    rng: np.random.Generator,
    mode: str,
    severity: float,
) -> np.ndarray:
    """The picture the sensor hands on, (H, W, 3) uint8 BGR."""
    lit, table_lit = _page_light(sheet, view, size, paper, rng, mode, severity)
    mask = _sheet_mask(sheet, view, size, paper, rng)
    covered = int(mask.min()) == 255
    printed = draw(
        ruling_marks(ruling, (0.0, 0.0, sheet.size[0], sheet.size[1])), view, size, view.scale, None
    )
    ink = draw(sheet.marks, view, size, view.scale, rng)
    ink = [Layer(texture(one, kind_of(one, rng), view.scale, rng), one.colour) for one in ink]
    surface = _surface(fibre(rng, size, paper), paper, ink, rng)
    table = None if covered else _table(sheet, view, size, paper, rng, mode)
    share = mask.astype(np.float32) * np.float32(1 / 255)
    warm, green = rng.normal((0.05, 0), (0.08, 0.02)) * severity  # white balance misses warm light
    balance = np.exp((warm, green, -warm)) * rng.uniform(0.82, 1.08)
    tilt = rng.normal(0, 0.03 * severity) * np.array((1, 0, -1))  # a second lamp's colour
    ramp = np.linspace(-1, 1, lit.shape[1], dtype=np.float32)[None, :]
    planes = []
    for channel in (2, 1, 0):
        tint = np.float32(balance[channel]) * (1 + np.float32(tilt[channel]) * ramp)
        plane = _enlarge(lit * tint, size)
        plane *= surface
        plane *= np.float32(paper.tone[channel])
        for layer in (*printed, *ink):
            plane *= _through(layer.coverage, layer.colour[channel] / 255)
        if table is not None:
            under = _enlarge(table_lit * tint, size)
            under *= table[..., channel]
            under *= np.float32(1 / 255)
            plane -= under
            plane *= share
            plane += under
        planes.append(sensor.expose(sensor.lens(plane, camera), camera, rng))
    return cv2.merge(planes)


def _through(coverage: np.ndarray, ink: float) -> np.ndarray:
    """Light left by ink of this reflectance: 1 - coverage (1 - ink)."""
    out = coverage * np.float32(ink - 1)
    out += np.float32(1)
    return out


def _enlarge(coarse: np.ndarray, size: tuple[int, int]) -> np.ndarray:
    return cv2.resize(coarse, (size[1], size[0]), interpolation=cv2.INTER_LINEAR)


def _surface(
    surface: np.ndarray, paper: Paper, ink: Sequence[Layer], rng: np.random.Generator
) -> np.ndarray:
    """The unprinted sheet with the back side (this side's writing mirrored) shining through."""
    if paper.show_through and ink:
        back = cv2.blur(ink[0].coverage[:, ::-1], (3, 3))
        back = np.roll(back, int(rng.integers(2, max(3, surface.shape[0] // 8))), axis=0)
        surface *= _through(back, 1 - paper.show_through)
    return surface


def _page_light(
    sheet: Sheet,
    view: View,
    size: tuple[int, int],
    paper: Paper,
    rng: np.random.Generator,
    mode: str,
    severity: float,
) -> tuple[np.ndarray, np.ndarray]:
    """Light on the sheet and on what is beneath it, coarse float32 arrays."""
    coarse = (max(4, size[0] // 8), max(4, size[1] // 8))
    if mode == "scan":
        flat = 0.25 * light.lamps(coarse, rng, 0.4 * severity) + np.float32(0.75)
        return flat, flat
    fall = light.lamps(coarse, rng, severity)
    fall *= light.shadow(coarse, rng, severity, view.scale / 8)
    clouds = mottle(rng, coarse, paper)
    slope = view.shading(rng, paper.folds)
    corners = np.array(((0, 0), (1, 0), (1, 1), (0, 1)), np.float32)
    on_page = corners * (np.array(slope.shape[::-1], np.float32) - 1)
    in_picture = (view(corners * sheet.size) / 8).astype(np.float32)
    matrix = cv2.getPerspectiveTransform(on_page, in_picture)
    slopes = cv2.warpPerspective(
        slope, matrix, (coarse[1], coarse[0]), borderMode=cv2.BORDER_REPLICATE
    )
    if paper.stain:
        slopes *= _stain(coarse, rng)
    outer = np.zeros(coarse, np.float32)
    drop = (in_picture + rng.normal(0, 0.012 * coarse[0], 2)).astype(np.int32)
    cv2.fillConvexPoly(outer, drop, 1.0)
    blur = max(1.0, 0.012 * coarse[0])
    contact = 1 - np.float32(rng.uniform(0.1, 0.5)) * cv2.GaussianBlur(outer, (0, 0), blur)
    return fall * slopes * clouds, fall * contact


def _stain(shape: tuple[int, int], rng: np.random.Generator) -> np.ndarray:
    """The ring a cup leaves."""
    out = np.ones(shape, np.float32)
    centre = (int(rng.uniform(0, shape[1])), int(rng.uniform(0, shape[0])))
    radius = int(0.15 * shape[0] * rng.uniform(0.7, 1.2))
    cv2.circle(out, centre, radius, 0.97, -1, cv2.LINE_AA)
    cv2.circle(out, centre, radius, rng.uniform(0.82, 0.94), 2, cv2.LINE_AA)
    return cv2.GaussianBlur(out, (0, 0), 0.8)


def _sheet_mask(
    sheet: Sheet, view: View, size: tuple[int, int], paper: Paper, rng: np.random.Generator
) -> np.ndarray:
    mask = np.zeros(size, np.uint8)
    edge = np.rint(view(outline(sheet.size, paper, rng)) * 16).astype(np.int32)
    cv2.fillPoly(mask, [edge], 255, cv2.LINE_AA, 4)
    for ring in holes(sheet.size, paper):
        cv2.fillPoly(mask, [np.rint(view(ring) * 16).astype(np.int32)], 0, cv2.LINE_AA, 4)
    return mask


def _table(
    sheet: Sheet,
    view: View,
    size: tuple[int, int],
    paper: Paper,
    rng: np.random.Generator,
    mode: str,
) -> np.ndarray:
    if mode == "scan":
        return np.full((*size, 3), pick(rng, (252, 235, 128, 12)), np.uint8)
    table = desk(size, rng)
    if rng.random() < 0.3:  # more sheets beneath
        shade = tuple(255 * v * rng.uniform(0.9, 1.0) for v in paper.tone)
        corners = np.array(((0, 0), (1, 0), (1, 1), (0, 1))) * sheet.size
        moved = corners + rng.normal(0, 6, 2) + rng.normal(0, 3, (4, 2))
        cv2.fillPoly(table, [np.rint(view(moved) * 16).astype(np.int32)], shade, cv2.LINE_AA, 4)
    return table


def _scanner_look(
    image: np.ndarray, look: str, scale: float, rng: np.random.Generator
) -> np.ndarray:
    if look == "colour":
        return image
    grey = cv2.cvtColor(image, cv2.COLOR_BGR2GRAY)
    if look == "app":
        grey = light.stretch(
            light.even(grey, scale, rng), rng.uniform(220, 252), rng.uniform(0, 60)
        )
    elif look == "bilevel":
        cut = float(np.median(grey[::7, ::7])) * rng.uniform(0.74, 0.9)
        grey = cv2.threshold(grey, cut, 255, cv2.THRESH_BINARY)[1]
    return cv2.cvtColor(grey, cv2.COLOR_GRAY2BGR)


def strip(
    marks: Sheet | Sequence[Mark],
    window: Window,
    rng: np.random.Generator,
    *,
    px_per_mm: float,
    severity: float = 1.0,
    ruling: str | Ruling = "any",
    camera_px_per_mm: float | None = None,
) -> Shot:
    """One window (x0, y0, x1, y1 mm) as the page software hands it to the line reader.

    Seen by a camera of 4 to 14 px per mm with its blur, noise and JPEG, slightly bent and turned,
    then evened and resampled to ``px_per_mm``: (H, W) uint8, dark ink on light paper.
    """
    if isinstance(marks, Sheet):
        ruling = marks.ruling if ruling == "any" else ruling
        marks = marks.marks
    if isinstance(ruling, str):
        ruling = choose_ruling(ruling, rng)
    if camera_px_per_mm is None:
        camera_px_per_mm = float(np.exp(rng.uniform(np.log(4), np.log(14))))
    seen = min(camera_px_per_mm, 1.35 * px_per_mm)  # finer is lost in the reader's resolution
    x0, y0, x1, y1 = window
    final = (max(8, round((y1 - y0) * px_per_mm)), max(8, round((x1 - x0) * px_per_mm)))
    size = (max(8, round((y1 - y0) * seen)), max(8, round((x1 - x0) * seen)))
    warp = _local_warp(window, size, rng, severity)
    paper = choose_paper(rng, severity)
    camera = sensor.settings(rng, severity, seen)
    around = (x0 - 4, y0 - 4, x1 + 4, y1 + 4)
    ink = draw(marks, warp, size, seen, rng)
    ink = [Layer(texture(one, kind_of(one, rng), seen, rng), one.colour) for one in ink]
    camera["noise_read"] += 0.5 * paper.texture  # at this size the paper's grain is noise
    plane = _surface(np.ones(size, np.float32), paper, ink, rng)
    for layer in (*draw(ruling_marks(ruling, around), warp, size, seen, None), *ink):
        plane *= _through(layer.coverage, float(_LUMA @ layer.colour) / 255)
    coarse = (max(4, size[0] // 6), max(4, size[1] // 6))
    lit = light.lamps(coarse, rng, 0.5 * severity)
    lit *= light.shadow(coarse, rng, 0.8 * severity, seen / 6)
    lit *= mottle(rng, coarse, paper)
    lit *= np.float32(rng.uniform(0.55, 1.0) * _LUMA @ paper.tone)
    plane *= _enlarge(lit, size)
    grey = sensor.expose(sensor.lens(plane, camera), camera, rng)
    grey = sensor.develop(grey, camera)
    how = float(rng.random())
    if how < 0.96:
        grey = light.even(grey, seen, rng)
    if how < 0.8:
        grey = light.stretch(grey, 255 - float(rng.gamma(2, 7)), rng.uniform(20, 70))
    if size != final:
        shrunk = final[1] < 0.75 * size[1]
        method = cv2.INTER_AREA if shrunk else pick(rng, (cv2.INTER_LINEAR, cv2.INTER_CUBIC))
        grey = cv2.resize(grey, (final[1], final[0]), interpolation=method)
    ratio = np.array((final[1] / size[1], final[0] / size[0]))

    def to_pixels(mm: np.ndarray) -> np.ndarray:
        return (warp(np.asarray(mm, float)) + 0.5) * ratio - 0.5

    return Shot(grey, to_pixels, {"camera_px_per_mm": seen, "ruling": ruling, **camera})


def _local_warp(
    window: Window, size: tuple[int, int], rng: np.random.Generator, severity: float
) -> Callable[[np.ndarray], np.ndarray]:
    """What straightening leaves: a little turn, shear, stretch, bend and perspective."""
    x0, y0, x1, y1 = window
    centre = np.array(((x0 + x1) / 2, (y0 + y1) / 2))
    half = max(x1 - x0, y1 - y0) / 2
    turn, shear, stretch, taper = rng.normal(0, (0.01, 0.02, 0.03, 0.02)) * severity
    bend, wave = rng.normal(0, (0.25, 0.12)) * severity
    length, phase = rng.uniform(25, 90), rng.uniform(0, 2 * np.pi)
    per_mm = np.array((size[1] / (x1 - x0), size[0] / (y1 - y0)))
    middle = np.array((size[1], size[0])) / 2 - 0.5

    def warp(mm: np.ndarray) -> np.ndarray:
        d = mm - centre
        x, y = d[:, 0], d[:, 1]
        depth = 1 / (1 + taper * x / half)
        out = np.empty_like(d)
        out[:, 0] = x + shear * y
        out[:, 1] = (
            (1 + stretch) * y
            + turn * x
            + bend * ((x / half) ** 2 - 1 / 3)
            + wave * np.sin(2 * np.pi * x / length + phase)
        )
        out *= depth[:, None]
        out *= per_mm
        out += middle
        return out

    return warp
