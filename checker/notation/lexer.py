"""Characters to tokens: numbers, units, symbols, words, operators, relations and gaps.

Reads the markup of ``checker.markup`` and the liberal ways people type it.  What a letter is
depends on what stands before it ("12 V" is volts, "CV" is a product), so the lexer keeps track of
the token before; nothing here fails, a character it does not know becomes an UNKNOWN token.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache

from checker.exact import Fraction, rational
from checker.notation.tree import Number, Symbol
from checker.quantity import QuantityError, Unit, parse_unit


@dataclass(frozen=True, slots=True)
class Lexeme:
    """``kind`` is a terminal of the grammar, or RELATION, ARROW, GAP, STOP, AND, SO, WORD,
    ASIDE, UNKNOWN.  ``value`` is what the tree holds for it.  Offsets are in the parsed text."""

    kind: str
    value: object
    start: int
    end: int


_POWER_OF_TEN = (
    r"\s*[×·*xX]\s*10\s*\^\s*(?:\{\s*([-+]?\d{1,3})\s*\}|\(\s*([-+]?\d{1,3})\s*\)|([-+]?\d{1,3}))"
)
_NUMBER = re.compile(
    r"(?P<digits>\d{1,3}(?:,\d{3})+\.\d+|\d+(?:[.,]\d+)?|\.\d+)"
    r"(?:" + _POWER_OF_TEN + r"|[eE]([-+]?\d{1,3})(?![\d.]))?"
)
_BARE_POWER = re.compile(
    r"10\s*\^\s*(?:\{\s*([-+]?\d{1,3})\s*\}|\(\s*([-+]?\d{1,3})\s*\)|([-+]?\d{1,3}))"
)
_EXPONENT = re.compile(
    r"\^\s*(?:\{\s*([-+]?\d{1,2})\s*\}|\(\s*([-+]?\d{1,2})\s*\)|([-+]?\d{1,2})(?![\d.]))"
)

# A unit after a number, a bracket or a stacked fraction; a letter that begins a symbol is none.
_UNIT_NAME = (
    r"(?:(?:pico|nano|micro|milli|kilo|mega)?(?:farads?|coulombs?|volts?|joules?)"
    r"|[pnuµmkMG]?[FCVJΩ]|[pnuµmkM]?f|[um]?c(?![a-z])|v|j)"
)
_UNIT = re.compile(
    r"\s?(?P<open>[\[(]\s*)?(?P<per>/\s*|1\s*/\s*)?(?P<name>" + _UNIT_NAME + r")(?![A-Za-z0-9µΔ'_])"
    r"(?P<inverse>\s*\^\s*(?:\{\s*-\s*1\s*\}|\(\s*-\s*1\s*\)|-\s*1))?(?(open)\s*[\])])"
)
_PREFIXED_UNIT = re.compile(
    r"(?:[pnuµmkMG][FCVJΩ])(?![A-Za-z0-9'_])(?P<inverse>\s*\^\s*(?:\{\s*-\s*1\s*\}|\(\s*-1\s*\)|-1))?"
)
# "5 C V²" and "2 C_1": a bare capital that a further symbol follows is a symbol itself; but in
# "5 V (2 pF/(2 pF + 3 pF))" it is a unit.
_SYMBOL_AHEAD = re.compile(
    r"\s?(?:[CQVqv](?:[_'\d^]|\s?(?![CQVqv][\w{}']*\s*[=≈])(?:[CQVqv]|\((?!\s*\d)))"
    r"|[CV]\s?(?![CQVqvΔ][\w{}']*\s*[=≈])(?:[CQVqvΔ]|\((?!\s*\d)))|\s?[CV]\s*\^\s*\{?\s*2"
)

_SUFFIX = (
    r"(?=[a-k]{2,8}(?![a-z]))a?b?c?d?e?f?g?h?i?j?k?|eqv?|equiv|equivalent|total|tot|net|series|ser|parallel|par|left|right|top|bottom|bot|mid"
    r"|middle|upper|lower|supply|source|bat|batt|battery|sys|ab|AB|in|[a-pr-uw-z](?![a-z])|[ABDEGHKLMNPRSTWXYZ](?![A-Za-z])"
)
_SUB = r"_\{(?:[^{}]|_?\{[^{}]*\})*\}|_\([^()]*\)|_(?:\d+|[a-z]+\d*|[A-Z]{1,3}\d*)"
_SYMBOL = re.compile(
    r"(?P<delta>Δ\s?)?(?P<letter>[CQVUEWPIR]|[qvuew](?![a-z])|[qvu](?=(?:eq|tot|total|left|right|top|bottom)(?![a-z]))|q(?=[a-z](?![a-z]))|[qvu](?=a?b?c?d?e?f?g?h?i?j?k?(?![a-z])))"
    r"(?P<primes>['\"]*)(?P<index>" + _SUB + r"|\d{1,8}|(?:" + _SUFFIX + r")\d*)?(?P<more>['\"]*)"
    r"(?P<late>_\{[^{}]*\}|_\d+)?"
)
_SPACED_INDEX = re.compile(r"\s(total|tot|eq|equivalent|equiv)\b", re.IGNORECASE)
_WORD = re.compile(r"[A-Za-z](?:[A-Za-z]|\.(?=[a-z])|-(?=[a-z]{2}))*\.?")
_GAP = re.compile(r"\s{2,}|\t")

_SINGLE = {
    "(": "OPEN", "[": "OPEN", ")": "CLOSE", "]": "CLOSE", "{": "LEFT", "}": "RIGHT",
    "+": "SIGN", "-": "SIGN", "×": "TIMES", "·": "TIMES", "*": "TIMES", "÷": "OVER", "/": "OVER",
    "∥": "PARALLEL", "=": "RELATION", "≈": "RELATION", "~": "RELATION", "→": "ARROW", "⇒": "SO",
    "∴": "SO", ",": "COMMA", ";": "STOP", ":": "STOP", "|": "STOP", "&": "AND",
}  # fmt: skip
_SPELT = (
    ("->", "ARROW"), ("=>", "SO"), ("||", "PARALLEL"), ("//", "PARALLEL"), ("~=", "RELATION"),
    ("}/{", "BAR"), ("<struck>", "ASIDE"), ("<aside>", "ASIDE"),
)  # fmt: skip
_SO_WORDS = {"so", "therefore", "thus", "hence", "then", "giving", "gives", "ie", "ii", "where"}
_EQUAL_WORDS = {"is", "equals"}
_NO_SYMBOLS = {"is", "in", "if", "it", "we", "up", "us", "vs", "use", "per", "via", "Is", "In",
               "If", "It", "We", "Use", "Per"}  # fmt: skip
_AFTER_VALUE = {"NUMBER", "CLOSE", "RIGHT"}


# Between digits a comma is that of a decimal (True); or it groups thousands where three digits
# follow and separates numbers elsewhere (False); or it separates them everywhere (None).
Comma = bool | None
_BELOW_ONE = re.compile(r"0,0\d+")  # no list of numbers, whatever commas are elsewhere


@lru_cache(maxsize=8192)
def lex(text: str, comma: Comma = True) -> tuple[Lexeme, ...]:
    """The tokens of folded text."""
    found: list[Lexeme] = []
    at = 0
    while at < len(text):
        token = _next(text, at, found, comma)
        if token.end <= at:  # cannot happen, and must never hang
            token = Lexeme("UNKNOWN", text[at], at, at + 1)
        at = token.end
        if token.kind != "SPACE":
            found.append(token)
    return tuple(_joined(found))


def _next(text: str, at: int, found: list[Lexeme], comma: Comma) -> Lexeme:
    before = found[-1].kind if found else ""
    if before in _AFTER_VALUE:
        unit = _unit(text, at, before)
        if unit is not None:
            return unit
    if gap := _GAP.match(text, at):
        return Lexeme("GAP", None, at, gap.end())
    if text[at].isspace():
        return Lexeme("SPACE", None, at, at + 1)
    for spelt, kind in _SPELT:
        if text.startswith(spelt, at):
            return Lexeme(kind, spelt, at, at + len(spelt))
    character = text[at]
    if character == "^" and (power := _EXPONENT.match(text, at)):
        exponent = int(next(group for group in power.groups() if group))
        return Lexeme("EXPONENT", exponent, at, power.end())
    if character.isdigit() or character == ".":
        number = _number(text, at, comma)
        if number is not None:
            return number
    if character in "xX" and _is_times(text, at, before):
        return Lexeme("TIMES", "×", at, at + 1)
    if character.isalpha():
        return _letters(text, at)
    kind = _SINGLE.get(character, "UNKNOWN")
    return Lexeme(
        kind, -1 if character == "-" else 1 if character == "+" else character, at, at + 1
    )


def _number(text: str, at: int, comma: Comma) -> Lexeme | None:
    if bare := _BARE_POWER.match(text, at):
        power = int(next(group for group in bare.groups() if group))
        value = Number(f"10^{power}", Fraction(10) ** power, Fraction(0), True)
        return Lexeme("NUMBER", value, at, bare.end())
    match = _NUMBER.match(text, at)
    if match is None or not match["digits"].isascii() or len(match["digits"]) > 25:
        return None
    digits, end = match["digits"], match.end()
    power = next((int(group) for group in match.groups()[1:] if group), 0)
    if "," in digits:
        whole, _, rest = digits.rpartition(",")
        if re.match(r"\.\d", text[match.end("digits") :]) and power == 0:
            digits, end = whole, at + len(whole)  # a list: 30,1.8
        elif "." in rest or (comma is False and len(rest) == 3 and whole != "0"):
            digits = digits.replace(",", "")
        elif not comma and power == 0 and whole.isdecimal() and not _BELOW_ONE.fullmatch(digits):
            digits, end = whole, at + len(whole)  # a list where decimals have a point
        elif text.startswith(",", match.end("digits")) and power == 0:
            digits, end = digits.partition(",")[0], at + digits.index(",")  # a list: 3,6,9
        else:
            digits = digits.replace(",", ".")
    return Lexeme("NUMBER", make_number(digits, power, end != match.end("digits")), at, end)


def make_number(digits: str, power: int = 0, has_power: bool = False) -> Number:
    """A number as written.  The last written place of a whole number is that of its last figure
    that is no trailing zero, but at least two figures count (130 may stand for 128)."""
    scale = Fraction(10) ** power
    whole, point, places = digits.partition(".")
    if point:
        last = Fraction(1, 10 ** len(places))
    else:
        stripped = whole.lstrip("0").rstrip("0")
        last = Fraction(10) ** max(0, len(whole.lstrip("0")) - max(2, len(stripped)))
    return Number(digits, rational(digits) * scale, last * scale, has_power and power != 0)


def _unit(text: str, at: int, before: str) -> Lexeme | None:
    match = _UNIT.match(text, at)
    if match is None or (match["open"] and "(" in match["open"] and before != "NUMBER"):
        return None
    name = match["name"]
    if not match["per"] and _SYMBOL_AHEAD.match(text, at):
        return None
    if match["per"] and name in ("C", "V", "F", "c", "v", "j", "J"):
        return None  # Q / C is a quotient, not a unit
    unit = _known(name)
    if unit is None:
        return None
    inverse = bool(match["per"]) != bool(match["inverse"])
    return Lexeme("UNIT", (unit, -1 if inverse else 1), at, match.end())


@lru_cache(maxsize=256)
def _known(name: str) -> Unit | None:
    if name[-1] in "fcvj" and len(name) <= 2:
        name = name[:-1] + name[-1].upper()
    try:
        return parse_unit(name)
    except QuantityError:
        return None


def _is_times(text: str, at: int, before: str) -> bool:
    after = text[at + 1 :].lstrip()
    return before in ("NUMBER", "CLOSE", "RIGHT", "UNIT", "SYMBOL", "EXPONENT") and bool(
        re.match(r"[\d({.]|Δ?[CQVUEWqvu](?:[\d_'^ ]|[A-Z]{1,2}\b|\w*$)", after)
    )


def _letters(text: str, at: int) -> Lexeme:
    if (unit := _PREFIXED_UNIT.match(text, at)) and (
        known := _known(unit[0].split("^")[0].strip())
    ):
        return Lexeme("UNIT", (known, -1 if unit["inverse"] else 1), at, unit.end())
    word = _WORD.match(text, at)
    symbol = _SYMBOL.match(text, at)
    if symbol is not None and not _is_word(text, at, symbol, word[0] if word else ""):
        end = symbol.end()
        index = (symbol["index"] or "") + (symbol["late"] or "")
        if not index and (spaced := _SPACED_INDEX.match(text, end)):
            index, end = spaced[1].lower(), spaced.end()
        primes = (symbol["primes"] + (symbol["more"] or "")).replace('"', "''").count("'")
        value = Symbol(symbol["letter"], _index(index), primes, bool(symbol["delta"]))
        return Lexeme("SYMBOL", value, at, end)
    if word is None:
        return Lexeme("UNKNOWN", text[at], at, at + 1)
    plain = word[0].rstrip(".").lower()
    if plain in _SO_WORDS or word[0].lower() in ("i.e.", "i.e"):
        return Lexeme("SO", plain, at, word.end())
    if plain in _EQUAL_WORDS:
        return Lexeme("RELATION", "=", at, word.end())
    if plain == "and":
        return Lexeme("AND", plain, at, word.end())
    if plain in ("x", "times"):
        return Lexeme("TIMES" if plain == "times" else "WORD", plain, at, word.end())
    return Lexeme("WORD", plain, at, word.end())


def _is_word(text: str, at: int, symbol: re.Match[str], word: str) -> bool:
    """Whether the letters here are a word rather than a symbol ("Charge", "Use", not "CV")."""
    run = re.match(r"[A-Za-z]*", text[at:])
    letters = run[0] if run else ""
    if len(letters) < 2 or symbol["delta"]:
        return False
    if letters in _NO_SYMBOLS:
        return True
    if len(letters) <= symbol.end() - at:
        return False
    return not re.fullmatch(r"(?:[CQVUEqv]|[CQV](?:" + _SUFFIX + r"))+", letters)


def _index(text: str) -> str:
    """The index without braces, brackets, commas and blanks: "_{1,2}" -> "12"."""
    return re.sub(r"[_{}()\s,.&+∥-]", "", text)


def _joined(found: list[Lexeme]) -> list[Lexeme]:
    """Small repairs that need both neighbours: "½ CV²" typed as 1/2CV², "VC1" alone for V_C1."""
    result: list[Lexeme] = []
    for place, token in enumerate(found):
        after = found[place + 1] if place + 1 < len(found) else None
        is_half = (
            token.kind == "NUMBER" and isinstance(token.value, Number) and token.value.digits == "2"
            and len(result) >= 2 and result[-1].kind == "OVER"
            and isinstance(result[-2].value, Number) and result[-2].value.digits == "1"
            and (len(result) < 3 or result[-3].kind not in ("EXPONENT", "OVER", "SYMBOL", "NUMBER"))
            and after is not None and after.kind in ("SYMBOL", "OPEN")
        )  # fmt: skip
        if is_half:
            over, one = result.pop(), result.pop()
            result += [
                Lexeme("LEFT", "{", one.start, one.start), one,
                Lexeme("BAR", "}/{", over.start, over.end), token,
                Lexeme("RIGHT", "}", token.end, token.end),
            ]  # fmt: skip
        else:
            result.append(token)
    return result
