"""Of which sex each individual is."""

from __future__ import annotations

from rearlog.analysis.survival.survival import Sex
from rearlog.records.groups import sex_levels
from rearlog.records.log import CohortLog


def sexes_of(log: CohortLog) -> list[Sex]:
    """The sex of every individual, in their order, by all looks at it that stand."""
    return [Sex.NOT_KNOWN if each is None else Sex(each) for each in sex_levels(log)]
