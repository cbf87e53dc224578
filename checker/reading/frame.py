"""The page as it would lie upright and flat, and how its pixels map to the photo's."""

from __future__ import annotations

from dataclasses import dataclass, replace

import cv2
import numpy as np

from checker.reading.smaller import smaller

WORKING_SIDE = 1600  # long side in pixels of the flat page on which lines are looked for


@dataclass(frozen=True)
class Frame:
    """``to_photo`` (3, 3) is the homography from flat pixels to photo pixels."""

    to_photo: np.ndarray
    width: int
    height: int
    quarters: int = 0  # clockwise quarter turns undone so far

    @classmethod
    def of(cls, corners: np.ndarray, long_side: int = WORKING_SIDE) -> Frame:
        """A frame for a sheet with the given corners (4, 2), clockwise from top left."""
        corners = np.asarray(corners, dtype=np.float64)
        side = np.linalg.norm(np.roll(corners, -1, axis=0) - corners, axis=1)
        width, height = (side[0] + side[2]) / 2, (side[1] + side[3]) / 2
        scale = min(1.0, long_side / max(width, height))
        width, height = max(1, round(width * scale)), max(1, round(height * scale))
        flat = np.array([[0, 0], [width, 0], [width, height], [0, height]], np.float32)
        return cls(cv2.getPerspectiveTransform(flat, corners.astype(np.float32)), width, height)

    def carry(self, points: np.ndarray) -> np.ndarray:
        """Flat points (n, 2) in photo pixels."""
        points = np.asarray(points, dtype=np.float64).reshape(-1, 1, 2)
        return cv2.perspectiveTransform(points, self.to_photo).reshape(-1, 2)

    def flatten(self, image: np.ndarray) -> np.ndarray:
        """The flat page cut out of a photo (grey or RGB); white where the photo ends."""
        x, y = self.width / 2, self.height / 2
        here, beside = self.carry(np.array([[x, y], [x + 1, y]]))
        shrink = min(1.0, 1.0 / max(float(np.linalg.norm(beside - here)), 1e-6))
        small = smaller(image, shrink) if shrink < 0.8 else image
        ratio = np.diag([small.shape[1] / image.shape[1], small.shape[0] / image.shape[0], 1.0])
        return cv2.warpPerspective(
            small,
            ratio @ self.to_photo,
            (self.width, self.height),
            flags=cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP,
            borderMode=cv2.BORDER_CONSTANT,
            borderValue=(255, 255, 255),
        )

    def part(self, low: np.ndarray, high: np.ndarray, zoom: float) -> Frame:
        """The part between two corners (x, y), ``zoom`` times as large."""
        back = np.array([[1 / zoom, 0, low[0]], [0, 1 / zoom, low[1]], [0, 0, 1]])
        width, height = (max(1, round(float(side) * zoom)) for side in np.subtract(high, low))
        return replace(self, to_photo=self.to_photo @ back, width=width, height=height)

    def turned(self, quarters: int) -> Frame:
        """The frame after undoing ``quarters`` clockwise quarter turns of the sheet."""
        frame = self
        for _ in range(quarters % 4):
            # New flat (x, y) was at old (width - y, x): the picture turns counter-clockwise.
            back = np.array([[0, -1, frame.width], [1, 0, 0], [0, 0, 1]], dtype=np.float64)
            frame = Frame(
                frame.to_photo @ back, frame.height, frame.width, (frame.quarters + 1) % 4
            )
        return frame

    def rotated(self, degrees: float) -> Frame:
        """The frame after undoing a slope: lines that fall by ``degrees`` become level."""
        middle = (self.width / 2, self.height / 2)
        plain = np.vstack([cv2.getRotationMatrix2D(middle, -degrees, 1.0), [0, 0, 1]])
        cos, sin = abs(plain[0, 0]), abs(plain[0, 1])
        width = round(self.width * cos + self.height * sin)
        height = round(self.width * sin + self.height * cos)
        shift = np.eye(3)
        shift[:2, 2] = (self.width - width) / 2, (self.height - height) / 2
        return replace(self, to_photo=self.to_photo @ plain @ shift, width=width, height=height)
