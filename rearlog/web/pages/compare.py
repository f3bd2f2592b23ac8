"""Cohorts side by side: whether they differ, and what their temperatures tell of the threshold."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from flask import abort, render_template, request
from flask.typing import ResponseReturnValue
from markupsafe import Markup

from rearlog.analysis.comparing.compare import DAYS, DEGREE_DAYS
from rearlog.analysis.heat.methods import CUTOFFS, METHODS
from rearlog.notebook import Notebook, compare, compare_reproduction, grouped, thermal, told_apart
from rearlog.present.between import comparison_tables, thermal_tables
from rearlog.present.contents import one_species
from rearlog.present.csv import to_csv
from rearlog.present.flat import flat_comparison, flat_thermal
from rearlog.present.json import to_json
from rearlog.present.pictures import beside
from rearlog.present.reproduction import compared_tables, flat_reproduction
from rearlog.present.tables import Table
from rearlog.records.errors import RearlogError
from rearlog.records.factors import OF_COHORTS, OF_INDIVIDUALS
from rearlog.sentences import compare as compare_words
from rearlog.sentences import reproduction as reproduction_words
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
    query_of,
    read_options,
    told_here,
)
from rearlog.web.answers import notebook_of
from rearlog.web.desk import Desk

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from rearlog.analysis.reproduction.reproduction import ReproductionComparison

FEWEST_FOR_A_LINE = 3
"""Two cohorts give a line whatever they are: from three on it can be judged."""

_GROUPS = ("span", "factor", "heat")


@dataclass(frozen=True, slots=True)
class _Compared:
    """Cohorts that were chosen, and what was asked of them."""

    desk: Desk
    names: tuple[str, ...]
    asked: Asked

    def kept(self, key: object, make: Callable[[], Any]) -> Any:
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

    def comparison(self) -> Any:
        """Whether they differ."""
        asked = self.asked
        return self.kept(
            "comparison", lambda: compare(self.notebooks(), asked.first, asked.until, asked.by)
        )

    def thermal(self) -> Any:
        """What their temperatures tell."""
        return self.kept("thermal", lambda: thermal(self.notebooks()))

    def has_line(self) -> bool:
        """Whether they may tell of the threshold: enough of them, of one species."""
        enough = self.asked.by is None and len(self.names) >= FEWEST_FOR_A_LINE
        return enough and one_species(self.notebooks())

    def reproduction(self) -> ReproductionComparison:
        """How fast numbers grow in each."""
        found: ReproductionComparison = self.kept(
            "reproduction", lambda: compare_reproduction(self.notebooks())
        )
        return found

    def has_eggs(self) -> bool:
        """Whether eggs were counted of individuals of each, from their own egg on."""
        if self.asked.by is not None or len(self.names) < 2:
            return False
        found: bool = self.kept("eggs", lambda: all(one.has_life_table for one in self.notebooks()))
        return found

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

    def drawn(self, kind: str) -> Figure:
        """A chart, as the commands draw it."""
        from rearlog.present.page import CHARTS  # start-up time: matplotlib

        invented = any(each.log.cohort.invented for each in self.notebooks())
        told = self.asked.by is None  # groups have longer names there
        more = beside(kind, list, lambda: self.comparison() if told else None)
        return CHARTS[kind][0](self.charted(kind), invented=invented, **more)

    def picture(self, kind: str) -> _Picture:
        """A chart for the page, with what stands for it."""
        from rearlog.charts.output import on_page
        from rearlog.present.page import CHARTS

        def make() -> _Picture:
            alt = CHARTS[kind][1](self.charted(kind))
            return _Picture(kind, Markup(on_page(self.drawn(kind), f"{kind}-")), alt)

        made: _Picture = self.kept(("picture", kind), make)
        return made


@dataclass(frozen=True, slots=True)
class _Picture:
    kind: str
    svg: Markup
    alt: str


@dataclass(frozen=True, slots=True)
class _Part:
    """A heading with its sentence, pictures, and what stands below them; rows are kept under its
    `key`."""

    title: str
    key: str
    lead: str
    pictures: Sequence[_Picture]
    below: Divided


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
            parts, papers = _parts(compared), compared.papers()
    except RearlogError as error:
        problems = told_here(error)
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
        charts = [*compared.charts(), *(["rate"] if compared.has_line() else [])]
        charts += ["reproduction"] if compared.has_eggs() else []
        if key not in charts:
            abort(404)
        content = compared.kept(("file", what), lambda: _rendered(compared, key, form))
    elif key == "compare":
        content = _written(compared.comparison(), flat_comparison, form)
    elif key == "thermal":
        content = _written(compared.thermal(), flat_thermal, form)
    elif key == "reproduction" and compared.has_eggs():
        found = compared.reproduction()
        content = _written(found, lambda each: flat_reproduction(each.cohorts), form)
    else:
        abort(404)
    return attachment(content, f"{key}-{'-'.join(compared.names)}.{form}"[-120:], kind)


def _for_a_paper(compared: _Compared, key: str, form: str) -> bytes:
    from rearlog.present.journal import journal_table  # start-up time: seldom asked for
    from rearlog.present.journal_forms import WRITERS

    return WRITERS[PAPERS[form][0]](journal_table(key, compared.notebooks())).encode()


def _rendered(compared: _Compared, kind: str, form: str) -> bytes:
    from rearlog.charts.output import render  # start-up time: matplotlib

    return render(compared.drawn(kind), form)


def _written(result: Any, rows: Callable[[Any], Table], form: str) -> bytes:
    return (f"{to_json(result)}\n" if form == "json" else to_csv(rows(result))).encode()


def _chosen(desk: Desk) -> _Compared:
    """The cohorts that a request chooses; raises UsageError for options that cannot be."""
    wanted = request.args.getlist("cohort")
    names = tuple(name for name in desk.shelf.names() if name in wanted)
    asked = read_options(_GROUPS, request.args, None, desk.now(), desk.shelf)
    return _Compared(desk, names, asked)


def _parts(compared: _Compared) -> list[_Part]:
    comparison = compared.comparison()
    words = [
        *map(compare_words.words, comparison.whole),
        survival_words.words(comparison.survival),
        *compare_words.notices(comparison),
    ]
    parts = [
        _part(
            "Whether they differ",
            "compare",
            compare_words.lead(comparison),
            words,
            [compared.picture(kind) for kind in compared.charts()],
            comparison_tables(comparison),
        )
    ]
    if compared.has_line():
        found = compared.thermal()
        shown = found.shown()
        told = [f"{shown.stage}: {' '.join(thermal_words.words(shown))}"] if shown else []
        parts.append(
            _part(
                "Temperature and pace",
                "thermal",
                thermal_words.lead(found),
                [*told, *thermal_words.notices(found)],
                [compared.picture("rate")] if shown else [],
                thermal_tables(found),
            )
        )
    if compared.has_eggs():
        life_tables = compared.reproduction()
        parts.append(
            _part(
                "From egg to egg",
                "reproduction",
                reproduction_words.lead(life_tables),
                reproduction_words.words(life_tables),
                [compared.picture("reproduction")],
                compared_tables(life_tables),
            )
        )
    return parts


def _part(
    title: str,
    key: str,
    lead: str,
    words: Sequence[str],
    pictures: Sequence[_Picture],
    tables: Sequence[Table],
) -> _Part:
    return _Part(title, key, lead, pictures, divided(lead, filter(None, words), tables))
