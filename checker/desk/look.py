"""How the web pages look, and text that is never taken for markup."""

from __future__ import annotations

import re

from checker.report.verdict_marks import MARKS

SHAPES = {
    "circle": "border-radius:50%",
    "square": "border-radius:18%",
    "triangle": "clip-path:polygon(50% 0,100% 100%,0 100%);padding-top:0.28em",
    "diamond": "clip-path:polygon(50% 0,100% 50%,50% 100%,0 50%)",
    "none": "visibility:hidden",
}
_INK, _QUIET, _PAPER, _LINE = "#20262d", "#4a525b", "#f7f5ef", "#d9d4c6"
_SLIP = MARKS["first slip"].colour
_RIGHT = MARKS["follows"].colour
_ASKED = MARKS["unsure"].colour
STYLE = f"""<style>
.stApp {{ border-top: 0.35rem solid {_INK}; }}
.stMainBlockContainer {{ padding-top: 4rem; padding-bottom: 4rem; max-width: 84rem; }}
.stMainBlockContainer h1 {{ font-size: 1.9rem; letter-spacing: -0.01em; padding: 0 0 0.2rem; }}
.stMainBlockContainer h2 {{ font-size: 1.2rem; padding: 0.6rem 0 0.2rem; }}
.stMainBlockContainer h3 {{ font-size: 1.1rem; padding: 0.6rem 0 0.2rem; }}
/* Streamlit dims these below the contrast that WCAG 2.2 asks for. */
[data-testid="stFileUploaderDropzoneInstructions"] *, [data-testid="stCaptionContainer"],
[data-testid="stWidgetLabel"] *, [data-testid="InputInstructions"],
.stSelectbox [data-baseweb="select"] * {{ color: {_QUIET} !important; opacity: 1 !important; }}
[aria-label^="Shortcut"] {{ color: inherit !important; opacity: 1 !important; }}
input::placeholder {{ color: {_QUIET} !important; opacity: 1 !important; }}
/* What arrived stands in the page's own list; what is on its way or was refused stays here. */
.st-key-own-pages [data-testid="stFileChips"] > div > div:has([data-testid="stFileChip"]):not(
  :has([aria-invalid="true"], [data-testid="stFileChipIconSpinner"])) {{ display: none; }}
.st-key-own-pages button[aria-label="Add files"] {{ width: auto; color: {_INK}; }}
.st-key-own-pages button[aria-label="Add files"]::after {{ content: "Add more pages";
  white-space: nowrap; padding-right: 0.6rem; }}
[data-testid="stFileChip"] > [role="alert"] {{ position: static; width: auto; height: auto;
  clip: auto; clip-path: none; margin: 0; white-space: normal; overflow: visible; }}
.lead {{ font-size: 1.05rem; margin: 0; }}
.private {{ color: {_QUIET}; font-size: 0.9rem; margin: 0.2rem 0 0.6rem; }}
.field-fault {{ color: {_SLIP}; font-size: 0.9rem; margin: -0.6rem 0 0; }}
.field-fault::before {{ content: "✗ "; }}
.circuit {{ display: block; max-width: 100%; max-height: 16rem; margin: 0.4rem 0; }}
img.page {{ display: block; width: 100%; border: 1px solid {_LINE}; }}
img.crop {{ max-width: 100%; max-height: 9rem; border: 1px solid {_LINE}; }}
.outcome {{ border-left: 0.5rem solid; padding: 0.7rem 1rem; background: {_PAPER};
           border-radius: 0.3rem; display: flex; gap: 0.9rem; align-items: center; }}
.outcome .sign {{ width: 2.6rem; height: 2.6rem; font-size: 1.6rem; }}
.outcome strong {{ font-size: 1.25rem; display: block; }}
.outcome.slip {{ border-color: {_SLIP}; }}
.outcome.right {{ border-color: {_RIGHT}; background: #e4f2ec; }}
.outcome.asked {{ border-color: {_ASKED}; }}
.sign {{ color: #ffffff; font-weight: 700; display: inline-flex; flex: none; line-height: 1;
        align-items: center; justify-content: center; box-sizing: border-box; }}
.marks {{ position: absolute; inset: 0; pointer-events: none; container-type: inline-size; }}
.marks .sign {{ position: absolute; transform: translate(-50%, -50%); }}
.marks .frame {{ position: absolute; border-width: 0.35cqw; transform-origin: 0 0;
                box-sizing: border-box; border-radius: 0.4cqw; }}
.marks .tag {{ position: absolute; right: 0; bottom: 100%; color: #ffffff; white-space: nowrap;
              font-size: 1.6cqw; line-height: 1.5; padding: 0 0.6cqw; border-radius: 0.4cqw; }}
[class*="st-key-view"] {{ overflow: auto; max-height: 88vh; }}
[class*="st-key-sheet"] {{ position: relative; gap: 0; }}
[class*="st-key-sheet"] > div:nth-child(2) {{ position: absolute !important; inset: 0; }}
[class*="st-key-sheet"] > div:nth-child(2) * {{ height: 100%; }}
[class*="st-key-sheet"] > div:nth-child(2) .marks * {{ height: auto; }}
[class*="st-key-line"] {{ gap: 0.1rem; border-left: 0.3rem solid transparent;
                         padding-left: 0.4rem; }}
[class*="st-key-line"]:has(.line-head.first-slip) {{ border-color: {_SLIP}; background: #fbeef3; }}
.line-head {{ display: flex; gap: 0.5rem; align-items: center; font-size: 0.9rem; }}
.line-head .sign {{ width: 1.35rem; height: 1.35rem; font-size: 0.9rem; }}
.line-note {{ color: {_QUIET}; font-size: 0.9rem; margin: 0; }}
.help-step {{ border-left: 0.2rem solid {_LINE}; padding: 0.1rem 0 0.1rem 0.8rem; }}
.help-step p {{ margin: 0; }}
.help-step pre {{ white-space: pre-wrap; font-size: 0.85rem; margin: 0; }}
:focus-visible {{ outline: 3px solid #2f4b9b !important; outline-offset: 2px; }}
@media (max-width: 640px) {{
  .stMainBlockContainer {{ padding-left: 0.8rem; padding-right: 0.8rem; }}
  .marks .tag {{ font-size: 2.8cqw; }}
}}
</style>"""


def literal(text: str) -> str:
    """``text`` with every character that Markdown could take for markup escaped."""
    return re.sub(r"([^\w\s])", r"\\\1", text)
