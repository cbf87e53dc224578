"""What rounding alone may give after all: it follows, or is asked about where a wrong rule gives it
as well; and what it may not.

The circuits and their numbers are this project's own, worked out by the laws of series and
parallel capacitors; that values may be gone on with as they were worked out, rounded or not, is
common practice, no source.
"""

from __future__ import annotations

import pytest

from tests.matching.pages import judged_page, slip_line

ONE_AND_PAIR = "series(C1, parallel(C2, C3))"
ONE_AND_CHAIN = "series(C1, parallel(C2, series(C3, C4)))"
THREE_IN_PARALLEL = "series(C1, parallel(C2, C3, C4))"
CHAIN_BESIDE = "parallel(C1, series(C2, C3, C4))"
PAIRS = "series(parallel(C1, C2), parallel(C3, C4))"


@pytest.mark.parametrize(
    ("supply", "connection", "values", "lines"),
    [
        # 5190 - 2850 - 2070 = 270, with 17.3 for 17.373; 300 is a voltage here, no charge of 292.
        ("300 V", "parallel(C1, C2, series(C3, C4))", "9.50 µF, 6.90 µF, 1.10 µF, 8.50 µF",
         "C34 = 0.973 µF\nC = 9.5 + 6.9 + 0.973 = 17.3 µF\nU2 = 2070^2/(2·6.9) = 310 mJ\n"
         "Q1 = 9.5·300 = 2.85 mC\nQ3 = Q4 = 270 µC"),
        # 30 V is V1 = 29.66 V rounded, though the supply has 30 V too.
        ("30 V", ONE_AND_PAIR, "10 µF, 180 µF, 680 µF",
         "C = 9.9 µF\nQ1 = Q = 297 µC\nV1 = 297 µC/(10 µF) = 30 V\n"
         "W1 = 1/2·297 µC·30 V = 4404 µJ"),
        # One 15 is the supply, the other 14.5.
        ("15 V", THREE_IN_PARALLEL, "2 pF, 13 pF, 28 pF, 15 pF",
         "C = 1/(1/2 + 1/56) = 1.9 pF\nQ = 1.9 × 15 = 29 pC\nV1 = 29/2 = 15 V\n"
         "V234 = V - V1 = 15 - 15 = 0.50 V"),
        # On a page of two figures 150 is 147, and 117 was gone on with for 120.
        ("30 V", "parallel(C2, C1)", "1 µF, 3.9 µF",
         "C = 4.9 µF\nQ = 4.9·30 = 150 µC\nQ2 = 3.9·30 = 120 µC\nQ1 = 150 - 120 = 33 µC"),
        # 10² is the square of 10.2 and of 10.8, no power of ten.
        ("5 V", "parallel(series(C1, C2), series(C3, parallel(C4, C5)))",
         "38 pF, 48 pF, 35 pF, 60 pF, 6 pF",
         "C45 = 66 pF\nC345 = 23 pF\nQ345 = 115 pC\nV45 = 115/66 = 1.7 V\nQ5 = 6·1.7 = 10 pC\n"
         "W5 = 10^2/(2·6) = 8.7 pJ"),
        ("300 V", "series(C1, parallel(series(C2, C3), C4), C5)",
         "33 pF, 18 pF, 150 pF, 10 pF, 390 pF",
         "C = 14 pF\nQ = 14·300 = 4.2 nC = Q1 = Q5\nU5 = 0.5·390·10^2 = 22 nJ"),
        # 10 is 10.0, from 6.67 × 1.5 = 10.005.
        ("1.5 V", "parallel(C1, series(C2, parallel(C3, C4)))", "3 µF, 12 µF, 7 µF, 8 µF",
         "C34 = 15 µF\nC234 = 6.67 µF\nQ234 = 10 µC\nV2 = 10/12 = 0.834 V\nV34 = 1.5 - 0.834"),
        # 90/49 - 12/7 = 6/49, and no charge over a capacitance.
        ("9 V", "series(C1, parallel(series(C2, C3), C4), C5)",
         "6.8 µF, 150 nF, 3.9 µF, 3.3 µF, 1 µF",
         "C23 = 0.14 µF\nC234 = 3.4 µF\nC = 34/49 µF\nV234 = (9 × (34/49))/3.4 = 90/49 V\n"
         "Q23 = 0.14 × (90/49) = 9/35 µC\nV2 = 12/7 V\nV3 = 6/49 V"),
        # 0.5476 is 20 - 19.4524, where 19.4524 is 37.244/1.91462; 0.491 is 12 - 253.2/22.
        ("20 V", "series(C1, C2, C3, C4)", "18 µF, 82 µF, 2.2 µF, 68 µF",
         "1/C = 1/C123 + 1/C4 = 1/1.9146 + 1/68\nC = 1.8622 µF\nQ1 = Q2 = Q3 = Q4 = 37.244 µC\n"
         "U1 = 1/2 C1V1^2 = 1/2 (18)(2.0691^2) = 38.531 µJ\n"
         "U4 = 1/2 C4 V4^2 = 1/2 (68)(0.54760^2) = 10.196 µJ"),
        ("12.0 V", PAIRS, "12 pF, 10 pF, 390 pF, 120 pF",
         "1/C = 1/22 + 1/510\nC = 21.1\nQ1 = (12)(11.5) = 138\nQ2 = 253 - 138 = 115\n"
         "Q3 = C3V3\nQ3 = (390)(0.491)\nQ3 = 191"),
        # 1 is 1.01, 1.02 and 1.07.
        ("48 V", "series(C2, C1)", "65 µF, 30 µF",
         "C12 = 21 µF\nQ = 21 µF × 48 V = 1 mC\nV1 = 15 V\nV2 = 1 mC/(30 µF) = 34 V"),
        ("15 V", "series(C2, parallel(C4, series(C7, parallel(C5, C6)), C1), C3)",
         "5.6 nF, 1.2 nF, 6.8 nF, 1 nF, 120 pF, 8.2 nF, 470 pF",
         "C_eq = (1×6.8)/(1+6.8) = 0.89 nF\nQ2 = Q3 = 13 nC"),
        ("400 V", ONE_AND_CHAIN, "12 µF, 6 µF, 10 µF, 9 µF",
         "C234 = 6×10^-6 + (10×10^-6)(9×10^-6)/(10×10^-6 + 9×10^-6)\n= 1×10^-5 F\n"
         "C = 5.4×10^-6 F\nQ = (5.4×10^-6)(400) = 2.1×10^-3 C = Q1 = Q234\n"
         "V234 = Q/C234 = 2.1×10^-3/(1×10^-5) = 195 V"),
        # 400 is the charge 399.6, not the supply.
        ("400 V", CHAIN_BESIDE, "560 pF, 8.2 nF, 1.5 nF, 4.7 nF",
         "C234 = 0.999 nF\nQ234 = (0.999)(400) = 400 nC\nV2 = 400/8.2 = 48.7 V\n"
         "W2 = 400^2/(2(8.2)) = 9.74 µJ"),
        # What is squared or times a voltage is no capacitance, given or exact: 8.004, 86.4, 30.8.
        ("24.0 V", "parallel(series(C1, C2), series(C3, parallel(C4, C5)))",
         "2 µF, 1 µF, 5 µF, 10 µF, 8 µF",
         "C12 = 0.667\nQ12 = 0.667·24.0 = 16.0\nQ1 = Q2 = 16.0\nV1 = 16.0/2 = 8.00\n"
         "U1 = 0.5C1V1^2 = 0.5·2·8.00^2 = 64.1"),
        ("12.0 V", "series(C1, C3, parallel(C2, C4))", "30 nF, 38 nF, 29 nF, 48 nF",
         "C24 = 38 + 48 = 86\nC = 13\nV24 = 12×13/86 = 1.8\nQ4 = 48×1.8\nQ4 = 86\n"
         "U4 = {86^{2}}/{2×48} = 78"),
        ("100 V", "parallel(C4, C2, series(C1, C3))", "13 µF, 11 µF, 30 µF, 23 µF",
         "C13 = 9\nQ = 4300\nQ4 = 2300\nQ2 = 1100, Q13 = 4300-2300-1100 = 900\nV1 = 69\n"
         "V3 = 30\nU3 = 1/2×900×30\n= 13846"),
        ("4.5 V", "parallel(series(C1, C2), series(C3, C4))", "3.9 nF, 1.5 nF, 5.6 nF, 180 pF",
         "C34 = 0.17 nF\nC12 = 1.1 nF\nC = 1.3 nF\nQ = 1.3×4.5 = 5.9 nC\nQ12 = 4.9 nC\n"
         "Q34 = Q - Q12; Q34 = 1 nC\nQ3 = Q4 = 1 nC\nV4 = Q4/C4; V4 = 1/0.18\nV4 = 5.7 V"),
        ("5 V", "series(parallel(C1, C2), parallel(C3, C4), C5)",
         "2.2 µF, 5.6 µF, 1.5 µF, 1.8 µF, 4.7 µF",
         "C = 1.6 µF\nQ = 8 µC\nV12 = 8/7.8 = 1 V\nV1 = V2 = 1 V\nW2 = 0.5·5.6·1^2\nW2 = 2.9 µJ"),
        # Worked out three lines before: 15.5²/(2 × 1.3).
        ("12.0 V", "series(C4, parallel(C3, series(C2, C1)))", "6.8 nF, 5.6 nF, 680 pF, 2.2 nF",
         "C12 = 3 nF\nC123 = 3.7 nF\nC = 1.3 nF\nQ = 1.3 × 12 = 16 nC\nW = 16^2/(2 × 1.3)\n"
         "= 256/2.6\n= 92 nJ"),
        # 1.008 on the way, as 1; and zeros without a meaning.
        ("300 V", "parallel(series(C1, C2), C3)", "560 nF, 1.8 µF, 2.2 µF",
         "C12 = 0.56 × 1.8/(0.56 + 1.8) = 1/2.36 = 0.427\nC = 2.63"),
        ("500 V", PAIRS, "18 µF, 100 µF, 220 µF, 820 µF",
         "C34 = 1.0 mF\nC = 106 µF\nU = 1/2·106 µF·(500 V)^2 = 1.30000·10^7 µJ = 13 J"),
        # 60 for 60.4 leaves 150/11 of 810/11.
        ("9.00 V", PAIRS, "8.2 µF, 2.7 µF, 18 µF, 27 µF",
         "C' = 10; C'' = C3 + C4\n= 45\nC = 90/11\nQ = 810/11\nV' = 810/11/10\n= 81/11\nQ1 = 60\n"
         "Q2 = Q' - Q1\n= 150/11"),
        # V23 is 1000 - 11.4/0.012, four values from Q2.
        ("1.0 kV", ONE_AND_PAIR, "12 pF, 120 pF, 100 pF",
         "C_e = 11.4 pF\nQ1 = Q23 = 11.4 nC\nQ2 = C2 V23 = 6.00 nC\nQ3 = 5.00 nC"),
        # 135.3² over 2, though it says 135² and 18225 in the lines before.
        ("300 V", "parallel(C1, C2, series(C3, C4))", "1.5 nF, 5.6 nF, 820 pF, 1 nF",
         "C34 = 1/(1/0.82 + 1/1) = 0.451\nC = 7.1 + 0.451 = 7.55\nQ34 = 0.451 × 300 = 135\n"
         "Q3 = Q4 = 135\nU4 = Q4^2/(2C4) = 135^2/(2 × 1)\nU4 = 18225/2\nU4 = 9153"),
        # 2 is 2.04 by way of 2.6, though 2.02 is exact.
        ("20 V", "parallel(C1, series(C2, C3, C4))", "5.6 µF, 4.0 µF, 7.2 µF, 9.5 µF",
         "C23 = 2.6 µF\nC = 7.6 µF\nQ234 = (2)(20)\n= 41 µC"),
        # 48/23 is 6 - 90/23 and a value, though 48 and 23 are given.
        ("6 V", "parallel(series(C1, C2), series(C3, parallel(C4, C5)))",
         "48 µF, 38 µF, 23 µF, 17 µF, 26 µF",
         "C45 = 43.0\nC345 = 15.0\nV3 = 6·{15.0}/{23}\n= {90}/{23}\nV4 = V45 = {48}/{23}\n"
         "Q4 = C4·V45\n= 17·({48}/{23}) = {816}/{23}"),
        # Cut off like 105 V and 56.4 V before: 37.7 V is 37.77 V.
        ("200 V", "series(C1, parallel(series(C2, C3), C4), C5)",
         "180 pF, 22 pF, 39 pF, 82 pF, 270 pF",
         "C = 50.8 pF\nV234 = 105 V\nQ234 = 1481 + 8678\n= 10159 pC\nV1 = 56.4 V\nV5 = 37.7 V\n"
         "Q5 = 10197 pC"),
        # 9.6 is exact, but 39/4.1 is 39/4.05 and 9.63.
        ("24.0 V", "parallel(C1, series(C2, parallel(C3, C4)))", "5.6 nF, 2.7 nF, 150 pF, 3.9 nF",
         "C234 = 1.6 nF\nQ234 = 1.6·24.0, Q234 = 39 nC\nV34 = {39}/{4.1}  V34 = 9.6 V\n"
         "Q3 = 0.15·9.6\nQ3 = 1.4 nC  Q4 = 3.9·9.6 = 38 nC"),
        # One 26 is C3, the other 25.7.
        ("12.0 V", ONE_AND_CHAIN, "7 pF, 15 pF, 26 pF, 16 pF",
         "C34 = 9.9 pF\nC = 5.5 pF\nQ = 5.5·12 = 66 pC\nV1 = {66}/{7} = 9.4 V\n"
         "V3 = {Q34}/{C3} = {26}/{26} = 0.99 V"),
    ],
)  # fmt: skip
def test_rounding_alone_explains_it(supply: str, connection: str, values: str, lines: str) -> None:
    judgement = judged_page(supply, connection, values, lines)
    assert slip_line(judgement) is None
    assert judgement.outcome == "all follows"


@pytest.mark.parametrize(
    ("supply", "connection", "values", "lines", "place"),
    [
        ("30 V", ONE_AND_PAIR, "10 µF, 180 µF, 680 µF",
         "C = 9.9 µF\nQ1 = Q = 297 µC\nV1 = 297 µC/(10 µF) = 30 V\n"
         "W1 = 1/2·297 µC·30 V = 4804 µJ", 3),
        ("15 V", THREE_IN_PARALLEL, "2 pF, 13 pF, 28 pF, 15 pF",
         "C = 1/(1/2 + 1/56) = 1.9 pF\nQ = 1.9 × 15 = 29 pC\nV1 = 29/2 = 15 V\n"
         "V234 = V - V1 = 15 - 15 = 2.50 V", 3),
        ("12.0 V", PAIRS, "12 pF, 10 pF, 390 pF, 120 pF",
         "C = 21.1\nQ1 = (12)(11.5) = 138\nQ2 = 253 - 138 = 115\nQ3 = (390)(0.441)", 3),
        ("400 V", CHAIN_BESIDE, "560 pF, 8.2 nF, 1.5 nF, 4.7 nF",
         "C234 = 0.999 nF\nQ234 = (0.999)(400) = 400 nC\nV2 = 400/8.2 = 48.7 V\n"
         "W2 = 400^2/(2(8.2)) = 9.24 µJ", 3),
        ("500 V", PAIRS, "18 µF, 100 µF, 220 µF, 820 µF",
         "C34 = 1.0 mF\nC = 106 µF\nU = 1/2·106 µF·(500 V)^2 = 1.50000·10^7 µJ", 2),
        # The numbers of given members are exact, and working further up keeps its unit.
        ("6 V", "parallel(series(C1, C2), C3)", "1.8 pF, 3.9 pF, 1 pF",
         "C1 = 1.8, C2 = 3.9, C3 = 1, V = 6\nC_eq = C12 + C3 = 1.231 + 1 = 2.321", 1),
        ("5 V", "parallel(C1, C2, series(C3, C4))", "6.8 µF, 1.2 µF, 2.7 µF, 10 µF",
         "C34 = C3 × C4/(C3 + C4)\n= 2.7 × 10/(2.7 + 10) = 27/12.7\n= 2.13 nF\n"
         "C = 6.8 + 1.2 + 2.13\n= 10.1 µF", 2),
        ("24 V", "series(C1, C2, C3)", "1.2 µF, 150 nF, 4.7 µF",
         "1/C = 1/(1.2×10^-6) + 1/(150×10^-9)\nC = 1.333×10^-7 F\nQ = (1.333×10^-7)(24)", 0),
    ],
)  # fmt: skip
def test_rounding_alone_does_not_explain_it(
    supply: str, connection: str, values: str, lines: str, place: int
) -> None:
    assert slip_line(judged_page(supply, connection, values, lines)) == place


@pytest.mark.parametrize(
    ("supply", "connection", "values", "lines"),
    [
        # (3.1 × 12 - 80/3)/2.7 = 3.9, which is also V2.
        ("12.0 V", "parallel(series(C1, C2), series(C3, C4))", "3.3 µF, 6.8 µF, 2.7 µF, 1.5 µF",
         "1/C' = 1/C1 + 1/C2 = 1/3.3 + 1/6.8 = 0.450\nC' = 1/0.450 = (20/9) µF\n"
         "1/C'' = 1/C3 + 1/C4 = 1.03\nC'' = 0.97 µF\nC_eq = C' + C'' = 20/9 + 0.97 = 3.1 µF\n"
         "Q' = C'×V' = (20/9)·12 = (80/3) µC\n"
         "C1  C2  C3  C4\nV  (412/51)V  (200/51)V  3.9V  8.1V"),
        # One 1 is C2, the other C1 and C34 in series, 1.08 cut off; the result is right.
        ("24 V", "series(C1, C2, parallel(C3, C4))", "2.7 µF, 1 µF, 1.5 µF, 330 nF",
         "C34 = 1.8\n1/C = 1/1 + 1/1\nC = 0.52\nQ = 0.52 × 24 = 12"),
        # Ce is the whole; after C''' and C3 over 1.2 and 4.7 it may be C1 and C3.
        ("240 V", "series(C1, parallel(series(C4, C5), C2), C3)",
         "1.2 µF, 68 µF, 4.7 µF, 22 µF, 1.8 µF",
         "{1}/{C'} = {1}/{C4} + {1}/{C5} → C' ≈ 1.7 µF\nC'' = C' + C2 ≈ 70 µF\n"
         "{1}/{Ce} = {1}/{C'''} + {1}/{C3} = {1}/{1.2 µF} + {1}/{4.7 µF} → Ce ≈ 0.94 µF\n"
         "V1 = {V·Ce}/{C1} ≈ 190 V"),
        # The second working, put right, is the first again.
        ("300 V", ONE_AND_CHAIN, "180 nF, 1.8 µF, 1.5 µF, 3.3 µF",
         "C_tot = 0.18·(1.8+1)/(0.18+(1.8+1))\n= 0.509/3.01\n= 0.21\n"
         "C_tot = 0.18·(1.8+1)/(0.18+(1.8+1))\n= 0.509/3.01\n= 0.16"),
    ],
)  # fmt: skip
def test_what_is_more_likely_right_is_asked_about(
    supply: str, connection: str, values: str, lines: str
) -> None:
    judgement = judged_page(supply, connection, values, lines)
    assert judgement.outcome == "needs a look" and judgement.first_slip is None
    questions = {s.question for s in judgement.statements if s.question}
    assert len(questions) == 1 and questions.pop().startswith("How was ")
