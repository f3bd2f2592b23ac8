"""The rules that every record keeps, checked when it is made and again when a file is verified.

A look may contradict another: that is no broken rule but a doubt (see `doubts`).

Each rule is a small function over one individual's checks in time order; all mistakes are returned.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from datetime import datetime

from rearlog.records.errors import Problem
from rearlog.records.fates import FATES
from rearlog.records.fields import COUNTS, DETAILS, MEASURES, Field
from rearlog.records.forms import StageKind, kind_of
from rearlog.records.log import (
    Cohort,
    CohortLog,
    Individual,
    Observation,
    time_order,
)
from rearlog.records.profile import Profile
from rearlog.records.typed_words import RESERVED
from rearlog.records.values import NAME
from rearlog.records.wording import named, record_name, said, spelled, stamp

USUAL_SDS, USUAL_SHARE = 3.0, 0.5
"""A measure is usual within so many standard deviations of the profile's value, or where the
profile gives none within this share of it (common practice; the share is ours)."""

REFUSED_BEYOND = 3.0
"""A measurement above this many times the profile's largest is refused."""

COLDEST_C, HOTTEST_C = -30.0, 60.0
"""Temperatures outside this range are refused."""


def problems_with(log: CohortLog, added: Iterable[Observation], now: datetime) -> list[Problem]:
    """Every rule that the log would break with checks `added`.

    Only the individuals that these are of are looked at, in the log's order.
    """
    new: dict[str, list[Observation]] = {}
    for each in added:
        new.setdefault(each.individual, []).append(each)
    problems = [
        Problem(f"no individual {code} in this cohort") for code in new if code not in log.by_code
    ]
    for code, individual in log.by_code.items():
        if code in new:
            checks = sorted([*log.checks[code], *new[code]], key=time_order)
            problems += problems_of(log.cohort.species, individual, checks, now)
    return problems


def nobody_alive(log: CohortLog, at: datetime) -> Problem:
    """What is wrong with a round at a moment at which nobody lives: who had ended, who entered when
    later."""
    order = [each.code for each in log.individuals]
    later = {each.code: each.entered_at for each in log.individuals if each.entered_at > at}
    why = []
    if ended := [code for code in order if code not in later]:
        were = "was" if len(ended) == 1 else "were"
        why.append(f"{spelled(ended, order)} {were} dead, lost or removed by then")
    if later:
        first = min(later.values())
        entered = [code for code, moment in later.items() if moment == first]
        why.append(f"{spelled(entered, order)} entered at {stamp(first)}")
    remedy = "; ".join(why) or "nobody has entered it"
    return Problem(f"nobody in {log.cohort.name} is alive at {stamp(at)}", remedy=remedy)


def problems_of(
    profile: Profile, individual: Individual, checks: Sequence[Observation], now: datetime
) -> list[Problem]:
    """Every rule that this individual's checks (in time order) break."""
    found: list[Problem] = []
    found += _known_words(profile, checks)
    if found:
        return found  # the other rules need stages that have a place in the order
    found += _within_life(individual, checks, now)
    found += _one_check_a_moment(checks)
    found += _plausible(profile, checks)
    found += _of_eggs_and_mates(checks)
    return found


def problems_of_individual(cohort: Cohort, individual: Individual) -> list[Problem]:
    """Every rule that the entry of an individual into its cohort breaks."""
    found: list[Problem] = []

    def refuse(message: str, remedy: str = "") -> None:
        found.append(Problem(message, individual.code, remedy))

    entered, after, by = individual.entered_at, individual.laid_after, individual.laid_by
    if individual.code.casefold() in RESERVED:
        refuse("this code has a meaning of its own", "choose another")
    if individual.stage not in cohort.species.rank:
        known = ", ".join(cohort.species.codes)
        refuse(f"stage {individual.stage} is not in the profile", f"its stages are {known}")
    if entered < cohort.started:
        refuse(f"it entered before the cohort started, which was at {stamp(cohort.started)}")
    if after is not None and by is not None and after > by:
        refuse("it was laid after the time by which it was laid")
    if any(moment is not None and moment > entered for moment in (after, by)):
        refuse("it was laid after it entered")
    return found


def _known_words(profile: Profile, checks: Iterable[Observation]) -> Iterator[Problem]:
    for check in checks:
        if check.stage is not None and check.stage not in profile.rank:
            yield Problem(
                f"stage {check.stage} is not in the profile",
                named(check),
                f"its stages are {', '.join(profile.codes)}",
            )
        if check.fate is not None and check.fate not in FATES:
            remedy = f"fates are {', '.join(FATES)}"
            yield Problem(f"fate {check.fate} is not known", named(check), remedy)
        if check.stage is None and check.fate is None and not check.same:
            yield Problem("neither a stage nor a fate", named(check))
        if check.same and (check.stage or check.fate or check.witnessed):
            yield Problem("no change, and yet something happened", named(check))
        if check.fate is None and check.cause is not None:
            yield Problem("there is a cause but no fate", named(check))
        for each in DETAILS.values():
            value = getattr(check, each.name)
            if each.among and value is not None and value not in each.among:
                remedy = f"it is {' or '.join(each.among)}"
                yield Problem(f"{each.title} {value} is not known", named(check), remedy)


def _within_life(
    individual: Individual, checks: Iterable[Observation], now: datetime
) -> Iterator[Problem]:
    for check in checks:
        if check.at < individual.entered_at:
            yield Problem(
                "the check is before the individual entered",
                named(check),
                f"it entered at {stamp(individual.entered_at)}",
            )
        if check.at > now:
            yield Problem("the check is in the future", named(check), f"it is {stamp(now)} now")


def _one_check_a_moment(checks: Iterable[Observation]) -> Iterator[Problem]:
    """Nobody sees two things at once; two observers may see one."""
    first: dict[tuple[datetime, str | None], Observation] = {}
    for later in checks:
        earlier = first.setdefault((later.at, later.by), later)
        if earlier is not later:
            known = record_name(earlier.number) if earlier.number else "another entry"
            yield Problem(
                "there is a check of it at that moment already",
                named(later),
                f"{known} says {said(earlier)}; give another time, or strike it out",
            )


def _plausible(profile: Profile, checks: Iterable[Observation]) -> Iterator[Problem]:
    for each in MEASURES:
        measured = [check for check in checks if getattr(check, each.name) is not None]
        largest = largest_known(profile, each) if measured else 0.0
        for check in measured:
            value = getattr(check, each.name)
            if not (math.isfinite(value) and value > 0):
                yield Problem(f"{each.title} {value:g} is not above zero", named(check))
            elif value > REFUSED_BEYOND * largest:
                yield Problem(
                    f"{each.title} {value:g} cannot be: the largest known is {largest:g}",
                    named(check),
                    f"the unit is {each.unit}",
                )


def _of_eggs_and_mates(checks: Iterable[Observation]) -> Iterator[Problem]:
    """A count is a whole number, of a look at an adult that is not told to be a male.

    What another look says of its stage or sex is no broken rule but a doubt.
    """
    for check in checks:
        counts = [(each, getattr(check, each.name)) for each in COUNTS]
        for each, count in counts:
            if count is None:
                continue
            if not 0 <= count <= each.most:
                message = f"{each.title} {count} is not between 0 and {each.most:,.0f}"
                yield Problem(message, named(check))
            if check.stage is not None and kind_of(check.stage) is not StageKind.ADULT:
                remedy = f"leave out {each.word}, or tell the stage that lays"
                yield Problem(f"{each.title} of one in {check.stage}", named(check), remedy)
            if check.sex == "m":
                remedy = f"leave out {each.word}, or tell it of the female"
                yield Problem(f"{each.title} of a male", named(check), remedy)
        if check.mate is None:
            continue
        if not NAME.fullmatch(check.mate):
            remedy = "letters and digits, 24 at most, as in 7 or cage-1"
            yield Problem("this is no code and no name of a cage", named(check), remedy)
        if check.mate.casefold() == check.individual.casefold():
            yield Problem("it cannot be its own mate", named(check), "give the code of the other")


def doubts_of(profile: Profile, check: Observation, stage: str) -> list[Problem]:
    """What is possible but unusual in a check of an individual in `stage`: to be warned of."""
    from rearlog.records.head_widths import contradiction  # start-up time

    other_instar = contradiction(profile, check, stage)
    found = [] if other_instar is None else [other_instar]
    for each in MEASURES:
        value = getattr(check, each.name)
        known = profile.stage(stage).measure(each)
        if value is None or known is None or (each.name == "head_width_mm" and other_instar):
            continue
        low, high = known.low, known.high
        if known.value is not None and (low is None or high is None):
            spread = USUAL_SDS * known.sd if known.sd else USUAL_SHARE * known.value
            low, high = known.value - spread, known.value + spread
        if not low <= value <= high:
            found.append(
                Problem(
                    f"{each.title} {value:g} is unusual for {stage}",
                    named(check),
                    f"{low:.3g} to {high:.3g} would be expected",
                )
            )
    return found


def largest_known(profile: Profile, measure: Field) -> float:
    """The largest value of a measure in the profile, or of any species where it has none."""
    known = [
        bound
        for stage in profile.stages
        if (quantity := stage.measure(measure)) is not None
        for bound in (quantity.value, quantity.high)
        if bound is not None
    ]
    return max(known, default=measure.most)
