"""Choosing a problem: one on offer, one described in a small form, or a problem file."""

from __future__ import annotations

from collections.abc import Mapping
from html import escape

import streamlit as st
from streamlit.delta_generator import DeltaGenerator

from checker.desk.described import Described, described, network_of
from checker.desk.photo_marks import picture_html
from checker.desk.sample_problems import sample_problems, uploaded_problem
from checker.problem.connection import write_connection
from checker.problem.given import FIND_BY_DEFAULT, FINDABLE
from checker.problem.network import elements
from checker.problem.problem_file import Problem
from checker.quantity import format_quantity
from checker.report.circuit_drawing import circuit_of, circuit_svg

DESCRIBE = "Describe my own circuit"
OWN_FILE = "Use a problem file"
_LONGEST_VALUE = 40
_FIELD_WIDTH = 160  # pixels


def choose_problem() -> Problem | None:
    """The problem that was chosen and drawn; None until there is one."""
    samples = sample_problems()
    choice = st.selectbox(
        "Problem", [DESCRIBE, OWN_FILE, *samples], index=None, placeholder="Choose one"
    )
    if choice is None:
        return None
    if choice == DESCRIBE:
        return describe_problem()
    if choice == OWN_FILE:
        upload = st.file_uploader("Problem file (TOML)", type=["toml"])
        problem = uploaded_problem(upload.name, upload.getvalue()) if upload else None
    else:
        problem = samples[choice]
    if problem is not None:
        _draw(circuit_of(problem), givens(problem))
    return problem


def describe_problem() -> Problem | None:
    """The form: the connection, then a field for every value, and the circuit as it grows."""
    connection = st.text_input(
        "How are they connected?",
        placeholder="parallel(series(C1, C2), C3)",
        help="series(…) for one after the other, parallel(…) for side by side; groups may hold "
        "groups.",
        max_chars=600,
        live=True,
    )
    drawn = network_of(connection)
    beside = {"connection": st.empty()}
    if drawn.network is None:
        if "connection" in drawn.missing:
            st.text("Write the connection, and the circuit is drawn here.")
        _tell(drawn, beside)
        return None
    picture = st.container()  # which keeps what it shows until there is something new
    row = st.container(horizontal=True)
    supply, beside["supply"] = _value_field(row, "Supply", "24 V")
    values = {}
    for name in dict.fromkeys(elements(drawn.network)):
        values[name], beside[name] = _value_field(row, name, "4 µF")
    find = st.multiselect("To find", FINDABLE, default=FIND_BY_DEFAULT)
    beside["find"] = st.empty()
    told = described(connection, supply, values, tuple(find))
    _tell(told, beside)
    if told.missing and not told.faults:
        wanted = [name if name in values else f"the {name}" for name in told.missing]
        st.text(f"Still needed: {', '.join(wanted)}.")
    with picture:
        says = f"The circuit {write_connection(drawn.network)}"
        _draw(circuit_svg(drawn.network, values, supply), says)
    return told.problem


def givens(problem: Problem) -> str:
    """What the problem gives, on one line."""
    values = {"V": problem.supply} if problem.supply else {}
    values |= problem.capacitors
    listed = ", ".join(f"{name} = {format_quantity(value)}" for name, value in values.items())
    return f"{write_connection(problem.network)}; {listed}"


def _draw(svg: str, says: str) -> None:
    st.html(picture_html(svg.encode(), says, "circuit", "svg+xml"))


def _value_field(row: DeltaGenerator, name: str, example: str) -> tuple[str, DeltaGenerator]:
    """What is written in a field, and the place below it for its fault."""
    with row.container(width=_FIELD_WIDTH, gap="small"):
        said = st.text_input(
            name, key=f"value-{name}", placeholder=example, max_chars=_LONGEST_VALUE, live=True
        )
        return said, st.empty()


def _tell(told: Described, beside: Mapping[str, DeltaGenerator]) -> None:
    """Every fault beside its field; one of no field beside the connection."""
    for field, sentence in told.faults.items():
        place = beside.get(field, beside["connection"])
        place.html(f'<p class="field-fault" role="alert">{escape(sentence)}</p>')
