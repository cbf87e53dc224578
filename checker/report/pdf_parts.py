"""A PDF of any number of pages, of which only a few are in memory at a time.

ReportLab keeps all that it draws until the end, so it draws parts of a few pages each, and qpdf
joins them on the disk.
"""

from __future__ import annotations

import gc
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import BinaryIO

import pikepdf
from reportlab import rl_config
from reportlab.lib import pagesizes
from reportlab.pdfgen.canvas import Canvas

_PART = 50  # pages


class Parts:
    """Draw on ``canvas``, then say ``show_page``, again and again."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._files: list[str] = []
        self._entries: list[pikepdf.OutlineItem] = []
        self.count = 0
        self.canvas = self._new_canvas()

    def entry(self, title: str) -> None:
        """An entry of the outline that leads to the page now being drawn."""
        self._entries.append(pikepdf.OutlineItem(title, self.count))

    def show_page(self) -> None:
        self.canvas.showPage()
        self.count += 1
        if self.count % _PART == 0:
            self._save_part()
            self.canvas = self._new_canvas()

    def write(self, title: str, out: BinaryIO) -> None:
        if self.count % _PART:
            self._save_part()
        joined = self._folder / "joined.pdf"
        how = ["", "--deterministic-id", "--empty", "--pages", *self._files, "--", str(joined)]
        pikepdf.Job(how).run()
        with pikepdf.open(joined, access_mode=pikepdf.AccessMode.stream) as whole:
            with whole.open_outline() as outline:
                outline.root.extend(self._entries)
            whole.docinfo["/Title"] = pikepdf.String(title)
            whole.docinfo["/Producer"] = pikepdf.String("checker")
            whole.save(out, deterministic_id=True)

    def _new_canvas(self) -> Canvas:
        rl_config.useA85 = 0  # pictures as they are and not as text, a quarter smaller
        return Canvas(self._part(), pagesize=pagesizes.A4, invariant=1, pageCompression=1)

    def _part(self) -> str:
        return str(self._folder / f"{len(self._files)}.pdf")

    def _save_part(self) -> None:
        self.canvas.save()
        self._files.append(self._part())
        del self.canvas  # its objects hold one another, and a few large ones wake no collector
        gc.collect()


@contextmanager
def parted_pdf(title: str, out: BinaryIO) -> Iterator[Parts]:
    """What is drawn in the block becomes a PDF in ``out``, which has to be seekable.

    There have to be pages. The same drawing gives the same bytes.
    """
    with tempfile.TemporaryDirectory() as folder:
        parts = Parts(Path(folder))
        yield parts
        parts.write(title, out)
