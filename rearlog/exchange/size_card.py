"""The size card: heads as discs and bodies as bars at their true size, to hold beside the animal.

It prints at 1:1 where nothing scales the page; a ruler of RULER_MM on it shows whether that is so.
Measured in millimetres from the upper left corner.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from msgspec import Struct
from msgspec.structs import replace

from rearlog.drawings.stages import Picture, picture
from rearlog.exchange.canvas import Canvas, fitted, width_mm
from rearlog.exchange.sheet_print import PAPERS, Paper
from rearlog.records.errors import UsageError
from rearlog.records.forms import StageKind, kind_of
from rearlog.records.profile import SOURCE_KINDS, Profile, Quantity, StageProfile

if TYPE_CHECKING:
    from matplotlib.figure import Figure

RULER_MM = 50
SPREADS = 2
"""A head's range on the card is its mean and so many standard deviations on both sides: about 95 %
of individuals."""

_MARGIN = 11.0
_TOP, _FOOT = 41.0, 12.0
_NAME_WIDTH, _HEAD_GAP, _HEAD_WORDS = 28.0, 3.0, 40.0
_BAR, _PART_LINE, _ROW_GAP, _LEAST_ROW = 2.2, 3.8, 3.4, 9.0
_LARGE, _NORMAL, _SMALL = 15.0, 8.5, 7.0
_FULL, _GROWN = "#4d4d4d", "#b8b8b8"
_THIN = 0.4
_STROKES = 0.06, 0.2


class CardRow(Struct, frozen=True):
    """A stage on the card: `head_mm` is the range that most heads are in, where it is known;
    `own_n` the number of individuals where the head's width is the cohort's own mean."""

    stage: StageProfile
    head_mm: tuple[float, float] | None
    own_n: int | None
    drawn: Picture

    @property
    def head_width(self) -> float:
        """The width of the head (mm); 0 where it is not known."""
        head = self.stage.head_width_mm
        return head.centre if head is not None else 0.0


class SizeCard(Struct, frozen=True):
    """What the card shows: `rows` of all stages but the adult whose size is known; `unknown` are
    the codes of the others; `kinds` how the sizes are known."""

    title: str
    species: str
    rows: tuple[CardRow, ...]
    unknown: tuple[str, ...]
    kinds: tuple[str, ...]


def size_card(profile: Profile, own: Mapping[str, tuple[float, int]], title: str) -> SizeCard:
    """The card of a profile; `own` are a cohort's own mean head widths (mm), with their n.

    Raises UsageError where the profile gives no sizes.
    """
    known = _with_own(profile, own)
    young = [each for each in known.stages if kind_of(each.code) is not StageKind.ADULT]
    sized = [each.code for each in young if each.head_width_mm or each.length_mm]
    unknown = tuple(each.code for each in young if each.code not in sized)
    rows = [_row(known, code, own[code][1] if code in own else None) for code in sized]
    if not rows:
        raise UsageError(
            f"the profile of {profile.name} gives no sizes",
            "add head_width_mm or length_mm to its stages, each with a source",
        )
    return SizeCard(title, profile.scientific_name, tuple(rows), unknown, _kinds(profile, rows))


def _kinds(profile: Profile, rows: list[CardRow]) -> tuple[str, ...]:
    """How the sizes on the card are known, the best first."""
    found = {"own" for row in rows if row.own_n is not None}
    for row in rows:
        head = row.stage.head_width_mm if row.own_n is None else None
        for size in (head, row.stage.length_mm, *row.stage.measures_mm.values()):
            keys = (size.source, size.spread_source) if size is not None else ()
            found |= {profile.sources[key].kind for key in keys if key is not None}
    return tuple(kind for kind in SOURCE_KINDS if kind in found)


def _row(profile: Profile, code: str, own_n: int | None) -> CardRow:
    stage = profile.stage(code)
    return CardRow(
        stage,
        _usual(stage.head_width_mm) if stage.head_width_mm else None,
        own_n,
        picture(profile, code),
    )


def _usual(head: Quantity) -> tuple[float, float] | None:
    """The range that most heads are in, where it is known."""
    if head.low is not None and head.high is not None:
        return head.low, head.high
    if head.sd is None:
        return None
    return head.centre - SPREADS * head.sd, head.centre + SPREADS * head.sd


def _with_own(profile: Profile, own: Mapping[str, tuple[float, int]]) -> Profile:
    """The profile with a cohort's own head widths, which spread as much as the profile says."""
    stages = []
    for stage in profile.stages:
        if stage.code in own:
            mean, known = own[stage.code][0], stage.head_width_mm
            sd = mean * known.sd / known.centre if known and known.sd else None
            head = Quantity(known.source if known else "", value=mean, sd=sd)
            stage = replace(stage, head_width_mm=head)
        stages.append(stage)
    return replace(profile, stages=tuple(stages))


def pages(card: SizeCard, paper: Paper = "A4") -> list[Figure]:
    """The card as one figure a page; most species fit one."""
    width, height = PAPERS[paper]
    widest = max(row.head_width for row in card.rows)
    bars = _MARGIN + _NAME_WIDTH + widest + _HEAD_GAP + _HEAD_WORDS
    room = height - _TOP - _FOOT - _MARGIN
    parts: list[list[CardRow]] = [[]]
    used = 0.0
    for row in card.rows:
        needed = _height(row, width - _MARGIN - bars)
        if parts[-1] and used + needed > room:
            parts.append([])
            used = 0.0
        parts[-1].append(row)
        used += needed
    figures = []
    for number, rows in enumerate(parts, start=1):
        canvas = Canvas(width, height)
        _draw_top(canvas, card, f"page {number} of {len(parts)}" if len(parts) > 1 else "")
        y = _TOP
        for row in rows:
            _draw_row(canvas, row, y, bars, widest)
            y += _height(row, width - _MARGIN - bars)
            canvas.line(_MARGIN, y - _ROW_GAP / 2, width - _MARGIN, y - _ROW_GAP / 2)
        _draw_foot(canvas, card, y)
        figures.append(canvas.figure)
    return figures


def _draw_top(canvas: Canvas, card: SizeCard, page: str) -> None:
    right = canvas.width - _MARGIN
    canvas.text(_MARGIN, 14, f"Size card: {card.title}", _LARGE, bold=True, width=right - 45)
    canvas.text(_MARGIN, 20, card.species, _NORMAL, width=right - 45)
    canvas.text(right, 14, page, _NORMAL, align="right")
    told = f"Print at 100 % (“actual size”). This line is {RULER_MM} mm long, or the card is wrong:"
    canvas.text(_MARGIN, 27, told, _NORMAL)
    begin, y = _MARGIN, 35.0
    canvas.shade(begin, y, begin + RULER_MM, _THIN, _FULL)
    for mark in range(RULER_MM + 1):
        high = 3.2 if mark % 10 == 0 else 2.2 if mark % 5 == 0 else 1.3
        canvas.line(begin + mark, y, begin + mark, y - high, strong=mark % 10 == 0)
        if mark % 10 == 0:
            canvas.text(begin + mark, y + 2.2, f"{mark}", _SMALL, align="center")
    told = "● the head from in front     ▬ the body, from just molted (dark) to full grown (light)"
    canvas.text(begin + RULER_MM + 8, y - 0.5, told, _SMALL, muted=True, width=right - begin - 58)


def _bar_fits(row: CardRow, room: float) -> bool:
    return row.stage.length_mm is not None and _longest(row.stage.length_mm) <= room


def _longest(length: Quantity) -> float:
    return length.centre if length.high is None else length.high


def _picture_fits(row: CardRow, room: float) -> bool:
    return row.drawn.size is not None and row.drawn.width_mm <= room


def _height(row: CardRow, room: float) -> float:
    high = row.drawn.height_mm + 1.4 if _picture_fits(row, room) else 2.0
    return (
        max(_LEAST_ROW, row.head_width, high + 4.6 + _PART_LINE * len(row.stage.measures_mm))
        + _ROW_GAP
    )


def _draw_row(canvas: Canvas, row: CardRow, y: float, bars: float, widest: float) -> None:
    right = canvas.width - _MARGIN
    room = right - bars
    height = _height(row, room) - _ROW_GAP
    below = y + height - 4.6 - _PART_LINE * len(row.stage.measures_mm)
    middle = y + height / 2
    canvas.text(_MARGIN, middle - 2, row.stage.code, _NORMAL, bold=True, width=_NAME_WIDTH - 2)
    canvas.text(_MARGIN, middle + 2, row.stage.name, _SMALL, width=_NAME_WIDTH - 2, muted=True)
    heads = _MARGIN + _NAME_WIDTH + widest / 2
    words = heads + widest / 2 + _HEAD_GAP
    if row.head_width:
        canvas.disc(heads, middle, row.head_width)
        canvas.text(words, middle - 2, f"head {row.head_width:.3g} mm", _NORMAL, width=_HEAD_WORDS)
        usual = f"{row.head_mm[0]:.2f} to {row.head_mm[1]:.2f} mm" if row.head_mm else ""
        own = f"own, n = {row.own_n}" if row.own_n is not None else ""
        told = ", ".join(filter(None, (usual, own)))
        canvas.text(words, middle + 2, told, _SMALL, muted=True, width=_HEAD_WORDS - 1)
    if row.stage.length_mm is None:
        canvas.text(bars, middle, "length not known", _SMALL, muted=True)
        return
    if _picture_fits(row, room):
        thinnest, thickest = _STROKES
        stroke = min(max(0.008 * row.drawn.width_mm, thinnest), thickest)
        canvas.draw(row.drawn.shapes, bars, below - 1.4 - row.drawn.height_mm, stroke)
    told = _range(row.stage.length_mm)
    if not _bar_fits(row, room):
        canvas.text(bars, below + 1.2, f"{told}, longer than this page is wide", _SMALL)
        return
    low = row.stage.length_mm.centre if row.stage.length_mm.low is None else row.stage.length_mm.low
    canvas.shade(bars, below, bars + _longest(row.stage.length_mm), _BAR, _GROWN)
    canvas.shade(bars, below, bars + low, _BAR, _FULL)
    _beside(canvas, told, bars, _longest(row.stage.length_mm), below + _BAR / 2)
    for place, (name, part) in enumerate(row.stage.measures_mm.items(), start=1):
        y = below + _BAR / 2 + place * _PART_LINE
        if part.centre <= room:
            canvas.shade(bars, y - _THIN / 2, bars + part.centre, _THIN, _FULL)
        _beside(canvas, f"{name.replace('_', ' ')} {_range(part)}", bars, part.centre, y)


def _beside(canvas: Canvas, words: str, begin: float, length: float, y: float) -> None:
    """Words behind a bar, or above where there is no room."""
    left = canvas.width - _MARGIN - begin - length - 2
    if width_mm(words, _SMALL) <= left:
        canvas.text(begin + length + 2, y, words, _SMALL)
    else:
        canvas.text(canvas.width - _MARGIN, y + 2.6, words, _SMALL, align="right")


def _range(quantity: Quantity) -> str:
    if quantity.low is not None and quantity.high is not None:
        return f"{quantity.low:g} to {quantity.high:g} mm"
    return f"{quantity.centre:g} mm"


def _draw_foot(canvas: Canvas, card: SizeCard, y: float) -> None:
    width = canvas.width - 2 * _MARGIN
    told = [
        "Heads keep their width through an instar and decide; length is a poor guide. "
        "Legs, folds and proportions of the drawings are only a shape.",
        f"Sizes: {', '.join(card.kinds)}. See “rearlog species show” for the source of each.",
    ]
    if card.unknown:
        told.append(f"No size is known of {', '.join(card.unknown)}.")
    for place, line in enumerate(told):
        canvas.text(_MARGIN, y + 2 + 3.6 * place, fitted(line, width, _SMALL), _SMALL, muted=True)
