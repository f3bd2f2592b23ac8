"""Text for LaTeX and BibTeX: whatever was typed is set as it reads, and commands nothing."""

from __future__ import annotations

import re
from collections.abc import Mapping

_SIGNS = {
    "\\": r"\textbackslash{}",
    "{": r"\{",
    "}": r"\}",
    "$": r"\$",
    "&": r"\&",
    "#": r"\#",
    "%": r"\%",
    "_": r"\_",
    "^": r"\textasciicircum{}",
    "~": r"\textasciitilde{}",
    "<": r"\textless{}",
    ">": r"\textgreater{}",
    "|": r"\textbar{}",
    '"': r"\symbol{34}",
    "`": r"\textasciigrave{}",
    "'": r"\textquotesingle{}",
    "–": "--",
    "—": "---",
    "−": "$-$",
    "±": r"$\pm$",
    "×": r"$\times$",
    "·": r"$\cdot$",
    "°": r"$^{\circ}$",
    "²": "$^{2}$",
    "χ": r"$\chi$",
    "λ": r"$\lambda$",
    "‘": "`",
    "’": "'",
    "“": "``",
    "”": "''",
    "…": r"\ldots{}",
    "†": r"\dag{}",
    "‡": r"\ddag{}",
    "§": r"\S{}",
    "‖": r"$\|$",
    "¶": r"\P{}",
    "\N{NO-BREAK SPACE}": "~",
    "\u202f": r"\,",
}
"""Signs that LaTeX would obey, or that its usual fonts have by a command only."""

_TO_SET = re.compile(rf"^[\[*]|(?<=-)-|[{re.escape(''.join(_SIGNS))}]")
"""Those, and what else would be obeyed: a bracket or a star that begins a line of a table belongs
to the line break before it, and two hyphens are a dash."""

_LAST_LATIN = "\u017f"
"""Letters up to here are in the fonts that every LaTeX has."""


def escaped(text: str) -> str:
    """A text as LaTeX, on one line; control signs become spaces."""
    line = " ".join("".join(each if each.isprintable() else " " for each in text).split())
    return _TO_SET.sub(lambda each: _SIGNS.get(each[0], f"{{{each[0]}}}"), line)


def bibtex_entry(kind: str, key: str, fields: Mapping[str, str | None]) -> str:
    """An entry for a bibliography; fields of which nothing is known are left out."""
    lines = [f"  {name} = {{{value}}}," for name, value in fields.items() if value]
    return "\n".join([f"@{kind}{{{key},", *lines, "}", ""])


def needs_unicode(text: str) -> bool:
    """Whether letters are in a text that only XeLaTeX and LuaLaTeX can set."""
    return any(each > _LAST_LATIN for each in text)
