"""Fetch the handwriting fonts the page generator writes with, and prepare their outlines.

``python -m checker.training.fetch_fonts --into .fonts`` fetches each package below with its
ordinary client (npm, apt-get), checks every font, and leaves ``outlines.npz`` and ``index.json``.
A package that cannot be fetched is named and left out.
"""

from __future__ import annotations

import argparse
import json
import re
import subprocess
import tarfile
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from checker.training.font_outlines import (
    Outlines,
    UnusableFont,
    from_files,
    from_stroke_font,
)
from checker.training.hand_fonts import save_outlines, split_of

NPM_SCOPE = "@fontsource"
NPM_FAMILIES = """
annie-use-your-telescope architects-daughter bad-script beth-ellen bilbo calligraffitti caveat
caveat-brush cedarville-cursive chilanka comic-neue coming-soon covered-by-your-grace crafty-girls
dekko delicious-handrawn delius edu-nsw-act-foundation edu-qld-beginner edu-sa-beginner
edu-tas-beginner edu-vic-wa-nt-beginner finger-paint fuzzy-bubbles gaegu gamja-flower
gloria-hallelujah gochi-hand grape-nuts handlee hi-melody homemade-apple indie-flower itim
just-another-hand kalam kavivanar klee-one la-belle-aurore loved-by-the-king mali mansalva
marck-script mynerve nanum-pen-script neucha nothing-you-could-do oooh-baby pangolin patrick-hand
playpen-sans playwrite-de-grund playwrite-fr-moderne playwrite-in playwrite-it-moderna
playwrite-us-trad poor-story rancho reenie-beanie satisfy schoolbell sedgwick-ave
shadows-into-light shadows-into-light-two shantell-sans short-stack slackside-one square-peg
sriracha sue-ellen-francisco swanky-and-moo-moo the-girl-next-door unkempt waiting-for-the-sunrise
yomogi zen-kurenaido zeyada
"""
STROKE_PACKAGE = "inkscape"
STROKE_FONTS = {  # file: (family, licence)
    "EMSAllure.svg": ("EMS Allure", "OFL-1.1"),
    "EMSFelix.svg": ("EMS Felix", "OFL-1.1"),
    "EMSNixish.svg": ("EMS Nixish", "OFL-1.1"),
    "EMSReadability.svg": ("EMS Readability", "OFL-1.1"),
    "EMSTech.svg": ("EMS Tech", "OFL-1.1"),
    "HersheySans1.svg": ("Hershey Sans 1-stroke", "Hershey"),
    "HersheyScript1.svg": ("Hershey Script 1-stroke", "Hershey"),
}
MISDRAWN = {
    "Marck Script": "×",
    "Nothing You Could Do": "µ",
    "Playpen Sans": "Ω",
}  # seen on a contact sheet
FAR_SUBSET = re.compile(
    r"^-\d+-\d+-|korean|japanese|chinese|devanagari|cyrillic|thai|malayalam|tamil"
)


@dataclass(frozen=True)
class Source:
    """One family as fetched: its font files (or one SVG) and where it comes from."""

    family: str
    ancestor: str
    licence: str
    package: str
    files: list[bytes]
    strokes: bool = False

    def outlines(self) -> Outlines:
        """Its characters; UnusableFont when it cannot serve."""
        if self.strokes:
            return from_stroke_font(self.files[0], self.family)
        return from_files(self.files, self.family, MISDRAWN.get(self.family, ""))


def _run(command: list[str], folder: Path) -> None:
    subprocess.run(command, cwd=folder, check=True, capture_output=True)


def npm_source(name: str, folder: Path) -> Source:
    """Pack one family from npm and read its regular weight, nearest subsets first."""
    _run(["npm", "pack", "--silent", f"{NPM_SCOPE}/{name}"], folder)
    (archive,) = folder.glob(f"*-{name}-[0-9]*.tgz")
    with tarfile.open(archive) as tar:
        members = {m.name: m for m in tar.getmembers() if m.isfile()}

        def content(path: str) -> bytes:
            stream = tar.extractfile(members[path])
            return stream.read() if stream else b""

        about = json.loads(content("package/metadata.json"))
        weight = min(about["weights"], key=lambda w: abs(w - 400))
        style = "normal" if "normal" in about["styles"] else about["styles"][0]
        ending = f"-{weight}-{style}.woff2"
        paths = [p for p in members if p.startswith("package/files/") and p.endswith(ending)]
        paths = [p for p in paths if not FAR_SUBSET.search(p.removeprefix(f"package/files/{name}"))]
        paths.sort(key=lambda p: (f"{name}-latin{ending}" not in p, p))
        licence = about["license"]["type"] if isinstance(about["license"], dict) else "see package"
        files = [content(p) for p in paths]
    archive.unlink()
    return Source(about["family"], about["family"], licence, f"{NPM_SCOPE}/{name}", files)


def stroke_sources(folder: Path) -> Iterator[Source]:
    """The single-stroke fonts; one traced from another design names it as its ancestor."""
    _run(["apt-get", "download", STROKE_PACKAGE], folder)
    (archive,) = folder.glob(f"{STROKE_PACKAGE}_*.deb")
    root = folder / STROKE_PACKAGE
    _run(["dpkg", "-x", archive.name, str(root)], folder)
    for file, (family, licence) in STROKE_FONTS.items():
        (path,) = root.rglob(file)
        data = path.read_bytes()
        derived = re.search(rb"A derivative of:\s*(.+)", data)
        ancestor = derived[1].decode().strip() if derived else family
        yield Source(family, ancestor, licence, STROKE_PACKAGE, [data], strokes=True)


def sources(folder: Path) -> Iterator[Source]:
    """Everything that can be fetched, one family at a time."""
    for name in NPM_FAMILIES.split():
        try:
            yield npm_source(name, folder)
        except subprocess.CalledProcessError:
            print(f"{NPM_SCOPE}/{name}: could not be fetched")
    try:
        yield from stroke_sources(folder)
    except subprocess.CalledProcessError:
        print(f"{STROKE_PACKAGE}: could not be fetched")


def table(index: list[dict[str, str]]) -> str:
    """The families as TOML, for the model card."""
    head = "# Font families behind the training pages; written by checker.training.fetch_fonts.\n"
    return head + "".join(
        "\n[[font]]\n" + "".join(f"{key} = {json.dumps(entry[key])}\n" for key in entry)
        for entry in index
    )


def main() -> None:
    """Fetch, check, and save."""
    parser = argparse.ArgumentParser(description=main.__doc__)
    parser.add_argument("--into", type=Path, required=True)
    parser.add_argument("--table", type=Path, default=Path(__file__).with_name("fonts_used.toml"))
    arguments = parser.parse_args()
    arguments.into.mkdir(parents=True, exist_ok=True)
    fonts: dict[str, Outlines] = {}
    index = []
    with tempfile.TemporaryDirectory() as temporary:
        for source in sources(Path(temporary)):
            try:
                fonts[source.family] = source.outlines()
            except UnusableFont as reason:
                print(f"{source.family}: left out, {reason}")
                continue
            index.append(
                {
                    "family": source.family,
                    "licence": source.licence,
                    "package": source.package,
                    "split": split_of(source.ancestor),
                }
            )
    save_outlines(arguments.into, fonts, index)
    arguments.table.write_text(table(index), "utf-8")
    print(f"{len(fonts)} fonts, {sum(e['split'] == 'validation' for e in index)} for validation")


if __name__ == "__main__":
    main()
