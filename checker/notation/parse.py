"""Text to statements.  Never raises: what cannot be read is ``Unparsed`` or a side without an
expression."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from functools import lru_cache
from importlib.resources import files
from itertools import accumulate, pairwise
from typing import Any

from lark import Lark, Token, Transformer
from lark.exceptions import LarkError
from lark.lexer import Lexer

from checker.markup import fold
from checker.notation.lexer import Comma, Lexeme, lex, make_number
from checker.notation.tree import (
    ONE,
    Beside,
    Chain,
    Expression,
    Measured,
    Number,
    Phrase,
    Power,
    Product,
    Quotient,
    Several,
    Side,
    Statement,
    Sum,
    Symbol,
    Unparsed,
    Words,
)

_LONGEST_LINE = 600  # characters; a longer line is no line of working
_MOST_NESTED = 12
_BINARY = {"SIGN", "TIMES", "OVER", "PARALLEL", "RELATION", "ARROW", "BAR", "COMMA"}
_RELATIONS = {"RELATION", "ARROW"}


class _Tokens(Lexer):
    """Hands lark the tokens that ``lexer.lex`` found."""

    def __init__(self, lexer_conf: object) -> None:
        pass

    def lex(self, data: Iterable[Lexeme]) -> Iterator[Token]:  # type: ignore[override]
        for lexeme in data:
            token = Token(lexeme.kind, "")
            token.value = lexeme.value
            yield token


class _Tree(Transformer[Token, Expression]):
    """Builds the expression while lark reduces."""

    def sum(self, items: Sequence[Any]) -> Expression:
        terms: list[tuple[int, Expression]] = []
        sign = 1
        for item in items:
            if _is(item, "SIGN"):
                sign = item.value
            elif item is not None:
                terms.append((sign, _leaf(item)))
        return Sum(tuple(terms))

    def signed(self, items: Sequence[Any]) -> Expression:
        return _leaf(items[1]) if items[0].value > 0 else Sum(((-1, _leaf(items[1])),))

    def several(self, items: Sequence[Any]) -> Expression:
        return Several(tuple(_leaf(item) for item in items if not _is(item, "COMMA")))

    def beside(self, items: Sequence[Any]) -> Expression:
        return Beside(tuple(_leaf(item) for item in items if not _is(item, "PARALLEL")))

    def times(self, items: Sequence[Any]) -> Expression:
        left = _leaf(items[0])
        return Product((*(left.factors if isinstance(left, Product) else (left,)), _leaf(items[2])))

    def run(self, items: Sequence[Any]) -> Expression:
        return Product(tuple(map(_leaf, items)))

    def over(self, items: Sequence[Any]) -> Expression:
        over, under = _leaf(items[0]), _leaf(items[2])
        if isinstance(under, Product) and isinstance(under.factors[0], Sum):
            # C1C2/(C1 + C2)V: on one line, what stands after the bracket is above the stroke.
            quotient = Quotient(over, under.factors[0])
            return Product((quotient, *under.factors[1:]))
        return Quotient(over, under)

    def stacked(self, items: Sequence[Any]) -> Expression:
        return Quotient(_leaf(items[1]), _leaf(items[3]))

    def stacked_measured(self, items: Sequence[Any]) -> Expression:
        return Measured(self.stacked(items), *items[5].value)

    def inside(self, items: Sequence[Any]) -> Expression:
        return _leaf(items[1])

    def inside_measured(self, items: Sequence[Any]) -> Expression:
        return Measured(_leaf(items[1]), *items[3].value)

    def measured(self, items: Sequence[Any]) -> Expression:
        return Measured(_leaf(items[0]), *items[1].value)

    def one(self, items: Sequence[Any]) -> Expression:
        return Measured(make_number("1"), *items[0].value)

    def power(self, items: Sequence[Any]) -> Expression:
        return Power(_leaf(items[0]), items[1].value)


def _leaf(item: Any) -> Expression:
    """What lark passes on: a tree, or the token of a number or symbol."""
    return item.value if isinstance(item, Token) else item


def _is(item: object, kind: str) -> bool:
    return isinstance(item, Token) and item.type == kind


@lru_cache(maxsize=1)
def _parser() -> Lark:
    grammar = (files("checker.notation") / "grammar.lark").read_text(encoding="utf-8")
    return Lark(grammar, parser="lalr", lexer=_Tokens, start="side", transformer=_Tree())


@lru_cache(maxsize=16384)
def parse(text: str, comma: Comma = True) -> tuple[Statement, ...]:
    """The statements of one line.

    ``text`` is markup (``checker.markup``) or typed working; offsets in the result are into
    ``prepared(text)``, which equals ``text`` for markup.  ``comma``: what a comma between digits
    is on this page.
    """
    text = prepared(text)
    if len(text) > _LONGEST_LINE:
        return (Unparsed(0, len(text)),)
    tokens = _without_asides(lex(text, comma))
    statements = [_statement(segment) for segment in _segments(tokens)]
    return tuple(statement for statement in statements if statement is not None)


@lru_cache(maxsize=4096)
def prepared(text: str) -> str:
    """Folded text with the fractions that have a character of their own written out."""
    for sign, fraction in (("½", "{1}/{2}"), ("¼", "{1}/{4}"), ("⅓", "{1}/{3}"), ("**", "^")):
        text = text.replace(sign, fraction)
    return fold(text)


def _without_asides(tokens: Sequence[Lexeme]) -> list[Lexeme]:
    """Leave out struck parts and bracketed remarks such as "(series)" or "(same charge)"."""
    kept: list[Lexeme] = []
    opened: list[int] = []
    for token in tokens:
        if token.kind == "ASIDE":
            kept.append(Lexeme("GAP", None, token.start, token.end))
            continue
        kept.append(token)
        if token.kind == "OPEN":
            opened.append(len(kept) - 1)
        elif token.kind == "CLOSE" and opened:
            first = opened.pop()
            inside = kept[first + 1 : -1]
            if any(t.kind in ("WORD", "UNKNOWN") for t in inside) or not inside:
                del kept[first:]
    return kept


def _segments(tokens: Sequence[Lexeme]) -> Iterator[list[Lexeme]]:
    """Split a line into statements at gaps, semicolons, "so", and at commas, "and" and arrows
    where a whole statement stands on both sides."""
    pieces: list[tuple[str, list[Lexeme]]] = [("", [])]
    depth = 0
    for place, token in enumerate(tokens):
        depth += (token.kind in ("OPEN", "LEFT")) - (token.kind in ("CLOSE", "RIGHT"))
        before = tokens[place - 1].kind if place else ""
        after = tokens[place + 1].kind if place + 1 < len(tokens) else ""
        if token.kind == "GAP" and (before in _BINARY or after in _BINARY - {"SIGN"} or depth > 0):
            continue
        if _starts_anew(tokens, place):
            pieces.append(("GAP", [Lexeme("GAP", None, token.start, token.start)]))
        splits = token.kind in ("STOP", "SO", "GAP") or (
            depth <= 0 and token.kind in ("COMMA", "AND", "ARROW")
        )
        if splits:
            pieces.append((token.kind, [token]))
            depth = 0
        else:
            pieces[-1][1].append(token)
    current: list[Lexeme] = []
    for kind, piece in pieces:
        sign, rest = (piece[:1], piece[1:]) if kind else ([], piece)
        whole = _has_relation(rest)
        breaks = kind in ("STOP", "SO", "") or (
            kind == "GAP"
            and (
                whole
                or not _has_relation(current)
                or _is_wordy(rest)
                or _is_formula(rest)
                or (_is_worked_out(current) and _is_fraction_of_more(rest))
                or (_is_value(current) and (_is_of_series(rest) or _is_sum(rest)))
            )
        )
        breaks = breaks or (
            kind in ("COMMA", "AND", "ARROW") and whole and (_has_relation(current) or not current)
            and not (kind != "ARROW" and _continues(current))
        )  # fmt: skip
        if kind in ("COMMA", "AND") and not whole and _has_relation(current):
            breaks = breaks or _is_wordy(rest) or (_is_value(current) and _is_sum(rest))
        if breaks:
            if current:
                yield current
            current = list(rest)
        else:
            if kind == "AND":
                sign = [Lexeme("COMMA", ",", sign[0].start, sign[0].end)]
            current += ([] if kind == "GAP" else list(sign)) + list(rest)
    if current:
        yield current


def _starts_anew(tokens: Sequence[Lexeme], place: int) -> bool:
    """Whether a symbol here begins a statement of its own: "V1 = 60 V V2 = 90 V"."""
    if place == 0 or place + 1 >= len(tokens):
        return False
    before, token, after = tokens[place - 1 : place + 2]
    return (
        token.kind == "SYMBOL"
        and after.kind in _RELATIONS
        and before.kind in ("NUMBER", "UNIT", "CLOSE", "RIGHT")
        and before.end < token.start
    )


def _has_relation(tokens: Sequence[Lexeme]) -> bool:
    return any(token.kind in _RELATIONS for token in tokens)


def _is_formula(tokens: Sequence[Lexeme]) -> bool:
    """Whether tokens after a gap begin a formula of their own: "C12 = 5 pF  C4 ∥ C5", or
    "C12 = 5 pF  5 + 9", to be gone on with in the next line."""
    kinds = [token.kind for token in tokens if token.kind != "UNIT"]
    return len(kinds) > 2 and kinds[0] in ("SYMBOL", "NUMBER") and kinds[1] in ("PARALLEL", "SIGN")


def _is_worked_out(tokens: Sequence[Lexeme]) -> bool:
    """Whether a statement ends with the measured result of arithmetic, "1.8 + 5.1 = 6.9 µF", or
    is of numbers only: another number beside it is no factor."""
    kinds = [token.kind for token in tokens]
    ends = kinds[-3:] == ["RELATION", "NUMBER", "UNIT"] or (
        kinds[-2:] == ["RELATION", "NUMBER"] and "SYMBOL" not in kinds
    )
    return ends and any(kind in ("SIGN", "TIMES", "BAR") for kind in kinds)


def _is_value(tokens: Sequence[Lexeme]) -> bool:
    """Whether a statement ends with a value, "= 9 V" or, for a symbol, "= 9"."""
    kinds = [token.kind for token in tokens]
    return kinds[-3:] == ["RELATION", "NUMBER", "UNIT"] or (
        kinds[-2:] == ["RELATION", "NUMBER"] and "SYMBOL" in kinds
    )


def _is_sum(tokens: Sequence[Lexeme]) -> bool:
    """Whether tokens are numbers added up, fractions or brackets among them."""
    kinds = [token.kind for token in tokens]
    opened = accumulate((k in ("LEFT", "OPEN")) - (k in ("RIGHT", "CLOSE")) for k in kinds)
    starts = kinds[:1] in (["NUMBER"], ["LEFT"], ["OPEN"]) and "SYMBOL" not in kinds
    return starts and any(k == "SIGN" and not n for k, n in zip(kinds, opened, strict=True))


def _is_of_series(tokens: Sequence[Lexeme]) -> bool:
    """Whether tokens are what capacitances in series come to: one over a sum or, of two, a product
    over a sum, stacked or on one line."""
    kinds = [token.kind for token in tokens]
    one_over = (["LEFT", "NUMBER", "BAR"], ["RIGHT"]), (["NUMBER", "OVER", "OPEN"], ["CLOSE"])
    if (kinds[:3], kinds[-1:]) in one_over and ONE in (tokens[0].value, tokens[1].value):
        return "SIGN" in kinds
    bar = next((at for at, kind in enumerate(kinds) if kind in ("BAR", "OVER")), 0)
    whole = _is_fraction_of_more(tokens) or (
        kinds[:1] in (["SYMBOL"], ["OPEN"]) and kinds[bar : bar + 2] == ["OVER", "OPEN"]
    )
    product = "TIMES" in kinds[:bar] or ("SYMBOL", "SYMBOL") in pairwise(kinds[:bar])
    return whole and product and "SIGN" in kinds[bar:]


def _is_fraction_of_more(tokens: Sequence[Lexeme]) -> bool:
    """Whether tokens are a stacked fraction with a sum or product in it, no plain factor."""
    kinds = [token.kind for token in tokens]
    return (
        kinds[:1] == ["LEFT"]
        and kinds[-1:] == ["RIGHT"]
        and any(kind in ("SIGN", "TIMES") for kind in kinds)
    )


def _continues(tokens: Sequence[Lexeme]) -> bool:
    return bool(tokens) and tokens[-1].kind in _BINARY


def _is_wordy(tokens: Sequence[Lexeme]) -> bool:
    return any(token.kind == "WORD" for token in tokens)


def _statement(tokens: list[Lexeme]) -> Statement | None:
    while tokens and tokens[-1].kind in ("COMMA", "GAP", "AND"):
        tokens = tokens[:-1]
    while tokens and tokens[0].kind in ("COMMA", "GAP", "AND"):
        tokens = tokens[1:]
    if not tokens:
        return None
    start, end = tokens[0].start, tokens[-1].end
    if not _has_relation(tokens):
        if any(token.kind == "WORD" for token in tokens):
            return Words(_phrase(tokens), start, end)
        expression = _expression(tokens)
        if expression is None:
            return Unparsed(start, end)
        return Chain((Side(expression, start, end),), (), False, start, end)
    groups: list[list[Lexeme]] = [[]]
    relations: list[str] = []
    for token in tokens:
        if token.kind in _RELATIONS:
            if not groups[-1] and len(groups) > 1:
                continue  # "= =" or "≈ ="
            relations.append("≈" if token.value in ("≈", "~", "~=") else "=")
            groups.append([])
        else:
            groups[-1].append(token)
    continued = not groups[0]
    if continued:
        groups, relations = groups[1:], relations[1:]
    while groups and not groups[-1] and len(groups) > 1:  # "C =" at the end of a line
        groups, relations = groups[:-1], relations[:-1]
    if not groups or not groups[0]:
        return Unparsed(start, end)
    sides = tuple(_side(group) for group in groups)
    if all(side.expression is None for side in sides):
        return Unparsed(start, end)
    return Chain(sides, tuple(relations), continued, start, end)


def _side(tokens: Sequence[Lexeme]) -> Side:
    start, end = tokens[0].start, tokens[-1].end
    return Side(_expression([t for t in tokens if t.kind != "GAP"]), start, end)


def _expression(tokens: Sequence[Lexeme]) -> Expression | None:
    """The expression of one side; words before and after it are left out, and a side in which
    words are essential is a phrase."""
    inner = list(tokens)
    while inner and inner[-1].kind in ("WORD", "COMMA"):
        if len(inner) > 1 and _touching(inner[-2], inner[-1]):
            return None
        inner.pop()
    while inner and inner[0].kind in ("WORD", "COMMA"):
        if len(inner) > 1 and _touching(inner[0], inner[1]):
            return None
        inner.pop(0)
    wordy = len(inner) < len(tokens)
    only_symbols = all(token.kind in ("SYMBOL", "COMMA", "WORD") for token in inner)
    if wordy and only_symbols and tokens[0].kind == "WORD":
        return _phrase(tokens)
    if not inner or any(token.kind == "WORD" for token in inner):
        return _phrase(tokens) if all(
            token.kind in ("WORD", "SYMBOL", "COMMA", "AND", "PARALLEL") for token in tokens
        ) else None  # fmt: skip
    inner = _formula(inner)
    depth = deepest = 0
    for token in inner:
        depth += (token.kind in ("OPEN", "LEFT")) - (token.kind in ("CLOSE", "RIGHT"))
        deepest = max(deepest, depth)
    if depth != 0 or deepest > _MOST_NESTED:
        return None
    try:
        return _leaf(_parser().parse(inner))
    except LarkError:
        return None


def _touching(left: Lexeme, right: Lexeme) -> bool:
    """A single letter that touches a number is a misread character, not a word: "Z3 + 14"."""
    word = left if left.kind == "WORD" else right
    return (
        word.kind == "WORD" and word.end - word.start == 1
        and left.end == right.start and "NUMBER" in (left.kind, right.kind)
    )  # fmt: skip


def _formula(tokens: list[Lexeme]) -> list[Lexeme]:
    """In a side with symbols, the letter in "Q²/2C" or "½C" is a symbol, not a unit."""
    if not any(token.kind == "SYMBOL" for token in tokens):
        return tokens
    result = list(tokens)
    for place in range(1, len(tokens)):
        before, token = tokens[place - 1], tokens[place]
        if token.kind == "UNIT" and isinstance(token.value, tuple) and token.value[1] == 1:
            letter = token.value[0].symbol
            halving = isinstance(before.value, Number) and before.value.digits in ("2", "0.5", ".5")
            if letter in ("C", "V") and (halving or before.kind == "RIGHT"):
                result[place] = Lexeme("SYMBOL", Symbol(letter), token.start, token.end)
    return result


def _phrase(tokens: Sequence[Lexeme]) -> Phrase:
    words = tuple(str(t.value) for t in tokens if t.kind in ("WORD", "PARALLEL"))
    return Phrase(words, tuple(t.value for t in tokens if isinstance(t.value, Symbol)))
