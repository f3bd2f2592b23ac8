"""Cohorts as open data."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

    from rearlog.exchange.bundle import Files
    from rearlog.exchange.publication import Publication
    from rearlog.notebook.cohort import Notebook


def open_data(
    notebooks: Sequence[Notebook], publication: Publication, *, darwin_core: bool = False
) -> Files:
    """The files of a publication of these cohorts: a data package, or a Darwin Core archive."""
    from rearlog.analysis.stages.settled_stages import settled_stages
    from rearlog.exchange.darwin_core import darwin_core as archive
    from rearlog.exchange.data_package import data_package

    if darwin_core:
        return archive(publication, settled_stages)
    durations = {
        log.cohort.name: each.with_log(log).durations().individuals
        for each, log in zip(notebooks, publication.logs, strict=True)
    }
    return data_package(publication, durations, settled_stages)
