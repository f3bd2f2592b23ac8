"""Looks at which anything may have been said, for the tests of how contradictions are settled."""

from random import Random

from msgspec.structs import replace

from rearlog.records.head_widths import identified
from rearlog.records.log import CohortLog, Observation
from rearlog.records.profile import Profile, Quantity
from tests.builders import moment, small_profile

WIDTHS = {"L1": 0.4, "L2": 0.8, "L3": 1.6}


def profile_with_widths() -> Profile:
    plain = small_profile()
    return replace(
        plain,
        stages=tuple(
            replace(each, head_width_mm=Quantity("test", value=WIDTHS[each.code], sd=0.02))
            if each.code in WIDTHS
            else each
            for each in plain.stages
        ),
    )


def named(profile: Profile, width: float) -> str:
    """The instar that a head width surely is of."""
    found = identified(profile, width)
    assert found is not None
    assert found.instar is not None
    return found.instar


def numbered(log: CohortLog) -> CohortLog:
    looks = tuple(
        replace(each, number=number) for number, each in enumerate(log.all_observations, start=1)
    )
    return CohortLog(log.cohort, log.individuals, looks)


def anything_said(chance: Random, code: str, days: int, profile: Profile) -> list[Observation]:
    """Looks of all kinds, true or not."""
    looks = []
    for day in range(1, days + 1):
        at = moment(day)
        for by in ("MB", "KT") if chance.random() < 0.15 else ("MB",):
            kind = chance.random()
            width = chance.choice([None, None, *WIDTHS.values()])
            if kind < 0.2:
                look = Observation(code, at, same=True, by=by, head_width_mm=width)
            elif kind < 0.38:
                look = Observation(
                    code,
                    at,
                    stage=chance.choice([None, *profile.codes[:5]]),
                    fate=chance.choice(["dead", "lost", "removed"]),
                    cause=chance.choice([None, "mould", "fell"]),
                    witnessed=chance.random() < 0.2,
                    by=by,
                )
            else:
                look = Observation(
                    code,
                    at,
                    stage=chance.choice(profile.codes[:5]),
                    witnessed=chance.random() < 0.15,
                    head_width_mm=width,
                    by=by,
                )
            looks.append(look)
    return looks
