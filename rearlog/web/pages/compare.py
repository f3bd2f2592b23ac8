"""Cohorts side by side: whether they differ, and what their temperatures tell of the threshold."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from typing import TYPE_CHECKING, Any, TypeVar

from flask import abort, render_template, request
from flask.typing import ResponseReturnValue
from msgspec import Struct

from rearlog.analysis.comparing.stage_comparison import DAYS, DEGREE_DAYS
from rearlog.analysis.heat.methods import CUTOFFS, METHODS
from rearlog.notebook import Notebook, compare, compare_reproduction, grouped, thermal, told_apart
from rearlog.present.between import comparison_tables, thermal_tables
from rearlog.present.contents import one_species
from rearlog.present.csv import to_csv
from rearlog.present.flat import flat_comparison, flat_thermal
from rearlog.present.json import to_json
from rearlog.present.pictures import ChartOnPage, beside
from rearlog.present.reproduction import compared_tables, flat_reproduction
from rearlog.present.tables import Table
from rearlog.records.errors import RearlogError
from rearlog.records.factors import OF_COHORTS, OF_INDIVIDUALS
from rearlog.sentences import compare as compare_words
from rearlog.sentences import reproduction as reproduction_words
from rearlog.sentences import stage_comparison as stage_words
from rearlog.sentences import survival_difference as survival_words
from rearlog.sentences import thermal as thermal_words
from rearlog.web.answering import (
    FORMS,
    PAPERS,
    PICTURES,
    Asked,
    Divided,
    attachment,
    divided,
    doubts_about,
    picture,
    query_of,
    read_options,
)
from rearlog.web.answers import notebook_of
from rearlog.web.desk import Desk
from rearlog.web.troubles import told_of

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from rearlog.analysis.comparing.compare import Comparison
    from rearlog.analysis.comparing.thermal import Thermal
    from rearlog.analysis.reproduction.reproduction import ReproductionComparison
    from rearlog.charts.style import Style

T = TypeVar("T")

FEWEST_FOR_A_LINE = 3
"""Two cohorts give a line whatever they are: from three on it can be judged."""

_GROUPS = ("span", "factor", "heat")


class _Compared(Struct, frozen=True):
    """Cohorts that were chosen, and what was asked of them."""

    desk: Desk
    names: tuple[str, ...]
    asked: Asked

    def kept(self, key: object, make: Callable[[], T]) -> T:
        """What `make` returns, made once until a file changes."""
        return self.desk.shelf.kept(("compare", key, self.asked), self.names, make)

    def notebooks(self) -> list[Notebook]:
        """The cohorts, with degree-days counted as is asked."""
        return told_apart(
            [notebook_of(self.desk.shelf.notebook(name), self.asked) for name in self.names]
        )

    def groups(self) -> Sequence[Notebook]:
        """What is drawn beside each other: the cohorts, or the groups of the factor that is asked
        for, of those whose level is known."""
        by = self.asked.by
        if by is None:
            return self.notebooks()
        return [each for each in grouped(self.notebooks(), by) if each.group.level is not None]

    def comparison(self) -> Comparison:
        """Whether they differ."""
        asked = self.asked
        return self.kept(
            "comparison", lambda: compare(self.notebooks(), asked.first, asked.until, asked.by)
        )

    def thermal(self) -> Thermal:
        """What their temperatures tell."""
        return self.kept("thermal", lambda: thermal(self.notebooks()))

    def has_line(self) -> bool:
        """Whether they may tell of the threshold: enough of them, of one species."""
        enough = self.asked.by is None and len(self.names) >= FEWEST_FOR_A_LINE
        return enough and one_species(self.notebooks())

    def reproduction(self) -> ReproductionComparison:
        """How fast numbers grow in each."""
        return self.kept("reproduction", lambda: compare_reproduction(self.notebooks()))

    def has_eggs(self) -> bool:
        """Whether eggs were counted of individuals of each, from their own egg on."""
        if self.asked.by is not None or len(self.names) < 2:
            return False
        return self.kept("eggs", lambda: all(one.has_life_table for one in self.notebooks()))

    def charts(self) -> list[str]:
        """The charts that show something, without that of the temperatures."""
        if self.comparison().survival.of_last_stage:
            return ["survival"]
        return ["durations", "pace", "survival"]

    def papers(self) -> list[str]:
        """The tables for papers that there are, which are of all stages and of whole cohorts."""
        if (self.asked.first, self.asked.until, self.asked.by) != (None, None, None):
            return []
        units = {row.unit for row in self.comparison().stages}
        found = [
            name for name, unit in (("durations", DAYS), ("heat", DEGREE_DAYS)) if unit in units
        ]
        return [*found, "survival", *(["thermal"] if self.has_line() else [])]

    def charted(self, kind: str) -> Any:
        """What a chart is drawn from."""
        first, until = self.asked.first, self.asked.until
        if kind == "durations":
            return [each.durations(first, until) for each in self.groups()]
        if kind == "survival":
            return [each.survival(first, until) for each in self.groups()]
        if kind == "reproduction":
            return list(self.reproduction().cohorts)
        return self.thermal() if kind == "rate" else self.comparison()

    def drawn(self, kind: str, **look: Style) -> Figure:
        """A chart, as the commands draw it; of another `look` than theirs, if given."""
        from rearlog.present.page import CHARTS  # start-up time: matplotlib

        invented = any(each.log.cohort.invented for each in self.notebooks())
        told = self.asked.by is None  # groups have longer names there
        more = beside(kind, list, lambda: self.comparison() if told else None)
        return CHARTS[kind][0](self.charted(kind), invented=invented, **more, **look)

    def picture(self, kind: str) -> ChartOnPage:
        """A chart for the page, with what stands for it."""
        from rearlog.present.page import CHARTS

        def make() -> ChartOnPage:
            alt = CHARTS[kind][1](self.charted(kind))
            return picture(kind, lambda look: self.drawn(kind, look=look), alt)

        return self.kept(("picture", kind), make)


class _Answer(Struct, frozen=True):
    """One answer about several cohorts, and what it is made of; `key` names the file of its rows.

    `is_told`: whether these cohorts have one. `lead`, `words`, `tables` and `rows` are of what is
    found, `charts` the kinds that show something.
    """

    title: str
    key: str
    is_told: Callable[[_Compared], bool]
    find: Callable[[_Compared], Any]
    lead: Callable[[Any], str]
    words: Callable[[Any], Iterable[str]]
    charts: Callable[[_Compared], list[str]]
    tables: Callable[[Any], list[Table]]
    rows: Callable[[Any], Table]


def _differences(found: Comparison) -> Iterator[str]:
    yield from map(stage_words.words, found.whole)
    yield survival_words.words(found.survival)
    yield from compare_words.notices(found)


def _of_the_line(found: Thermal) -> Iterator[str]:
    if (shown := found.shown()) is not None:
        yield f"{shown.stage}: {' '.join(thermal_words.words(shown))}"
    yield from thermal_words.notices(found)


_ANSWERS = (
    _Answer(
        "Whether they differ",
        "compare",
        lambda compared: True,
        _Compared.comparison,
        compare_words.lead,
        _differences,
        _Compared.charts,
        comparison_tables,
        flat_comparison,
    ),
    _Answer(
        "Temperature and pace",
        "thermal",
        _Compared.has_line,
        _Compared.thermal,
        thermal_words.lead,
        _of_the_line,
        lambda compared: ["rate"] if compared.thermal().shown() else [],
        thermal_tables,
        flat_thermal,
    ),
    _Answer(
        "From egg to egg",
        "reproduction",
        _Compared.has_eggs,
        _Compared.reproduction,
        reproduction_words.lead,
        reproduction_words.words,
        lambda compared: ["reproduction"],
        compared_tables,
        lambda found: flat_reproduction(found.cohorts),
    ),
)


def _told(compared: _Compared) -> list[_Answer]:
    return [each for each in _ANSWERS if each.is_told(compared)]


class _Part(Struct, frozen=True):
    """A heading with its sentence, pictures, and what stands below them; rows are kept under its
    `key`."""

    title: str
    key: str
    lead: str
    doubts: Sequence[str]
    pictures: Sequence[ChartOnPage]
    below: Divided


def _part(compared: _Compared, answer: _Answer) -> _Part:
    found = answer.find(compared)
    lead, words = answer.lead(found), filter(None, answer.words(found))
    pictures = [compared.picture(kind) for kind in answer.charts(compared)]
    below = divided(lead, words, answer.tables(found))
    doubts = doubts_about(found.contradicted)
    return _Part(answer.title, answer.key, lead, doubts, pictures, below)


def side_by_side(desk: Desk) -> ResponseReturnValue:
    """Choosing cohorts, and those that were chosen beside each other."""
    known = desk.shelf.names()
    names = tuple(name for name in known if name in request.args.getlist("cohort"))
    parts: list[_Part] = []
    papers: Sequence[str] = ()
    problems: list[dict[str, str]] = []
    stages: Sequence[str] = ()
    own: Iterable[str] = ()
    try:
        if names:
            first = desk.shelf.notebook(names[0]).log.cohort
            stages, own = first.species.codes, first.factors
            compared = _chosen(desk)
            parts = [_part(compared, each) for each in _told(compared)]
            papers = compared.papers()
    except RearlogError as error:
        problems = told_of(error)
    page = render_template(
        "compare.html.j2",
        names=known,
        called=desk.shelf.called(),
        chosen=names,
        told=request.args,
        stages=stages,
        factors=[*OF_INDIVIDUALS, *OF_COHORTS, *own],
        methods=METHODS,
        cutoffs=CUTOFFS,
        pictures=PICTURES,
        parts=parts,
        papers=papers,
        forms=list(PAPERS),
        problems=problems,
        query=query_of(request.args),
    )
    return page, 400 if problems else 200


def kept_file(desk: Desk, what: str) -> ResponseReturnValue:
    """A chart or the rows of a comparison as a file, such as `pace.png` or `compare.csv`."""
    key, _, form = what.partition(".")
    if form not in FORMS and form not in PAPERS:
        abort(404)
    compared = _chosen(desk)
    kind = PAPERS[form][1] if form in PAPERS else FORMS[form]
    if form in PAPERS:
        if key not in compared.papers():
            abort(404)
        content = compared.kept(("file", what), lambda: _for_a_paper(compared, key, form))
    elif form in PICTURES:
        if not any(key in each.charts(compared) for each in _told(compared)):
            abort(404)
        content = compared.kept(("file", what), lambda: _rendered(compared, key, form))
    else:
        answer = next((each for each in _told(compared) if each.key == key), None)
        if answer is None:
            abort(404)
        found = answer.find(compared)
        rows = f"{to_json(found)}\n" if form == "json" else to_csv(answer.rows(found))
        content = rows.encode()
    return attachment(content, f"{key}-{'-'.join(compared.names)}.{form}"[-120:], kind)


def _for_a_paper(compared: _Compared, key: str, form: str) -> bytes:
    from rearlog.present.journal import journal_table  # start-up time: seldom asked for
    from rearlog.present.journal_forms import WRITERS

    return WRITERS[PAPERS[form][0]](journal_table(key, compared.notebooks())).encode()


def _rendered(compared: _Compared, kind: str, form: str) -> bytes:
    from rearlog.charts.output import render  # start-up time: matplotlib

    return render(compared.drawn(kind), form)


def _chosen(desk: Desk) -> _Compared:
    """The cohorts that a request chooses; raises UsageError for options that cannot be."""
    wanted = request.args.getlist("cohort")
    names = tuple(name for name in desk.shelf.names() if name in wanted)
    asked = read_options(_GROUPS, request.args, None, desk.now(), desk.shelf)
    return _Compared(desk, names, asked)
