"""Individuals in groups, by what sets them apart: each group is a log of its own.

A factor of individuals (sex, clutch, container) parts each cohort; a factor of cohorts (food,
temperature, or one that they were given) pools those of one level.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence

from msgspec import Struct
from msgspec.structs import replace

from rearlog.records.cages import ALONE
from rearlog.records.command_text import CommandText
from rearlog.records.errors import UsageError
from rearlog.records.factors import OF_COHORTS, OF_INDIVIDUALS
from rearlog.records.identity import named_id
from rearlog.records.labels import refuse_twice
from rearlog.records.log import Cohort, CohortLog, Individual, Temperature
from rearlog.records.sexes import sex_levels

NOT_KNOWN = "not known"
"""Stands for the level of those of whom it is not known."""

_SEXES = {"f": "females", "m": "males"}


class LogGroup(Struct, frozen=True, eq=False):
    """The individuals of one level of a factor, as a log of their own.

    `short` is what they are called where one cohort alone is spoken of, `log.cohort.name` anywhere.
    `level` is None where nobody knows it. `cohorts` says of each individual, in their order, of
    which cohort it is.
    """

    short: str
    level: str | None
    log: CohortLog
    cohorts: tuple[str, ...]

    @property
    def pooled(self) -> bool:
        """Whether it is of several cohorts."""
        return len(set(self.cohorts)) > 1


def grouped(logs: Sequence[CohortLog], by: str) -> tuple[LogGroup, ...]:
    """The groups of a factor, in the order of their levels; last those whose level is not known.

    By a factor of individuals each cohort has groups of its own. Raises UsageError for a factor
    that is none of these cohorts, where no level is known, for a cohort that is given twice, and
    for cohorts of different stages in one group.
    """
    refuse_twice([log.cohort for log in logs])
    names = [log.cohort.name for log in logs]
    factor = factor_called(by, logs)
    if factor in OF_INDIVIDUALS:
        found = [group for log in logs for group in _parted(log, factor, alone=len(logs) == 1)]
    else:
        found = _pooled(logs, factor)
    if all(each.level is None for each in found):
        raise UsageError(f"no {factor} was noted of anybody in {', '.join(names)}", _noting(factor))
    return (
        *(each for each in found if each.level is not None),
        *(each for each in found if each.level is None),
    )


def pooled_over(logs: Sequence[CohortLog], by: str) -> tuple[str, ...]:
    """What cohorts of one group differ in besides, of food and temperature."""
    factor = factor_called(by, logs)
    if factor in OF_INDIVIDUALS:
        return ()
    found = []
    for other in ("food", "temperature"):
        seen: dict[str | None, set[str | None]] = {}
        for log in logs:
            level = level_of(log.cohort, factor)
            seen.setdefault(level, set()).add(level_of(log.cohort, other))
        if any(len(each) > 1 for level, each in seen.items() if level is not None):
            found.append(other)
    return tuple(found)


def factor_called(name: str, logs: Sequence[CohortLog]) -> str:
    """The factor of this name in any case; raises UsageError for one that none of the logs has."""
    own = [factor for log in logs for factor in log.cohort.factors]
    known = {each.casefold(): each for each in (*OF_INDIVIDUALS, *OF_COHORTS, *own)}
    if "," in name:
        raise UsageError(
            f"one factor at a time here, not “{name[:40]}”",
            CommandText(
                "“rearlog compare” takes two or three, and tells their effects apart", "choose one"
            ),
        )
    if name.strip().casefold() not in known:
        remedy = f"the factors are {', '.join(dict.fromkeys(known.values()))}"
        raise UsageError(f"“{name[:40]}” is no factor of these cohorts", remedy)
    return known[name.strip().casefold()]


def _noting(factor: str) -> str:
    if factor == "sex":
        return "note one with a check, such as “3 adult sex=f”"
    if factor in (*OF_COHORTS, *OF_INDIVIDUALS):
        return ""
    return CommandText("say it with “rearlog describe”", "")


def levels_of(log: CohortLog, factor: str) -> list[str | None]:
    """The level of each individual of a log, in their order; None where it is not known."""
    if factor == "sex":
        return sex_levels(log)
    if factor == "clutch":
        return [each.clutch for each in log.individuals]
    if factor == "container":
        return [each.container for each in log.individuals]
    return [level_of(log.cohort, factor)] * len(log.individuals)


def level_of(cohort: Cohort, factor: str) -> str | None:
    """The level of a cohort; None where it is not known."""
    told: Mapping[str, Callable[[], str | None]] = {
        "cohort": lambda: cohort.name,
        "species": lambda: cohort.species.scientific_name,
        "food": lambda: cohort.food,
        "site": lambda: cohort.site,
        "place": lambda: cohort.place,
        "temperature": lambda: (
            None if cohort.planned_celsius is None else f"{cohort.planned_celsius:g} °C"
        ),
    }
    return told[factor]() if factor in told else cohort.factors.get(factor)


def level_name(factor: str, level: str | None) -> str:
    """What those of a level are called: females, leek, 20 °C, line A, sex not known."""
    if level is None:
        return f"{factor} {NOT_KNOWN}"
    if factor == "sex":
        return _SEXES.get(level, level)
    bare = factor in OF_COHORTS
    return level if bare or level.casefold().startswith(factor.casefold()) else f"{factor} {level}"


def in_order(levels: Iterable[str | None]) -> list[str]:
    """The different levels that are known: by number where all begin with one, else as they come,
    the sexes as f and m."""
    found = list(dict.fromkeys(level for level in levels if level is not None))
    if set(found) <= set(_SEXES):
        return sorted(found)
    numbers = {level: number for level in found if (number := _number(level)) is not None}
    return sorted(found, key=numbers.__getitem__) if len(numbers) == len(found) else found


def _number(level: str) -> float | None:
    try:
        return float(level.removesuffix(" °C"))
    except ValueError:
        return None


def _parted(log: CohortLog, factor: str, *, alone: bool) -> list[LogGroup]:
    levels = levels_of(log, factor)
    found = []
    for level in (*in_order(levels), *([None] if None in levels else [])):
        name = level_name(factor, level)
        full = f"{log.cohort.name}, {name}"
        which = [each == level for each in levels]
        part = _only(log, full, which, without=factor)
        group = (log.cohort.name,) * sum(which)
        found.append(LogGroup(name if alone else full, level, part, group))
    return found


def _only(log: CohortLog, name: str, which: Sequence[bool], *, without: str) -> CohortLog:
    """The log of some of the individuals; what they are grouped by does not tie them together."""
    kept = [each for each, one in zip(log.individuals, which, strict=True) if one]
    if without in ("clutch", "container"):
        kept = [_untied(each, without) for each in kept]
    codes = {each.code for each in kept}
    return CohortLog(
        _called(log.cohort, name),
        tuple(kept),
        tuple(each for each in log.all_observations if each.individual in codes),
        log.all_temperatures,
    )


def _called(cohort: Cohort, name: str) -> Cohort:
    """The cohort of a group: another one than that which its individuals are of."""
    return replace(cohort, name=name, id=named_id(name, within=cohort.id))


def _untied(individual: Individual, thing: str) -> Individual:
    if thing == "clutch":
        return replace(individual, clutch=None)
    return replace(individual, container=None)


def _pooled(logs: Sequence[CohortLog], factor: str) -> list[LogGroup]:
    levels = [level_of(log.cohort, factor) for log in logs]
    found = []
    for level in (*in_order(levels), *([None] if None in levels else [])):
        of_it = [log for log, each in zip(logs, levels, strict=True) if each == level]
        name = level_name(factor, level)
        cohorts = tuple(log.cohort.name for log in of_it for _ in log.individuals)
        found.append(LogGroup(name, level, _as_one(of_it, name), cohorts))
    return found


def _as_one(logs: Sequence[CohortLog], name: str) -> CohortLog:
    """Several logs as one: codes and containers bear the names of their cohorts, since those of
    another may be called alike. Temperatures stay where all had the same."""
    first = logs[0]
    if len(logs) == 1:
        return replace(first, cohort=_called(first.cohort, name))
    kinds = {(log.cohort.species.scientific_name, log.cohort.species.codes) for log in logs}
    if len(kinds) > 1:
        remedy = "choose cohorts of one species"
        raise UsageError(f"the cohorts of {name} are not of the same species and stages", remedy)
    header = replace(
        _called(min((log.cohort for log in logs), key=lambda each: each.started), name),
        invented=any(log.cohort.invented for log in logs),
    )
    alike = len({tuple(map(_told, log.temperatures)) for log in logs}) == 1
    return CohortLog(
        header,
        tuple(
            replace(
                each,
                code=f"{log.cohort.name}:{each.code}",
                container=each.container and f"{log.cohort.name}:{each.container}",
            )
            for log in logs
            for each in log.individuals
        ),
        tuple(
            replace(
                each,
                individual=f"{log.cohort.name}:{each.individual}",
                mate=_mate(each.mate, log.cohort.name),
            )
            for log in logs
            for each in log.all_observations
        ),
        first.all_temperatures if alike else (),
    )


def _mate(name: str | None, cohort: str) -> str | None:
    """A mate or a cage as it is called among several cohorts."""
    if name is None or name.casefold() == ALONE:
        return name
    return f"{cohort}:{name}"


def _told(record: Temperature) -> Temperature:
    """What a record of temperature says, whoever wrote it when."""
    return replace(record, number=None, entered=None, source=None, marks=())
