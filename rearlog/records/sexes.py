"""Of which sex each individual is, by what was noted of it and by the eggs that it laid."""

from __future__ import annotations

from rearlog.records.cages import Keeping, kept
from rearlog.records.columns import columns_of
from rearlog.records.log import CohortLog


def sex_levels(log: CohortLog) -> list[str | None]:
    """The sex of every individual, f or m, in their order, by all looks at it that stand; None
    where nobody can tell.

    It is the sex that was noted, if that is one only. Of whom none was noted, eggs of its own make
    a female; those of a cage do not, since they may be of any in it. Who was noted as male stays
    male, and as both stays unknown, whatever eggs are told of it.
    """
    looks = columns_of(log)
    said: dict[str, set[str]] = {}
    for individual, sex in zip(looks["individual"], looks["sex"], strict=True):
        if sex is not None:
            said.setdefault(individual, set()).add(sex)
    for code in _mothers(log):
        said.setdefault(code, {"f"})
    found = (said.get(each.code, set()) for each in log.individuals)
    return [next(iter(each)) if len(each) == 1 else None for each in found]


def _mothers(log: CohortLog) -> set[str]:
    """The individuals of which eggs were told while they were in no cage."""
    looks = columns_of(log)
    rows = zip(looks["individual"], looks["eggs"], strict=True)
    codes = {code for code, eggs in rows if eggs}
    if not codes or set(looks["mate"].distinct) <= {None}:
        return codes
    caged: dict[str, list[Keeping]] = {code: [] for code in codes}
    for each in kept(log):
        if each.cage and each.individual in codes:
            caged[each.individual].append(each)
    return {
        code
        for code, spells in caged.items()
        if any(
            check.eggs and not any(each.told_at(check.at) for each in spells)
            for check in log.checks[code]
        )
    }
