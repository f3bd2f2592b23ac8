"""Cohorts of which nothing is known but their stages and what was seen."""

from datetime import date

from msgspec.structs import replace

from rearlog.records.log import CohortLog, ConstantTemperature
from rearlog.records.profile import Profile
from rearlog.species.of_stages import profile_of_stages
from tests.builders import seen, tiny_log

PROFILE: Profile = profile_of_stages("egg,L1-L2,L3?,pupa,adult")
WARM = (ConstantTemperature(24.0, date(2026, 3, 9)),)


def moths(name: str = "moths", *, slow: bool = False, temperatures: bool = False) -> CohortLog:
    """Six that have become adults and one that died, heads measured; `slow` ones took more days."""
    stay = 3 if slow else 2
    line = " ".join(stage for stage in ("egg", "L1", "L2", "pupa") for _ in range(stay))
    lives = {str(code): f"{line} adult removed:released" for code in range(1, 6)}
    lives |= {"6": f"egg {line} adult removed:released", "7": "egg egg L1 dead:mould"}
    log = tiny_log(lives, profile=PROFILE, name=name, temperatures=WARM if temperatures else ())
    heads = [
        seen(str(code), day, stage, head_width_mm=width * (1 + 0.01 * code))
        for code in range(1, 7)
        for day, stage, width in ((stay + 1.1, "L1", 0.4), (2 * stay + 1.1, "L2", 0.6))
    ]
    return log.with_checks(heads)


def growing(name: str = "growing") -> CohortLog:
    """Three in the midst of it: nobody knows what is to come."""
    log = tiny_log({"1": "egg L1 L1", "2": "egg egg L1", "3": "egg L1 L2"}, profile=PROFILE)
    return replace(log, cohort=replace(log.cohort, name=name))
