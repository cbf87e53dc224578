"""What follows through rounding, labels and unwritten steps, and what only seems to.

The circuits and their numbers are this project's own, worked out by the laws of series and
parallel capacitors; that rounded values may be carried on is common practice, no source.
"""

from __future__ import annotations

import pytest

from tests.matching.pages import judged, judged_page, reference, slip_line


@pytest.mark.parametrize(
    ("lines", "slip"),
    [
        # 8.9 µJ is ½ of nothing: 3.3 × 2.7 lacks the half, whatever other energies leave.
        (("C34 = 23 µF", "C = 2.1 µF", "Q = 63 µC", "V1 = 3.5 V", "V2 = 23 V", "V3 = V4 = 2.7 V",
          "Q3 = 3.3 µC", "Q4 = 60 µC", "U = 945 µJ", "U1 = 110 µJ, U2 = 725 µJ",
          "U3 = 3.3 × 2.7 = 8.9 µJ"), 10),
        # V3 = Q/C with 1.2 µF copied as 2.1 µF is no difference of the other voltages.
        (("C34 = 23 µF", "C = 2.1 µF", "Q = 63 µC", "V34 = 63/23 = 2.7 V",
          "V3 = Q3/C3 = 3.3/2.1 = 1.6 V", "V1 = 3.5 V", "V2 = 23 V"), 4),
    ],
)  # fmt: skip
def test_a_product_is_no_difference_of_values_that_stand_elsewhere(
    lines: tuple[str, ...], slip: int
) -> None:
    of = reference(
        "30 V", "series(C1, C2, parallel(C3, C4))",
        {"C1": "18 µF", "C2": "2.7 µF", "C3": "1.2 µF", "C4": "22 µF"},
    )  # fmt: skip
    assert slip_line(judged(of, *lines)) == slip


def test_a_difference_of_written_values_follows_however_far_rounding_takes_it() -> None:
    """26.6 µC - 25.5 µC = 1.1 µC, where the unrounded difference is 2 µC: the voltages after it
    are off many times over, and every step is right (common practice, no source)."""
    of = reference(
        "17 V", "parallel(C1, series(C2, C3))", {"C1": "1.5 µF", "C2": "120 nF", "C3": "6.8 µF"}
    )
    lines = (
        "C23 = 117 nF", "C = 1.5 + 0.117 = 1.61 µF", "Q = 1.61 × 17 = 27.4 µC",
        "Q1 = 1.5 × 17 = 25.5 µC", "Q23 = 27.4 - 25.5 = 1.90 µC", "V2 = 1.90/0.120 = 15.8 V",
        "V3 = 17 - 15.8 = 1.2 V",
    )  # fmt: skip
    assert judged(of, *lines).outcome == "all follows"


def test_an_exact_fraction_is_worked_out_exactly() -> None:
    of = reference(None, "series(C1, C2)", {"C1": "26 µF", "C2": "10 µF"})
    assert slip_line(judged(of, "C12 = (26×10)/(26+10) = 260/36", "= 7.4 µF")) == 1
    assert slip_line(judged(of, "C12 = (26×10)/(26+10) = 260/36", "= 7.2 µF")) is None


def test_a_number_may_be_the_rounded_value_of_what_the_law_takes() -> None:
    """180 for 175.4 in two figures, and 1 µF for 1.03 µF (common practice, no source)."""
    names = {"C1": "20 µF", "C2": "18 µF", "C3": "17 µF", "C4": "23 µF"}
    of = reference("9 V", "series(parallel(C1, C2), parallel(C3, C4))", names)
    lines = ("C12 = 38", "C34 = 40", "C = 1520/78 = 19", "V12 = Q12/C12 = 180/38 = 4.6")
    assert judged(of, *lines, "V34 = Q34/C34 = 180/40 = 4.4").outcome == "all follows"
    names = {"C1": "1.8 µF", "C2": "1 µF", "C3": "1.5 µF", "C4": "3.3 µF"}
    of = reference(None, "parallel(series(C1, C2), series(C3, C4))", names)
    assert judged(of, "C = 0.64 µF + 1 µF = 1.7 µF").outcome == "all follows"


def test_a_given_value_is_no_sum() -> None:
    of = reference(
        "1 kV", "parallel(series(C1, C2), C3)", {"C1": "50 µF", "C2": "12 µF", "C3": "15 µF"}
    )
    slip = judged(of, "1/C' = 1/50 + 1/15 → C' = 11.5", "C_tot = 11.5 + 12 = 23.5").first_slip
    assert slip is not None and slip.kind == "wrong-elements" and slip.statement == 0


def test_elements_that_a_label_names_and_adds_are_those() -> None:
    names = {"C1": "1.8 µF", "C2": "2.7 µF", "C3": "1 µF", "C4": "4.7 µF", "C5": "6.8 µF"}
    of = reference("500 V", "parallel(C1, series(C2, parallel(C3, series(C4, C5))))", names)
    slip = judged(of, "C23 = 2.7 + 1 = 3.70 µF").first_slip
    assert slip is not None and slip.kind == "wrong-elements"


def test_quantities_said_to_be_equal_share_a_wrong_value() -> None:
    names = {"C1": "5.9 nF", "C2": "3.8 nF", "C3": "4.2 nF", "C4": "5.3 nF"}
    of = reference("9 V", "parallel(series(C1, C2), series(C3, C4))", names)
    judgement = judged(
        of, "C12 = 2.31", "C34 = 2.34", "C = 4.65", "Q = 4.65·9 = 41.9", "Q12 = Q34 = Q = 41.9",
        "Q1 = Q2 = 41.9", "Q3 = Q4 = 41.9", "V3 = Q3/C3 = 9.97",
    )  # fmt: skip
    assert slip_line(judgement) == 4
    assert judgement.later_slips == ()


def test_what_follows_from_a_slip_through_steps_that_are_not_written_is_no_later_slip() -> None:
    of = reference(
        "12 V", "series(C1, C2, parallel(C3, C4))",
        {"C1": "5.6 µF", "C2": "6.6 µF", "C3": "9.7 µF", "C4": "7.3 µF"},
    )  # fmt: skip
    judgement = judged(
        of, "1/C = 1/5.6 + 1/6.6 + 1/17 = 0.3889", "→ C = 0.3889 µF", "V1 = 0.8333 V",
        "V2 = 0.7071 V", "V3 = V4 = 10.45 V", "Q3 = 9.7 µF × 10.45 V = 101.4 µC",
    )  # fmt: skip
    assert slip_line(judgement) == 1
    assert judgement.later_slips == ()


def test_the_same_number_again_puts_nothing_right() -> None:
    of = reference(
        "12 V", "series(parallel(C1, C2), parallel(C3, C4))",
        {"C1": "10 pF", "C2": "100 pF", "C3": "75 pF", "C4": "40 pF"},
    )  # fmt: skip
    lines = ("Cp = 110 pF", "Cp2 = C3 + C4 = 115 pF", "C = 56.2 pF", "Q = 674 pC")
    wrong = "Vp2 = V · Cp2/(Cp + Cp2) = 6.13 V"
    assert slip_line(judged(of, *lines, wrong, "Vp = 5.86 V")) == 4


def test_a_capacitance_is_not_got_back_from_what_it_led_to_further_down() -> None:
    of = reference(
        "24 V", "series(C1, parallel(C2, C3, C4))",
        {"C1": "2 µF", "C2": "19 µF", "C3": "7 µF", "C4": "53 µF"},
    )  # fmt: skip
    lines = ("C234 = 97 µF", "C = 1.96 µF", "Q = 47.0 µC", "Q234 = Q = 47.0 µC", "V234 = 0.485 V")
    assert slip_line(judged(of, *lines)) == 0


def test_charges_at_one_kilovolt_are_not_capacitances_in_another_prefix() -> None:
    of = reference(
        "1 kV", "parallel(series(C1, C2), C3)", {"C1": "15 µF", "C2": "150 µF", "C3": "680 µF"}
    )
    lines = (
        "1/C' = 1/15 + 1/150", "1/C' = 0.0733 → C' = 13.6", "C_e = 694", "Q' = 13.6·1000 = 13600",
        "Q3 = 6.8·10^5", "Q = 13600 + 6.8·10^5 = 6.94·10^5",
    )  # fmt: skip
    assert judged(of, *lines).outcome == "all follows"


def test_a_sum_is_not_taken_for_a_given_value_miscopied() -> None:
    of = reference(
        None, "series(C1, C2, C3, C4)",
        {"C1": "3 nF", "C2": "5 nF", "C3": "1 nF", "C4": "12 nF"},
    )  # fmt: skip
    lines = ("C123 = 0.652 nF", "C = (0.652)(12)/(0.652+12) = 7.82/12.7 = 0.618 nF")
    assert judged(of, *lines).outcome == "all follows"


def test_on_one_line_what_stands_after_the_bracket_is_above_the_stroke() -> None:
    """C1C2/(C1 + C2)C3 by the order of operations, as a stacked fraction is typed out."""
    of = reference(None, "series(C1, C2, C3)", {"C1": "11.2 µF", "C2": "2.4 µF", "C3": "8.7 µF"})
    text = "C = (C1C3/(C1 + C3)C2)/(C1C3/(C1 + C3) + C2) = 1.61 µF"
    assert judged(of, text).outcome == "all follows"


def test_two_strokes_on_one_line_may_be_read_either_way() -> None:
    of = reference(
        "300 V", "series(C1, parallel(C2, series(C3, C4)))",
        {"C1": "5 µF", "C2": "19 µF", "C3": "26 µF", "C4": "16 µF"},
    )  # fmt: skip
    lines = ("C34 = (208/21) µF", "C234 = (607/21) µF", "C = 4.26 µF", "Q = 1280 µC")
    assert judged(of, *lines, "V234 = 1280/607/21 = 44.3 V").outcome == "all follows"
    assert slip_line(judged(of, *lines, "V234 = 1280/607/12 = 25.3 V")) == 4


def test_a_fraction_may_come_from_a_difference() -> None:
    """24 - 7.8 - 504/55 = 387/55."""
    of = reference("24 V", "series(C1, C2, C3)", {"C1": "65 nF", "C2": "55 nF", "C3": "75 nF"})
    lines = ("C = 21 nF", "Q = 504 nC", "V1 = 7.8 V", "V2 = (504/55) V", "V3 = (387/55) V")
    assert judged(of, *lines).outcome == "all follows"


def test_a_fraction_on_one_line_puts_a_value_right() -> None:
    of = reference(None, "series(C1, C2)", {"C1": "1 nF", "C2": "5.6 nF"})
    text = "C = (1 nF · 5.6 nF)/(1 nF + 5.6 nF) = "
    assert judged(of, text + "0.988 nF", text + "28/33 nF").outcome == "all follows"


def test_a_given_value_of_the_group_itself_is_exact() -> None:
    """5.6 × 64.68 for 5.6 × 64.86 is no rounding of 5.6, which is given."""
    of = reference(
        "120 V", "series(C1, parallel(C3, C2))", {"C1": "6.8 µF", "C2": "5.6 µF", "C3": "180 nF"}
    )
    lines = ("C23 = 0.18 + 5.6 = 5.78 µF", "C = 3.124 µF", "Q = 374.9 µC", "V23 = 64.86 V")
    assert slip_line(judged(of, *lines, "Q2 = C2×V23 = 5.6·64.68 = 362.2 µC")) == 4
    assert slip_line(judged(of, *lines, "Q2 = C2×V23 = 5.6·64.86 = 363.2 µC")) is None


@pytest.mark.parametrize("sign", ["=", "≈"])
def test_a_value_under_the_same_label_puts_right_with_either_sign(sign: str) -> None:
    of = reference(
        "120 V", "series(C1, parallel(C2, C3))", {"C1": "150 µF", "C2": "220 µF", "C3": "68 µF"}
    )
    lines = (f"C_A {sign} 185 µF", "C_A = 288 µF", "C_T ≈ 98.6 µF")
    assert judged(of, *lines).outcome == "all follows"


def test_a_term_that_is_nothing_beside_the_others_does_not_make_a_sum() -> None:
    of = reference(None, "parallel(C1, C2)", {"C1": "40.5 µF", "C2": "24 µF"})
    assert slip_line(judged(of, "C12 = 40.5 + 24 = 64.5·10^-6 F")) is None
    assert slip_line(judged(of, "C12 = 40.5 + 24 - 64.5·10^-8 F")) == 0


def test_the_supply_voltage_is_exact() -> None:
    of = reference(
        "1.5 V", "series(parallel(C1, C2), parallel(C3, C4))",
        {"C1": "1.5 µF", "C2": "3.9 µF", "C3": "820 nF", "C4": "4.7 µF"},
    )  # fmt: skip
    lines = ("C12 = 5.4 µF", "C34 = 5.52 µF", "C = 2.73 µF")
    wrong = "V34 = 1.5 V·5.52 µF/(5.4 µF + 5.52 µF) = 0.7582 V"
    assert slip_line(judged(of, *lines, wrong)) == 3


THREE = ("9 V", "series(C1, parallel(C2, C3))", {"C1": "6 µF", "C2": "4 µF", "C3": "8 µF"})


def test_what_goes_on_from_a_line_that_cannot_be_read_is_not_held_against_it() -> None:
    lines = ("C23 = 12 µF", "C = 4 µF", "Q ÷÷ C (", "= 4 × 9 = 36 µC", "V1 = 36/6 = 6 V")
    judgement = judged(reference(*THREE), *lines)
    assert judgement.first_slip is None
    assert judgement.statements[-1].verdict == "follows"


def test_a_typed_x_between_symbols_is_a_product() -> None:
    lines = ("C_e = 4 µF", "Q = C_e x ΔV0", "= 4 x 9 = 36 µC", "Q1 = C_e x Vtotal")
    judgement = judged(reference(*THREE), *lines)
    assert judgement.outcome == "all follows"
    assert all(s.verdict == "follows" for s in judgement.statements)


def test_a_sum_after_a_gap_is_gone_on_with_in_the_next_line() -> None:
    lines = ("V1 = 6 V  4 + 8", "= 12 µF", "C = 6·12/(6 + 12) = 4 µF")
    assert judged(reference(*THREE), *lines).outcome == "all follows"
    assert slip_line(judged(reference(*THREE), "V1 = 6 V  4 + 8", "= 13 µF")) == 1


def test_a_value_said_anew_and_rightly_from_rounded_ones_is_put_right() -> None:
    of = reference(
        "150 V", "series(C1, C2, parallel(C3, C4))",
        {"C1": "45 µF", "C2": "65 µF", "C3": "95 µF", "C4": "55 µF"},
    )  # fmt: skip
    lines = ["C_p = 150 µF", "C_AB = 23 µF", "Q_eq = 3500 µC", "V_p = 23 V", "Q3 = 2700 µC"]
    assert slip_line(judged(of, *lines, "Q4 = 1300 µC")) == 4
    assert judged(of, *lines, "Q3 = 2200 µC", "Q4 = 1300 µC").outcome == "all follows"


def test_a_number_that_happens_to_be_exact_may_still_be_rounded_on_the_page() -> None:
    """240 V × 13/30 is 104 V; by way of Q = 1.77 nC it is 104.1 V, and 8 × 104.1 = 833."""
    of = reference(
        "240 V", "series(parallel(C1, C2), parallel(C3, C4))",
        {"C1": "1 pF", "C2": "12 pF", "C3": "9 pF", "C4": "8 pF"},
    )  # fmt: skip
    lines = ("C = 7.37 pF", "Q = 7.37 × 240 = 1.77 nC", "Q4 = C4 V34 = 8 × 104 = 833 pC")
    assert judged(of, *lines).outcome == "all follows"
    assert slip_line(judged(of, *lines[:2], "Q4 = C4 V34 = 8 × 104 = 853 pC")) == 2


def test_bare_numbers_may_be_of_another_prefix_than_their_result() -> None:
    of = reference("9 V", "parallel(C1, C2)", {"C1": "4.7 µF", "C2": "150 nF"})
    assert judged(of, "C = 4.85 µF", "Q = 42300 + 1350 = 43.7 µC").outcome == "all follows"
    assert slip_line(judged(of, "C = 4.85 µF", "Q = 42300 + 13500 = 55.8 µC")) == 1


def test_a_given_number_may_also_be_the_rounded_value_of_a_group() -> None:
    """20 µF in series with 20.3 µF is 10.1 µF, written as 10, which C5 has too."""
    of = reference(
        "1 kV", "series(C1, parallel(C2, series(C3, parallel(C4, C5)), C6), C7)",
        {"C1": "20 µF", "C2": "11 µF", "C3": "9 µF", "C4": "28 µF", "C5": "10 µF", "C6": "2 µF",
         "C7": "23 µF"},
    )  # fmt: skip
    assert judged(of, "1/C_eq = 1/10 + 1/23", "C_eq = 7 µF").outcome == "all follows"
    assert slip_line(judged(of, "1/C_eq = 1/28 + 1/23", "C_eq = 12.6 µF")) == 0


def test_small_letters_take_the_names_of_two_elements_as_index() -> None:
    of = reference(
        "5 V", "series(Ca, parallel(Cb, Cc))", {"Ca": "5.6 µF", "Cb": "2.2 µF", "Cc": "180 nF"}
    )
    lines = ("Cbc = 2.38 µF", "Ceq = 1.67 µF", "qbc = 8.35 µC", "vbc = 3.51 V")
    judgement = judged(of, *lines)
    assert [s.verdict for s in judgement.statements] == ["follows"] * 4


def test_a_voltage_said_anew_puts_right_what_could_have_been_an_energy() -> None:
    of = reference(
        "1 kV", "series(C1, parallel(C2, C3))", {"C1": "22 µF", "C2": "9.2 µF", "C3": "5.6 µF"}
    )
    lines = ("C = 8.848", "Q = 8848", "U1 = 551.4", "U1 = 8848/22  U1 = 402.2", "U2 = 597.8")
    assert judged(of, *lines).outcome == "all follows"
    assert slip_line(judged(of, *lines[:3], "U2 = 597.8")) == 2


def test_a_result_put_right_where_the_working_is_written_again() -> None:
    names = {"C1": "8 µF", "C2": "6 µF", "C3": "3 µF"}
    of = reference("9 V", "parallel(C1, series(C2, C3))", names)
    lines = ("C_B = 2 µF", "C_e = 10 µF", "Q_tot = 90 µC", "Q1 = 72 µC", "Q_B = Q_tot - Q1 = 90-72")
    again = ("Q_B = Q_tot - Q1 = 90 - 72", "= 18 µC = Q2 = Q3", "V2 = 18/6 = 3.0 V")
    assert judged(of, *lines, "= 16 µC", *again).outcome == "all follows"
    assert slip_line(judged(of, *lines, "= 16 µC", "V2 = 16/6 = 2.7 V")) == 5


def test_a_capacitance_without_its_unit_beside_charges_at_a_kilovolt() -> None:
    """At 1 kV, 8440 µC and 239 µC are also the capacitances of the page in nF."""
    of = reference(
        "1 kV", "parallel(C1, series(C2, C3, C4))",
        {"C1": "8.2 µF", "C2": "6.8 µF", "C3": "330 nF", "C4": "1 µF"},
    )  # fmt: skip
    lines = ("C_eq = 8.44", "Q_eq = (8.44)(1000) = 8440", "Q1 = 8200", "Q2 = 239", "Q3 = 239")
    assert judged(of, *lines).outcome == "all follows"
    assert slip_line(judged(of, "C_eq = 9.44", *lines[1:])) == 0


def test_a_given_capacitance_is_not_worked_out() -> None:
    """1580/3 = 527 is no rounding of the 560 µF that C3 has."""
    of = reference(
        "200 V", "series(C1, C2, parallel(C3, C4))",
        {"C1": "820 µF", "C2": "22 µF", "C3": "560 µF", "C4": "180 µF"},
    )  # fmt: skip
    lines = ("1/C = 1/820 + 1/22 + 1/(560 + 180)", "1/C = 3/1580", "C = 527 µF")
    assert slip_line(judged(of, *lines)) == 1


def test_an_energy_from_a_voltage_that_rounding_took_far_away() -> None:
    """3.6 nC by way of 29 - 26 = 3 leaves 24 - 20 = 4 V for 0.5 V; ½ · 6.8 · 4² = 54."""
    of = reference(
        "24.0 V", "parallel(series(C1, C2), series(C3, C4))",
        {"C1": "150 pF", "C2": "6.8 nF", "C3": "1.8 nF", "C4": "2.7 nF"},
    )  # fmt: skip
    lines = ("C12 = 0.15 nF", "C = 1.2 nF", "Q = 29 nC", "Q34 = 26 nC", "Q12 = 29 - 26 = 3 nC",
             "V1 = 20 V", "V2 = 24 - 20 = 4 V")  # fmt: skip
    assert judged(of, *lines, "U2 = 54 nJ").outcome == "all follows"
    assert slip_line(judged(of, *lines, "U2 = 84 nJ")) == 7


def test_a_number_that_is_given_may_be_another_one_rounded() -> None:
    """0.81 + 1 = 1.81 nF, written 1.8 as C1 is; times 200 V it makes 362 nC."""
    names = {"C1": "1.8 nF", "C2": "1.5 nF", "C3": "1 nF"}
    of = reference("200 V", "parallel(series(C1, C2), C3)", names)
    lines = ("C12 = 0.81 nF", "C = 0.81 nF + 1 nF = 1.8 nF")
    assert judged(of, *lines, "Q = (1.8nF)(200V) = 362 nC").outcome == "all follows"
    assert slip_line(judged(of, *lines, "Q = (1.8nF)(200V) = 382 nC")) == 2
    assert slip_line(judged(of, "V1 = 90.9 V", "Q1 = 1.8 × 90.9 = 167 nC")) == 1


def test_what_is_left_of_a_voltage_whose_parts_are_written_for_one_member() -> None:
    """V1 = V2 is also the voltage of the two together; 12 - 4.9 - 4.9 = 2.2, not 2.12."""
    names = {"C1": "1 µF", "C2": "2 µF", "C3": "1 µF", "C4": "2 µF", "C5": "7 µF"}
    of = reference("12 V", "series(parallel(C1, C2), parallel(C3, C4), C5)", names)
    lines = ("V1 = V2 = 4.9 V", "V3 = V4 = 4.9 V")
    assert judged(of, *lines, "V5 = 2.2 V").outcome == "all follows"
    assert slip_line(judged(of, *lines, "V5 = 2.4 V")) == 2


def test_statements_may_be_listed_with_commas() -> None:
    """24,1/C12 is 24 and 1/C12 where no number has a decimal comma (common practice, no source)."""
    of = reference("24 V", "series(C1, C2)", {"C1": "4 µF", "C2": "12 µF"})
    assert judged(of, "V=24,1/C12=1/4+1/12", "C12 = 3").outcome == "all follows"
    assert slip_line(judged(of, "V=24,1/C12=1/4+1/10", "C12 = 2.9")) == 0


def test_the_unit_after_a_fraction_typed_on_one_line_is_that_of_the_fraction() -> None:
    of = reference(None, "parallel(series(C1, C2), series(C3, C4))",
                   {"C1": "100 pF", "C2": "2.2 nF", "C3": "3.9 nF", "C4": "1.5 nF"})  # fmt: skip
    assert judged(of, "C34 = 13/12 nF", "C = 95.6 pF + 13/12 nF = 1.18 nF").outcome == "all follows"
    assert slip_line(judged(of, "C34 = 13/12 nF", "C = 95.6 nF + 13/12 nF = 96.7 nF")) == 1


def test_what_is_said_anew_under_its_label_is_put_right_with_what_came_of_it() -> None:
    """11.951 counts as struck out, so 63.914 from it is no slip of its own."""
    of = reference("24 V", "parallel(C1, series(C2, parallel(C3, C4)))",
                   {"C1": "4.7 µF", "C2": "3.3 µF", "C3": "8.2 µF", "C4": "5.6 µF"})  # fmt: skip
    lines = ("C34 = 8.2 µF + 5.6 µF = 11.951 µF", "C34 = 8.2 µF + 5.6 µF = 13.800 µF",
             "C234 = 2.6632 µF", "V34 = 4.6317 V", "V2 = 19.368 V", "Q2 = 63.914 µC")  # fmt: skip
    assert judged(of, *lines).outcome == "all follows"
    assert slip_line(judged(of, *lines[:1], *lines[2:4])) == 0


def test_values_that_stand_only_among_numbers_are_gone_on_from() -> None:
    """131 µC in 131/8 leads to 131/17 = 7.71 V, which stands on no line of its own."""
    of = reference("24 V", "series(C4, parallel(C3, C1, C2))",
                   {"C1": "2 µF", "C2": "5 µF", "C3": "10 µF", "C4": "8 µF"})  # fmt: skip
    lines = ("C = 5.44", "V4 = Q4/C4 = 131/8 = 16.4")
    assert judged(of, *lines, "Q3 = 10×7.71 = 77.1").outcome == "all follows"
    assert slip_line(judged(of, *lines, "Q3 = 10×8.71 = 87.1")) == 2


def test_a_result_may_come_of_more_figures_than_the_steps_before_it_show() -> None:
    """350 × 1.1106/2.1 = 185.1, written 190, though 1.1 and 385 stand before it."""
    of = reference("350 V", "series(C2, C3, parallel(C4, C1))",
                   {"C1": "3.8 µF", "C2": "2.1 µF", "C3": "2.9 µF", "C4": "7.7 µF"})  # fmt: skip
    lines = ("C14 = 12", "C' = 2.1×12/(2.1 + 12) = 1.8", "C = 1.8×2.9/(1.8 + 2.9) = 1.1")
    assert judged(of, *lines, "U2 = 350×1.1/2.1 = 385/2.1 = 190").outcome == "all follows"
    assert slip_line(judged(of, *lines, "U2 = 350×1.1/2.1 = 385/2.1 = 220")) == 3


def test_later_values_do_not_make_a_number_right_that_was_copied_wrongly() -> None:
    of = reference("5 V", "parallel(C1, series(C2, C3, C4))",
                   {"C1": "3.5 µF", "C2": "5.8 µF", "C3": "9.1 µF", "C4": "7.4 µF"})  # fmt: skip
    lines = ("C234 = 2.4 µF", "C = 3.5 + 2.4 = 5.9 µF", "Q1 = 3.2·5 = 16 µC", "Q234 = 12 µC")
    assert slip_line(judged(of, *lines)) == 2


def test_given_values_of_a_group_s_own_elements_are_exact() -> None:
    """0.56 + 1.2 = 1.76; 1.797 would need 1.2 to be something else, rounded."""
    of = reference(None, "parallel(C7, C8, series(C1, C2))",
                   {"C7": "560 pF", "C8": "1.2 nF", "C1": "2.2 nF", "C2": "2.7 nF"})  # fmt: skip
    assert slip_line(judged(of, "C78 = C7 + C8 = 0.56 + 1.2 = 1.797 nF")) == 0
    assert judged(of, "C78 = C7 + C8 = 0.56 + 1.2 = 1.76 nF").outcome == "all follows"


@pytest.mark.parametrize(
    ("supply", "connection", "values", "lines"),
    [
        # A gap ends a statement where what stands beside it is worked out for itself.
        ("1.0 kV", "parallel(C1, C2, series(C3, C4))", "3.7 µF, 11.3 µF, 3.4 µF, 10.4 µF",
         "Q2 = 11300, Q1 = 3700  {3.4·10.4}/{3.4+10.4}\n= 2.6"),
        ("100 V", "series(C1, parallel(series(C2, C3), C4), C5)", "6 µF, 4 µF, 8 µF, 5 µF, 15 µF",
         "C5 = 15, ΔV = 100  {1}/{{1}/{4}+{1}/{8}}+5\n≈ 7.666"),
        ("350 V", "series(C4, parallel(C3, series(C2, C1)))", "3.3 nF, 2.2 nF, 5.6 nF, 120 pF",
         "C4 = 0.12\nV_tot = 350  {1}/{{1}/{C_{2}}+{1}/{C_{1}}}\n"
         "={1}/{{1}/{2.2}+{1}/{3.3}}\n= 1.32"),
        # So does a comma, and then it is none of a decimal or of thousands.
        ("30 V", "series(C1, parallel(C4, series(C3, C2)))", "820 µF, 330 µF, 120 µF, 100 µF",
         "C4=100,V=30,120×330/(120+330)=88\nQ = 153×30 = 4590\nV1 = 5.6"),
        ("1 kV", "series(parallel(C4, C2), parallel(C1, C3))", "29 µF, 28 µF, 9 µF, 6 µF",
         "C4=6  V_tot=1000,6+28\n=34\n29+9=38  1/C_AB=1/34+1/38"),
        # The inverse of an inverse needs no bracket.
        ("1.5 V", "parallel(C1, series(C2, C3, C4))", "1.2 nF, 560 pF, 3.9 nF, 3.3 nF",
         "C_{A}^{-1}=(C_{2}^{-1}+C_{3}^{-1})^{-1}^{-1}+C_{4}^{-1}\n"
         "={1}/{{1}/{{1}/{0.56}+{1}/{3.9}}}+{1}/{3.3}\n=2.34\nC_A=0.427 nF"),
        # Charges at 1 kV look like capacitances in nF, but C_T is said to be one.
        ("1 kV", "parallel(C1, C2, C3)", "1.8 µF, 150 nF, 3.3 µF",
         "C_T = 5.25\nQ_total = 5250\nC1  C2  C3\nQ  1800  150  3300\nV  1000  1000  1000"),
        ("1 kV", "parallel(C1, C2)", "3.9 nF, 150 pF",
         "C_T = C1 ∥ C2\n= C1 + C2\n≈ 4.1\nC1  C2\nQ  3900  150\nQ1 + Q2 = 3900 + 150 = 4050"),
    ],
)  # fmt: skip
def test_where_a_statement_ends(supply: str, connection: str, values: str, lines: str) -> None:
    assert judged_page(supply, connection, values, lines).outcome == "all follows"


def test_a_value_that_suits_something_else_may_be_put_right_too() -> None:
    """8.5 puts 9.1 right although C5 is 9.1; so does 1.67 what V_s alone leaves open, and 5.9 the
    5.7 that C1 and C34 would make."""
    names = {"C1": "3.6 µF", "C2": "4.9 µF", "C3": "4.8 µF", "C4": "1.2 µF", "C5": "9.1 µF"}
    of = reference("1 kV", "series(parallel(C1, C2), parallel(C3, C4), C5)", names)
    judgement = judged(of, "C_left = 9.1 µF", "C_left = 8.5 µF", "C_right = 4.8 + 1.2 = 6 µF")
    assert judgement.outcome == "all follows"
    assert judgement.statements[0].remark == "Put right later."
    of = reference("100 V", "parallel(C1, series(C2, C3, C4))",
                   {"C1": "4.5 pF", "C2": "2.8 pF", "C3": "8 pF", "C4": "8.6 pF"})  # fmt: skip
    lines = ("ΔV1 = ΔV_s = ΔV_total = 100 V", "C_s = 2.30 pF; C_s = 1.67 pF", "C = 4.50 + 1.67")
    assert judged(of, *lines).outcome == "all follows"
    of = reference("3 V", "parallel(C1, C2, series(C3, C4))",
                   {"C1": "2.7 nF", "C2": "220 pF", "C3": "8.2 nF", "C4": "4.7 nF"})  # fmt: skip
    lines = (
        "C_left = 3 nF", "C_right = C_left + C2 = 3.2 nF", "C_e = C_right + C1 = 3.2 nF + 2.7 nF",
        "C_e = 5.7 nF; C_e = C_right + C1", "C_e = 3.2 nF + 2.7 nF = 5.9 nF",
    )  # fmt: skip
    assert judged(of, *lines).outcome == "all follows"


def test_a_battery_s_letter_may_be_that_of_a_group_where_something_is_put_right() -> None:
    names = {"C1": "100 µF", "C2": "40 µF", "C3": "50 µF", "C4": "20 µF"}
    of = reference("6 V", "series(C1, parallel(C2, series(C3, C4)))", names)
    lines = (
        "1/C_eq = 1/C1 + 1/C_A", "C_eq = 35.2 µF", "Q1 = Q_A = Q_total = 211 µC",
        "V1 = Q1/C1 = 2.11 V", "V2 = V_B = 3.89 V", "Q3 = Q4 = Q_B = 55.6 µC", "V3 = 1.11 V",
        "U3 = 1/2·50×10^-6×1.11^2 = 2.95×10^-5 J", "U3 = 1/2·50×10^-6×1.11^2 = 3.09×10^-5 J",
    )  # fmt: skip
    assert judged(of, *lines).outcome == "all follows"
