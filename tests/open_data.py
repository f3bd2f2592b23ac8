"""Two logs with everything that a log can hold, to be published and taken in again."""

from datetime import UTC, date, datetime, timedelta, timezone

from msgspec.structs import replace

from rearlog.exchange.bundle import Files
from rearlog.exchange.packed import pieces
from rearlog.records.log import (
    Cohort,
    CohortLog,
    ConstantTemperature,
    DayExtremes,
    Individual,
    Mark,
    Observation,
    Readings,
)
from tests.builders import small_profile

WINTER, SUMMER = UTC, timezone(timedelta(hours=1))
NOW = datetime(2026, 5, 1, tzinfo=UTC)
NOTE = '=1+1 "quoted", <b>&amp; ü\nsecond line'
SOURCE = "logger <1> & co.csv"


def _at(day: int, hour: int = 9) -> datetime:
    """A moment in March 2026 in London: clocks went forward on the 29th (common knowledge)."""
    return datetime(2026, 3, day, hour, tzinfo=SUMMER if day >= 29 else WINTER)


def _observations() -> tuple[Observation, ...]:
    wrong = Mark(_at(30), "wrong cup", "PQ")
    checks = [
        Observation("A01", _at(27), "L1", by="KT", head_width_mm=0.35, length_mm=2.5),
        Observation("A02", _at(27), "L2", by="KT", note="struck note", marks=(wrong,)),
        Observation("A02", _at(28), "egg", by="KT"),
        Observation("ä_3", _at(28), "L1", witnessed=True, by="KT", note=NOTE),
        Observation("A01", _at(29), "L2", by="LM", mass_mg=12.25, sex="f"),
        Observation("A02", _at(29), fate="lost", cause="+escaped"),
        Observation("ä_3", _at(30), "L1", fate="dead", cause="mould; wet", by="LM"),
        Observation("A01", _at(30), "adult", eggs=0, mate="cage-1"),
        Observation(
            "A01", _at(31), fate="removed", cause="released", witnessed=True, eggs=34, hatched=30
        ),
    ]
    return tuple(replace(each, number=number) for number, each in enumerate(checks, start=1))


def north() -> CohortLog:
    """Three individuals over the night that clocks change; one record is struck out."""
    header = Cohort(
        name="north",
        species=small_profile(heat={"egg": 40.0, "L1": 30.0}),
        zone="Europe/London",
        started=_at(26),
        created=_at(26),
        check_time="08:40",
        place="@home, shelf <2> & up",
        food="nettles",
        planned_celsius=21.5,
        factors={"line": "A", "Größe": "2 <&> more"},
        origins=("south:1", "west"),
    )
    individuals = (
        Individual("A01", _at(26), "egg", _at(24, 0), _at(25, 0), "cup 1", "-7", NOTE),
        Individual("A02", _at(26), "egg"),
        Individual("ä_3", _at(27), "egg"),
    )
    temperatures = (
        ConstantTemperature(20.0, date(2026, 3, 24), date(2026, 3, 26), number=1),
        DayExtremes(date(2026, 3, 27), -1.5, 23.25, number=2),
        DayExtremes(date(2026, 3, 28), 1, 2, number=3, marks=(Mark(_at(30), "in °F"),)),
        Readings(_at(28), (0, 600, 86_400), (19.5, 20.0, 21.123), SOURCE, number=4),
        ConstantTemperature(22.0, date(2026, 3, 30), number=5),
    )
    return CohortLog(header, individuals, _observations(), temperatures)


def south() -> CohortLog:
    """One invented nymph of a species of its own, without checks and temperatures."""
    profile = replace(small_profile(), name="other moth")  # the same id, but not the same
    header = Cohort("south", profile, "UTC", _at(26), _at(26), invented=True)
    return CohortLog(header, (Individual("1", _at(26), "L2"),))


def as_bytes(files: Files) -> dict[str, bytes]:
    """The contents of files, unpacked."""
    return {name: b"".join(pieces(content)) for name, content in files.items()}


def as_taken_in(log: CohortLog) -> CohortLog:
    """What of a log is published: all but struck records, and when they were written down."""
    return replace(
        log,
        cohort=replace(log.cohort, created=NOW),
        all_observations=tuple(each for each in log.all_observations if each.struck is None),
        all_temperatures=log.temperatures,
    )
