"""Charts as SVG, small and with their text as text: as a file, and as a part of a page."""

from __future__ import annotations

import re
from collections.abc import Sequence
from functools import cache

from rearlog.charts import fonts
from rearlog.charts.fonts import FACES, Face
from rearlog.charts.individuals import as_data
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
_PIECE = re.compile(
    r"<defs>.*?</defs>|<(?:path|use|ellipse)\b[^>]*/>|<text\b[^>]*>[^<]*</text>|</?g\b[^>]*>|[^<]+|<[^>]*>",
    re.S,
)
_START = re.compile(r"<(\w+)((?: [-\w:]+=\"[^\"]*\")*)")
_ATTRIBUTE = re.compile(r' ([-\w:]+)="[^"]*"')
_OF_ONE = frozenset(
    {"d", "x", "y", "cx", "cy", "rx", "ry", "transform", "href", "id", "opacity", "data-of"}
)
"""What is said of each thing by itself; the rest holds for all of a group that says it."""
_WHITE = ' fill="#ffffff"'
"""Letters of this colour stay so on a dark page, and have to be known as letters."""
_GROUP = len("<g></g>")
_HASHED = re.compile(r'(?<=[#"])(?:m|p|C\w+_)[0-9a-f]{10}(?=[")])')
"""Names that matplotlib makes up for shapes that are used again."""
_PLACES = re.compile(r'(?<= )(?:d|x|y|transform|font-size|stroke-dasharray|style)="[^"]*"')
_FINE = re.compile(r"-?\d+\.\d{3,}")
_BREAKS = re.compile(r"\s*([MLCQz])\s*|\s*\n\s*")
_ID = re.compile(r' id="([^"]*)"')
_REFERENCE = re.compile(r'(href="#|url\(#)')
_OUTLINE = re.compile(r'(?<= d=")[MLz\d.\- ]*(?=")')
_STEP = re.compile(r"([MLz])(?:(-?[\d.]+) (-?[\d.]+))?")
_NEEDLESS = (
    ' xmlns:xlink="http://www.w3.org/1999/xlink"',
    ' xmlns="http://www.w3.org/2000/svg"',
    ' version="1.1"',
    "<defs></defs>",
)
"""What a page knows without being told."""
_USED = re.compile(r'(?:href="#|url\(#)([^")]*)')
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

    Its ids begin with the prefix, so that no two pictures share one; those that nothing in the
    picture refers to are left out. The page has to bring the
    letters (`fonts`); `charts.css` of its templates has the dark colours.
    """
    picture = compact(drawn)
    used = set(_USED.findall(picture))
    picture = _ID.sub(lambda match: match[0] if match[1] in used else "", picture)
    picture = _OUTLINE.sub(_straight, _ID.sub(rf' id="{prefix}\1"', grouped(picture)))
    picture = _REFERENCE.sub(rf"\g<0>{prefix}", picture)
    picture = picture.replace("<defs><path ", '<defs><path class="mark" ')
    for each in _NEEDLESS:
        picture = picture.replace(each, "", 1)
    return picture.replace("<svg", '<svg class="chart" aria-hidden="true" focusable="false"')


def compact(drawn: str) -> str:
    """The same picture in a third of the letters, to a hundredth of a point.

    Instead of styles it has attributes, which a page's policy allows; an id that was given to
    several parts stays with the first, and which individual a part belongs to is in `data-of`.
    """
    seen: set[str] = set()

    def once(match: re.Match[str]) -> str:
        if match[1] in seen:
            return ""
        seen.add(match[1])
        return match[0]

    picture = as_data(drawn[drawn.index("<svg") :])
    picture = _STYLE.sub(lambda match: _attributes(match[1]), picture)
    picture = _PLACES.sub(_shorter, _UNUSED.sub("", picture))
    picture = _ID.sub(once, picture).replace("xlink:href", "href")
    picture = _OF_MARKS.sub(r"\1", picture)
    names: dict[str, str] = {}
    picture = _HASHED.sub(lambda match: names.setdefault(match[0], f"s{len(names)}"), picture)
    return grouped(picture).replace("<svg", f"<svg {_USUAL}").strip()


def grouped(picture: str) -> str:
    """The same picture with what neighbours have in common said once, for all of them, and
    without groups that say nothing."""
    done: list[str] = []
    run: list[str] = []
    says: list[bool] = []
    for piece in _PIECE.findall(picture):
        if piece.startswith(("<path", "<use", "<ellipse", "<text", "<defs")):
            run.append(piece)
            continue
        if piece in ("<g>", "<g/>"):
            if piece == "<g>":
                says.append(False)
            continue
        if piece == "</g>" and not says.pop():
            continue
        if piece.startswith("<g") and not piece.endswith("/>"):
            says.append(True)
        done += _shared(run)
        run = []
        done.append(piece)
    return "".join([*done, *_shared(run)])


def _shared(run: Sequence[str]) -> list[str]:
    """Things beside each other, with what some in a row have in common at groups around them."""
    told = [_said(each) for each in run]
    done: list[str] = []
    place = 0
    while place < len(run):
        common, best, gain, end = told[place], frozenset[str](), 0, place + 1
        for after in range(place + 1, len(run)):
            said = told[after]
            common = common if said is None else said if common is None else common & said
            if common is not None and not common:
                break
            size = sum(map(len, common or ()))
            saved = size * sum(each is not None for each in told[place : after + 1]) - size - _GROUP
            if saved > gain:
                best, gain, end = common or frozenset(), saved, after + 1
        things = run[place:end]
        if gain:
            shared = sorted(best)
            for attribute in shared:
                things = [_without(each, attribute) for each in things]
            things = [f"<g{''.join(shared)}>", *_shared(things), "</g>"]
        done += things
        place = end
    return done


@cache
def _said(piece: str) -> frozenset[str] | None:
    """What a thing says that a group can say for it; None for shapes that are used elsewhere."""
    if piece.startswith("<defs"):
        return None
    found = _START.match(piece)
    told = _ATTRIBUTE.finditer(found[2] if found else "")
    kept = frozenset(each[0] for each in told if each[1] not in _OF_ONE)
    return kept - {_WHITE} if piece.startswith("<text") else kept


def _without(piece: str, attribute: str) -> str:
    """A thing without one of its attributes; shapes that are used elsewhere stay whole."""
    return piece if piece.startswith("<defs") else piece.replace(attribute, "", 1)


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


def _straight(match: re.Match[str]) -> str:
    """An outline of straight lines, to a tenth of a point: those along an axis name one number,
    and those that go on in the same direction are one."""
    steps: list[tuple[str, str, str]] = []
    for command, across, down in _STEP.findall(match[0]):
        if command == "z":
            steps.append(("z", "", ""))
            continue
        x, y = _tenth(across), _tenth(down)
        kind = command
        if command == "L" and y == steps[-1][2]:
            kind = "H"
        elif command == "L" and x == steps[-1][1]:
            kind = "V"
        if kind in "HV" and kind == steps[-1][0] and _goes_on(steps[-2], steps[-1], (x, y)):
            steps.pop()
        steps.append((kind, x, y))
    return "".join(_STEPS[kind].format(x, y) for kind, x, y in steps)


_STEPS = {"M": "M{} {}", "L": "L{} {}", "H": "H{}", "V": "V{1}", "z": "z"}


def _goes_on(
    before: tuple[str, str, str], last: tuple[str, str, str], then: tuple[str, str]
) -> bool:
    """Whether a step along an axis goes on as the last one did."""
    place = 1 if last[0] == "H" else 2
    first, middle, end = float(before[place]), float(last[place]), float(then[place - 1])
    return (middle - first) * (end - middle) >= 0


@cache
def _tenth(number: str) -> str:
    text = f"{float(number):.1f}".removesuffix(".0")
    return "0" if text == "-0" else text


@cache
def _attributes(style: str) -> str:
    """The attributes that say the same as a style of lines and fills."""
    parts = (each.partition(":") for each in style.split(";") if each.strip())
    return "".join(
        f' {name.strip()}="{value.strip()}"'.replace("\"'", '"').replace("'\"", '"')
        for name, _, value in parts
    )
