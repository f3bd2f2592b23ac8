"""What `import rearlog` offers: to open a cohort, and what is asked about several or told to one.

Each cohort is given opened, or by the path of its file.
"""

from __future__ import annotations

import os
from collections.abc import Collection, Iterable, Sequence
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any, overload

from rearlog.interface.charts import draw_chart
from rearlog.interface.cohorts import A, OpenCohort
from rearlog.notebook.cohort import Notebook
from rearlog.notebook.heat_options import HeatOptions
from rearlog.records.entries import shortened
from rearlog.records.errors import UsageError
from rearlog.store.opening import refuse_absent

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from rearlog.analysis.comparing.compare import Comparison
    from rearlog.analysis.comparing.thermal import Thermal
    from rearlog.analysis.pooling.season import Season
    from rearlog.interface.recording import Told, WrittenDown

Place = str | os.PathLike[str]
"""The path of a file, or of a folder."""

CohortLike = Notebook | Place
"""A cohort that was opened, or the path of its file."""


def open_cohort(path: Place, heat: HeatOptions | None = None) -> OpenCohort:
    """Open a cohort file for its answers; its records are read when the first answer is asked for.

    `heat` says how degree-days are counted, where that differs from the species profile. Raises
    StoreError where there is no such file; reading raises it where the file is not sound. Nothing
    but `record` writes to it.
    """
    _refuse_no_path(path, "cohort")
    refuse_absent(Path(path))
    return OpenCohort(path, heat)


def opened(cohort: CohortLike) -> Notebook:
    """A cohort that is open already, or is opened by its path; raises UsageError for neither."""
    if isinstance(cohort, Notebook):
        return cohort
    _refuse_no_path(cohort, "cohort")
    return OpenCohort(cohort)


def _refuse_no_path(given: object, wanted: str) -> None:
    if not isinstance(given, str | os.PathLike):
        told = shortened(repr(given))
        raise UsageError(f"{told} is no {wanted}", "give its path, or a list of paths")


def _several(given: object) -> list[Any]:
    """What was given, in a list of its own if it is one thing: a path is not its letters."""
    if isinstance(given, str | bytes) or not isinstance(given, Iterable):
        return [given]
    return [*given]


def compare(
    cohorts: CohortLike | Iterable[CohortLike],
    first: str | None = None,
    until: str | None = None,
    by: str | None = None,
    *,
    in_pairs: bool | None = None,
) -> Comparison:
    """Whether cohorts differ: how long stages took, the heat they needed, how many lived.

    From entering the stage `first` to entering `until`, where only a part is asked for; with `by`
    the groups of a factor (`sex`, `food` …) are compared instead. Raises UsageError where there are
    no two of them, or they do not compare. Of more than ten cohorts the pairs are compared only
    with `in_pairs`.
    """
    from rearlog.notebook.comparing import compare

    return compare(
        [opened(each) for each in _several(cohorts)], first, until, by, in_pairs=in_pairs
    )


def thermal(
    cohorts: CohortLike | Iterable[CohortLike], leave_out: str | Collection[str] = ()
) -> Thermal:
    """Threshold and thermal constant of each stage, from cohorts at different temperatures.

    Cohorts to `leave_out` of the fits are given by name. Raises UsageError for fewer than two.
    """
    from rearlog.notebook.by_temperature import thermal

    return thermal([opened(each) for each in _several(cohorts)], _several(leave_out))


def season(
    places: Place | Iterable[Place],
    *,
    jobs: int | None = None,
    cache: Place | None = None,
) -> Season:
    """What any number of cohorts say together: how long stages took, how many lived, what stands
    out, what is to come.

    `places` are cohort files, exported packages, and folders with all that is in and below them;
    `jobs` processes read them (one a processor, unless said). With `cache`, a file of that name
    keeps what was worked out, and next time only what has changed is read. Files that cannot be
    read are in `passed_over`. Raises UsageError where nothing is found.
    """
    from rearlog.gathering.season import season

    asked = _several(places)
    for each in asked:
        _refuse_no_path(each, "file or folder")
    return season(asked, jobs=jobs, cache=None if cache is None else Path(cache))


@overload
def chart(
    kind: str,
    cohorts: CohortLike | Iterable[CohortLike],
    ax: None = None,
    *,
    size: str = "page",
    stage: str | None = None,
    first: str | None = None,
    by: str | None = None,
) -> Figure: ...
@overload
def chart(
    kind: str,
    cohorts: CohortLike | Iterable[CohortLike],
    ax: A,
    *,
    stage: str | None = None,
    first: str | None = None,
    by: str | None = None,
) -> A: ...
def chart(
    kind: str,
    cohorts: CohortLike | Iterable[CohortLike],
    ax: Axes | Sequence[Axes] | None = None,
    *,
    size: str = "page",
    stage: str | None = None,
    first: str | None = None,
    by: str | None = None,
) -> Figure | Axes | Sequence[Axes]:
    """Draw one of the charts of `rearlog chart`, and return what it was drawn into.

    Without `ax` that is a figure of its own, with its finding as the title and notes below it, of
    one of the sizes that the command has. With `ax` it is drawn into these axes, in matplotlib's
    size of letters, with a legend and without title and notes. A chart of several panels takes a
    list of axes: progress and stages one a cohort, heat one or two (running total; single days),
    survival one or two (curves; number at risk), reproduction two (alive; eggs), growth one for
    each of what was measured, pace one or two (days; degree-days), agreement one for each two
    observers. Raises UsageError for another kind or number of axes.
    """
    notebooks = [opened(each) for each in _several(cohorts)]
    return draw_chart(kind, notebooks, ax, size, stage, first, by)


def record(
    cohort: CohortLike,
    told: Told,
    *,
    at: datetime | str | None = None,
    by: str | None = None,
    dry_run: bool = False,
    strict: bool = False,
) -> WrittenDown:
    """Write a round of looks down in a cohort's file, as `rearlog log` does.

    `told` is a line of its notation, or says what was seen of each:
    `{"A03": {"stage": "L2", "mass_mg": 12.0}, "A04": "dead(mould)"}`. `at` is when it was seen:
    a datetime, which without a zone is of the cohort's, or a text such as "yesterday" (now, unless
    given); `by` are initials (those of `$REARLOG_BY` or of the settings, unless given). Doubts
    refuse the round where it is `strict`; a `dry_run` writes nothing. Raises EntryError or
    RecordError with all that cannot be taken, and StoreError for a file that is not sound: then
    nothing is written.
    """
    from rearlog.interface.recording import record_in

    notebook = opened(cohort)
    return record_in(notebook, told, at, by, dry_run=dry_run, strict=strict)
