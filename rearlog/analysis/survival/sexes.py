"""Of which sex each individual is."""

from __future__ import annotations

from rearlog.analysis.survival.survival import Sex
from rearlog.records.columns import columns_of
from rearlog.records.log import CohortLog


def sexes_of(log: CohortLog) -> list[Sex]:
    """The sex of every individual, in their order, by all looks at it that stand."""
    looks = columns_of(log)
    said: dict[str, set[str]] = {}
    for individual, sex in zip(looks["individual"], looks["sex"], strict=True):
        if sex is not None:
            said.setdefault(individual, set()).add(sex)
    found = (said.get(each.code, set()) for each in log.individuals)
    return [Sex(*each) if len(each) == 1 else Sex.NOT_KNOWN for each in found]
