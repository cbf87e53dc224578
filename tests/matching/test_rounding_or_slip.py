"""Where rounding may explain a value and where it may not, and which group a label stands for.

The circuits and their numbers are this project's own, worked out by the laws of series and
parallel capacitors; that values may be gone on with as they were worked out, rounded or not, is
common practice, no source.
"""

from __future__ import annotations

import pytest

from tests.matching.pages import judged_page, slip_line

SERIES = "series(C1, C2, C3)"
TWO_PAIRS = "parallel(series(C1, C2), series(C3, C4))"
PAIR_AND_ONE = "series(C1, parallel(C2, C3))"
TWO_IN_PARALLEL = "series(parallel(C1, C2), parallel(C3, C4))"
BOX = "series(parallel(C1, C4), parallel(C3, C5), C2)"
LADDER = "series(C1, parallel(C2, series(C3, parallel(C4, series(C5, parallel(C6, C7))))))"
LADDER_VALUES = "3.9 pF, 1.5 pF, 1.8 pF, 27 pF, 47 pF, 68 pF, 0.73 pF"
LADDER_LINES = "C_e = 1.77 pF\nQ2 = 1.5 pF × 131 V = 196 pC\n"


def slip_on(supply: str, connection: str, values: str, lines: str) -> int | None:
    return slip_line(judged_page(supply, connection, values, lines))


@pytest.mark.parametrize(
    ("supply", "connection", "values", "lines"),
    [
        # 18 × 4.278/7 is 11.0006, written 11: so 6.999 and not 7 is left.
        ("18 V", TWO_PAIRS, "6 µF, 2 µF, 7 µF, 11 µF",
         "C34 = 4.278\nV3 = 18 × 4.278/7 = 11\nV4 = 18 - 11 = 6.999"),
        # 60 × 1.3/3.3 = 23.6 is written 24, which is exact; 36 stands for 36.4.
        ("60 V", TWO_PAIRS, "3.3 µF, 2.2 µF, 4.7 µF, 2.7 µF",
         "C12 = 1.3 µF\nV1 = 60 V × 1.3 µF/(3.3 µF) = 24 V\nV2 = 60 V - 24 V = 36 V\n"
         "U2 = 1/2 × 2.2 µF × (36 V)^2 = 1455 µJ"),
        # 1.1 V is 1.09 V rounded, though 1.1 µF is given.
        ("3 V", "series(C3, parallel(C2, series(C1, C4)))", "1.1 µF, 10 µF, 9.2 µF, 4 µF",
         "Q1 = Q4 = 1.2 µC\nU1 = 1/2 × 1.1 µF × (1.1 V)^2 = 0.65 µJ"),
        # 12 V - 11 V leaves 1.0 V, which stands only among the numbers.
        ("12 V", "series(C3, parallel(C1, C2))", "75 µF, 95 µF, 25 µF",
         "C = 22 µF\nQ = 264 µC\nV3 = 11 V\nQ1 = 75 × 1.0 = 75 µC\nQ2 = 95 × 1.0 = 95 µC"),
        # 2 V is 1.96 V rounded, and no 2 of the formula.
        ("6 V", "series(C1, parallel(C2, C3, C4))", "12 µF, 4 µF, 11 µF, 10 µF",
         "C = 8.1 µF\nQ = 49 µC\nV234 = 49/25 = 2 V\nQ3 = 11 × 2 = 22 µC"),
        # 12 is 104/9 = 11.6 rounded, though 12 nF is given: 3.4 is left.
        ("15 V", "series(C1, parallel(C2, C3, C4))", "9 nF, 6 nF, 11 nF, 12 nF",
         "C = 1/(1/9 + 1/29) = 6.9\nQ = 104\nV1 = 104/9 = 12\nV234 = 15 - 12 = 3.4"),
        # 1.20 is 1/C12, though 1.2 µF is given.
        ("400 V", "parallel(series(C1, C3), C2)", "1.2 µF, 1.8 µF, 2.7 µF",
         "1/C13 = 1/1.2 + 1/2.7 = 1.20\nC13 = 1/1.20 = 0.833"),
        ("18 V", "parallel(series(C1, C2, C3), C4)", "2.7 µF, 1.2 µF, 6.8 µF, 390 nF",
         "C' = 1/(1/2.7 + 1/1.2) = 1/1.20 = 0.831 µF"),
        # 15 × 10⁻⁶ is given, but here it is a group's 14.6 × 10⁻⁶.
        ("24 V", "series(parallel(C1, C4), parallel(C3, C5), C2)",
         "22 µF, 10 µF, 6 µF, 15 µF, 18 µF",
         "C1345 = 1.5×10^-5 F\nC = (1.5×10^-5×10×10^-6)/(1.5×10^-5+10×10^-6) = 5.9×10^-6 F"),
        # 1.5 and 1.8 are given, but here they are C12 = 1.48 and C345 = 1.82.
        ("120 V", "parallel(series(C1, C2), series(C3, parallel(C4, C5)))",
         "1.8 µF, 8.2 µF, 5.6 µF, 1.5 µF, 1.2 µF", "C12 = 1.5\nC345 = 1.8\nC = 1.5 + 1.8 = 3.3"),
        # 5.9 is 11.7 × 0.5, with the 0.5 V that only the next row of the table has.
        ("4.5 V", "series(C1, C2)", "1.8 µF, 11.7 µF",
         "C = 1.6\nQ = 1.6 × 4.5 = 7.2 µC\nC1  C2\nQ  7.2 µC  5.9 µC\nV  4 V  0.5 V"),
        # A fraction of rounded values is worked out as one, not as if it were exact.
        ("1000 V", PAIR_AND_ONE, "1.5 µF, 10 µF, 4.7 µF",
         "C = 1.4 µF\nQ = 1400 µC\nV23 = 1400/15\n= 95 V"),
        # The result of the line before, from 574.44 rather than 574.4.
        ("12 V", "parallel(C1, series(C2, C3, C4))", "47 µF, 10 µF, 18 µF, 1 µF",
         "C = 47 µF + 0.8654 µF = 47.87 µF\n"
         "Q1 = Q × C1/(C1 + C234) = 574.4 µC × 47 µF/(47 µF + 0.8654 µF)\nQ1 = 564.1 µC"),
        # 2 is C1345 = 2.08 pF rounded, and (1) is V3 = 1.05 V.
        ("500 V", "parallel(C2, series(C4, parallel(C3, series(C5, C1))))",
         "1.2 pF, 1.8 pF, 8.2 pF, 2.7 pF, 3.3 pF", "C135 = 9 pF\nQ1345 = 2 × 500 = 1040 pC"),
        ("6 V", "parallel(C1, series(C2, parallel(C3, series(C4, C5))))",
         "40 nF, 15 nF, 50 nF, 30 nF, 70 nF", "C = 52\nQ2 = 74\nQ3 = (50)(1) = 52"),
        # 1 is U34 = 1.04 V; Q' is more exact than the values before it.
        ("4.5 V", "parallel(C1, series(C2, parallel(C3, C4)))", "8.2 µF, 2.2 µF, 6.8 µF, 560 nF",
         "QB = 1.7 × 4.5 = 7.7\nU34 = 7.7/7.4 = 1\nQ3 = 6.8 × 1 = 7.1\nQ3 = 7.1"),
        ("12 V", "series(C1, parallel(C2, series(C3, C4)))", "2.6 µF, 3.8 µF, 2.2 µF, 8.8 µF",
         "C = 1.771 µF\nQ = 21.25 µC\nQ' = 6.707 µC\nV1 = 8.173 V\nQ3 = 6.707 µC\n"
         "Q4 = 6.707 µC\nV3 = 3.048 V\nV4 = 0.7621 V"),
        # 212.59, 1500 and 1712.5 are charges at 1 kV, and no capacitances in pF.
        ("1 kV", "parallel(series(C1, C2), C3)", "1 nF, 270 pF, 1.5 nF",
         "C_eq = C' ∥ C3 ≈ 1.7125; V' = V3 = 1000\nQ' ≈ 212.59  Q3 = C3 V3 = 1500\n"
         "Q1 = Q2 = Q' = 212.59\nV1 = 212.59\nQ_tot = 212.59 + 1500 = 1712.5"),
        # "= 16.7 µC = Q3" is a value of Q, too, which may be gone on with as 16.7.
        ("4.5 V", "series(C3, C1, parallel(C2, C4))", "24 µF, 30 µF, 5 µF, 7 µF",
         "C_AB = 3.72 µF\nQ = C_AB V = 3.72 × 4.5\n≈ 16.7 µC = Q3 = Q1\nW = Q^2/(2 C_AB)\n"
         "≈ 37.4 µJ"),
        # The 1 below the stroke is C12 = 1.05.
        ("12 V", "series(C1, C2, parallel(C3, C4))", "1.2 µF, 8.2 µF, 4.7 µF, 680 nF",
         "Cp = 5.4\n1/Ctot = 1/1 + 1/5.4\nCtot = 0.88"),
        # 24 V - 2.1 × 24/3.4 V - 2.1 × 24/13.4 V, of which only 2.1 is on the page.
        ("24 V", "series(parallel(C1, C2), parallel(C3, C4), C5)",
         "1.5 µF, 1.9 µF, 8.8 µF, 4.6 µF, 11.1 µF", "C = 2.1\nV5 = 5.4"),
        # Q12 = 0.8811 × 3 was gone on with as 2.643, and all results are cut off.
        ("3 V", "series(parallel(C1, C2), parallel(C3, C4), parallel(C5, C6))",
         "220 nF, 6.8 µF, 180 nF, 1 µF, 2.2 µF, 4.7 µF",
         "Ce = 0.8811\nV12 = Q12/C12 = 0.3764\nV34 = Q34/C34 = 2.239\n"
         "V56 = 3 - 0.3764 - 2.239 = 0.3846\nQ5 = C5 V5 = 0.8461, Q6 = Q56 - Q5 = 1.796"),
        # 3.125 V is exact and 6.873 V is not: their sum is 9.998 V.
        ("10 V", "parallel(series(C1, C2), C3)", "3.3 µF, 1.5 µF, 11.3 µF",
         "Q1 = Q2 = 10.31 µC\nV2 = Q2/C2 = 6.873 V\nV1 = 10.31/3.3 = 3.125 V\n"
         "V1 + V2 = 3.125 + 6.873 = 9.998 V"),
        # 1000 V - 1780/2.1 V is 152.38 V, of which 69.22 V leave 83.16 V.
        ("1.0 kV", "parallel(C1, series(C2, parallel(C3, series(C4, C5))))",
         "10.9 µF, 2.1 µF, 7 µF, 10.3 µF, 8.5 µF",
         "C45 = 4.657 µF\nC2345 = 1.779 µF\nQ2345 = 1.780 mC\nV2 = 1780/2.1 = 847.6 V\n"
         "V345 = 1000 - 847.6 = 152.4 V\nQ3 = 7×152.4 = 1.067 mC\n"
         "Q45 = 1780 - 1067 = 713.0 µC\nV4 = 713.0/10.3 = 69.22 V\nV5 = 83.16 V\n"
         "U5 = 1/2×713.0×83.16 = 29.65 mJ"),
        # 1.0 nC - 0.99 nC, for what is 0.24 nC unrounded.
        ("1.5 V", "series(C1, parallel(C2, C3))", "820 pF, 3.3 nF, 1 nF",
         "Ce = 0.68 nF\nQ = 0.68 nF×1.5 V = 1.0 nC\nU23 = 1.5 V - 1.2 V = 0.30 V\n"
         "Q2 = 0.99 nC\nQ3 = 0.010 nC"),
        # V2, written as 4 V, is 4.583 × 48/55 V = 3.9997 V.
        ("48 V", "parallel(series(C1, C2), C3)", "5 µF, 55 µF, 16 µF",
         "C_A ≈ 4.583 µF\nV2 ≈ 4 V\nU2 = 1/2×55×4^2 ≈ 439.9 µJ"),
        # 47 V is 46.7 V rounded, though C2 = 47 µF.
        ("48 V", TWO_PAIRS, "1.5 µF, 47 µF, 22 µF, 1.2 µF",
         "Q12 = 70 µC\nV1 = 70/1.5 = 47 V; V2 = 48 - 47 = 1.3 V"),
        # After a gap a product over a sum is no factor of the voltage before.
        ("9 V", "parallel(series(C1, C2), C3)", "4.7 µF, 390 nF, 3.3 µF",
         "V12 = V3 = 9V  {4.7µF×390nF}/{4.7µF+390nF}\n=0.360µF"),
        # V2 stands for V2345678; less Q3/C3 = 229/1.8 of it, which stands nowhere, 3.77 V are left
        # for C4, from 3.2 V up to 5.2 V where everything was rounded to three figures.
        ("240 V", LADDER, LADDER_VALUES, LADDER_LINES + "Q4 = 27 pF × 3.77 V = 102 pC"),
        ("240 V", LADDER, LADDER_VALUES, LADDER_LINES + "V4 = 5.1 V\nQ4 = 27 × 5.1 = 138 pC"),
        # Where everything has two figures, 330 is 325.5 rounded, though C5 = 330 nF.
        ("12 V", "series(parallel(C1, C2), parallel(C3, C4), C5)",
         "470 nF, 22 nF, 150 nF, 820 nF, 330 nF",
         "C12 = 470 + 22 = 490 nF\nC34 = 150 + 820 = 970 nF\n1/C = 1/330 + 1/330\nC = 160 nF"),
        ("48 V", "series(C1, C2, C3)", "1 µF, 4.7 µF, 8.2 µF",
         "1/C = 1/(820×10^-9) + 1/(8.2×10^-6)\nC = 750×10^-9 F"),
        # The supply's 150 is no capacitance: here it is 145 rounded.
        ("150 V", "series(parallel(C1, C2), parallel(C3, C4))", "100 nF, 45 nF, 95 nF, 35 nF",
         "C = {150×(95 + 35)}/{150 + (95 + 35)} = 69 nF\nQ1 = 100 × 71 = 7100 nC"),
        # 17 is C2 + C3, but here it is C12 = 16.7 rounded.
        ("4.5 V", "parallel(C1, C2, C3)", "10.90 µF, 5.80 µF, 11.20 µF",
         "C = C12 + C3 = 17 + 11.20 = 28 µF"),
        # 15 is 8.35 · 1.8 = 15.03, not C6 = 12 miscopied.
        ("1 kV", "series(C1, parallel(C2, series(C3, parallel(C4, C5)), C6), C7)",
         "1.8 µF, 1 µF, 68 µF, 82 µF, 1.5 µF, 12 µF, 10 µF",
         "C23456 = 50.5\nC234567 = 50.5×10/(50.5 + 10) = 8.35\n"
         "C = 8.35×1.8/(8.35 + 1.8) = 15/10.2 = 1.48"),
        # 825.6 pC is 1630 pC - 804.4 pC, on a page that mostly writes nC.
        ("300 V", "parallel(C2, series(C3, parallel(C4, series(C5, C1))))",
         "28 pF, 60 pF, 7 pF, 12 pF, 22 pF",
         "C1345 = 5.435 pF\nQ2 = 60×300 = 18.00 nC\nQ1345 = 5.435×300 = 1630 pC = 1.630 nC\n"
         "V145 = 67.04 V\nQ4 = 12×67.04 = 804.4 pC\nV5 = Q15/C5 = 825.6/22 = 37.52 V\n"
         "Q = 18000 + 1630 = 19.63 nC"),
        # 94 is 44/0.47 = 93.6 rounded, not the exact 94.6 cut off: 6.4 V are left.
        ("100 V", "series(C3, parallel(C2, C1))", "5.6 nF, 2.7 nF, 470 pF",
         "C = 0.44 nF\nQ3 = 44 nC\nV3 = 44/0.47 = 94 V\nV12 = 6.4 V\nQ2 = 2.7×6.4 = 17 nC"),
        # 297.5 V is exact and yet 297.45 V rounded: 52.55 V are left, and 2.3 V of 20 V - 17.7 V.
        ("350 V", "parallel(series(C1, C2), series(C3, parallel(C4, C5)))",
         "15 µF, 95 µF, 30 µF, 90 µF, 80 µF",
         "Q = 13.46 mC\nQ1 = 4.534 mC\nQ3 = 8.924 mC\nV3 = 8.924/0.03 = 297.5 V\n"
         "V4 = 350 - 297.5 = 52.55 V"),
        ("20 V", "series(C1, parallel(C2, C3, C4))", "3 pF, 9 pF, 7 pF, 10 pF",
         "C = 2.6\nQ = 2.6×20 = 53\nV1 = 53/3\n= 17\nV2 = 20 - 17 = 2.3"),
        # 170 is C2 + C3 = 168, and 2 is 2.02, rounded.
        ("230 V", PAIR_AND_ONE, "180 µF, 100 µF, 68 µF",
         "1/C_{T}=1/(180µF)+1/(170µF)=0.0115µF^{-1}→C_{T}=87µF\nq1 = q23 = 20 mC\n"
         "q2 = 100 µF×120 V = 12 mC; q3 = 8.0 mC"),
        ("6 V", PAIR_AND_ONE, "3.9 µF, 820 nF, 1.2 µF",
         "{1}/{C}={1}/{3.9µF}+{1}/{2µF}\n=0.751\nC=1.3µF"),
        # V3, which stands nowhere, is 200 V - 104/0.56 V, and V5 30 V - 4.38/0.22 V - 440/47 V.
        ("200 V", "parallel(series(C1, C3), series(C2, C4))", "560 pF, 3.9 nF, 6.8 nF, 5.6 nF",
         "C13 = 0.52 nF\nQ13 = 0.52 nF × 200 V = 104 nC\nQ1 = 104 nC\nQ3 = 104 nC\n"
         "U1 = 9657 nJ\nU3 = 694 nJ"),
        ("30 V", "parallel(C1, series(C2, parallel(C3, series(C4, C5))))",
         "82 µF, 220 µF, 390 µF, 47 µF, 470 µF",
         "Q2 = 4.38 mC\nQ3 = 3.94 mC\nQ4 = Q5 = 440 µC\nU4 = 2.06 mJ\nU5 = 125 µJ"),
        # 11 × 11 is 11 pF × 10.54 V, and 470 × 2 is 470 nF × 1.998 V.
        ("100 V", "series(C1, C2, parallel(C3, C4))", "12 pF, 7 pF, 11 pF, 26 pF",
         "C = 3.9\nV1 = 390/12 = 33\nQ3 = (11)(11) = 116"),
        ("4.5 V", TWO_IN_PARALLEL, "56 nF, 330 nF, 12 nF, 470 nF",
         "V3 = V4 = 2\nq1 = 56×2.49 = 140\nq4 = 470×2 = 939"),
        # 3.6 is 3.67 cut off, no given 1.6 or 2.6 miscopied.
        ("1 kV", "series(parallel(C1, C2), parallel(C3, C4), C5)",
         "3.7 nF, 2.6 nF, 1.6 nF, 7.2 nF, 5.6 nF",
         "C12 = 6.3 nF\nC34 = 8.8 nF\n{1}/{C} = {1}/{3.6} + {1}/{5.6} so C = 2.2 nF"),
        # "now V_B" is no voltage of the battery where there is a C_B.
        ("12 V", "series(C1, parallel(series(C2, C3), C4), C5)",
         "1.2 µF, 4.7 µF, 8.2 µF, 120 nF, 5.6 µF",
         "1/C = 1.33 µF^-1\nC = 0.752 µF\nV1 = 9.02/1.2 = 7.52 V\n"
         "now V_{B}=q_{B}/C_{B}\n=9.02µC/(3.11µF)\n≈2.90V"),
        # eq3 is another group than eq1, though 10 nC is right for both.
        ("10 V", "parallel(series(C1, C2), series(C3, parallel(C4, C5)))",
         "1.8 nF, 2.2 nF, 1.5 nF, 560 pF, 3.3 nF",
         "1/Ceq1 = 1/C1 + 1/C2\nCeq1 = 0.99 nF\nCeq2 = 3.8 nF\nCtotal = 2.0 nF\n"
         "Ueq1 = Ueq3 = UT = 10 V\nQeq3 = 1.0×10 = 10 nC\nQ3 = Qeq2 = 10 nC\n"
         "Qtot = 2.0×10 = 20 nC\nQ5 = 10 - 1.4 = 8.6 nC; Qeq1 = Qtot - Qeq3 = 10 nC"),
        # 2.98 is 2 × 1.486 V, as the line before has it.
        ("120 V", "series(C1, C2, parallel(C3, C4))", "6.8 µF, 2.7 µF, 5.6 µF, 820 nF",
         "C = 1.49 µF\nQ = 179 µC\nU = Q^2/(2 × C)\n= 179^2/(2 × 1.49)\n= 32041/2.98 = 10785 µJ"),
        # 1/22 + 1/34.6, as 0.0454 + 0.0289.
        ("30 V", "series(C3, parallel(C1, series(C4, C2)))", "33 µF, 1.8 µF, 22 µF, 15 µF",
         "C24 = 1.61 µF\n{1}/{C} = {1}/{22} + {1}/{34.6} → C = 13.5 µF"),
        # The product over the sum is no factor of 120 V.
        ("120 V", "series(C1, parallel(C2, series(C3, C4)))", "40 µF, 49 µF, 12 µF, 55 µF",
         "V = 120V  C_{3}×C_{4}/(C_{3}+C_{4})\n=12µF×55µF/(12µF+55µF)\n=9.85µF"),
        # 38/33 V is 5 V - 127/33 V, as the line before has it.
        ("5 V", "parallel(series(C1, C2), series(C3, parallel(C4, C5)))",
         "82 µF, 12 µF, 33 µF, 39 µF, 68 µF",
         "C = 35.7 µF\nQ = 179 µC\nQ12 = 52.3 µC\nQ345 = 179 - 52.3 = 127 µC = Q3 = Q45\n"
         "V45 = 5 - 127/33 = (38/33) V = V4 = V5\n"
         "Q4 = C4V4 = 39·(38/33) = (494/11) µC"),
        # 3 × 2 is 3 pF × 1.9998 V, though 2 V is exact and 2 pF is given.
        ("4.5 V", "parallel(series(C1, C2), series(C3, parallel(C4, C5)))",
         "8 pF, 6 pF, 4 pF, 2 pF, 3 pF",
         "C345 = 2.222×10^-12 F\nQ345 = 9.999×10^-12 C\nV45 = 9.999×10^-12/(5×10^-12) = 2 V\n"
         "Q5 = 3×10^-12×2 = 5.999×10^-12 C"),
        ("120 V", "parallel(series(C1, C2), series(C3, C4))", "6.8 pF, 1.8 pF, 1.5 pF, 3.9 pF",
         "C34 = 1.08 pF  (C1 * C2)/(C1 + C2)\n= (6.8 × 1.8)/(6.8 + 1.8)\n= 1.42 pF"),
        # U is the energy, as ½ × 8.2 × 1.5² tells, though U1 = 1.5 is the number of the supply.
        ("1.5 V", "parallel(C4, C3, series(C2, C1))", "2.7 nF, 6.8 nF, 0.82 nF, 8.2 nF",
         "C12 = 1.9\nC34 = 9.0\nC = 10\nQ12 = 1.9×1.5\nQ12 = 2.8\nΔV2 = 2.8/6.8\nΔV2 = 0.42\n"
         "ΔV1 = 1.5 - 0.42\nΔV1 = 1.0\nU4 = 1/2×8.2×1.5^2 = 9.2\nU1 = 1/2×2.7×1.0^2\nU1 = 1.5"),
        # A value worked again further down is put right.
        ("36 V", PAIR_AND_ONE, "5 nF, 4 nF, 30 nF", "4 + 30 = 31.7; 4 + 30\n= 34\nC = 4.36"),
    ],
)  # fmt: skip
def test_a_value_may_be_gone_on_with_as_it_was_worked_out(
    supply: str, connection: str, values: str, lines: str
) -> None:
    assert slip_on(supply, connection, values, lines) is None


@pytest.mark.parametrize(
    ("supply", "connection", "values", "lines", "slip"),
    [
        # Given values in a formula about their own group were not rounded.
        ("20 V", "series(C1, C2)", "1.1 µF, 9.9 µF",
         "C = (1.1 + 9.9)/(1.1 × 9.9)\n= 1.01 µF\nQ = 1.01 × 20\n= 20.2 µC\nC = 1.01 µF", 0),
        ("12 V", PAIR_AND_ONE, "8.2 pF, 1.8 pF, 6.8 pF",
         "C = 4.2\nQ = 50.4\nV1 = 12 × (8.2/(8.2 + 8.6)) = 41/7\nV23 = 12 × 8.6/(8.2 + 8.6) = 43/7",
         2),
        # No decimal was rounded to make the fractions 18/11 and 200/7.
        ("400 V", "series(C1, C2)", "2 nF, 9 nF", "C = 2 × 9/(2 + 9) = 18/11 = 1.757 nF", 0),
        ("500 V", "parallel(series(C1, C2), C3)", "40 µF, 100 µF, 15 µF",
         "C12 = 40 × 100/(40 + 100) = 4000/140 = 200/7\nC = 200/7 + 15 = 45", 1),
        # What wrong numbers come to is no other value that was rounded.
        ("100 V", "parallel(C2, series(C1, C3, C4))", "10 µF, 45 µF, 55 µF, 90 µF",
         "C134 = 7.73\nC = 52.7\nQ134 = 773\nV3 = 773/52.7 = 44/3\nV1 = 77.3 V\nV4 = 8.59 V", 3),
        ("3 V", PAIR_AND_ONE, "29 µF, 28 µF, 40 µF",
         "C = 20.3 µF\nQ = 60.9 µC\nV23 = 0.896 V\nQ2 = 28 × 0.896 = 25.9 µC\n"
         "Q3 = 60.9 - 25.9 = 35 µC", 3),
        # Values further down do not make a formula right that has another group's value.
        ("18 V", BOX, "75 pF, 10 pF, 30 pF, 35 pF, 85 pF",
         "C14 = 110 pF\nC = 8.5 pF\nQ14 = Q35 = 153 pC\nV14 = 153 pC/(110 pF) = 1.4 V\n"
         "V35 = 153 pC/(75 pF) = 2.0 V\nV2 = 18 V - 1.4 V - 2.0 V\nV2 = 15 V\nV3 = V5 = 2.0 V", 4),
        # What comes from a wrong formula further down does not make it right.
        ("50 V", TWO_PAIRS, "9 pF, 6 pF, 30 pF, 4 pF",
         "Ctotal = 7.129 pF\nqT = 356.5 pC\n"
         "q12 = 356.5 pC·3.529 pF/(3.6 pF + 3.529 pF) = 176.5 pC\n"
         "q34 = 356.5 pC·3.6 pF/(3.6 pF + 3.529 pF) = 180 pC\nq1 = q2 = q12 = 176.5 pC", 2),
        ("48 V", "series(C1, parallel(C2, series(C3, C4)))", "3.3 nF, 3.9 nF, 1.5 nF, 100 pF",
         "C34 = 0.0938 nF\nC234 = 3.99 nF\nCeq = 1.81 nF\nQ = 1.81 nF × 48 V = 86.9 nC\n"
         "V234 = 86.9 nC/(3.99 nF) = 21.8 V\nQ34 = 0.0938 nF × 21.8 V = 2.16 nC\n"
         "Q2 = 86.9 nC - 2.16 nC = 84.7 nC", 5),
        # What is across the supply has its voltage, and no other one by way of Q = CV.
        ("4.5 V", "parallel(C1, series(C2, C3, C4))", "4.7 µF, 1.2 µF, 180 nF, 8.2 µF",
         "V_T = 4.4 V\nC_s = 0.154 µF\nC_eq = 4.85 µF\nQ = 4.85 × 4.4\nQ = 21.3 µC\n"
         "V_s = 4.4 V\nQ1 = 4.7 × 4.4\nQ1 = 20.7 µC\nQ_s = 0.154 × 4.4\n"
         "Q_s = 0.678 µC = Q2 = Q3 = Q4\nQ1 + Q_s = 20.7 + 0.678 = 21.4 µC", 0),
        # An exact 100 stands for nothing that is rounded to hundreds.
        ("4.5 V", "parallel(series(C1, C2), C3)", "40 µF, 50 µF, 85 µF",
         "Ceq = 22.22 + 85 = 107.2 µF\nQ12 = 22.22 × 4.5 = 100 µC\nV1 = 100/40\n"
         "V1 = 2.42 V\nV2 = 100/50\nV2 = 2 V", 3),
        # 11 is the given C1 and no voltage of 11.9998 V cut off.
        ("12 V", "parallel(series(C1, C2), series(C3, parallel(C4, C5)))",
         "11 µF, 48 µF, 24 µF, 10 µF, 57 µF",
         "V12 = 12 V\nC45 = 67 µF\nC12 = 8.9492 µF\nC345 = 17.67 µF\nQ12 = 8.9492×12\n"
         "Q12 = 107.39 µC\nQ1 = Q2 = 107.39 µC\nQ345 = 17.67×12\nQ345 = 210.98 µC\n"
         "V1 = {107.39}/{11}\nV1 = 9.7627 V, Q3 = Q45 = Q345\nQ3 = 210.98 µC\n"
         "V45 = {210.98}/{67} = 3.149 V\nV3 = 12 - 3.149\nV3 = 8.851 V", 8),
        # The 7 of 32/7 V is no voltage.
        ("12.0 V", "parallel(C1, C2, series(C3, C4))", "4.3 pF, 5.2 pF, 7.8 pF, 4.8 pF",
         "C34 = {104}/{35} pF\nQ34 = ({104}/{35} pF)×12.0 V = 35.7 pC\n"
         "V3 = {35.7 pC}/{7.8 pF} = {32}/{7}V\nV4 = 12.0V-{32}/{7}V\n= 7.03 V", 4),
        # 3.9 is given, and not cut off to 3.8.
        ("9 V", "series(parallel(C1, C2), parallel(C3, C4), C5)",
         "2.7 nF, 100 pF, 3.9 nF, 5.6 nF, 2.2 nF",
         "C_eq = 1.09 nF\nV34 = 1.03 V\nq3 = 3.8 × 1.03 = 3.91 nC", 2),
        # A fraction said again has not been put right.
        ("100 V", "series(C4, parallel(series(C5, C1), C2), C3)",
         "19 µF, 12 µF, 28 µF, 6 µF, 27 µF",
         "Cp = 23 µF\nC_tot = 4.0 µF; Q_tot = 406 µC\nV3 = {406}/{26}; V3 = {203}/{13} V\n"
         "Vp = {406}/{23}; Vp = 17 V", 2),
        # A result right after its working comes out of that: 0.143, not 5 - 4.86 = 0.14.
        ("5 V", "parallel(C1, series(C2, parallel(C3, series(C4, C5))))",
         "560 µF, 680 µF, 12 µF, 39 µF, 10 µF",
         "C345 = 20 µF, C = 579 µF\nQ2345 = 97 µC\nV2 = Q2345/C2; V2 = 97 µC/(680 µF)\n"
         "V2 = 0.0143 V\nV345 = Q2345/C345\nV345 = 4.86 V", 3),
        ("200 V", "series(C1, parallel(C2, series(C3, C4)))", "12 µF, 180 µF, 470 µF, 33 µF",
         "C234 = 211 µF\nC_eq = 11 µF; Q = 11×200; Q = 2271 µC\n"
         "V234 = {2271}/{180}  V234 = 13 V\nQ2 = 2271×{180}/{180+31} = 1939 µC", 2),
        # What is left over is as open as honest rounding makes it, and no more.
        ("240 V", LADDER, LADDER_VALUES, LADDER_LINES + "Q4 = 27 pF × 5.5 V = 149 pC", 2),
        ("240 V", LADDER, LADDER_VALUES, LADDER_LINES + "V4 = 2.5 V", 2),
        # Q12 is written: Q1 is the same, and not what Q3 and Q4 leave of Q.
        ("20 V", "parallel(C3, C4, series(C1, C2))", "3.3 nF, 220 pF, 6.8 nF, 2.2 nF",
         "C12 = 0.21 nF\nC = 9.2 nF\nQ = 9.2 nF × 20 V = 180 nC\nQ3 = 140 nC\nQ4 = 44 nC\n"
         "Q12 = 0.21 nF × 20 V = 4.2 nC\nQ1 = 2.1 nC; Q2 = 4.2 nC", 6),
        # In parallel nothing is divided by a sum, so that C_H is C56 with a wrong 7 for 5.
        ("18 V", "parallel(series(C1, C2), series(C3, C4), series(C5, C6))",
         "5 nF, 18 nF, 22 nF, 31 nF, 11 nF, 12 nF",
         "C_B = 3.913 nF\nC_G = 12.87 nF\nC_H = 11 × 92/(11 + 92) = 9.825 nF", 2),
        # Three terms for three elements: 1.2 is C2, not C23 = 1.17.
        ("10 V", "series(C1, C2, C3)", "3.3 µF, 1.2 µF, 47 µF", "1/C = 1/3.3 + 1/1.2 + 1/74", 0),
        # 1 is C1 itself, and not C12 = 0.9375 rounded.
        ("5 V", "parallel(series(C1, C2), C3)", "1 µF, 15 µF, 14.5 µF",
         "C_eq = 1/(1/1 + 1/55) + 14.5 = 15.482 µF", 0),
        # 12 is C34 itself, and not C12 = 13 as well, by which 19.98 µJ would do for C1.
        ("12 V", "series(parallel(C1, C2), parallel(C3, C4), C5)", "6 µF, 7 µF, 9 µF, 3 µF, 5 µF",
         "Q12 = Q34 = Q5 = 33.3 µC\nV12 = 33.3/13 ≈ 2.561 V\nV34 = 33.3/12 = 2.775 V\n"
         "Eeq = 0.5×2.775×12^2\nEeq ≈ 19.98 µJ  E1 = 0.5×6×2.561^2 ≈ 19.67 µJ", 4),
        # 1000 is the supply's 1.0 kV, exactly.
        ("1.0 kV", "parallel(C1, series(C2, parallel(C3, series(C4, C5))))",
         "6 pF, 19 pF, 13 pF, 16 pF, 5 pF", "V2345 = 1.0 kV\nQ1 = 6×1000 = 6132 pC", 1),
        # 5/12 for 1/C12 is no voltage over a charge.
        ("9 V", "series(C1, C2, C3, C4)", "12 µF, 3 µF, 9 µF, 4 µF",
         "1/C12 = 5/12\nC123 = 1.895 µF\nC = 1.286 µF\nQ = 1.268 µF × 9 V\nQ = 11.41 µC\n"
         "V3 = 11.41 µC/(9 µF) = 1.268 V", 3),
    ],
)  # fmt: skip
def test_rounding_does_not_explain_every_value(
    supply: str, connection: str, values: str, lines: str, slip: int
) -> None:
    assert slip_on(supply, connection, values, lines) == slip


@pytest.mark.parametrize(
    ("supply", "connection", "values", "lines", "slip"),
    [
        # V' has V1's right value, but stands for the others: V1 is not put right.
        ("24 V", PAIR_AND_ONE, "1 µF, 3.9 µF, 2.7 µF",
         "V1 = 24 V × 1 µF/(1 µF + 6.6 µF) = 3.158 V\nV' = 24 V × 6.6 µF/(1 µF + 6.6 µF) = 20.84 V",
         0),
        # Nor is C by a value that is right for a group only.
        ("36 V", "parallel(C2, C1, series(C3, C4))", "90 µF, 50 µF, 60 µF, 85 µF",
         "C34 = 35.2 µF\nCeq = C1 + C34\nCeq = 125 µF", 1),
        # A label is that of one group in all of a chain.
        ("120 V", "series(C1, parallel(C2, C3, C4))", "3.1 µF, 6.9 µF, 2.7 µF, 7 µF",
         "C = 2.612 µF\nVA = V × CA/(C1 + CA)\n= 120 V × 16.6 µF/(3.1 µF + 16.6 µF)\n= 101.1 V", 1),
        # The whole that is only a formula has no other value.
        ("36 V", "parallel(series(C1, C2), C3)", "1 pF, 5 pF, 3 pF",
         "C = C12 ∥ C3\nC = 1/(1/C1 + 1/C2)\n= 0.833 pF\nQ12 = 30 pC", 1),
        # An element counted twice is certain, whatever group the label stands for.
        ("500 V", TWO_PAIRS, "2.2 nF, 0.56 nF, 1 nF, 5.6 nF",
         "1/C' = 1/1 + 1/5.6 + 1/1\nC' = 0.459", 0),
        ("3 V", "series(parallel(C4, C1), parallel(C3, C2))", "55 µF, 50 µF, 75 µF, 30 µF",
         "Cp = 30 + 55 + 30 = 120 µF\nCp2 = 75 + 50\nCp2 = 130 µF\n1/C_T = 1/120 + 1/130", 0),
        # CA may be C2 = 5.6, but that is given and stays what it is.
        ("3 V", "parallel(series(C1, C2), C3)", "1.2 µF, 5.6 µF, 6.3 µF",
         "CA = 6\nCD = 1/1.2 + 1/5.6\n= 1.011", 1),
        # A fraction in the unit of another quantity.
        ("24 V", "parallel(series(C1, C2), C3)", "80 µF, 70 µF, 60 µF",
         "C12 = 112/3 µF\nC = 112/3 µF + 60 µF = 292/3 µC", 1),
        # ½CV² is an energy even if its value has a wrong unit; Q/C is a voltage.
        ("12 V", PAIR_AND_ONE, "20 µF, 10 µF, 20 µF",
         "C = 12 µF\nQ = 144 µC\nU = 1/2 × C × V^2\n= 864 V", 3),
        ("6 V", "parallel(series(C1, C2), C3)", "4.7 µF, 3.3 µF, 820 nF",
         "C' = 1.94\nU' = U_tot × (C'/(C' + C3))\nU' = 4.22\nQ' = C' × U' = 8.19\n"
         "U2 = Q2/C2 = 8.19/3.3", 1),
    ],
)  # fmt: skip
def test_what_a_label_a_unit_and_a_letter_stand_for(
    supply: str, connection: str, values: str, lines: str, slip: int
) -> None:
    assert slip_on(supply, connection, values, lines) == slip


@pytest.mark.parametrize("left", ["320 - 320", "321 - 320", "5 × 8^2 - 320"])
def test_a_difference_lost_in_its_roundings_is_not_anything(left: str) -> None:
    lines = f"V1 = 4 V\nV2 = 8 V\nU2 = {left}"
    assert slip_on("12 V", "series(C1, C2)", "10 nF, 5 nF", lines) == 2
