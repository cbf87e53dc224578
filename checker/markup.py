"""The linear markup in which a line of working is passed from the readers to the grammar.

A line is a string over single characters plus explicit structure::

    {num}/{den}    a stacked fraction            _{...}  subscript      ^{...}  superscript
    "  "           a wide gap between two things on one line (two spaces)
    " "            one space, only beside a word (two letters or more that are no symbol or unit)
                   and never beside a sign or a bracket (``canonical``)
    <struck>       something crossed out, its content not read
    <aside>        a drawing, a name, a margin note: set aside, not read as working

Example: ``{1}/{C_{12}}={1}/{4µF}+{1}/{12µF}``.  A brace never stands for handwriting, so the
structure is unambiguous.  Minus is ``-``, micro is U+00B5, ohm is U+03A9, times is ``×``, the
middle dot ``·``.  Nothing else about spacing is part of the markup.
"""

from __future__ import annotations

import re
from functools import lru_cache

STRUCTURE = ("<struck>", "<aside>", "}/{", "_{", "^{", "{", "}", "  ", " ")
CHARACTERS = (
    "0123456789.,'+-±×·÷/=≈()[]|:;%∥→⇒∴*?!ΔµΩABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz"
)
TOKENS: tuple[str, ...] = STRUCTURE + tuple(CHARACTERS)

_SAME = str.maketrans(
    {
        "−": "-", "–": "-", "—": "-", "μ": "µ", "\u2126": "Ω", "∆": "Δ", "⋅": "·", "•": "·",
        "‖": "∥", "∕": "/", "⁄": "/", "’": "'", "′": "'", "‘": "'", "≃": "≈", "≅": "≈", "∼": "≈",
        "⟶": "→", "\t": " ", "\u00a0": " ", "\u202f": " ", "\u2009": " ", "，": ",", "＝": "=",
    }
)  # fmt: skip
_LOOSE = re.compile(r"(?<! ) (?=[:;,=≈+\-×·÷∥→⇒∴()\[\]|*])|(?<=[:;,=≈+\-×·÷∥→⇒∴()\[\]|*]) (?! )")
_TOKEN = re.compile("|".join(re.escape(token) for token in TOKENS))
_SUBSCRIPT, _SUPERSCRIPT = re.compile("[₀-₉ₐₑₓₚₛₜ]+"), re.compile("[⁰¹²³⁴-⁹⁺⁻]+")
_SUB = str.maketrans("₀₁₂₃₄₅₆₇₈₉ₐₑₓₚₛₜ", "0123456789aexpst")
_SUP = str.maketrans("⁰¹²³⁴⁵⁶⁷⁸⁹⁺⁻", "0123456789+-")


@lru_cache(maxsize=4096)
def fold(text: str) -> str:
    """Map look-alike code points (µ/μ, −/-, Ω/Ω, ₁₂, ⁻⁶ …) onto the ones the markup uses."""
    text = _SUBSCRIPT.sub(lambda m: "_{" + m[0].translate(_SUB) + "}", text)
    text = _SUPERSCRIPT.sub(lambda m: "^{" + m[0].translate(_SUP) + "}", text)
    return text.translate(_SAME)


def tokens(markup: str) -> list[str]:
    """Split markup into its tokens; characters outside the vocabulary are left out."""
    return _TOKEN.findall(markup)


def canonical(markup: str) -> str:
    """Without the single spaces beside a sign or a bracket: nobody can see them on paper."""
    return _LOOSE.sub("", markup)


@lru_cache(maxsize=4096)
def plain(markup: str) -> str:
    """The markup as a person would type it: ``1/C12 = 1/4 + 1/12``.

    A fraction of simple parts loses its braces, others get brackets: ``(4 × 12)/(4 + 12)``.
    """
    text = fold(markup)
    while True:
        new = re.sub(r"\{([^{}]*)\}/\{([^{}]*)\}", _plain_fraction, text)
        new = re.sub(r"_\{([^{}]*)\}", lambda m: _script("_", m[1]), new)
        new = re.sub(r"\^\{([^{}]*)\}", lambda m: _script("^", m[1]), new)
        if new == text:
            break
        text = new
    text = re.sub(r" *(=|≈|→|⇒|∴|∥|×|·|÷) *", r" \1 ", text)
    text = re.sub(r"(?<=[\w)'\].]) *([+-]) *(?=[\w(\[Δµ|])", r" \1 ", text)
    text = re.sub(r"(?<=\d)(?=[µnpmk]?[FCVJΩAHW]\b)", " ", text)
    return re.sub(r"  +", lambda m: "  " if len(m[0]) > 1 else " ", text).strip()


def _plain_fraction(match: re.Match[str]) -> str:
    def part(text: str) -> str:
        # An inner fraction or script was already made plain, so only operators need brackets.
        return text if re.fullmatch(r"[\w.,'Δµ]+", text) else f"({text})"

    return f"{part(match[1])}/{part(match[2])}"


def _script(sign: str, body: str) -> str:
    if sign == "_" and re.fullmatch(r"\d{1,3}|'", body):
        return body
    return f"{sign}{body}" if re.fullmatch(r"[-+]?\w+", body) else f"{sign}({body})"
