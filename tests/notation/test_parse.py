"""Lines of working to trees.  The notation is that of issue and textbooks; no other source."""

from __future__ import annotations

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from checker.exact import Fraction, rational
from checker.markup import TOKENS
from checker.notation.lexer import make_number
from checker.notation.parse import parse, prepared
from checker.notation.tree import (
    Beside,
    Chain,
    Measured,
    Number,
    Phrase,
    Power,
    Product,
    Quotient,
    Several,
    Sum,
    Symbol,
    Unparsed,
    Words,
    numbers,
    symbols,
)


def chain(text: str) -> Chain:
    (statement,) = parse(text)
    assert isinstance(statement, Chain)
    return statement


def sides(text: str) -> list[object]:
    return [side.expression for side in chain(text).sides]


@pytest.mark.parametrize(
    "text", ["1/C12 = 1/4 + 1/12", "{1}/{C_{12}}={1}/{4}+{1}/{12}", "(1)/(C_12) = (1)/4 + 1/12"]
)
def test_fractions_in_every_spelling(text: str) -> None:
    left, right = sides(text)
    assert isinstance(left, Quotient) and left.under == Symbol("C", "12")
    assert isinstance(right, Sum)
    assert [n.value for n in numbers(right) if isinstance(n, Number)] == [1, 4, 1, 12]


@pytest.mark.parametrize(
    ("text", "symbol"),
    [
        ("C12", Symbol("C", "12")), ("C_{1,2}", Symbol("C", "12")), ("C_eq", Symbol("C", "eq")),
        ("Ceq1", Symbol("C", "eq1")), ("C'", Symbol("C", "", 1)), ("C''", Symbol("C", "", 2)),
        ("C_A", Symbol("C", "A")), ("C_{left}", Symbol("C", "left")), ("CA", Symbol("C", "A")),
        ("Q_{total}", Symbol("Q", "total")), ("ΔV_{1}", Symbol("V", "1", 0, True)),
        ("Q total", Symbol("Q", "total")), ("V_{C1}", Symbol("V", "C1")), ("q₂", Symbol("q", "2")),
    ],
)  # fmt: skip
def test_labels_of_every_habit(text: str, symbol: Symbol) -> None:
    assert sides(f"{text} = 3")[0] == symbol


@pytest.mark.parametrize(
    ("text", "digits", "value", "last"),
    [
        ("4.70", "4.70", "4.70", "0.01"), ("4,7", "4.7", "4.7", "0.1"), (".5", ".5", "0.5", "0.1"),
        ("130", "130", "130", "10"), ("100", "100", "100", "10"), ("128", "128", "128", "1"),
        ("1.42×10^{-5}", "1.42", "0.0000142", "0.0000001"), 
        ("4.7e-6", "4.7", "0.0000047", "0.0000001"),
    ],
)  # fmt: skip
def test_written_digits_are_kept(text: str, digits: str, value: str, last: str) -> None:
    (number,) = sides(text)
    assert isinstance(number, Number)
    assert (number.digits, number.value, number.last_place) == (
        digits, rational(value), rational(last),
    )  # fmt: skip


def test_units_after_numbers_and_symbols_side_by_side() -> None:
    number = sides("V1 = 18 V")[1]
    assert isinstance(number, Measured) and number.unit.symbol == "V"
    assert sides("Q = CV")[1] == Product((Symbol("C"), Symbol("V")))
    energy = sides("U = 1/2CV^2")[1]
    assert isinstance(energy, Product) and isinstance(energy.factors[0], Quotient)
    assert isinstance(energy.factors[-1], Power)
    inverse = sides("1/C = 1.325 /µF")[1]
    assert isinstance(inverse, Measured) and inverse.power == -1


def test_chains_lists_words_and_the_parallel_sign() -> None:
    assert len(sides("Q' = Q_4 = 37.3 µC")) == 3
    assert isinstance(sides("Q1, Q2 = 48 µC")[0], Several)
    assert isinstance(sides("C23 = C2 ∥ C3")[1], Beside)
    assert isinstance(sides("charge on C1 = 48 µC")[0], Phrase)
    (words,) = parse("C1 and C2 in series")
    assert isinstance(words, Words) and len(words.phrase.symbols) == 2
    assert chain("= 3 µF").continued


@pytest.mark.parametrize(
    ("text", "count"),
    [
        ("V1 = 60 V  V2 = 90 V", 2), ("V1=60V V2=90V", 2), ("Q1 = 3 µC, Q2 = 4 µC", 2),
        ("1/C = 1/3 → C = 3", 2), ("Q = 3 ∴ V = 4", 2), ("Q = 3; V = 4; C = 5", 3),
        ("so Q = 3 µC and V = 4 V", 2),
    ],
)  # fmt: skip
def test_several_statements_on_one_line(text: str, count: int) -> None:
    assert len([s for s in parse(text) if isinstance(s, Chain)]) == count


def test_an_unreadable_side_spoils_no_other() -> None:
    found = chain("C = (4+ = 3 µF").sides
    assert found[1].expression is None
    assert isinstance(found[2].expression, Measured)


def test_markup_and_typed_text_mean_the_same() -> None:
    pairs = [
        ("{4×12}/{4+12}=3µF", "(4 × 12)/(4 + 12) = 3 µF"), ("C_{12}=3µF", "C12 = 3 uF"),
        ("Q=8×10^{-6}×24", "Q = 8e-6 x 24"),
    ]  # fmt: skip
    for markup, typed in pairs:
        one, two = (
            [(symbols(e), list(numbers(e))) for e in sides(t) if e is not None]  # type: ignore[arg-type]
            for t in (markup, typed)
        )
        assert [[_value(n) for n in its[1]] for its in one] == [
            [_value(n) for n in its[1]] for its in two
        ]


def _value(number: Number | Measured) -> Fraction:
    amount = number.amount if isinstance(number, Measured) else number
    assert isinstance(amount, Number)
    return amount.value


@given(st.one_of(st.text(max_size=60), st.lists(st.sampled_from(TOKENS), max_size=40).map("".join)))
@example("10^{999}^{99}^{99}")
@example("{" * 50 + "}" * 50)
@example("=" * 40)
@settings(max_examples=400, deadline=None)
def test_no_text_can_break_it(text: str) -> None:
    length = len(prepared(text))
    for statement in parse(text):
        assert isinstance(statement, Chain | Words | Unparsed)
        assert 0 <= statement.start <= statement.end <= length


@given(
    st.sampled_from(["1/C12 = 1/4 + 1/12", "{4×12}/{4+12}=3µF", "Q' = Q_4 = 37.3 µC", "V=8×10^6"]),
    st.lists(st.tuples(st.integers(0, 20), st.sampled_from([*TOKENS, ""]), st.integers(0, 3)),
             max_size=6),
)  # fmt: skip
@settings(max_examples=400, deadline=None)
def test_no_damage_to_a_line_can_break_it(text: str, edits: list[tuple[int, str, int]]) -> None:
    """Parts of a good line left out, put in or changed, as a reader that errs would do."""
    for place, new, lost in edits:
        text = text[:place] + new + text[place + lost :]
    length = len(prepared(text))
    for statement in parse(text):
        assert 0 <= statement.start <= statement.end <= length


def test_letters_of_elements_in_order_are_one_index() -> None:
    (chain,) = parse("Qcdfghk = Qhk")
    assert isinstance(chain, Chain)
    assert [side.expression.index for side in chain.sides] == ["cdfghk", "hk"]  # type: ignore[union-attr]


def test_a_list_is_no_decimal_comma_before_a_decimal_point() -> None:
    first, second = parse("V = 30,1.8 + 4.7 = 6.5")
    assert isinstance(first, Chain) and isinstance(second, Chain)
    assert first.sides[1].expression == parse("30")[0].sides[0].expression  # type: ignore[union-attr]


def test_what_begins_with_two_zeros_is_no_list() -> None:
    (chain,) = parse("1/C = 0,0425", comma=False)
    assert isinstance(chain, Chain)
    assert chain.sides[1].expression == make_number("0.0425")


def test_volts_before_a_bracket_of_numbers_are_a_unit() -> None:
    (chain,) = parse("V2 = 5V(5.2µF/(22µF+5.2µF))")
    assert isinstance(chain, Chain)
    assert symbols(chain.sides[1].expression) == ()  # type: ignore[arg-type]


@pytest.mark.parametrize("letter", "GHKR")
def test_a_capital_letter_is_an_index(letter: str) -> None:
    (chain,) = parse(f"C{letter} = 4")
    assert isinstance(chain, Chain)
    assert chain.sides[0].expression == Symbol("C", letter, 0)
