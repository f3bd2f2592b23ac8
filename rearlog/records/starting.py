"""A new cohort, made of what somebody says of it, by whichever door."""

from __future__ import annotations

import re
from collections.abc import Iterable
from datetime import datetime, timedelta

from rearlog.records import times
from rearlog.records.errors import UsageError
from rearlog.records.factors import origin, read_factors, read_origins
from rearlog.records.identity import new_id
from rearlog.records.log import Cohort, Individual
from rearlog.records.profile import Profile
from rearlog.records.values import CODE, LABEL, SITE

MOST = 100_000
"""No cohort starts with more individuals."""

Laid = str | tuple[str, str] | None
"""When eggs were laid, as people type it: a day, or after the first moment and by the second."""


def as_name(text: str) -> str:
    """What of a text a cohort can be called (see LABEL); empty where nothing of it can."""
    return re.sub("[^A-Za-z0-9_-]+", "-", text).strip("-")[:64]


def new_cohort(
    name: str,
    profile: Profile,
    count: int,
    zone: str,
    *,
    stage: str | None = None,
    codes: str = "",
    on: str | None = None,
    laid: Laid = None,
    check_time: str = "09:00",
    place: str | None = None,
    food: str | None = None,
    planned_celsius: float | None = None,
    factors: Iterable[str] = (),
    origins: Iterable[str] = (),
    site: str | None = None,
    latitude: float | None = None,
    longitude: float | None = None,
) -> tuple[Cohort, list[Individual]]:
    """A cohort and its individuals, which enter at `on` (today) in a stage (the first).

    Their codes are numbers, behind `codes` where that is given. `factors` are texts such as
    `line=A`, `origins` such as `summer:A01,A02`. Raises UsageError for what cannot be.
    """
    check_name(name)
    check_site(site, latitude, longitude)
    if not 1 <= count <= MOST:
        raise UsageError(f"a cohort has 1 to {MOST:,} individuals")
    if codes and not CODE.fullmatch(codes):
        raise UsageError(f"“{codes[:40]}” cannot begin a code", "use letters, digits and _")
    times.check_zone(zone)
    check_time = times.read_clock(check_time)
    now = times.now(zone)
    started = times.read_moment(on or "today", zone, check_time, now)
    if started > now:
        raise UsageError(f"{on} is in the future", "start the cohort on the day it starts")
    entry_stage = profile.code_of(stage or profile.codes[0])
    bounds = _laying(laid, zone, check_time, started)
    if bounds != (None, None) and entry_stage != profile.codes[0]:
        raise UsageError("only eggs have a laying date", "leave it out for larvae")
    width = max(2, len(str(count))) if codes else 1
    individuals = [
        Individual(f"{codes}{number:0{width}d}", started, entry_stage, *bounds)
        for number in range(1, count + 1)
    ]
    come_from = read_origins(origins)
    if name in {origin(each).cohort for each in come_from}:
        raise UsageError(f"{name} cannot come from itself")
    header = Cohort(
        name=name,
        species=profile,
        zone=zone,
        started=started,
        created=now,
        check_time=check_time,
        place=place,
        food=food,
        planned_celsius=planned_celsius,
        factors=read_factors(factors),
        origins=come_from,
        id=new_id(),
        site=site,
        latitude=latitude,
        longitude=longitude,
    )
    return header, individuals


def check_name(name: str) -> str:
    """What a cohort is to be called, as it is; raises UsageError where it cannot be."""
    if not LABEL.fullmatch(name):
        raise UsageError(f"“{name[:40]}” is not a cohort name", "use letters, digits, - and _")
    return name


def check_site(site: str | None, latitude: float | None, longitude: float | None) -> None:
    """Raise UsageError for a site that cannot be called so, or half a place on the map."""
    if site is not None and not SITE.fullmatch(site):
        remedy = "such as Northfield School: at most 100 characters, without ; and :"
        raise UsageError(f"“{site[:40]}” is not a site", remedy)
    if (latitude is None) != (longitude is None):
        raise UsageError("latitude and longitude go together")


def _laying(
    laid: Laid, zone: str, check_time: str, started: datetime
) -> tuple[datetime | None, datetime | None]:
    """The moments after which, and by which, the eggs were laid."""
    if laid is None:
        return None, None
    if isinstance(laid, str):
        day = times.read_date(laid, started.date())
        low = times.at_clock(day, "00:00", zone)
        high = min(times.at_clock(day + timedelta(days=1), "00:00", zone), started)
    else:
        low, high = (times.read_moment(each, zone, check_time, started) for each in laid)
    if low > high:
        raise UsageError(
            "the eggs would be laid after the cohort started, or the dates are swapped"
        )
    if high > started:
        raise UsageError("the eggs cannot be laid after the cohort started")
    return low, high
