"""Judging n-best readings.  The costs and probabilities are assumptions of this project."""

from __future__ import annotations

from dataclasses import replace

import pytest

from checker.matching import judge
from tests.matching.pages import read, read_surely, reference, slip_line

CIRCUIT = reference("24 V", "series(C1, C2)", {"C1": "4 µF", "C2": "12 µF"})


def test_near_equal_readings_are_settled_by_what_follows() -> None:
    lines = read([("C = 8 µF", 0.5), ("C = 3 µF", 0.48)])
    assert judge(CIRCUIT, lines).outcome == "all follows"


def test_a_confident_wrong_value_stays_wrong() -> None:
    lines = read([("C = 4 + 12 = 16 µF", 0.995), ("C = 4 + 12 = 3 µF", 0.004)], "Q = 384 µC")
    judgement = judge(CIRCUIT, lines)
    assert judgement.outcome == "slip found"
    assert slip_line(judgement) == 0


def test_a_digit_that_decides_is_asked_about_and_not_accused() -> None:
    judgement = judge(CIRCUIT, read([("C = 16 µF", 0.97), ("C = 3 µF", 0.02)]))
    assert judgement.first_slip is None
    assert judgement.outcome == "needs a look"
    statement = judgement.statements[0]
    assert statement.verdict == "unsure"
    assert statement.question == "Is this 16 or 3?"


def test_what_was_carried_on_shows_what_was_written() -> None:
    lines = read([("C = 16 µF", 0.97), ("C = 3 µF", 0.02)], "Q = 3 × 24 = 72 µC", "V1 = 18 V")
    assert judge(CIRCUIT, lines).outcome == "all follows"


def test_a_confident_value_is_not_read_otherwise_because_it_would_follow() -> None:
    lines = read([("C = 4 + 12 = 16 µF", 0.9995), ("C = 4 + 12 = 3 µF", 0.0001)], "Q = 384 µC")
    assert slip_line(judge(CIRCUIT, lines)) == 0


def test_a_hand_that_writes_one_digit_like_another_does_so_again() -> None:
    """The twos of 20 look like sevens, twice; a 7 gone on with is one."""
    circuit = reference("10 V", "series(C1, C2)", {"C1": "20 µF", "C2": "30 µF"})
    lines = read_surely("C_{1}=70µF", "C=12µF", "V_{1}=120/70=6V")
    assert judge(circuit, lines).outcome == "all follows"
    lines = read_surely("C_{1}=70µF", "C=(70·30)/(70+30)=21µF", "Q=21·10=210µC")
    assert slip_line(judge(circuit, lines)) == 0


def test_a_number_that_names_no_element_is_a_misread_label() -> None:
    """Q7 is no charge of anything where there is no C7, and no excuse for what is wrong of Q2."""
    circuit = reference("50 V", "parallel(C1, C2)", {"C1": "39 nF", "C2": "22 nF"})
    wrong, label = read_surely("Q_{2}=39·50=1950nC", "Q_{7}=39·50=1950nC")
    candidates = (
        replace(wrong.candidates[0], probability=0.98),
        replace(label.candidates[0], probability=0.01),
    )
    last = replace(wrong, candidates=candidates, line=2)
    assert slip_line(judge(circuit, [*read_surely("C=61nF", "Q=61·50=3050nC"), last])) == 2


def test_right_lines_after_a_wrong_prefix_do_not_add_up_against_it() -> None:
    """Who wrote pF for nF goes on in nF, over one line or six."""
    circuit = reference(
        "240 V", "series(C1, parallel(series(C2, C3), C4))",
        {"C1": "3 nF", "C2": "22 nF", "C3": "19 nF", "C4": "29 nF"},
    )  # fmt: skip
    lines = read_surely(
        "C_{s}=10.195pF", "C_{p}=10.195+29=39.195", "{1}/{C}={1}/{3}+{1}/{39.195}", "C=2.7867",
        "Q=2.7867·240=668.81", "V_{p}=668.81/39.195=17.064", "Q_{2}=Q_{3}=10.195·17.064=173.97",
    )  # fmt: skip
    assert judge(circuit, lines[:2]).outcome == judge(circuit, lines).outcome == "needs a look"


def test_nobody_is_accused_where_a_mixture_of_the_readings_would_follow() -> None:
    first = "C = {4 × 12}/{4 + 12} = 3 µF"
    candidates = [
        (first.replace("12}/", "17}/").replace("3 µ", "8 µ"), 0.4),
        (first.replace("12}/", "17}/"), 0.25),
        (first.replace("3 µ", "8 µ"), 0.2),
    ]
    assert judge(CIRCUIT, read(candidates)).first_slip is None


def test_a_slip_is_found_beside_lines_that_cannot_be_read() -> None:
    lines = read(
        "C = 4 + 12 = 16 µF", [("({,;=", 0.3), ("({;,=", 0.2)], "Q = 16 × 24 = 384 µC",
        [("))[C:=", 0.4)],
    )  # fmt: skip
    assert slip_line(judge(CIRCUIT, lines)) == 0


def test_a_slip_without_a_rule_is_asked_about_among_lines_that_cannot_be_read() -> None:
    """Where three lines were not read as they stand, a fourth may be misread as well."""
    slip = read_surely("C={4×12}/{16}=5.2µF")
    unclear = [[("({,;=", 0.3), ("({;,=", 0.2)], [("))[C:=", 0.4)], [("=({/", 0.4)]]
    assert slip_line(judge(CIRCUIT, [*slip, *read("V = 24 V")])) == 0
    judgement = judge(CIRCUIT, [*slip, *read(*unclear, "V = 24 V")])
    assert judgement.first_slip is None and judgement.outcome == "needs a look"


def test_nothing_goes_on_from_a_line_that_cannot_be_read() -> None:
    lines = read("C = 3 µF", [("V_{?=}{1", 0.3), ("V_{?={1", 0.2)], "= 18 V", "V2 = 6 V")
    assert judge(CIRCUIT, lines).first_slip is None


def test_one_question_is_asked() -> None:
    lines = read([("C = 16 µF", 0.97), ("C = 3 µF", 0.02)], [("=={/", 0.4)], [("V = 24 V", 0.6)])
    asked = [s.question for s in judge(CIRCUIT, lines).statements if s.question]
    assert asked == ["Is this 16 or 3?"]


def test_later_lines_bear_a_doubtful_slip_out() -> None:
    lines = read(
        [("C = 4 + 12 = 16 µF", 0.7), ("C = 4 + 12 = 3 µF", 0.28)], "Q = 16 × 24 = 384 µC",
        "V1 = 96 V",
    )  # fmt: skip
    assert slip_line(judge(CIRCUIT, lines)) == 0


def test_an_unreadable_line_is_shown_and_never_fatal() -> None:
    lines = read([("C=={{/", 0.3)], "C = 3 µF")
    judgement = judge(CIRCUIT, lines)
    assert judgement.first_slip is None
    assert judgement.statements[0].verdict == "unsure"
    assert judgement.statements[0].question


def test_a_misread_power_of_ten_is_no_trouble() -> None:
    judge(CIRCUIT, read([("C = 3×10^{-612} F", 0.5), ("C = 3×10^{612} F", 0.3)]))
    judge(CIRCUIT, read([("C = 3.5×10^{612} µF", 0.9)], "Q = 2.5×10^{612} × 24 = 72 µC"))


@pytest.mark.parametrize(
    ("supply", "connection", "values", "lines"),
    [
        # "now V_{3}"
        ("18 V", "series(C3, parallel(C1, C2))", "55 µF, 100 µF, 45 µF",
         "C_{e}=34.9\nQ_{3}=Q=628\nue U_{.}v{Q_{3}}/{C_{3}}={628}/{45}\n=14\nV_{1}=4.05"),
        # "Q_{3}"
        ("500 V", "series(C1, C2)", "5.6 µF, 0.1 µF",
         "C_{T}≈0.098246\nQ_{1}=49.123\n_{2}≈49.123\nΔV_{2}=491.23"),
        # "540+175"
        ("60 V", "parallel(C2, C1)", "2.917 µF, 9 µF",
         "Q_{2}=540µC\nQ_{1}=175µC\nQ=544=75=715µC"),
    ],
)  # fmt: skip
def test_what_makes_no_sense_was_misread(
    supply: str, connection: str, values: str, lines: str
) -> None:
    names = {f"C{n}": value for n, value in enumerate(values.split(", "), 1)}
    circuit = reference(supply, connection, names)
    assert judge(circuit, read(*([(t, 0.996)] for t in lines.split("\n")))).first_slip is None


def test_a_chain_goes_on_behind_a_line_that_was_not_read() -> None:
    circuit = reference("12 V", "series(C1, C2)", {"C1": "47 µF", "C2": "132 µF"})
    misread = [("=(47×632)/(47+132)", 0.14), ("=(47×732)/(47+132)", 0.07)]
    # 34.65 is 34.659 cut off, and 415.8 is 12 times that: only the C above says so.
    lines = read("C = (C1·C2)/(C1+C2)", misread, "= 34.65 µF", "Q = 415.8 µC", "V1 = 3.15 V")
    judgement = judge(circuit, lines)
    assert slip_line(judgement) == 4


def test_a_slip_is_found_behind_a_chain_whose_subject_was_not_read() -> None:
    misread = [
        ("C_{spot}=C_{I}·C_{3}/(C_{8}+C_{s73})", 0.04),
        ("C_{spot}=q_{I}·C_{3}/(C_{8}", 0.03),
    ]
    lines = read(misread, "= 4·12/(4+12)", "= 48/16", "= 3 µF", "Q1 = 24/4 = 6 µC")
    assert slip_line(judge(CIRCUIT, lines)) == 4


def test_what_is_glued_to_a_number_is_no_unit() -> None:
    lines = read([("C = 1/(1/4 + 1/12) = 3.00 nF", 0.985), ("C = 1/(1/4 + 1/12) = 3.0cnF", 0.0065)])
    assert judge(CIRCUIT, lines).outcome != "all follows"


def test_a_digit_listed_far_behind_is_likelier_than_a_slip_of_the_pen() -> None:
    of = reference("9 V", "series(C1, C2)", {"C1": "270 pF", "C2": "15 pF"})
    listed = [("Ctot=(270)(15)/(276+15)", 0.997), ("Ctot=(270)(15)/(270+15)", 0.003)]
    assert judge(of, read(listed)).first_slip is None


def test_a_prefix_listed_far_behind_is_borne_out_by_the_next_line() -> None:
    of = reference("30 V", "series(C1, C2)", {"C1": "280 nF", "C2": "820 nF"})
    listed = [("C=209pF", 0.992), ("C=209nF", 0.007)]
    assert judge(of, read(listed, "Q=209nF×30V=6.27µC")).first_slip is None


PAIRS = {"C1": "82 µF", "C2": "1.5 µF", "C3": "6.8 µF", "C4": "33 µF"}


def test_what_was_rounded_in_a_line_that_was_not_read_is_gone_on_with() -> None:
    """27.0 µF × 230 V is 6210 µC, where the exact charge is 6199 µC."""
    of = reference("230 V", "series(parallel(C1, C2), parallel(C3, C4))", PAIRS)
    misread = [
        ("Ceq=(83.5)(39.8)/(83.5+39.4)", 0.64), ("Ceq=(83.5)(34.8)/(83.5+39.4)", 0.17),
        ("Ceq=(83.5)(39.8)/(83.3+39.4)", 0.13),
    ]  # fmt: skip
    judgement = judge(of, read(misread, "=27.0µF", "Q=6210µC", "V3=6210/39.8=156V"))
    assert judgement.first_slip is None


def test_a_right_result_shows_that_the_numbers_before_it_were_misread() -> None:
    of = reference("230 V", "series(parallel(C1, C2), parallel(C3, C4))", PAIRS)
    misread = [("V1=74.2V", 0.99), ("V1=742V", 0.003)]
    energy = [("U1={1}/{2}(6087)(7425)=226mJ", 0.98), ("V1={1}/{2}(6087)(7425)=226mJ", 0.01)]
    assert judge(of, read("Q1=6087µC", misread, energy)).outcome == "all follows"


@pytest.mark.parametrize("text", ["C=2.090^{-5}F", "W1={10.79^{1}}/{2·82}=135µJ"])
def test_powers_that_nobody_writes_were_misread(text: str) -> None:
    of = reference("230 V", "series(parallel(C1, C2), parallel(C3, C4))", PAIRS)
    assert judge(of, read([(text, 0.99), (text.replace("=", "≈"), 0.005)])).first_slip is None


def test_labels_over_numbers_of_others_were_misread() -> None:
    of = reference("9 V", "series(C1, parallel(C4, C5))",
                   {"C1": "12 pF", "C4": "220 pF", "C5": "820 pF"})  # fmt: skip
    misread = [
        ("C_{15}=C_{1}∥C_{5}=220+820=1.01nF", 0.71), ("C_{15}=C_{1}∥C_{5}=220+820=1.09nF", 0.2),
    ]  # fmt: skip
    assert judge(of, read(misread)).first_slip is None
