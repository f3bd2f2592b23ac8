"""Text cells that a spreadsheet would run as a formula: disarmed on the way out, restored on the
way in."""

from __future__ import annotations

import re

# what spreadsheets take for the beginning of a formula, the full-width signs included
_RISKY = re.compile(r"'*[=+\-@\t\r\n＝＋－＠]")


def disarmed(text: str) -> str:
    """The text with an apostrophe before it where a spreadsheet would run it."""
    return f"'{text}" if _RISKY.match(text) else text


def restored(text: str) -> str:
    """The text that `disarmed` was given; other text with an apostrophe before it stays."""
    return text[1:] if text.startswith("'") and _RISKY.match(text) else text
