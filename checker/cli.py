"""The ``checker`` command.

Exit status: 0 when the pages were checked, whatever was found; 2 for input that cannot be used,
with one sentence on standard error; 130 when interrupted; 1 for a mistake of the program itself.
"""

from __future__ import annotations

import argparse
import contextlib
import os
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import NoReturn, get_args

from checker.errors import CheckerError
from checker.stack.arguments import add_stack_commands
from checker.submission import Checked, ReaderName

EPILOG = """\
examples:
  checker check page.jpg --problem problem.toml --annotated marked.png
  checker check first.jpg second.jpg --problem problem.toml --json
  checker check working.txt --problem problem.toml
  checker solve problem.toml
  checker desk
  checker triage scans.pdf photos/ --problem problem.toml --out stack
  checker export stack
"""


class _Parser(argparse.ArgumentParser):
    """Says what is wrong with the arguments in one sentence, without the usage text."""

    def error(self, message: str) -> NoReturn:
        sentence = message[:1].upper() + message[1:].rstrip(".")
        _say(f"{sentence}; see {self.prog} --help.")
        raise SystemExit(2)


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the command and give its exit status."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")
    options = _parser().parse_args(arguments)
    try:
        options.run(options)
        sys.stdout.flush()
    except CheckerError as error:
        _say(str(error))
        return 2
    except BrokenPipeError:
        # The reader of our output went away; keep the interpreter from complaining at exit.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0
    except OSError as error:
        _say(_os_sentence(error))
        return 2
    except KeyboardInterrupt:
        _say("Interrupted.")
        return 130
    except Exception as error:
        # A mistake of ours: still one sentence; ``python -X dev -m checker`` shows where.
        if sys.flags.dev_mode:
            raise
        _say(f"Internal error ({type(error).__name__}: {error}); please report it with the input.")
        return 1
    return 0


def _parser() -> argparse.ArgumentParser:
    parser = _Parser(
        prog="checker",
        description="Points at the first step of a circuit reduction that does not follow.",
        epilog=EPILOG,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    commands = parser.add_subparsers(title="commands", required=True, metavar="COMMAND")

    check = commands.add_parser(
        "check", help="check the pages of one submission", description="Check one submission."
    )
    check.add_argument(
        "pages", nargs="+", metavar="PAGE", help="a photo, or a .txt file with a line per step"
    )
    check.add_argument("--problem", required=True, metavar="FILE", help="the problem file (TOML)")
    check.add_argument("--json", action="store_true", help="print the result as JSON")
    check.add_argument(
        "--annotated",
        type=Path,
        metavar="OUT.png",
        help="write the marked page here; several pages become OUT-1.png, OUT-2.png, ...",
    )
    check.add_argument(
        "--reader", choices=get_args(ReaderName), help="what reads a photo (default: the best one)"
    )
    check.set_defaults(run=_check)

    solve = commands.add_parser(
        "solve", help="print the reference solution", description="Print the reference solution."
    )
    solve.add_argument("problem", metavar="PROBLEM", help="the problem file (TOML)")
    solve.set_defaults(run=_solve)

    add_stack_commands(commands)

    desk = commands.add_parser(
        "desk",
        help="open the web pages on this machine",
        description="Serve the web pages until Ctrl-C, to this machine only unless told otherwise.",
    )
    desk.add_argument("--student", action="store_true", help="the student's page alone")
    desk.add_argument("--port", type=_port, default=8501, help="default: 8501")
    desk.add_argument(
        "--host",
        default="127.0.0.1",
        metavar="ADDRESS",
        help="where to listen; any but this machine's loopback needs a password",
    )
    desk.add_argument(
        "--password-file",
        type=Path,
        metavar="FILE",
        help="a file with the hash of the password that opens the pages",
    )
    desk.add_argument("--store", type=Path, metavar="FILE", help="the record of the stacks")
    desk.set_defaults(run=_desk)
    return parser


def _check(options: argparse.Namespace) -> None:
    from checker.submission import check

    if options.annotated is not None:
        _check_target(options.annotated)
    checked = check(options.pages, options.problem, options.reader)
    if options.annotated is not None:
        _write_annotated(checked, options.annotated)
    if options.json:
        from checker.report.as_json import as_json

        print(as_json(checked))
    else:
        from checker.report.as_text import as_text

        print(as_text(checked))


def _check_target(target: Path) -> None:
    """Refuse a file that could not be written before the pages are read."""
    if target.suffix.lower() not in (".png", ".jpg", ".jpeg"):
        raise CheckerError(f"{target} must end in .png or .jpg; choose such a name.")
    if not target.parent.is_dir():
        raise CheckerError(f"There is no folder {target.parent}; make it or choose another.")
    if target.is_dir():
        raise CheckerError(f"{target} is a folder; choose a file name.")


def _write_annotated(checked: Checked, target: Path) -> None:
    from checker.report.page_picture import page_picture

    for page in range(len(checked.pages)):
        several = len(checked.pages) > 1
        path = target.with_stem(f"{target.stem}-{page + 1}") if several else target
        page_picture(checked, page).save(path)


def _solve(options: argparse.Namespace) -> None:
    from checker.problem.problem_file import load_problem
    from checker.problem.reduction import solve
    from checker.problem.solution_text import write_solution

    print(write_solution(solve(load_problem(options.problem))).rstrip("\n"))


def _desk(options: argparse.Namespace) -> None:
    from checker.desk.server import Serving, serve

    password = None
    if options.password_file is not None:
        from checker.desk.password import stored_hash

        password = stored_hash(options.password_file)
    serve(Serving(options.port, options.host, options.student, password, options.store))


def _port(text: str) -> int:
    if not text.isdecimal() or not 1 <= int(text) <= 65535:
        raise argparse.ArgumentTypeError(f"{text!r} is no port; give a number from 1 to 65535")
    return int(text)


def _os_sentence(error: OSError) -> str:
    where = f"{error.filename}: " if error.filename is not None else ""
    return f"{where}{error.strerror or error}; check the name and the permissions."


def _say(sentence: str) -> None:
    with contextlib.suppress(OSError):
        print(f"checker: {sentence}", file=sys.stderr)
