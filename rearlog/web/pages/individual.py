"""One individual: its life, its measures, every record, and what the keeper puts right."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from datetime import datetime, timedelta

from flask import abort, render_template, request, url_for
from flask.typing import ResponseReturnValue
from markupsafe import Markup
from msgspec import Struct

from rearlog.analysis.stages.durations import IndividualDuration
from rearlog.analysis.stages.progress import StageSpan
from rearlog.analysis.stages.stage_times import StageOutcome
from rearlog.charts.palette import stage_colours, text_on
from rearlog.notebook import Notebook
from rearlog.present.history import correction_lines, effect_tables, struck_lines, struck_words
from rearlog.present.tables import Table, between, tenth
from rearlog.records import times
from rearlog.records.cages import kept_at
from rearlog.records.clock import CohortClock
from rearlog.records.errors import RearlogError, UsageError
from rearlog.records.fields import NUMBERS, Kind
from rearlog.records.log import CohortLog, Observation
from rearlog.records.striking import struck_out, taken_back
from rearlog.records.wording import day_stamp, days_between, line_of, record_name, stamp
from rearlog.sentences.in_doubt import contradiction
from rearlog.store.cohort_file import CohortFile
from rearlog.store.correcting import Correction
from rearlog.store.correcting import correct as corrected
from rearlog.web.desk import Desk
from rearlog.web.forms import Filled, done, mark, numbers, present, said, struck, typed
from rearlog.web.life_line import life_line
from rearlog.web.pages.photos import photos_of
from rearlog.web.troubles import told_of

LOOK = "preview"
"""What a form says that only asks what it would change."""


class Preview(Struct, frozen=True):
    """What would change: lines on the records, and the figures before and after."""

    of: str
    lines: Sequence[str]
    effect: Sequence[Table]


class Row(Struct, frozen=True):
    """One record as it is shown."""

    number: int | None
    name: str
    seen: str
    entry: str
    by: str
    entered: str
    struck: str


def individual(desk: Desk, name: str, code: str) -> ResponseReturnValue:
    """All that is known of it."""
    return _page(desk, name, code, Filled())


def strike(desk: Desk, name: str, code: str) -> ResponseReturnValue:
    """Records are struck out or count again; or it is asked what that would change."""
    told, chosen = typed(), request.form.getlist("record")
    _known(desk, name, code)
    asks, back = told["do"].endswith(LOOK), told["do"].startswith("back")
    try:
        wanted = numbers("record")
        _refuse_others(desk.shelf.notebook(name).log, code, wanted)
        if asks:
            preview = _effect_of_striking(desk, name, wanted, told, back=back)
            return _page(desk, name, code, Filled(told, chosen, (), preview))
        lines = struck(desk, name, told, wanted, back=back)
    except RearlogError as error:
        return _page(desk, name, code, Filled(told, chosen, told_of(error))), 400
    return done(desk, _address(name, code), lines)


def correct(desk: Desk, name: str, code: str) -> ResponseReturnValue:
    """Its stage on some days is said anew; or it is asked what that would change."""
    told = typed()
    _known(desk, name, code)
    try:
        if told["do"].endswith(LOOK):
            preview = _effect_of_correcting(desk, name, code, told)
            return _page(desk, name, code, Filled(told, (), (), preview))
        with desk.shelf.writing(name) as file:
            found = _corrected(desk, file, code, told)
    except RearlogError as error:
        return _page(desk, name, code, Filled(told, (), told_of(error))), 400
    lines = correction_lines(found.old, found.new)
    return done(desk, _address(name, code), [f"Corrected: {each}" for each in lines])


def _corrected(
    desk: Desk, file: CohortFile, code: str, told: Mapping[str, str], *, dry_run: bool = False
) -> Correction:
    now = present(desk, file.outline(()).cohort.zone)
    made = mark(told, now, asked=not dry_run)
    if not told["first"]:
        raise UsageError("say from which day")
    first = times.read_date(told["first"], now.date())
    last = times.read_date(told["last"], now.date()) if told["last"] else first
    return corrected(file, code, told["stage"], (first, last), made, now, dry_run=dry_run)


def _effect_of_correcting(desk: Desk, name: str, code: str, told: Mapping[str, str]) -> Preview:
    file = CohortFile(desk.shelf.path(name))
    found = _corrected(desk, file, code, told, dry_run=True)
    notebook = desk.shelf.notebook(name)
    old = [each.number for each in found.old if each.number is not None]
    made = mark(told, present(desk, notebook.log.cohort.zone), asked=False)
    after = struck_out(notebook.log, old, [], made).with_checks(found.new)
    lines = correction_lines(found.old, found.new)
    return Preview("correct", lines, effect_tables(notebook.effect_of(after)))


def _effect_of_striking(
    desk: Desk, name: str, wanted: Sequence[int], told: Mapping[str, str], *, back: bool
) -> Preview:
    notebook = desk.shelf.notebook(name)
    made = mark(told, present(desk, notebook.log.cohort.zone), asked=False)
    after = (taken_back if back else struck_out)(notebook.log, wanted, [], made)
    lines = struck_lines(
        [each for each in notebook.log.all_observations if each.number in wanted], []
    )
    word = "To count again" if back else "To be struck out"
    marked = [f"{word}: {each}" for each in lines]
    return Preview("strike", marked, effect_tables(notebook.effect_of(after)))


def _refuse_others(log: CohortLog, code: str, wanted: Sequence[int]) -> None:
    """Raise UsageError for records of somebody else."""
    own = {each.number for each in log.all_observations if each.individual == code}
    others = [each for each in wanted if each not in own]
    if others:
        told = ", ".join(map(record_name, others[:9]))
        raise UsageError(f"{told} is no record of {code}", "look at the list again")


def _address(name: str, code: str) -> str:
    return url_for("individual.individual", name=name, code=code)


def _known(desk: Desk, name: str, code: str) -> Notebook:
    notebook = desk.shelf.notebook(name)
    if code not in notebook.log.by_code:
        gone = {each.code for each in notebook.log.withdrawn}
        why = "it was withdrawn" if code in gone else "there is none of that name"
        abort(404, f"This individual is not in {name}: {why}.")
    return notebook


def _page(desk: Desk, name: str, code: str, form: Filled) -> str:
    notebook = _known(desk, name, code)
    log = notebook.log
    profile, clock = log.cohort.species, log.cohort.clock
    now = present(desk, log.cohort.zone)
    history = notebook.history(code)
    known = notebook.states_at(now)[code]
    fill = stage_colours(profile.codes)[known.stage]
    codes = list(log.by_code)
    place = codes.index(code)
    return render_template(
        "individual.html.j2",
        name=name,
        tab="everyone",
        cohort=log.cohort,
        code=code,
        state=known,
        egg=(fill, text_on(fill)),
        individual=log.by_code[code],
        kept=_kept(log, code, now),
        entered=day_stamp(log.by_code[code].entered_at),
        neighbours=(codes[place - 1] if place else None, next(iter(codes[place + 1 :]), None)),
        line=_line(desk, name, code, clock.days(now)),
        stages=_stages(desk, name, code),
        measures=_measures(log.checks[code]),
        shots=photos_of(log, code),
        rows=[_row(each) for each in reversed(history.observations)],
        doubts=[contradiction(each) for each in notebook.in_doubt if each.individual == code],
        form=form,
        told=defaultdict(str, form.told),
        said=said(desk),
        today=now.date(),
        first=clock.day(log.by_code[code].entered_at),
    )


def _kept(log: CohortLog, code: str, now: datetime) -> str | None:
    """With whom or in which cage it is, and since when."""
    found = kept_at(log, now + timedelta(microseconds=1)).get(code)
    return f"{found.words} since {day_stamp(found.since)}" if found else None


def _line(desk: Desk, name: str, code: str, today: float) -> Markup | None:
    """Its life as a drawing; none of one that only comes in later."""
    notebook = desk.shelf.notebook(name)
    progress = desk.shelf.kept("progress", [name], notebook.progress)
    lives = [each for each in progress.individuals if each.individual == code and each.spans]
    if not lives:
        return None
    clock = notebook.log.cohort.clock
    looks = [clock.days(each.at) for each in notebook.log.checks[code]]
    return life_line(lives[0], clock, progress.stages, looks, today)


def _stages(desk: Desk, name: str, code: str) -> Table:
    notebook = desk.shelf.notebook(name)
    progress = desk.shelf.kept("progress", [name], notebook.progress)
    clock = notebook.log.cohort.clock
    spans = {
        each.stage: each
        for life in progress.individuals
        if life.individual == code
        for each in life.spans
    }
    rows = [
        [
            each.stage,
            _came(spans[each.stage], clock) if each.stage in spans else None,
            tenth(each.days),
            _surely(each, spans.get(each.stage)),
            each.outcome,
        ]
        for each in notebook.durations().individuals
        if each.individual == code
    ]
    columns = ["stage", "came into it", "days, about", "surely", "and then"]
    return Table("How long in each stage", columns, rows)


def _came(span: StageSpan, clock: CohortClock) -> str:
    return days_between(clock.day_after(span.begin_low), clock.day_after(span.begin_high))


def _surely(each: IndividualDuration, span: StageSpan | None) -> str | None:
    """Between how many days it was in a stage; so far, where it is in it still."""
    if each.outcome == StageOutcome.IN_STAGE and span is not None:
        least, most = span.end_low - span.begin_high, span.end_high - span.begin_low
        return f"{between((max(least, 0.0), most))} so far"
    return None if each.low is None else between((each.low, each.high))


def _measures(checks: Sequence[Observation]) -> Table | None:
    """What was measured and counted of it, a row a look."""
    measured = [
        each for each in NUMBERS if any(getattr(look, each.name) is not None for look in checks)
    ]
    if not measured:
        return None
    values = [(look.at, [getattr(look, each.name) for each in measured]) for look in checks]
    rows = [[stamp(at), *found] for at, found in values if any(each is not None for each in found)]
    titles = [
        each.title if each.kind is Kind.COUNT else f"{each.title}, {each.unit}" for each in measured
    ]
    return Table("What was measured", ["seen", *titles], rows)


def _row(look: Observation) -> Row:
    return Row(
        look.number,
        record_name(look.number),
        day_stamp(look.at),
        line_of(look).partition(" ")[2],
        look.by or "",
        stamp(look.entered) if look.entered else "",
        struck_words(look.struck),
    )
