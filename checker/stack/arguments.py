"""The arguments of ``checker triage`` and ``checker export``."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import Any


def add_stack_commands(commands: Any) -> None:
    """Add both to the ``commands`` of a parser; what they need is imported when they run."""
    triage = commands.add_parser(
        "triage",
        help="read and judge a stack of submissions",
        description="Read and judge a stack; the same again continues where it stopped.",
    )
    triage.add_argument(
        "inputs", nargs="+", metavar="INPUT", help="photos, PDFs, .txt files, folders, zip archives"
    )
    triage.add_argument("--problem", required=True, metavar="FILE", help="the problem file (TOML)")
    triage.add_argument(
        "--out", required=True, type=Path, metavar="DIR", help="folder of the store and outputs"
    )
    triage.add_argument(
        "--jobs", type=_count, metavar="N", help="pages read at once (default: one for each core)"
    )
    triage.add_argument(
        "--scheduler", metavar="tcp://HOST:PORT", help="work on a Dask cluster instead of here"
    )
    triage.add_argument(
        "--split",
        type=_split,
        default="file",
        metavar="N|file|folder",
        help="what one submission is: N pages, a file (default) or a folder",
    )
    triage.add_argument(
        "--limit",
        action="append",
        default=[],
        metavar="NAME=NUMBER",
        help="another bound on what is taken in, for instance file_pages=5000 (see the README)",
    )
    triage.set_defaults(run=_triage)

    export = commands.add_parser(
        "export",
        help="write the outputs of a stack again",
        description="Write table, JSON, web page and PDF from the store in a folder.",
    )
    export.add_argument("folder", type=Path, metavar="DIR", help="the --out of checker triage")
    export.set_defaults(run=_export)


def _triage(options: argparse.Namespace) -> None:
    from checker.stack.command import run_triage
    from checker.stack.limits import limits_from

    run_triage(
        options.inputs,
        options.problem,
        options.out,
        options.split,
        options.jobs,
        options.scheduler,
        limits_from(options.limit),
    )


def _export(options: argparse.Namespace) -> None:
    from checker.stack.command import run_export

    run_export(options.folder)


def _count(text: str) -> int:
    if not text.isdecimal() or not 1 <= int(text) <= 1000:
        raise argparse.ArgumentTypeError(f"{text!r} is no number from 1 to 1000")
    return int(text)


def _split(text: str) -> str | int:
    return text if text in ("file", "folder") else _count(text)
