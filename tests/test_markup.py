"""The linear markup: tokens, look-alike characters, and the form a person would type."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from checker.markup import TOKENS, canonical, fold, plain, tokens


@pytest.mark.parametrize(
    ("markup", "typed"),
    [
        ("{1}/{C_{12}}={1}/{4}+{1}/{12}", "1/C12 = 1/4 + 1/12"),
        ("C_{12}={4×12}/{4+12}=3µF", "C12 = (4 × 12)/(4 + 12) = 3 µF"),
        ("Q'=Q_{4}=37.3µC", "Q' = Q4 = 37.3 µC"),
        ("C_{eq}={1}/{{1}/{4}+{1}/{12}}", "C_eq = 1/(1/4 + 1/12)"),
        ("Q=1.42×10^{-5}C", "Q = 1.42 × 10^-5 C"),
        ("C_{1} and C_{2} in series", "C1 and C2 in series"),
    ],
)
def test_plain_is_what_a_person_would_type(markup: str, typed: str) -> None:
    assert plain(markup) == typed


def test_fold_brings_look_alikes_together() -> None:
    # NIST SP 811 and Unicode TR25: micro U+00B5 and Greek mu U+03BC, ohm U+2126 and Omega U+03A9.
    assert fold("4 \u03bcF") == fold("4 \u00b5F")
    assert fold("4 k\u2126") == fold("4 k\u03a9")
    assert fold("C₁₂⁻¹") == "C_{12}^{-1}"
    assert fold("3−1") == "3-1"


@given(st.lists(st.sampled_from(TOKENS)))
def test_tokens_lose_nothing_of_the_vocabulary(parts: list[str]) -> None:
    assert "".join(tokens("".join(parts))) == "".join(parts)


@given(st.text())
def test_plain_takes_any_text(text: str) -> None:
    assert isinstance(plain(text), str)
    assert len(plain(text)) <= 4 * len(fold(text)) + 4


@pytest.mark.parametrize(
    ("read", "kept"),
    [
        ("in series: C_{1} = 4", "in series:C_{1}=4"),
        ("so {1}/{C_{1}}+ {1}/{4}", "so {1}/{C_{1}}+{1}/{4}"),
        ("C_{1}=4  C_{2}= 5", "C_{1}=4  C_{2}=5"),
        ("=  C_{2}", "=  C_{2}"),
        ("Q same", "Q same"),
    ],
)
def test_only_spaces_that_can_be_seen_count(read: str, kept: str) -> None:
    assert canonical(read) == kept
    assert canonical(kept) == kept
