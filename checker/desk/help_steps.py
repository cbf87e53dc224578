"""Help in steps: nothing of a later step exists on the page before the student asks for it."""

from __future__ import annotations

from html import escape

import streamlit as st

from checker.matching.judgement import Judgement, Slip
from checker.problem.reduction import Reference
from checker.problem.solution_text import write_solution

OFFERS = (
    "Where should I look?",
    "Which rule is at stake?",
    "What should this line have been?",
    "Show me the whole solution",
)


def steps_asked(slip: Slip, reference: Reference, asked: int) -> list[tuple[str, str]]:
    """The first ``asked`` steps as (heading, text); no later one is worked out."""
    steps = []
    if asked > 0:
        about = f"This is about the {slip.quantity}. " if slip.quantity else ""
        steps.append((OFFERS[0], f"{about}{slip.hint}"))
    if asked > 1:
        steps.append((OFFERS[1], slip.explanation))
    if asked > 2:
        steps.append((OFFERS[2], _expected(slip)))
    if asked > 3:
        steps.append((OFFERS[3], write_solution(reference)))
    return steps


def _expected(slip: Slip) -> str:
    if slip.expected is None:
        return "No single value belongs here; the whole solution shows another way."
    what = f"The {slip.quantity} is" if slip.quantity else "It should have been"
    return f"{what} {slip.expected}; written is {slip.written}."


def show_help(judgement: Judgement, reference: Reference) -> None:
    """The steps asked for so far, and a button for the next one."""
    slip = judgement.first_slip
    if slip is None:
        if judgement.outcome == "all follows" and st.toggle("Compare with the reference solution"):
            _show("Reference solution", write_solution(reference), whole=True)
        return
    place = ("help", judgement.statements[slip.statement].text, slip.kind, slip.written)
    if st.session_state.get("help_about") != place:
        st.session_state["help_about"] = place
        st.session_state["help_asked"] = 0
    asked: int = st.session_state["help_asked"]
    steps = steps_asked(slip, reference, asked)
    for number, (heading, text) in enumerate(steps, start=1):
        _show(heading, text, whole=number == len(OFFERS))
    if asked < len(OFFERS):
        st.button(OFFERS[asked], key="help-next", on_click=_ask)


def _ask() -> None:
    st.session_state["help_asked"] += 1


def _show(heading: str, text: str, whole: bool) -> None:
    tag = "pre" if whole else "p"
    st.html(
        f'<div class="help-step"><strong>{escape(heading)}</strong>'
        f"<{tag}>{escape(text.strip())}</{tag}></div>"
    )
