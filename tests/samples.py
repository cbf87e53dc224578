"""The sample pages that lie beside the package."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Any

ROOT = Path(__file__).parents[1]


@dataclass(frozen=True)
class Sample:
    folder: Path

    @property
    def problem(self) -> Path:
        return self.folder / "problem.toml"

    @property
    def page(self) -> Path:
        return next(path for path in self.folder.iterdir() if path.stem == "page")

    @cached_property
    def truth(self) -> dict[str, Any]:
        return tomllib.loads((self.folder / "truth.toml").read_text(encoding="utf-8"))


TYPED = Sample(ROOT / "sample_pages" / "typed_three_capacitors")
PHOTOS = [Sample(page.parent) for page in sorted((ROOT / "sample_pages").glob("*/page.jpg"))]
