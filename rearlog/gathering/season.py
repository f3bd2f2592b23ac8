"""A season of many cohorts: read place by place on all processors, and answered at once."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import closing
from datetime import datetime
from functools import partial
from pathlib import Path

from msgspec.structs import replace

from rearlog.analysis.pooling.cohort_summary import CohortSummary
from rearlog.analysis.pooling.season import PassedOver, Season, once_each
from rearlog.analysis.pooling.season import season as pooled
from rearlog.gathering.kept import KeptSummaries, stamp_of
from rearlog.gathering.places import places_in
from rearlog.gathering.summaries import summary_of, told
from rearlog.notebook.cohort import Notebook
from rearlog.processes import each_of
from rearlog.records import times
from rearlog.records.errors import UsageError
from rearlog.records.labels import labels

FEWEST_SHARED = 16
"""Fewer places than this are read here: other processes take longer to begin."""
AT_ONCE = 8
"""So many places are given to a process at a time."""

Progress = Callable[[int, int], None]
"""Told how many places are done, of how many."""


def season(
    asked: Iterable[str | os.PathLike[str]],
    *,
    jobs: int | None = None,
    cache: Path | None = None,
    now: datetime | None = None,
    progress: Progress | None = None,
) -> Season:
    """The answer about all cohorts in files, exported packages, and folders with all in them.

    `jobs` processes read them (as many as there are processors, unless told); `cache` is a file
    that keeps their summaries, so that next time only what has changed is read. What is to come
    counts from `now`. Places that cannot be read are passed over and told. Memory holds a summary
    of each cohort, and of no more than a few the records. Raises UsageError where nothing is found.
    """
    paths = [Path(each) for each in asked]
    places = places_in(paths)
    if not places:
        names = ", ".join(map(str, paths))
        raise UsageError(f"there are no cohorts in {names}", "name cohort files, or their folder")
    moment = now or times.now("UTC")
    found: list[tuple[str, CohortSummary]] = []
    passed_over: list[PassedOver] = []
    for path, result in _all(places, moment, jobs, cache, progress):
        if isinstance(result, str):
            passed_over.append(PassedOver(str(path), result))
        else:
            found += [(str(path), each) for each in result]
    return _answer(found, passed_over)


def season_of(notebooks: Iterable[Notebook], *, now: datetime | None = None) -> Season:
    """The same of cohorts that are open; what is to come counts from `now`."""
    moment = now or times.now("UTC")
    return _answer([(str(each.path), summary_of(each, moment)) for each in notebooks], [])


def _answer(
    found: Iterable[tuple[str, CohortSummary]], passed_over: Sequence[PassedOver]
) -> Season:
    chosen, copies = once_each(found)
    names_shown = dict(zip((each.id for each in chosen), labels(chosen), strict=True))
    shown = [replace(each, name=names_shown[each.id]) for each in chosen]
    told_of = [replace(each, cohort=names_shown[each.id]) for each in copies]
    return pooled(shown, told_of, passed_over)


def _all(
    places: Sequence[Path],
    now: datetime,
    jobs: int | None,
    cache: Path | None,
    progress: Progress | None,
) -> Iterator[tuple[Path, tuple[CohortSummary, ...] | str]]:
    """What is in each place: first what was kept, then, as it is read, what was not."""
    kept = KeptSummaries(cache) if cache else None
    to_read, done = [], 0
    for path in places:
        known = kept.of(path, now.date()) if kept else None
        if known is None:
            to_read.append(path)
        else:
            done += 1
            yield path, known
    stamps = {path: stamp_of(path) for path in to_read}
    one = partial(told, now=now)
    every = each_of(one, to_read, fewest=FEWEST_SHARED, at_once=AT_ONCE, jobs=jobs)
    with closing(every):  # whoever is stopped here stops the others
        for path, result in zip(to_read, every, strict=True):
            if kept and not isinstance(result, str):
                kept.keep(path, stamps[path], now.date(), result)
            done += 1
            if progress:
                progress(done, len(places))
            yield path, result
    if kept:
        kept.tidy(set(places))
