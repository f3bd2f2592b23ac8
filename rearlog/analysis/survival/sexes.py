"""Of which sex each individual is."""

from __future__ import annotations

from rearlog.analysis.survival.survival import Sex
from rearlog.records.log import CohortLog
from rearlog.records.sexes import sex_levels


def sexes_of(log: CohortLog) -> list[Sex]:
    """The sex of every individual, in their order, as noted and as its own eggs tell."""
    return [Sex.NOT_KNOWN if each is None else Sex(each) for each in sex_levels(log)]
