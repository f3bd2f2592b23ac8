"""Which parts of a chart belong to one individual, so that a page can follow it."""

from __future__ import annotations

import re
from urllib.parse import quote

_ID = re.compile(r' id="of-\w+-(\d+/[^"]*)"')


def of_individual(part: str, place: int, code: str) -> str:
    """The gid of a part of an individual, of the cohort at a place among the results."""
    return f"of-{part}-{named(place, code)}"


def named(place: int, code: str) -> str:
    """What the parts of an individual are called by; nothing in a code can end an attribute."""
    return f"{place}/{quote(code)}"


def as_data(svg: str) -> str:
    """The SVG of a chart with `data-of` in place of these ids."""
    return _ID.sub(r' data-of="\1"', svg)
