"""Text cells that a spreadsheet would run as a formula: disarmed on the way out, restored on the
way in.

A spreadsheet may take another list separator than the file has, and cut a text into cells where
nobody meant it: what stands behind any of them is looked at like the beginning.
"""

from __future__ import annotations

import re

# What spreadsheets take for the beginning of a formula, the full-width signs included, perhaps
# behind quotation marks: at the beginning, and behind whatever may separate cells or lines.
_FORMULA = r"""['"]*[=+\-@＝＋－＠]"""
_RISKY = re.compile(rf"(^)(?='*[\t\r\n]|{_FORMULA})|([,;|\t\r\n])(?={_FORMULA})")
_DISARMED = re.compile(rf"(^)'(?='*[\t\r\n]|{_FORMULA})|([,;|\t\r\n])'(?={_FORMULA})")


def disarmed(text: str) -> str:
    """The text with an apostrophe before whatever a spreadsheet would run."""
    return _RISKY.sub(r"\1\2'", text)


def restored(text: str) -> str:
    """The text that `disarmed` was given; other text with an apostrophe in it stays."""
    return _DISARMED.sub(r"\1\2", text)
