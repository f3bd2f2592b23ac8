"""Charts as SVG, small and with their text as text: as a file, and as a part of a page."""

from __future__ import annotations

import re
from functools import cache

from rearlog.charts import fonts
from rearlog.charts.fonts import FACES, Face
from rearlog.charts.style import SANS

HEAD = '<?xml version="1.0" encoding="utf-8"?>\n'
_USUAL = f'font-family="{SANS}" stroke-linejoin="round" stroke-linecap="butt"'
"""What holds for the letters and the lines of a picture unless they say otherwise."""

_UNUSED = re.compile(
    r"<metadata>.*?</metadata>"
    r"|<style.*?</style>"
    r'| transform="rotate\(-?0 [^"]*"'
    rf'| font-family="{SANS}"'
    r'| id="(?:figure|patch|text|line2d|legend|matplotlib\.axis|[xy]tick|\w*Collection)_\d+"'
    r'| (?:stroke|fill)-opacity="1"'
    r"|(?<=>)\s+(?=<)"
    r"|(?<=<defs>)\s*</defs>",
    re.S,
)
_OF_MARKS = re.compile(r'(<use href="#m[^>]*?)(?: stroke[-\w]*="[^"]*")+')
"""A mark's outline is said where its shape is."""
_ALONE = re.compile(r"<g>(<(?:path|use)\b[^>]*/>|<text\b[^>]*>[^<]*</text>)</g>")
_NESTED = 3
"""So deep are single things wrapped in groups without a name."""
_HASHED = re.compile(r'(?<=[#"])(?:m|p|C\w+_)[0-9a-f]{10}(?=[")])')
"""Names that matplotlib makes up for shapes that are used again."""
_PLACES = re.compile(r'(?<= )(?:d|x|y|transform|font-size|stroke-dasharray|style)="[^"]*"')
_FINE = re.compile(r"-?\d+\.\d{3,}")
_BREAKS = re.compile(r"\s*([MLCQz])\s*|\s*\n\s*")
_ID = re.compile(r' id="([^"]*)"')
_REFERENCE = re.compile(r'(href="#|url\(#)')
_STYLE = re.compile(r' style="([^"]*)"')
_TEXT = re.compile(r"<text\b([^>]*)>")


def as_file(drawn: str) -> str:
    """A picture that matplotlib drew, as a file of its own that brings its letters along."""
    picture = compact(drawn)
    used = [each for each in FACES if any(_set_in(each, start) for start in _TEXT.findall(picture))]
    head, rest = picture.split(">", 1)
    return f"{HEAD}{head}><style>{fonts.embedded(used)}</style>{rest}\n"


def as_part(drawn: str, prefix: str) -> str:
    """A picture that matplotlib drew, as an element for the inside of a page.

    Its ids begin with the prefix, so that no two pictures share one. The page has to bring the
    letters (`fonts`); `charts.css` of its templates has the dark colours.
    """
    picture = _ID.sub(rf' id="{prefix}\1"', compact(drawn))
    picture = _REFERENCE.sub(rf"\g<0>{prefix}", picture)
    return picture.replace("<svg", '<svg class="chart" aria-hidden="true" focusable="false"', 1)


def compact(drawn: str) -> str:
    """The same picture in a third of the letters, to a hundredth of a point.

    Instead of styles it has attributes, which a page's policy allows; an id that was given to
    several parts stays with the first.
    """
    seen: set[str] = set()

    def once(match: re.Match[str]) -> str:
        if match[1] in seen:
            return ""
        seen.add(match[1])
        return match[0]

    picture = _STYLE.sub(lambda match: _attributes(match[1]), drawn[drawn.index("<svg") :])
    picture = _PLACES.sub(_shorter, _UNUSED.sub("", picture))
    picture = _ID.sub(once, picture).replace("xlink:href", "href")
    picture = _OF_MARKS.sub(r"\1", picture)
    names: dict[str, str] = {}
    picture = _HASHED.sub(lambda match: names.setdefault(match[0], f"s{len(names)}"), picture)
    for _ in range(_NESTED):
        picture = _ALONE.sub(r"\1", picture)
    return picture.replace("<svg", f"<svg {_USUAL}", 1).strip()


def _set_in(face: Face, start: str) -> bool:
    """Whether a text element with these attributes is set in a font."""
    serif = "Serif" in face.family
    slanted = face.style != "normal"
    return serif == ("Serif" in start) and slanted == ("font-style" in start)


def _shorter(match: re.Match[str]) -> str:
    return _BREAKS.sub(_closer, _FINE.sub(_rounded, match[0])).replace(' "', '"')


def _closer(match: re.Match[str]) -> str:
    return match[1] or " "


def _rounded(match: re.Match[str]) -> str:
    text = f"{float(match[0]):.2f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


@cache
def _attributes(style: str) -> str:
    """The attributes that say the same as a style of lines and fills."""
    parts = (each.partition(":") for each in style.split(";") if each.strip())
    return "".join(
        f' {name.strip()}="{value.strip()}"'.replace("\"'", '"').replace("'\"", '"')
        for name, _, value in parts
    )
