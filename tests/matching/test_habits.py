"""Every habit of writing the same working is understood: right ones follow, wrong ones are found.

Worked example 8.7 and 8.8 of University Physics 2 (OpenStax), 12.0 µF in series with 2.0 beside
4.0 µF on 12.0 V: 6.0 µF, 4.0 µF, 48 µC, 4.0 V and 8.0 V, 16 and 32 µC; 96, 64, 128 µJ.  The
spellings are common practice, no source.
"""

from __future__ import annotations

import pytest

from tests.matching.pages import judged, reference, slip_line

CIRCUIT = reference(
    "12.0 V", "series(C1, parallel(C2, C3))", {"C1": "12.0 µF", "C2": "2.0 µF", "C3": "4.0 µF"}
)

# Right lines, and the last of them once more with a wrong value.
HABITS = {
    "chain": (("C23 = C2 + C3 = 2.0 + 4.0 = 6.0 µF",), "C23 = C2 + C3 = 2.0 + 4.0 = 7.0 µF"),
    "approximately": (("C23 ≈ 6.0 µF", "C ≈ 4.0 µF"), "C ≈ 3.0 µF"),
    "dot": (("Q = 4.0·12.0 = 48 µC",), "Q = 4.0·12.0 = 58 µC"),
    "asterisk": (("Q = 4.0*12.0 = 48 µC",), "Q = 4.0*12.0 = 58 µC"),
    "juxtaposition": (("Q = CV = (4.0)(12.0) = 48 µC",), "Q = CV = (4.0)(12.0) = 58 µC"),
    "fraction": (("C={12·6}/{12+6}=4.0µF",), "C={12·6}/{12+6}=5.0µF"),
    "reciprocal": (("1/C = 1/12 + 1/6 = 1/4", "C = 4.0 µF"), "C = 5.0 µF"),
    "power -1": (("C⁻¹ = 12⁻¹ + 6⁻¹", "C = 4.0 µF"), "C = 5.0 µF"),
    "product over sum": (("C = 12×6/(12+6) = 4.0 µF",), "C = 12×6/(12+6) = 5.0 µF"),
    "parallel sign": (("C2 ∥ C3 = 6.0 µF",), "C2 ∥ C3 = 7.0 µF"),
    "powers of ten": (("Q = 4.0×10^-6 · 12 = 4.8×10^-5 C",), "Q = 4.0×10^-6 · 12 = 5.8×10^-5 C"),
    "e notation": (("Q = 4.0e-6 x 12.0 = 4.8e-5 C",), "Q = 4.0e-6 x 12.0 = 5.8e-5 C"),
    "units everywhere": (("Q = 4.0 µF × 12.0 V = 48 µC",), "Q = 4.0 µF × 12.0 V = 58 µC"),
    "units at the end": (("Q = 4.0 × 12.0 = 48 µC",), "Q = 4.0 × 12.0 = 58 µC"),
    "units nowhere": (("C = 4", "Q = 4 × 12 = 48", "V1 = 48/12 = 4"), "V1 = 48/12 = 5"),
    "decimal comma": (("C = 4,0 µF", "Q = 4,0 · 12,0 = 48,0 µC"), "Q = 4,0 · 12,0 = 58,0 µC"),
    "primes": (("C' = 2 + 4 = 6.0 µF", "C'' = 4.0 µF", "Q'' = 48 µC"), "Q'' = 58 µC"),
    "letters": (("C_A = 2 + 4 = 6.0 µF", "V_A = 48/6 = 8.0 V"), "V_A = 48/6 = 9.0 V"),
    "words as index": (("C_{right} = 2 + 4 = 6.0 µF", "Q_right = 48 µC"), "Q_right = 58 µC"),
    "numbered eq": (("Ceq1 = 2 + 4 = 6.0 µF", "Ceq = 4.0 µF"), "Ceq = 5.0 µF"),
    "total": (("Q_total = 48 µC", "ΔV1 = 4.0 V"), "ΔV1 = 5.0 V"),
    "spoken": (("charge on C2 = 16 µC", "total charge = 48 µC"), "total charge = 58 µC"),
    "equal to each other": (("Q1 = Q23 = 48 µC", "V2 = V3 = 8.0 V"), "V2 = V3 = 9.0 V"),
    "list": (("Q2, Q3 = 16, 32 µC",), "Q2, Q3 = 16, 42 µC"),
    "same": (("Q = 48 µC", "Q same", "Q1 = 48 µC"), "Q1 = 58 µC"),
    "cross-multiplied": (("4 = Q/12", "Q = 48 µC"), "Q = 58 µC"),
    "given first": (("C1 = 12 µF, C2 = 2 µF, C3 = 4 µF", "V = 12 V"), "V = 13 V"),
    "table by element": (("    C1   C2   C3", "Q  48 µC  16 µC  32 µC"), "Q  48 µC  16 µC  42 µC"),
    "table by kind": (("C  Q  V", "C2  2.0 µF  16 µC  8.0 V"), "C2  2.0 µF  16 µC  9.0 V"),
    "several on a line": (("V1 = 4.0 V; V2 = 8.0 V", "Q2 = 16 µC  Q3 = 32 µC"),
                          "Q2 = 16 µC  Q3 = 42 µC"),
    "arrows": (("1/C = 1/12 + 1/6 ⇒ C = 4.0 µF", "∴ Q = 48 µC"), "∴ Q = 58 µC"),
    "divider": (("V1 = 12 × 6/(12 + 6) = 4.0 V",), "V1 = 12 × 6/(12 + 6) = 5.0 V"),
    "difference": (("V1 = 4.0 V", "V2 = 12 - 4 = 8.0 V"), "V2 = 12 - 4 = 9.0 V"),
    "charge shared": (("Q2 = 48 × 2/(2 + 4) = 16 µC",), "Q2 = 48 × 2/(2 + 4) = 17 µC"),
    "energy": (("U2 = ½·2·8² = 64 µJ", "U = ½QV = 288 µJ"), "U = ½QV = 388 µJ"),
    "energy by charge": (("U1 = 48²/(2·12) = 96 µJ",), "U1 = 48²/(2·12) = 86 µJ"),
    "U for the voltage, next line": (("U_s = U", "= 12 V"), "= 13 V"),
    "next line": (("Q = 4.0 × 12.0", "= 48 µC"), "= 58 µC"),
    "at once": (("C = 1/(1/12 + 1/(2 + 4)) = 4.0 µF",), "C = 1/(1/12 + 1/(2 + 4)) = 5.0 µF"),
}  # fmt: skip


@pytest.mark.parametrize("habit", HABITS)
def test_right_lines_follow_and_a_wrong_one_is_found(habit: str) -> None:
    lines, wrong = HABITS[habit]
    clean = judged(CIRCUIT, *lines)
    assert clean.outcome == "all follows", [(s.text, s.verdict) for s in clean.statements]
    slipped = judged(CIRCUIT, *lines[:-1], wrong)
    assert slip_line(slipped) == len(lines) - 1, [(s.text, s.verdict) for s in slipped.statements]


@pytest.mark.parametrize("text", ["homework no. 4", "C = (4+ = ", "∥∥ 3", "see sketch", "???"])
def test_what_is_no_working_is_shown_and_spoils_nothing(text: str) -> None:
    judgement = judged(CIRCUIT, text, "C23 = 6.0 µF", "C = 4.0 µF")
    assert judgement.first_slip is None
    assert {s.verdict for s in judgement.statements if s.line == 0} <= {"not working", "unsure"}
    assert any(s.line == 0 for s in judgement.statements)
