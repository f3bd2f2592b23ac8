"""Summaries of cohorts, as they are asked for."""

from datetime import date
from typing import Any

from rearlog.analysis.pooling.cohort_summary import CohortSummary, ExpectedAdults, StageSummary

WHOLE = "egg to adult"


def stage(
    mean: float | None,
    se: float | None = 0.5,
    *,
    name: str = WHOLE,
    completed: int = 20,
    in_stage: int = 0,
    celsius: float | None = None,
) -> StageSummary:
    """What became of twenty in a stage."""
    return StageSummary(
        stage=name,
        entered=completed + in_stage,
        completed=completed,
        died=0,
        lost=0,
        removed=0,
        in_stage=in_stage,
        mean=mean,
        sd=None,
        se=se,
        freedom=completed - 1.0,
        celsius=celsius,
    )


def summary(id: str, *stages: StageSummary, **more: Any) -> CohortSummary:
    """A cohort of twenty painted ladies that came through."""
    given: dict[str, Any] = {
        "id": id,
        "name": id,
        "site": None,
        "species": "Vanessa cardui",
        "last_stage": "adult",
        "started": date(2026, 3, 2),
        "last_look": date(2026, 4, 20),
        "invented": False,
        "individuals": 20,
        "dead": 0,
        "lost": 0,
        "removed": 20,
        "alive": 0,
        "known": 20,
        "reached": 20,
        "waiting": 0,
        "gone": 0,
        "celsius": None,
        "looks": 400,
        "due": 400,
        "missed": 0,
        "doubtful": 0,
        "struck_temperatures": 0,
        "stages": stages,
        "as_of": None,
        "earliest": None,
        "likely": None,
        "latest": None,
        "coming": (),
    }
    return CohortSummary(**(given | more))


def coming(**days: float) -> tuple[ExpectedAdults, ...]:
    """Adults by day of April 2026: `coming(d3=2.0)` on the third."""
    return tuple(ExpectedAdults(date(2026, 4, int(day[1:])), n) for day, n in days.items())


def many() -> list[CohortSummary]:
    """Twenty cohorts at three sites, at 18 to 27 °C, with what all tables of a season show: one
    stands out, one is still to have adults, one has no site, and two are of another species."""
    found = []
    for n in range(20):
        celsius = 18.0 + 9.0 * n / 19
        days = 330 / (celsius - 10) * (1 + 0.02 * ((n * 7) % 5 - 2)) * (1.6 if n == 9 else 1)
        whole = stage(days, 0.4, celsius=celsius)
        egg = stage(days / 8, 0.1, name="egg", celsius=celsius)
        site = f"School {n % 3 + 1}" if n < 19 else None
        more = {"reached": 4, "missed": 200} if n == 9 else {"reached": 15 + n % 3}
        found.append(summary(f"room{n}", egg, whole, site=site, celsius=celsius, **more))
    young = coming(d20=2.0, d21=9.5, d22=6.5)
    egg = stage(4.0, 0.1, name="egg", celsius=21.0)
    ahead: dict[str, Any] = {"as_of": date(2026, 4, 10), "coming": young, "known": 0, "reached": 0}
    found.append(summary("young", egg, site="School 1", waiting=20, **ahead))
    found += [summary(f"white{n}", stage(30.0 + n), species="Pieris rapae") for n in range(2)]
    return found
