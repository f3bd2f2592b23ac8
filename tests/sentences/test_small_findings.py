"""Sentences about what is seldom so: nothing measured twice, nothing known, nobody looked."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest

from rearlog.analysis.forecasting.due import Due, NotSeen
from rearlog.analysis.forecasting.review import Review, ReviewSummary
from rearlog.analysis.growth.growth import Growth
from rearlog.notebook import Notebook
from rearlog.records.log import ConstantTemperature
from rearlog.sentences import due, everyone, forecast, growth, review
from tests.builders import START, seen, small_profile, tiny_log


def weighed(cohort: str, looks: int) -> Growth:
    """One animal measured once a day, of no known instar."""
    checks = tuple(seen("1", day, "pupa", length_mm=9.0) for day in range(1, looks + 1))
    log = replace(tiny_log({"1": "pupa"}, name=cohort), all_observations=checks)
    return Notebook(Path(f"{cohort}.json")).with_log(log).growth()


def test_of_many_cohorts_the_fewest_and_the_most_looks_are_named() -> None:
    few = [weighed("a", 2), weighed("b", 1), weighed("c", 3)]
    assert growth.title(few) == (
        "Too few measures to say how fast they grew: a 2 looks, b 1 look, c 3 looks"
    )
    pairs = zip("zyxwvut", (2, 5, 1, 3, 9, 2, 2), strict=True)
    many = [weighed(name, looks) for name, looks in pairs]
    assert growth.title(many) == (
        "Too few measures to say how fast they grew: 1 look (x) to 9 looks (v) in 7 cohorts"
    )


@pytest.mark.parametrize(
    ("late", "told"),
    [(0.24, "0.2 days later"), (-1.5, "1.5 days sooner"), (0.0, "0.0 days sooner")],
)
def test_whether_events_came_sooner_or_later_than_forecast(late: float, told: str) -> None:
    found = Review("tiny", (), (ReviewSummary("next event", 20, 0.85, 0.05, late, 1.26),))
    assert review.words(found) == (
        "Of 20 forecasts of the next event, 85 % held it in their window and 5 % did not (10 % "
        f"may); of the others the checks cannot tell. It came {told} than forecast on average, "
        "1.3 days off either way.",
    )


def young(life: str = "egg L1 L1") -> Notebook:
    profile = small_profile(heat={"L1": 30.0, "L2": 30.0, "pupa": 60.0})
    log = tiny_log(
        {"1": life, "2": life},
        profile=profile,
        laid=(-1, 0),
        temperatures=(ConstantTemperature(20.0, START.date() - timedelta(days=1)),),
    )
    return Notebook(Path("tiny.json")).with_log(log)


def test_a_last_event_of_which_no_day_is_known() -> None:
    found = young().forecast(as_of=START + timedelta(days=3))
    last = found.last_event
    assert last is not None
    for unknown in (
        replace(last, earliest=None),
        replace(last, likely=None),
        replace(last, latest=None),
    ):
        other = replace(found, events=(*found.events[:-1], unknown))
        assert forecast.lead(other) == ("When 2 adults of tiny should come is not known.")


def test_who_was_not_looked_at_stands_in_the_order_of_the_cohort() -> None:
    """10 comes after 9, and three in a row are told by the first and the last of them."""
    order = [str(n) for n in range(8, 13)]
    monday, tuesday = date(2026, 3, 9), date(2026, 3, 10)
    missed = [("10", monday), ("9", monday), ("8", monday), ("12", tuesday)]
    found = young().due(datetime(2026, 3, 12, 12, tzinfo=UTC))
    found = replace(found, not_seen=tuple(NotSeen(code, "L1", day, 3) for code, day in missed))
    assert isinstance(found, Due)
    assert list(due.forgotten(found, order)) == [
        "Not looked at since Mon 9 Mar: 8 to 10.",
        "Not looked at since Tue 10 Mar: 12.",
    ]


def test_what_the_stages_are_tells_of_skins_where_there_are_instars() -> None:
    magnified = "The drawings are magnified; beneath each stands how large it is."
    profile = small_profile()
    assert everyone.course(profile) == (
        "From egg to adult: from L1 to L3 it grows, and sheds its skin after each. " + magnified
    )

    def with_instars(*kept: str) -> str:
        stages = [each for each in profile.stages if each.code not in {"L1", "L2", "L3"} - {*kept}]
        return everyone.course(replace(profile, stages=tuple(stages)))

    assert with_instars("L1", "L2").startswith("From egg to adult: from L1 to L2 it grows")
    assert with_instars("L1") == f"From egg to adult. {magnified}"
