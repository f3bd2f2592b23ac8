"""The look of all charts: sizes, text, spines, the title that states the finding, the date axis."""

from __future__ import annotations

import io
import textwrap
from collections.abc import Iterable, Sequence
from datetime import date, datetime, timedelta
from functools import cache
from typing import Literal

from matplotlib import rcParams
from matplotlib.axes import Axes
from matplotlib.axis import XAxis, YAxis
from matplotlib.figure import Figure
from matplotlib.font_manager import FontProperties
from matplotlib.lines import Line2D
from matplotlib.text import Annotation
from matplotlib.textpath import text_to_path
from matplotlib.ticker import FixedLocator, MaxNLocator
from matplotlib.transforms import Transform
from msgspec import Struct
from msgspec.structs import replace

from rearlog.charts.palette import HAIRLINE, INK, MUTED, PAPER
from rearlog.records.clock import CohortClock
from rearlog.records.errors import UsageError
from rearlog.sentences.phrases import short_date

SANS, SERIF = "DejaVu Sans", "DejaVu Serif"  # come with matplotlib: the same on every machine
LARGE = 1.3
PT = 1 / 72
"""A point in inches."""
CHARACTER = 0.57
"""Width of an average character in parts of the text's size."""
LINE = 1.2
"""Height of a line in parts of the text's size."""
MARK, POINT = 0.5, 0.8
"""Size of a marker on a line, and of one by itself, in parts of the text's size."""
MARKED = 0.25
"""Markers of a line stand this part of the panel's diagonal apart."""


class Style(Struct, frozen=True):
    """What a chart is made for. Sizes in inches, text and lines in points.

    A chart with a row for each individual may grow to `tallest_in`; the others are `height_in`.
    No text is smaller than `least_pt`. A `bare` one has neither title nor notes: they are its
    caption (see `caption_of`). With axes that somebody gave it is drawn `onto` these, and has no
    figure of its own, no words around it, and a legend for a key.
    """

    width_in: float
    height_in: float
    tallest_in: float
    text_pt: float
    line_pt: float
    least_pt: float
    bare: bool = False
    onto: tuple[Axes, ...] = ()

    @property
    def small_pt(self) -> float:
        """Size of tick labels and notes."""
        return max(self.least_pt, 0.86 * self.text_pt)

    @property
    def em_in(self) -> float:
        """Size of the text in inches."""
        return self.text_pt * PT

    def in_row(self, row_pt: float) -> float:
        """Size of text in rows so high."""
        return min(self.small_pt, max(self.least_pt, row_pt / LINE))

    @property
    def title_pt(self) -> float:
        """Size of the title."""
        return (1.15 if self.narrow else 1.3) * self.text_pt

    @property
    def narrow(self) -> bool:
        """Whether a line is so short that nothing but a drawing fits beside a drawing."""
        return self.width_in / self.em_in < NARROW


NARROW = 35.0
"""Looks narrower than so many times the size of their text name things below, not beside."""
MM = 1 / 25.4
CSS_PX = 1 / 96
LOOKS = {
    "phone": Style(360 * CSS_PX, 320 * CSS_PX, 1600 * CSS_PX, 9.5, 1.2, 7.5),
    "column": Style(85 * MM, 75 * MM, 230 * MM, 8.0, 1.0, 6.0),
    "double": Style(175 * MM, 115 * MM, 230 * MM, 8.5, 1.1, 6.0),
    "page": Style(7.0, 4.6, 10.2, 9.0, 1.2, 6.0),
    "slide": Style(13.33, 7.5, 7.5, 18.0, 2.4, 12.0),
    "poster": Style(16.5, 11.7, 23.4, 26.0, 3.4, 16.0),
}
"""What charts are drawn for: a telephone held upright (360 px, and 7.5 pt are 10 px), one and two
columns of a journal (85 and 175 mm), a page, a slide and a poster. The last number is the size of
the smallest text (pt)."""
PAGE = LOOKS["page"]


def look(size: str = "page", *, large_text: bool = False, bare: bool = False) -> Style:
    """The look of a size of LOOKS; raises UsageError for another size."""
    if size not in LOOKS:
        raise UsageError(f"there is no chart size “{size}”", f"sizes are {', '.join(LOOKS)}")
    chosen = replace(LOOKS[size], bare=bare)
    if not large_text:
        return chosen
    return replace(chosen, text_pt=chosen.text_pt * LARGE, least_pt=chosen.least_pt * LARGE)


OUTSIDE = 8.0
"""What stands around axes takes so many times the size of their text."""


def look_onto(axes: Sequence[Axes]) -> Style:
    """The look for drawing into these axes: as large as they are together, with what may stand
    around them, and with the letters and lines that matplotlib is set to."""
    boxes = [each.get_window_extent() for each in axes]
    dpi = axes[0].figure.dpi
    text_pt = FontProperties(size=rcParams["font.size"]).get_size_in_points()
    around_in = OUTSIDE * text_pt * PT
    wide_in = (max(box.x1 for box in boxes) - min(box.x0 for box in boxes)) / dpi + around_in
    high_in = (max(box.y1 for box in boxes) - min(box.y0 for box in boxes)) / dpi + around_in
    line_pt = rcParams["lines.linewidth"] / 1.5  # that of matplotlib is 1.5 unless it is set
    return Style(
        wide_in, high_in, high_in, text_pt, line_pt, 0.6 * text_pt, bare=True, onto=tuple(axes)
    )


class ChartFigure(Figure):
    """A figure that a notebook shows, whatever draws its other figures."""

    def _repr_png_(self) -> bytes:
        shown = io.BytesIO()
        self.savefig(shown, format="png")
        return shown.getvalue()


def new_figure(look: Style, height_in: float | None = None) -> Figure:
    """An empty figure of that look, as high as is asked for: no higher than that allows; or that
    of the axes that are drawn onto."""
    if look.onto:
        root: Figure = look.onto[0].figure.figure  # that of a part of a figure is the whole
        return root
    figure = ChartFigure(
        figsize=(look.width_in, height_in or look.height_in), layout="constrained", facecolor=PAPER
    )
    pad = look.em_in
    figure.get_layout_engine().set(w_pad=pad, h_pad=0.4 * pad)  # type: ignore[union-attr, call-arg]
    return figure


def wrapped(text: str, size_pt: float, width_in: float) -> str:
    """A text in lines that fit a width."""
    return textwrap.fill(text, max(12, letters(size_pt, width_in)))


def letters(size_pt: float, width_in: float) -> int:
    """How many letters of a size a width holds."""
    return int(width_in / PT / (size_pt * CHARACTER))


class Around(Struct, frozen=True):
    """What stands around a chart: the finding above, and below it what it rests on, in lines that
    fit. `height_in` is what they take of the height. `invented` data say so in the corner. All of
    it in one is the `caption`, which stands beside a chart that is bare."""

    title: str
    title_pt: float
    notes: str
    notes_pt: float
    invented: bool
    height_in: float
    caption: str


def around(look: Style, title: str, notes: Iterable[str] = (), *, invented: bool) -> Around:
    """Lay a chart's words out for a look: where they take much of its height, in smaller letters
    (never smaller than its smallest)."""
    told = list(notes)
    caption = _caption(title, told, invented=invented)
    if look.bare:
        corner_pt = look.small_pt if invented else 0.0
        height_in = (LINE * corner_pt + 1.2 * look.text_pt) * PT
        below = " " if invented else ""
        return Around("", look.title_pt, below, look.small_pt, invented, height_in, caption)
    edge_in = look.em_in
    wide_in = look.width_in - 2 * edge_in
    title_pt = look.title_pt
    head = _title_lines(title, title_pt, wide_in)
    if head.count("\n") >= TITLE_LINES:
        title_pt = look.text_pt
        head = _title_lines(title, title_pt, wide_in)
    notes_pt = look.small_pt
    below = _below(look, told, notes_pt, wide_in, invented=invented)
    if _lines(below) * LINE * notes_pt * PT > NOTES_SHARE * look.tallest_in:
        notes_pt = look.least_pt
        below = _below(look, told, notes_pt, wide_in, invented=invented)
    height = LINE * (_lines(head) * title_pt + _lines(below) * notes_pt) + 2.4 * look.text_pt
    return Around(head, title_pt, below, notes_pt, invented, height * PT, caption)


def _caption(title: str, notes: Iterable[str], *, invented: bool) -> str:
    """A title and notes as sentences."""
    sentences = [title, *notes, *(["Invented data"] if invented else [])]
    stripped = (" ".join(each.split()) for each in sentences)
    return " ".join(
        each if each.endswith((".", "?", "!")) else f"{each}." for each in stripped if each
    )


TITLE_LINES = 2
"""Longer titles are written smaller."""
NOTES_SHARE = 0.1
"""Notes that take more than this part of the greatest height are written smaller."""


def _title_lines(title: str, size_pt: float, wide_in: float) -> str:
    """A title in lines that fit a width, as its letters are wide."""
    lines = [""]
    for word in title.split():
        longer = f"{lines[-1]} {word}".strip()
        if lines[-1] and sum(map(_bold_width, longer)) * size_pt > wide_in / PT:
            lines.append(word)
        else:
            lines[-1] = longer
    return "\n".join(lines)


@cache
def _bold_width(letter: str) -> float:
    """Width of a letter of titles in parts of the text's size."""
    font = FontProperties(family=SERIF, weight="bold", size=100)
    return float(text_to_path.get_text_width_height_descent(letter, font, ismath=False)[0]) / 100


def _lines(text: str) -> int:
    return text.count("\n") + 1


def _below(
    look: Style, notes: Sequence[str], size_pt: float, wide_in: float, *, invented: bool
) -> str:
    """The notes in lines; `invented data` stands beside the last or on a line of its own."""
    lines = "\n".join(wrapped(note, size_pt, wide_in) for note in notes) or " "
    last = lines.rsplit("\n", 1)[-1]
    beside = len(f"{last}  {INVENTED}") <= letters(size_pt, wide_in)
    return lines if beside or not invented else f"{lines}\n "


INVENTED = "invented data"


def frame(figure: Figure, look: Style, words: Around) -> None:
    """Put the finding above the chart, and below it what it rests on; over axes that somebody gave
    stands no more than that data are invented."""
    if look.onto:
        if words.invented:
            look.onto[0].set_title(
                INVENTED,
                loc="right",
                fontsize=look.small_pt,
                fontfamily=SANS,
                fontstyle="italic",
                color=MUTED,
            )
        return
    edge = look.em_in / look.width_in
    figure.set_label(words.caption)
    if words.title:
        figure.suptitle(
            words.title,
            x=edge,
            ha="left",
            fontsize=words.title_pt,
            fontfamily=SERIF,
            fontweight="bold",
            color=INK,
            parse_math=False,
        )
    if words.notes:
        figure.supxlabel(
            words.notes,
            x=edge,
            ha="left",
            fontsize=words.notes_pt,
            fontfamily=SANS,
            color=MUTED,
            parse_math=False,
        )
    if words.invented:
        figure.text(
            1 - edge,
            0.4 * look.em_in / figure.get_figheight(),
            INVENTED,
            ha="right",
            va="bottom",
            fontsize=words.notes_pt,
            fontfamily=SANS,
            fontstyle="italic",
            color=MUTED,
        )


def add_note(figure: Figure, sentence: str) -> None:
    """Put a sentence more below a chart that is framed, or into the caption of a bare one."""
    figure.set_label(f"{caption_of(figure)} {sentence}")
    if not figure.get_suptitle():
        return
    below = next(text for text in figure.texts if text.get_text() == figure.get_supxlabel())
    below.set_text(f"{below.get_text().rstrip()}\n{sentence}".lstrip())


def caption_of(figure: Figure) -> str:
    """What stands around a chart, as sentences: the finding, what it rests on, whether the data
    are invented."""
    return str(figure.get_label())


def said_instead(figure: Figure) -> str:
    """What a chart says in place of a drawing; empty where something is drawn."""
    if any(axes.axison for axes in figure.axes):
        return ""
    return " ".join(filter(None, (str(axes.get_label()) for axes in figure.axes)))


def said(
    look: Style, title: str, sentence: str, notes: Iterable[str] = (), *, invented: bool
) -> Figure:
    """A figure with a sentence in place of a drawing."""
    if look.onto:
        for axes in look.onto:
            axes.set_axis_off()
        say_nothing_to_draw(look.onto[0], look, sentence)
        return new_figure(look)
    words = around(look, title, notes, invented=invented)
    text = wrapped(sentence, look.text_pt, 0.85 * look.width_in)
    high_in = words.height_in + (LINE * _lines(text) + 4) * look.em_in
    figure = new_figure(look, max(0.6 * look.height_in, high_in))
    say_nothing_to_draw(figure.subplots(), look, sentence)
    frame(figure, look, words)
    return figure


def dress(axes: Axes, look: Style, *, grid: str | None = None) -> None:
    """Give axes the house's spines, ticks and hairlines (`grid`: x, y or None)."""
    axes.set_facecolor("none")
    for side in ("top", "right", "left"):
        axes.spines[side].set_visible(False)
    axes.spines["bottom"].set(color=MUTED, linewidth=0.5 * look.line_pt)
    axes.tick_params(
        labelsize=look.small_pt,
        labelcolor=INK,
        labelfontfamily=SANS,
        color=MUTED,
        length=0.35 * look.text_pt,
        pad=0.35 * look.text_pt,
        width=0.5 * look.line_pt,
    )
    axes.tick_params(axis="y", length=0)
    if not look.onto:
        axes.yaxis.set_label_coords(0.0, 0.5)  # no label: none need be placed beside its ticks
    axes.set_axisbelow(True)
    if grid is not None:
        axes.grid(axis=grid, color=HAIRLINE, linewidth=0.5 * look.line_pt)  # type: ignore[arg-type]


def label_axes(axes: Axes, look: Style, x: str | None = None, y: str | None = None) -> None:
    """Name the axes, with their units; y stands above its axis, to be read without turning."""
    if x is not None:
        axes.set_xlabel(x, fontsize=look.small_pt, fontfamily=SANS, color=MUTED)
    if y is not None:
        subtitle(axes, look, y)


APART = {"x": 5.0, "y": 2.0}
"""Numbers along an axis stand so many times the text's size apart."""
MOST_NUMBERS = 8


def round_numbers(axis: XAxis | YAxis, look: Style, room_in: float, *, whole: bool = False) -> None:
    """Round numbers along an axis, as many as stand apart in so much room; `whole` ones where half
    of one means nothing."""
    most = min(MOST_NUMBERS, max(1, int(room_in / look.em_in / APART[axis.axis_name])))
    axis.set_major_locator(MaxNLocator(nbins=most, steps=[1, 2, 2.5, 5, 10], integer=whole))


def subtitle(axes: Axes, look: Style, text: str, pad_pt: float | None = None) -> None:
    """A line above the axes, flush left: what is drawn, and in which unit."""
    axes.set_title(
        text,
        loc="left",
        y=1.0,  # else matplotlib looks for its place among the ticks, every time
        pad=0.6 * look.small_pt if pad_pt is None else pad_pt,
        fontsize=look.small_pt,
        fontfamily=SANS,
        color=MUTED,
        parse_math=False,
    )


def write(
    axes: Axes,
    point: tuple[float, float],
    text: str,
    size_pt: float,
    colour: str = INK,
    *,
    ha: Literal["left", "center", "right"] = "left",
    va: Literal["bottom", "center", "top"] = "center",
    italic: bool = False,
    right_pt: float = 0.0,
    above_pt: float = 0.0,
    over: Literal["data", "x", "y", "axes"] | Transform = "data",
    fixed: bool = False,
) -> Annotation:
    """A label at a point, or some points (1/72 in) right of and above it.

    `over` says in what the point is given: data; x (or y) in data and the other in parts of the
    axes; parts of the axes; or as a transform does. `fixed` labels lie inside the axes: no room is
    made for them.
    """
    places = {
        "data": axes.transData,
        "x": axes.get_xaxis_transform(),
        "y": axes.get_yaxis_transform(),
        "axes": axes.transAxes,
    }
    label = axes.annotate(
        text,
        point,
        (right_pt, above_pt),
        xycoords=over if isinstance(over, Transform) else places[over],
        textcoords="offset points",
        ha=ha,
        va=va,
        fontsize=size_pt,
        fontfamily=SANS,
        fontstyle="italic" if italic else "normal",
        color=colour,
        zorder=5,
        parse_math=False,
    )
    label.set_in_layout(not fixed)
    return label


def say_nothing_to_draw(
    axes: Axes, look: Style, sentence: str, width_in: float | None = None
) -> None:
    """A sentence in place of a drawing."""
    axes.set_axis_off()
    axes.set_label(sentence)
    text = wrapped(sentence, look.text_pt, 0.85 * (width_in or look.width_in))
    write(axes, (0.0, 0.5), text, look.text_pt, over="axes")


def day_number(moment: datetime) -> float:
    """A moment on the date axis: the day's ordinal and the part of the day by its own clock."""
    return moment.toordinal() + (moment.hour + moment.minute / 60 + moment.second / 3600) / 24


def day_number_after(clock: CohortClock, days: float) -> float:
    """So many days after a cohort's zero on the date axis, as its clock showed it then."""
    zero, then = clock.instant(0.0), clock.instant(days)
    changed = then.replace(tzinfo=None) - zero.replace(tzinfo=None) - (then - zero)
    return day_number(zero) + days + changed / timedelta(days=1)


STEPS = (1, 2, 7, 14, 28, 56, 112, 224, 448)
"""So many days may lie from one date that is named to the next."""


def date_axis(axes: Axes, look: Style, first: float, last: float, width_in: float) -> None:
    """Dates along the bottom, from and to a day number: every day a tick, as many labels as fit."""
    days = range(int(first), int(last) + 2)
    fitting = max(1, int(width_in / PT / (look.small_pt * 4.6)))
    step = next((step for step in STEPS if len(days) <= step * fitting), STEPS[-1])
    labelled = [day for day in days if step < 7 or date.fromordinal(day).weekday() == 0]
    labelled = labelled[:: step // 7 if step >= 7 else step]
    axes.xaxis.set_major_locator(FixedLocator(labelled))
    axes.set_xticklabels([short_date(date.fromordinal(day)) for day in labelled])
    axes.set_xlim(first, last)
    if step < 28:
        _mark_days(axes, look, [day for day in days if first <= day <= last])
    years = sorted({date.fromordinal(days[0]).year, date.fromordinal(days[-1]).year})
    shown = "–".join(map(str, years))
    label_axes(axes, look, x=f"Date (Mondays, {shown})" if step >= 7 else f"Date ({shown})")


def _mark_days(axes: Axes, look: Style, days: Sequence[int]) -> None:
    """A small tick for every day: one line, where matplotlib's would be five things each."""
    ticks = Line2D(
        days,
        [0.0] * len(days),
        linestyle="none",
        marker=3,  # a stroke downwards
        markersize=0.2 * look.text_pt,
        markeredgewidth=0.5 * look.line_pt,
        color=HAIRLINE,
        transform=axes.get_xaxis_transform(),
        clip_on=False,
        zorder=0.4,  # beneath the ticks that bear labels
    )
    ticks.set_in_layout(False)
    axes.add_artist(ticks)
