"""The problem file: TOML, version 1.

    format = 1                                       # optional
    title = "Three capacitors on a 24 V supply"      # optional, else the file's name
    supply = "24 V"
    connection = "parallel(series(C1, C2), C3)"      # or terminals and [branches], below
    find = ["equivalent capacitance", "charge", "voltage"]      # also "energy"; optional
    significant_figures = 3                          # optional
    [capacitors]
    C1 = "4 µF"
    C2 = "12 µF"
    C3 = "5 µF"
    [marks]                                          # optional, see checker.problem.marking
    charge = 1

Instead of ``connection``, ``terminals = ["a", "b"]`` and a table ``[branches]`` with the two nodes
of every element, ``C1 = ["a", "m"]``; ``terminals`` may also stand in that table.  ``supply`` may
be left out only where ``find`` asks for nothing but the equivalent capacitance.
"""

from __future__ import annotations

import difflib
import json
import re
import tomllib
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any, TypeGuard

from checker.errors import ProblemError
from checker.problem.branches import Ends, network_of
from checker.problem.connection import write_connection
from checker.problem.fault import Fault
from checker.problem.given import Problem, check_count, make_problem, unlisted
from checker.problem.marking import TABLE, marking_scheme, scheme_to_toml
from checker.problem.network import Node
from checker.quantity import Quantity, format_quantity, parse_quantity, shown, si_unit

VERSION = 1
LARGEST = 64 * 1024  # bytes
LONGEST = 500  # lines; finding the line of a fault takes a parse for each
_KEYS = ("format", "title", "supply", "connection", "terminals", "branches", "find",
         "significant_figures", "capacitors", TABLE)  # fmt: skip

__all__ = ["Problem", "load_problem", "make_problem", "parse_problem", "problem_to_toml"]


def load_problem(path: Path | str) -> Problem:
    """Read a problem file.

    Raises ProblemError whose one sentence names the file and, as does its ``line``, the line.
    """
    path = Path(path)
    try:
        with path.open("rb") as file:
            content = file.read(LARGEST + 1)
    except FileNotFoundError:
        raise ProblemError(f"There is no problem file {path}; check the path.") from None
    except IsADirectoryError:
        raise ProblemError(f"{path} is a folder; name the problem file in it.") from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or error
        raise ProblemError(
            f"The problem file {path} cannot be opened ({reason}); check the path and its rights."
        ) from None
    if len(content) > LARGEST:
        raise ProblemError(
            f"{path} is larger than {LARGEST // 1024} KiB and so is no problem file; "
            "name the TOML file that describes the circuit."
        )
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = content[: error.start].count(b"\n") + 1
        raise ProblemError(
            f"{path.name}, line {line}: This is not UTF-8 text; save the file as UTF-8.", line
        ) from None
    return parse_problem(text, str(path))


def parse_problem(text: str, source: str = "") -> Problem:
    """The problem that the text of a problem file describes; ``source`` names it in errors."""
    name = Path(source).name or "The problem"
    text = text.replace("\r\n", "\n")
    if text.count("\n") > LONGEST:
        raise ProblemError(
            f"{name}: It has more than {LONGEST} lines and so is no problem file; "
            "name the TOML file that describes the circuit."
        )
    try:
        table = tomllib.loads(text)
    except RecursionError:
        raise ProblemError(f"{name}: Its lists nest too deeply; write them flat.") from None
    except tomllib.TOMLDecodeError as error:
        raise _no_toml(text, name, str(error)) from None
    except ValueError:  # Python refuses whole numbers of more than some thousand digits
        raise ProblemError(f"{name}: A number in it is far too long; shorten it.") from None
    try:
        problem = _problem(table, Path(source).stem or "Untitled problem")
    except Fault as fault:
        line = _line_of(text, fault.key)
        if line is not None:
            raise ProblemError(f"{name}, line {line}: {fault}", line) from None
        place, line = _place_for(fault.key[0], text, table)
        raise ProblemError(f"{name}, {place} line {line}: {fault}", line) from None
    return replace(problem, source=source, text=text)


def problem_to_toml(problem: Problem) -> str:
    """The text of a problem file that reads back as ``problem``."""
    lines = [f"format = {VERSION}", f"title = {_quoted(problem.title)}"]
    if problem.supply is not None:
        lines.append(f'supply = "{_exactly(problem.supply)}"')
    lines.append(f'connection = "{write_connection(problem.network)}"')
    lines.append(f"find = [{', '.join(map(_quoted, problem.find))}]")
    if problem.significant_figures is not None:
        lines.append(f"significant_figures = {problem.significant_figures}")
    lines += ["", "[capacitors]"]
    lines += [f'{name} = "{_exactly(value)}"' for name, value in problem.capacitors.items()]
    text = "\n".join(lines) + "\n"
    return f"{text}\n{scheme_to_toml(problem.marking)}" if problem.marking else text


def _problem(table: Mapping[str, Any], default_title: str) -> Problem:
    _check_keys(table)
    title = table.get("title", default_title)
    if not isinstance(title, str) or not title.strip():
        raise Fault('The title is no text; write it in quotes, like title = "Circuit 1".', "title")
    capacitors = _table(table, "capacitors", 'C1 = "4 µF"')
    check_count(capacitors)
    for name, value in capacitors.items():
        _check_text(value, f"The capacitance of {name}", "4 µF", "capacitors", name)
    if "supply" in table:
        _check_text(table["supply"], "The supply", "24 V", "supply")
    figures = table.get("significant_figures")
    if "significant_figures" in table and type(figures) is not int:
        raise Fault(
            "significant_figures is no whole number; give one, like 3.", "significant_figures"
        )
    find = table.get("find")
    if find is not None and not _is_texts(find):
        raise Fault('find is no list of texts; write it like find = ["charge"].', "find")
    problem = make_problem(
        title=title.strip(),
        supply=table.get("supply"),
        connection=_connection(table, tuple(capacitors)),
        capacitors=capacitors,
        find=find,
        significant_figures=figures,
    )
    if TABLE not in table:
        return problem
    return replace(problem, marking=marking_scheme(table[TABLE], problem.find))


def _check_keys(table: Mapping[str, Any]) -> None:
    if table.get("format", VERSION) != VERSION:
        raise Fault(
            f"The file is of another format than {VERSION}, the one that this program reads; "
            f"rewrite it in format {VERSION}.",
            "format",
        )
    for key in table:
        if key not in _KEYS:
            near = difflib.get_close_matches(key, _KEYS, 1)
            hint = (
                f'write "{near[0]}" if that is meant' if near else f"choose from {', '.join(_KEYS)}"
            )
            raise Fault(f'"{shown(key)}" is no key of a problem file; {hint}.', key)
    for name in ("capacitors", "branches"):
        inner = table.get(name)
        for key in inner if isinstance(inner, dict) else ():
            if key in _KEYS and (name, key) != ("branches", "terminals"):
                raise Fault(
                    f'"{key}" stands under [{name}] and counts as an element there; '
                    "move the line above the first [table].",
                    *(name, key),
                )


def _connection(table: Mapping[str, Any], names: tuple[str, ...]) -> Node | str:
    if "connection" in table and "branches" in table:
        raise Fault("Both connection and [branches] are given; keep one of them.", "branches")
    if "branches" not in table:
        if "connection" not in table:
            raise Fault(
                'The connection is missing; add a line such as connection = "series(C1, C2)".',
                "connection",
            )
        _check_text(table["connection"], "The connection", "series(C1, C2)", "connection")
        return str(table["connection"])
    branches = dict(_table(table, "branches", 'C1 = ["a", "m"]'))
    inside = "terminals" in branches
    terminals = branches.pop("terminals") if inside else table.get("terminals")
    key = ("branches", "terminals") if inside else ("terminals",)
    if terminals is None:
        raise Fault('The terminals are missing; add a line such as terminals = ["a", "b"].', *key)
    for name in branches:
        if name not in names:
            raise unlisted(name, "branches", name)
    ends = {
        name: _ends(pair, f"Branch {name}", "branches", name) for name, pair in branches.items()
    }
    return network_of(ends, _ends(terminals, "terminals", *key))


def _table(table: Mapping[str, Any], key: str, example: str) -> Mapping[str, Any]:
    value = table.get(key)
    if not isinstance(value, dict) or not value:
        state = "empty" if value == {} else "missing" if value is None else "no table"
        raise Fault(f"The table [{key}] is {state}; write [{key}] and below it {example}.", key)
    return value


def _check_text(value: object, what: str, example: str, *key: str) -> None:
    if not isinstance(value, str):
        raise Fault(f'{what} is no text in quotes; write it like "{example}".', *key)


def _ends(value: object, what: str, *key: str) -> Ends:
    if not _is_texts(value) or len(value) != 2:
        raise Fault(f'{what} does not name two nodes; write them like ["a", "b"].', *key)
    return value[0], value[1]


def _is_texts(value: object) -> TypeGuard[list[str]]:
    return isinstance(value, list) and all(isinstance(item, str) for item in value)


def _exactly(quantity: Quantity) -> str:
    text = format_quantity(quantity, figures=30)
    if parse_quantity(text) == quantity:
        return text
    return f"{quantity.value} {si_unit(quantity.dimension).symbol}"


def _quoted(text: str) -> str:
    """A TOML basic string; its escapes are JSON's, and U+007F needs one too."""
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


def _no_toml(text: str, name: str, reason: str) -> ProblemError:
    where = re.search(r"\(at line (\d+)", reason)
    line = int(where[1]) if where else text.count("\n", 0, len(text.rstrip())) + 1
    what = reason.split(" (at ")[0].rstrip(".")
    if what.startswith(("Cannot overwrite", "Cannot declare", "Duplicate")):
        fix = "its key or table is already given above; keep one of them"
    else:
        fix = f'it is no TOML ({what}); write it like supply = "24 V"'
    return ProblemError(f"{name}, line {line}: This line cannot be read, because {fix}.", line)


def _line_of(text: str, key: tuple[str, ...]) -> int | None:
    """The line on which the statement begins that sets ``key``; None if none does.

    tomllib tells no positions, so ever more lines are parsed until the key is there.
    """
    lines = text.split("\n")
    start = 1
    for end in range(1, len(lines) + 1):
        try:
            table: Any = tomllib.loads("\n".join(lines[:end]))
        except ValueError:  # in the middle of a statement
            continue
        for part in key:
            table = table.get(part) if isinstance(table, dict) else None
        if table is not None:
            return start
        start = end + 1
    return None


def _place_for(key: str, text: str, table: Mapping[str, Any]) -> tuple[str, int]:
    """Where a missing key goes: plain keys above the first table, tables at the end."""
    tables = [name for name, value in table.items() if isinstance(value, dict)]
    line = (
        _line_of(text, (tables[0],)) if tables and key not in ("capacitors", "branches") else None
    )
    if line is None:
        return "at the end, after", text.count("\n", 0, len(text.rstrip())) + 1
    return "above", line
