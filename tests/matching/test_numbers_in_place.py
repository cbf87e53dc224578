"""What the numbers of a working stand for is told by the place they have in it: a given value there
is no rounded value of something else, and no value of the page excuses one that has no part in it.

The circuits and their numbers are this project's own, worked out by the laws of series and
parallel capacitors (University Physics 2, OpenStax, sections 8.1 to 8.3); that a step is judged by
the working it shows is common practice, no source.
"""

from __future__ import annotations

import pytest

from tests.matching.pages import judged_page, slip_line

PAIR_BESIDE = "parallel(series(C1, C2), C3)"
PAIRS_BESIDE = "parallel(series(C1, C2), series(C3, C4))"
IN_SERIES = "series(C1, C2, C3)"
ONE_AND_THREE = "series(C1, parallel(C2, C3, C4))"


@pytest.mark.parametrize(
    ("supply", "connection", "values", "lines", "place"),
    [
        # In 680 × 60 the 60 is the voltage and no charge of the pair.
        ("60 V", PAIR_BESIDE, "56 µF, 10 µF, 680 µF",
         "C = 1/(1/56 + 1/10) + 680 = 690 µF\nQ3 = (680)(60) = 41 mC\nQ1 = Q2 = 510 µC\n"
         "V1 = 51 V\nV2 = 9.1 V", 3),
        # The charge of the whole, which is not on the page, came from 11 nF itself.
        ("230 V", PAIR_BESIDE, "9.20 nF, 10.60 nF, 6.50 nF",
         "C = C12 + C3 = 4.9 + 6.5 = 11 nF\nQ12 = 4.9·230 = 1133 nC\nV2 = 1133/10.6 = 107 V\n"
         "Q3 = 6.1·230 = 1403 nC", 3),
        # 10 V is no 9.66 V rounded where that is worked out.
        ("10 V", ONE_AND_THREE, "270 nF, 1.5 µF, 3.9 µF, 2.2 µF",
         "C23 = 5.400 µF\nC234 = 5.400 + 2.2 = 7.600 µF\nC = 0.2607 µF\n"
         "V1 = 10 V×(0.2607 µF/(270 nF)) = 9.464 V", 3),
        # 1000 V is no 975.6 V rounded for what is across the supply.
        ("1 kV", "parallel(C3, C4, series(C2, C1))", "47 nF, 1.2 nF, 8.2 nF, 2.7 nF",
         "C = 10.90 + 1.170 = 12.07 nF\nQ3 = 8.2×1000 = 8421 nC", 1),
        # 0.8 is exact here.
        ("1.5 V", "series(C1, C2)", "1 pF, 4 pF",
         "C = 1×4/(1 + 4) = 0.8 pF\nQ = 0.8×1.5 = 1.1472 pC", 1),
        # A fraction after its working comes out of that.
        ("100 V", PAIRS_BESIDE, "82 µF, 39 µF, 12 µF, 1.2 µF",
         "C12 = 26.4 µF\nC = 26.4 µF + 12/11 µF = 27.5 µF\nQ34 = (12/11 µF)×100 V = 109 µC\n"
         "V3 = 109 µC/(12 µF) = 193/22 V", 3),
        # Nothing further down makes a given value right.
        ("36 V", "parallel(C3, C2, series(C1, C4))", "1.2 µF, 11.3 µF, 2.6 µF, 6.2 µF",
         "ΔV = 31 V\nQ3 = 2.6·31 = 81 µC\nC14 = 1.0 µF\nC = 15 µF\nQ = 460 µC", 0),
        # 15 is the supply in 8.2 × 15, not the capacitance of 15.40 µF.
        ("15 V", "parallel(C1, C2)", "6.70 µF, 8.70 µF",
         "C = 6.7 + 8.7 = 15.40 µF\nQ1 = 6.7×15 = 100.5 µC\nQ2 = 8.2×15 = 123.0 µC", 2),
        # 1 kV is the supply, though the page's other voltages are in volts.
        ("1 kV", IN_SERIES, "2.2 nF, 220 pF, 2.7 nF",
         "1/C = 1/(2.2 nF) + 1/(220 pF) + 1/(8.7 nF) = 5.115\nC = 0.1955 nF\n"
         "Q = 0.1955 nF×1 kV = 195.5 nC\nV1 = 195.5 nC/(2.2 nF) = 88.86 V", 0),
        # The charge of one element is no sum of others.
        ("1.5 V", "parallel(C1, C2, series(C3, C4))", "5 µF, 36 µF, 52 µF, 2 µF",
         "C = 5 + 36 + 1.9 = 43 µF\nV3 = 1.5×2/(52 + 2) = 0.056 V\nV4 = 1.5×1.9/2 = 1.4 V\n"
         "Q3 = 52×0.056 = 2.9 µC\nQ4 = 2 + 1.4 = 3.4 µC", 4),
        # 1.2 and 1 are C2 and C3, and no other group's members.
        ("60 V", "parallel(C1, C4, series(C2, C3))", "1.5 µF, 1.2 µF, 1 µF, 680 nF",
         "C' = 1.2 µF + 1 µF = 2.20 µF\nC = 1.5 µF + 680 nF + 2.20 µF = 4.38 µF", 0),
        # In ½ · 8 · 1.11 the 8 is the capacitance, and no charge of 8.88.
        ("3 V", "series(parallel(C1, C4), parallel(C2, C3))", "3 µF, 8 µF, 19 µF, 13 µF",
         "Q = 30.0 µC\nV23 = 1.11 V\nQ2 = 8.88 µC\nU2 = 0.5·8·1.11\nU2 = 4.44 µJ", 3),
    ],
)  # fmt: skip
def test_a_number_is_what_its_place_says(
    supply: str, connection: str, values: str, lines: str, place: int
) -> None:
    assert slip_line(judged_page(supply, connection, values, lines)) == place


@pytest.mark.parametrize(
    ("supply", "connection", "values", "lines", "place"),
    [
        # A sum of others is a check and restates nothing.
        ("400 V", "series(C1, parallel(C2, C3))", "27 pF, 2 pF, 10 pF",
         "C23 = 12 pF\nC = 8.307 pF\nQ = 8.307·400 = 3322 pC\nV23 = 276.9 V\nQ2 = 553.8 pC\n"
         "Q3 = 2768 pC\nQ1 = 7241 pC\nQ2 + Q3 = 553.8 + 2768 = 3321 pC", 6),
        # What is written again is what was written before.
        ("500 V", "series(parallel(C1, C2), parallel(C3, C4))", "56 nF, 4.7 nF, 1 nF, 68 nF",
         "C12 = 61 nF\nC34 = 69 nF\nC = 61·69/(61 + 69) = 32 nF\nQ = 32·500 = 16000 nC\n"
         "V34 = 16000/69 = 230 V\nQ3 = 16000·1/(1 + 68) = 230 nC\nQ4 = 16000 nC\nQ3 = 550 nC", 7),
        # 38.6 V after the same 38.6 V puts nothing right.
        ("400 V", IN_SERIES, "55 µF, 11 µF, 15 µF",
         "C = 5.69 µF\nQ = 2.28 mC\nV1 = Q/C1 = 2.28 mC/(59 µF) = 38.6 V\n"
         "V2 = 2.28 mC/(11 µF) = 207 V\nV3 = 400 V - 38.6 V - 207 V = 154 V\nV1 = 38.6 V", 2),
        # The given value is miscopied where it is worked with, not in the table of results.
        ("1 kV", "parallel(C4, series(C1, parallel(C2, C3)))",
         "6.200 µF, 7.600 µF, 4.500 µF, 8.300 µF",
         "C = 8.6 + 4.1 = 12.7 µF\nV4 = V = 1 kV\nC1  C2  C3  C4\n"
         "C  6.2 µF  7.6 µF  4.5 µF  8.6 µF\nQ  4099 µC  2573 µC  1526 µC  8600 µC", 0),
    ],
)  # fmt: skip
def test_what_stands_further_down_excuses_nothing(
    supply: str, connection: str, values: str, lines: str, place: int
) -> None:
    assert slip_line(judged_page(supply, connection, values, lines)) == place


@pytest.mark.parametrize(
    ("supply", "connection", "values", "lines"),
    [
        # 1² is the square of 1.02, though ½ has a 1 as well.
        ("5 V", IN_SERIES, "2.500 µF, 6.400 µF, 5.100 µF",
         "C = 1.3 µF\nQ = 1.3×5 = 6.5 µC\nV2 = 6.5/6.4 = 1 V\nU2 = {1}/{2}×6.4×1^2 = 3.3 µJ"),
        # 8 V is 8.001, from 0.889 × 9.
        ("9.00 V", "parallel(C1, C2, series(C3, C4))", "7 µF, 9 µF, 1 µF, 8 µF",
         "C34 = 0.889 µF\nQ34 = 8 µC = Q3 = Q4\nV3 = 8 V\nV4 = 9.00 V - 8 V = 0.999 V"),
        # 262 - 260 leaves 2.0, for 26.0/0.1.
        ("350 V", "parallel(C1, series(C4, parallel(C3, series(C5, C2))))",
         "8.2 µF, 4.7 µF, 2.2 µF, 6.8 µF, 100 nF",
         "C2345 = 1.72 µF\nC = 9.92 µF\nQ = 9.92·350 = 3.47 mC\nQ1 = 2.87 mC\n"
         "Q4 = 3.47 mC - 2.87 mC = 602 µC\nV3 = 602 µC/(2.30 µF) = 262 V\nQ3 = 576 µC\n"
         "Q5 = 602 µC - 576 µC = 26.0 µC = Q2\nV2 = 2.00 V"),
        # 11/0.12 is Q1/C1; 11 is no voltage of C2, and 100 - 92 is 8.
        ("100 V", PAIR_BESIDE, "120 nF, 1 µF, 1.5 µF",
         "C12 = 0.11 µF\nQ12 = 11 µC\nQ1 = 11 µC\nV1 = 11/0.12\nV1 = 92 V\nV2 = 100 - 92\n"
         "V2 = 8 V"),
        # A sum of symbols with two values, the second one right.
        ("18 V", "parallel(C1, C2)", "2.6 µF, 2.2 µF", "C1 + C2\n= 6.3 µF\nC1 + C2 = 4.8 µF"),
    ],
)  # fmt: skip
def test_honest_rounding_still_follows(
    supply: str, connection: str, values: str, lines: str
) -> None:
    assert judged_page(supply, connection, values, lines).outcome == "all follows"


def test_a_bare_power_of_ten_in_an_energy_is_one() -> None:
    lines = "C = 10^-9 F\nU = 0.5×10^-9×3^2 = 4.5×10^-9 J"
    judgement = judged_page("3 V", "series(C1, C2)", "2 nF, 2 nF", lines)
    assert judgement.outcome == "all follows"


def test_a_two_that_is_squared_is_a_voltage() -> None:
    """65/32 = 2.03 V may be gone on with: ½ · 32 · 2.03² is 66 (common practice, no source)."""
    lines = "C = 3.6\nQ1 = 65\nV1 = 65/32 = 2\nU1 = 0.5·32·2² = "
    assert judged_page("18 V", "series(C1, C2)", "32 nF, 4 nF", lines + "66").first_slip is None
    assert slip_line(judged_page("18 V", "series(C1, C2)", "32 nF, 4 nF", lines + "96")) == 3
    halved = "C = 3.6\nQ1 = 65\nV1 = 65/32 = 2\nU1 = 32·2²/2 = 96"
    assert slip_line(judged_page("18 V", "series(C1, C2)", "32 nF, 4 nF", halved)) == 3
