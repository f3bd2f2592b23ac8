"""Cohorts as open data."""

from __future__ import annotations

from math import isfinite
from pathlib import Path
from typing import TYPE_CHECKING

from msgspec import Struct

from rearlog.notebook.apart import refuse_copy
from rearlog.notebook.cohort import Notebook
from rearlog.store.opening import read_log

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from rearlog.analysis.stages.durations import IndividualDuration
    from rearlog.exchange.bundle import Files
    from rearlog.exchange.darwin_core import Passage
    from rearlog.exchange.publication import Publication
    from rearlog.records.log import CohortLog


class LogsIn(Struct, frozen=True):
    """The logs in some files, each read when it is its turn, and kept by whoever asked for it.

    Raises StoreError for a file that cannot be read, UsageError for copies of one cohort.
    """

    paths: Sequence[Path]

    def __iter__(self) -> Iterator[CohortLog]:
        first: dict[str, Path] = {}
        for path in self.paths:
            log = read_log(path)
            refuse_copy(first.setdefault(log.cohort.id, path), path)
            yield log


def open_data(publication: Publication, *, darwin_core: bool = False) -> Files:
    """The files of a publication: a data package, or a Darwin Core archive."""
    from rearlog.analysis.stages.settled_stages import settled_stages
    from rearlog.exchange.citation import DATACITE, datacite
    from rearlog.exchange.darwin_core import darwin_core as archive
    from rearlog.exchange.data_package import data_package

    files = (
        archive(publication, _passages, settled_stages)
        if darwin_core
        else data_package(publication, _durations, settled_stages)
    )
    return files | {DATACITE: datacite(publication)}


def _notebook(log: CohortLog) -> Notebook:
    return Notebook(log.cohort.name).with_log(log)


def _durations(log: CohortLog) -> Sequence[IndividualDuration]:
    return _notebook(log).durations().individuals


def _passages(log: CohortLog) -> Iterator[Passage]:
    """Who passed into which stage, and between which moments; where its beginning is known."""
    from rearlog.exchange.darwin_core import Passage

    history, clock = _notebook(log).event_history, log.cohort.clock
    for code, low, high in zip(history.codes, history.into_low, history.into_high, strict=True):
        for stage, after, by in zip(history.stages, low.tolist(), high.tolist(), strict=True):
            if isfinite(after) and isfinite(by):
                yield Passage(code, stage, clock.instant(after), clock.instant(by))
