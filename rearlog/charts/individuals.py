"""Which parts of a chart belong to one individual, so that a page can follow it."""

from __future__ import annotations

import re
from collections.abc import Sequence
from urllib.parse import quote

_ID = re.compile(r' id="of-\w+-(\d+/[^",]*)"')
_ROWS = re.compile(r'<g id="of-\w+-([^"]*,[^"]*)">\s*<path d="([^"]*)"([^>]*)/>\s*</g>')


def of_individual(part: str, place: int, code: str) -> str:
    """The gid of a part of an individual, of the cohort at a place among the results."""
    return f"of-{part}-{named(place, code)}"


def of_individuals(part: str, place: int, codes: Sequence[str]) -> str:
    """The gid of a path that has a closed outline for each of some individuals, in their order."""
    return f"of-{part}-{','.join(named(place, code) for code in codes)}"


def named(place: int, code: str) -> str:
    """What the parts of an individual are called by; nothing in a code can end an attribute."""
    return f"{place}/{quote(code)}"


def as_data(svg: str) -> str:
    """The SVG of a chart with `data-of` in place of these ids, and an element for each outline."""
    return _ID.sub(r' data-of="\1"', _ROWS.sub(_apart, svg))


def _apart(match: re.Match[str]) -> str:
    """An element for each outline of a path. Drawing each by itself would take far longer."""
    names, outlines = match[1].split(","), match[2].split("z")
    return "".join(
        f'<path data-of="{name}" d="{outline.strip()} z"{match[3]}/>'
        for name, outline in zip(names, outlines[:-1], strict=True)
    )
