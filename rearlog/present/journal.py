"""Results as the rows and columns of a table for a paper. Nothing is computed here but decimals."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

from msgspec import Struct
from msgspec.structs import replace

from rearlog.analysis.comparing.stage_comparison import DAYS, DEGREE_DAYS, WHOLE, Counted
from rearlog.analysis.reproduction.estimates import Measure
from rearlog.analysis.stages.left_open import MeanOf
from rearlog.analysis.stages.stage_heat import StageHeat
from rearlog.notebook import Notebook, compare, compare_reproduction, thermal
from rearlog.present.cells import UNKNOWN
from rearlog.present.reproduction import letters_of
from rearlog.records.errors import UsageError
from rearlog.sentences import journal as words
from rearlog.sentences import thermal as thermal_words
from rearlog.sentences.reproduction import CALLED, DIGITS

if TYPE_CHECKING:
    from rearlog.analysis.comparing.rate_curves import Limits
    from rearlog.analysis.comparing.rate_models import LinearRate
    from rearlog.analysis.comparing.stage_comparison import GroupSummary, StageComparison
    from rearlog.analysis.comparing.thermal import StageThermal
    from rearlog.analysis.growth.growth import Growth, InstarWidth
    from rearlog.analysis.reproduction.estimates import Estimate
    from rearlog.analysis.reproduction.reproduction import Reproduction
    from rearlog.analysis.stages.durations import StageDuration
    from rearlog.analysis.survival.survival import ReachedEnd, StageSurvival


class Printed(Struct, frozen=True):
    """What stands in a cell: a value with its standard error, or with its limits.

    Of a cell that does not show `both`, the limits beside a standard error are for programs. `n` is
    what it rests on. `decimals` are those of a value that is shown with neither. `letters` are
    those of differences, and `notes` stand under the table.
    """

    value: float | None = None
    se: float | None = None
    low: float | None = None
    high: float | None = None
    n: int | None = None
    decimals: int = 1
    letters: str = ""
    both: bool = True
    notes: tuple[str, ...] = ()


NOTHING = Printed()


class PrintedHead(Struct, frozen=True):
    """What a column is of: a cohort with its mean temperature (°C), or a constant."""

    name: str
    celsius: float | None = None


class PrintedRow(Struct, frozen=True):
    """A row of the table; its `notes` belong to all of its cells."""

    name: str
    cells: tuple[Printed, ...]
    notes: tuple[str, ...] = ()


class JournalTable(Struct, frozen=True):
    """A table for a paper: `what` it shows of which species, what its rows and its columns are,
    and the `notes` under it."""

    what: str
    species: tuple[str, ...]
    of_rows: str
    of_columns: str
    heads: tuple[PrintedHead, ...]
    rows: tuple[PrintedRow, ...]
    notes: tuple[str, ...]


def journal_table(what: str, notebooks: Sequence[Notebook]) -> JournalTable:
    """The table of TABLES about some cohorts, a column each; that of `thermal` about all of them.

    Raises UsageError where there is nothing to show, and as the answers do that it is made of.
    """
    return TABLES[what](notebooks)


def _durations(notebooks: Sequence[Notebook]) -> JournalTable:
    return _passages(notebooks, DAYS, _stages_and_whole)


def _stages_and_whole(notebook: Notebook) -> list[StageDuration]:
    codes = notebook.log.cohort.species.codes
    whole = notebook.durations(codes[0], codes[-1]).stages
    return [*notebook.durations().stages, *(replace(each, stage=WHOLE) for each in whole)]


def _heat(notebooks: Sequence[Notebook]) -> JournalTable:
    return _passages(notebooks, DEGREE_DAYS, lambda notebook: notebook.heat().stages)


def _passages(
    notebooks: Sequence[Notebook],
    unit: str,
    stages_of: Callable[[Notebook], Sequence[StageDuration | StageHeat]],
) -> JournalTable:
    """How long each stage took in days or degree-days: several cohorts as they are compared."""
    notes = [words.WHAT_A_MEAN_IS]
    if len(notebooks) == 1:
        rows = [PrintedRow(each.stage, (_alone(each),)) for each in stages_of(notebooks[0])]
    else:
        stages = [each for each in compare(notebooks, in_pairs=True).stages if each.unit == unit]
        rows = [_compared(each) for each in stages]
        notes += words.tests(stages)
    caption = words.days(unit, _lower(notebooks))
    return _filled(caption, notebooks, "stage", rows, notes, words.NOBODY_COMPLETED)


def _lower(notebooks: Sequence[Notebook]) -> float | None:
    """The lower threshold (°C) above which heat was counted; None where not the same in all."""
    curves = [each.heat_curve for each in notebooks]
    lowers = {None if curve is None else curve.settings.lower for curve in curves}
    return lowers.pop() if len(lowers) == 1 else None


def _alone(stage: StageDuration | StageHeat) -> Printed:
    """A stage of one cohort; that some did not complete it is said."""
    if stage.mean is None:
        return NOTHING
    early = stage.mean_of is not MeanOf.EVERYBODY
    return Printed(
        stage.mean, stage.se, n=_n(stage), notes=(words.OF_SOME[stage.mean_of],) if early else ()
    )


def _n(stage: StageDuration | StageHeat) -> int:
    return stage.n if isinstance(stage, StageHeat) else stage.completed


def _compared(row: StageComparison) -> PrintedRow:
    of_all = row.counted is Counted.EVERYBODY
    tested = row.p is not None
    notes = ((words.OF_ALL,) if of_all else ()) + (() if tested else (words.no_test(row),))
    cells = tuple(_of_group(each, tested and each.cohort in row.left_out) for each in row.groups)
    return PrintedRow(row.stage, cells, notes)


def _of_group(group: GroupSummary, left_out: bool) -> Printed:
    if group.mean is None:
        return NOTHING
    notes: tuple[str, ...] = (words.LEFT_OUT,) if left_out else ()
    if group.mean_of_all is not None:
        low, high = group.mean_of_all_low, group.mean_of_all_high
        found = Printed(group.mean_of_all, low=low, high=high, n=group.n)
    else:
        found = Printed(group.mean, group.se, n=group.n)
        if group.mean_of is not MeanOf.EVERYBODY:
            notes += (words.OF_SOME[group.mean_of],)
    return replace(found, letters=group.letters or "", notes=notes)


def _survival(notebooks: Sequence[Notebook]) -> JournalTable:
    results = [each.survival() for each in notebooks]
    tables = [{each.stage: each for each in result.stage_table} for result in results]
    stages = dict.fromkeys(
        each.stage for result in results for each in result.stage_table if each.q_low is not None
    )
    rows = [
        PrintedRow(words.died_in(stage), tuple(_mortality(table.get(stage)) for table in tables))
        for stage in stages
    ]
    ends = dict.fromkeys(result.reached.stage for result in results)
    rows += [
        PrintedRow(
            words.came_to(end),
            tuple(
                _reached(each.reached) if each.reached.stage == end else NOTHING for each in results
            ),
        )
        for end in ends
    ]
    notes = [words.WHAT_A_SHARE_IS]
    if len(notebooks) > 1:
        notes.append(words.survival_test(compare(notebooks).survival))
    return _filled(words.SURVIVAL, notebooks, "stage", rows, notes, words.NOBODY_WATCHED)


def _mortality(stage: StageSurvival | None) -> Printed:
    return NOTHING if stage is None else _share(stage.q, stage.q_low, stage.q_high, stage.entered)


def _reached(end: ReachedEnd) -> Printed:
    n = end.n + end.waiting + end.gone
    return _share(end.fraction if end.settled else None, end.low, end.high, n)


def _share(part: float | None, low: float | None, high: float | None, n: int) -> Printed:
    """A part of 1, in per cent: None where it is not settled yet, and its limits where it has
    none."""
    if low is None or high is None:
        return NOTHING
    value = None if part is None else 100 * part
    notes = (words.NOT_SETTLED,) if part is None else ()
    return Printed(value, low=100 * low, high=100 * high, n=n, notes=notes)


def _growth(notebooks: Sequence[Notebook]) -> JournalTable:
    results = [each.growth() for each in notebooks]
    tables = [{each.stage: each for each in result.instars} for result in results]
    known = dict.fromkeys(
        code
        for each in notebooks
        for code in each.log.cohort.species.codes
        if any(code in table for table in tables)
    )
    rows = [PrintedRow(code, tuple(_width(table.get(code)) for table in tables)) for code in known]
    if any(each.dyar for each in results):
        rows.append(PrintedRow(words.DYARS_RATIO, tuple(map(_ratio, results))))
    notes = [words.WHAT_A_WIDTH_IS, *([words.NO_TEST] if len(notebooks) > 1 else [])]
    return _filled(words.HEAD_WIDTHS, notebooks, "instar", rows, notes, words.NO_HEADS)


def _width(found: InstarWidth | None) -> Printed:
    if found is None:
        return NOTHING
    return Printed(found.head_width_mm_mean, found.se, n=found.n, decimals=2)


def _ratio(found: Growth) -> Printed:
    if found.dyar is None:
        return NOTHING
    return Printed(
        found.dyar.ratio, found.dyar.se, n=found.dyar.followed or found.dyar.n, decimals=2
    )


def _reproduction(notebooks: Sequence[Notebook]) -> JournalTable:
    results: tuple[Reproduction, ...]
    if len(notebooks) == 1:
        results, tests = (notebooks[0].reproduction(),), []
        letters = {each: [""] for each in Measure}
    else:
        compared = compare_reproduction(notebooks)
        results, tests = compared.cohorts, [words.pairs(compared)]
        letters = {each: letters_of(compared, each) for each in Measure}
    rows = [
        PrintedRow(CALLED[measure], tuple(map(_measured, found, letters[measure])))
        for measure in Measure
        for found in [[each.of(measure) for each in results]]
        if any(each.estimate is not None for each in found)
    ]
    notes = [words.what_a_measure_is(results), *tests]
    return _filled(words.LIFE_TABLE, notebooks, "measure", rows, notes, words.NOBODY_WATCHED)


def _measured(found: Estimate, given: str) -> Printed:
    if found.estimate is None:
        return NOTHING
    notes = []
    if found.se is None and found.low is None:
        notes.append(words.TOO_FEW_TO_DRAW)
    elif found.high is None:
        notes.append(words.NO_UPPER)
    return Printed(
        found.estimate,
        found.se,
        found.low,
        found.high,
        found.n,
        decimals=DIGITS.get(found.measure, 2),
        letters=given,
        both=False,
        notes=tuple(notes),
    )


def _thermal(notebooks: Sequence[Notebook]) -> JournalTable:
    result = thermal(notebooks)
    lines = [(each, each.linear) for each in result.stages if each.linear is not None]
    curved = any(each.best_curve is not None for each, _ in lines)
    heads = (*words.OF_LINES, *(words.OF_CURVES if curved else ()))
    rows = tuple(_constants(each, line, curved) for each, line in lines)
    if not rows:
        raise UsageError(words.NO_LINE)
    notes = (words.WHAT_A_CONSTANT_IS, words.DIGITS, *_invented(notebooks))
    return JournalTable(
        words.CONSTANTS,
        (result.species,),
        "stage",
        "constant",
        tuple(map(PrintedHead, heads)),
        rows,
        notes,
    )


def _constants(stage: StageThermal, line: LinearRate, curved: bool) -> PrintedRow:
    notes: tuple[str, ...] = () if thermal_words.is_credible(stage) else (words.NOT_USED,)
    if line.threshold_se is None:
        notes = (*notes, words.TWO_TEMPERATURES)
    cells = [
        Printed(line.threshold, line.threshold_se, line.threshold_low, line.threshold_high),
        Printed(line.constant, line.constant_se, line.constant_low, line.constant_high),
        Printed(line.r2, decimals=3),
        Printed(float(line.n), decimals=0),
    ]
    best = stage.best_curve
    if best is not None:
        cells += [
            _with_limits(best.optimum, best.optimum_limits),
            _with_limits(best.upper, best.upper_limits),
        ]
        notes = (*notes, words.of_law(best.law))
    elif curved:
        cells += [NOTHING] * 2
    return PrintedRow(stage.stage, tuple(cells), notes)


def _with_limits(value: float | None, limits: Limits | None) -> Printed:
    if limits is None:
        return Printed(value)
    return Printed(value, low=limits.low, high=limits.high)


def _filled(
    what: str,
    notebooks: Sequence[Notebook],
    of_rows: str,
    rows: Sequence[PrintedRow],
    notes: Sequence[str],
    nothing: str,
) -> JournalTable:
    """A table with a column a cohort; raises UsageError where all cells are empty."""
    if all(cell == NOTHING for row in rows for cell in row.cells):
        raise UsageError(nothing)
    return JournalTable(
        what,
        tuple(dict.fromkeys(each.log.cohort.species.scientific_name for each in notebooks)),
        of_rows,
        "cohort",
        tuple(PrintedHead(each.name, each.celsius) for each in notebooks),
        tuple(rows),
        (*notes, words.DIGITS, *_invented(notebooks)),
    )


def _invented(notebooks: Sequence[Notebook]) -> tuple[str, ...]:
    names = [each.name for each in notebooks if each.log.cohort.invented]
    return (words.invented(names),) if names else ()


TABLES: dict[str, Callable[[Sequence[Notebook]], JournalTable]] = {
    "durations": _durations,
    "heat": _heat,
    "survival": _survival,
    "growth": _growth,
    "reproduction": _reproduction,
    "thermal": _thermal,
}
"""What tables there are, by the names of the answers that they are made of."""


def decimals(estimate: Printed) -> int:
    """So many decimals as show two digits of the standard error, or of a quarter of the width of
    the limits, which is about one; those of the estimate where it has neither."""
    error = estimate.se
    if error is None and estimate.low is not None and estimate.high is not None:
        error = (estimate.high - estimate.low) / 4
    if not error:
        return estimate.decimals
    exponent = int(f"{error:.1e}".partition("e")[2])  # of the error as it is rounded
    return max(0, 1 - exponent)


def shown(estimate: Printed) -> str:
    """The numbers of a cell: 5.88 ± 0.19 (23), or 3.35 [2.41 to 4.66] (21)."""
    places = decimals(estimate)
    parts = []
    if estimate.value is not None:
        parts.append(_number(estimate.value, places))
        if estimate.se is not None:
            parts.append(f"± {_number(estimate.se, places)}")
    limits = estimate.both or estimate.se is None
    if limits and estimate.low is not None and estimate.high is not None:
        parts.append(f"[{_number(estimate.low, places)} to {_number(estimate.high, places)}]")
    if not parts:
        return UNKNOWN
    return " ".join([*parts, *([] if estimate.n is None else [f"({estimate.n})"])])


def _number(value: float, places: int) -> str:
    """A rounded number with a minus sign as print has it, none before zero."""
    text = f"{value:.{places}f}"
    return text.lstrip("-") if not float(text) else text.replace("-", "−")


def head(column: PrintedHead) -> str:
    """The text above a column: cool (18.0 °C)."""
    return column.name if column.celsius is None else f"{column.name} ({column.celsius:.1f} °C)"
