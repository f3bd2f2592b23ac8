"""Cohorts as open data."""

from __future__ import annotations

from math import isfinite
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from rearlog.analysis.stages.durations import IndividualDuration
    from rearlog.exchange.bundle import Files
    from rearlog.exchange.darwin_core import Passage
    from rearlog.exchange.publication import Publication
    from rearlog.notebook.cohort import Notebook
    from rearlog.records.log import CohortLog


def open_data(
    notebooks: Sequence[Notebook], publication: Publication, *, darwin_core: bool = False
) -> Files:
    """The files of a publication of these cohorts: a data package, or a Darwin Core archive."""
    from rearlog.analysis.stages.settled_stages import settled_stages
    from rearlog.exchange.citation import DATACITE, datacite
    from rearlog.exchange.darwin_core import darwin_core as archive
    from rearlog.exchange.data_package import data_package

    published = zip(notebooks, publication.logs, strict=True)
    if darwin_core:
        passages = {log.cohort.name: list(_passages(each.with_log(log))) for each, log in published}
        files = archive(publication, passages, settled_stages)
    else:
        durations = {log.cohort.name: _durations(each, log) for each, log in published}
        files = data_package(publication, durations, settled_stages)
    return files | {DATACITE: datacite(publication)}


def _durations(notebook: Notebook, log: CohortLog) -> Iterator[IndividualDuration]:
    """Worked out when it is their turn, so that memory holds those of one cohort."""
    yield from notebook.with_log(log).durations().individuals


def _passages(notebook: Notebook) -> Iterator[Passage]:
    """Who passed into which stage, and between which moments; where its beginning is known."""
    from rearlog.exchange.darwin_core import Passage

    history, clock = notebook.event_history, notebook.log.cohort.clock
    for code, low, high in zip(history.codes, history.into_low, history.into_high, strict=True):
        for stage, after, by in zip(history.stages, low.tolist(), high.tolist(), strict=True):
            if isfinite(after) and isfinite(by):
                yield Passage(code, stage, clock.instant(after), clock.instant(by))
