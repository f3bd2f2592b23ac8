"""Sentences about what is seldom so: nothing measured twice, nothing known, nobody looked."""

import re
from datetime import UTC, date, datetime, timedelta

import pytest
from msgspec.structs import replace

from rearlog.analysis.comparing.growth_by_heat import GrowthByHeat, GrowthPoint
from rearlog.analysis.comparing.thermal import Objection
from rearlog.analysis.forecasting.due import Due, NotSeen
from rearlog.analysis.forecasting.review import Review, ReviewSummary
from rearlog.analysis.growth.evidence import Measured
from rearlog.analysis.growth.growth import Growth
from rearlog.analysis.growth.identify import Clue, identify
from rearlog.analysis.growth.practice import Specimen
from rearlog.notebook import Notebook, thermal
from rearlog.records.log import ConstantTemperature
from rearlog.records.profile import NOT_THE_ANIMAL
from rearlog.sentences import (
    due,
    everyone,
    forecast,
    growth,
    growth_by_heat,
    practice,
    review,
    survival,
)
from rearlog.sentences import (
    identify as identified,
)
from rearlog.sentences import thermal as constants
from rearlog.species.catalogue import find
from tests.builders import START, notebook_of, seen, small_profile, tiny_log


def weighed(cohort: str, looks: int) -> Growth:
    """One animal measured once a day, of no known instar."""
    checks = tuple(seen("1", day, "pupa", length_mm=9.0) for day in range(1, looks + 1))
    log = replace(tiny_log({"1": "pupa"}, name=cohort), all_observations=checks)
    return notebook_of(log).growth()


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
    [
        (0.24, "It came 0.2 days later than forecast on average"),
        (-1.5, "It came 1.5 days sooner than forecast on average"),
        (0.05, "It came 0.1 days later than forecast on average"),
        (0.04, "On average it came when it was forecast"),
        (0.0, "On average it came when it was forecast"),
        (-0.04, "On average it came when it was forecast"),
    ],
)
def test_whether_events_came_sooner_or_later_than_forecast(late: float, told: str) -> None:
    found = Review("tiny", (), (ReviewSummary("next event", 20, 0.85, 0.05, late, 1.26),))
    assert review.words(found) == (
        "Of 20 forecasts of the next event, 85 % held it in their window and 5 % did not (10 % "
        f"may); of the others the checks cannot tell. {told}, 1.3 days off either way.",
    )


def young(life: str = "egg L1 L1") -> Notebook:
    profile = small_profile(heat={"L1": 30.0, "L2": 30.0, "pupa": 60.0})
    log = tiny_log(
        {"1": life, "2": life},
        profile=profile,
        laid=(-1, 0),
        temperatures=(ConstantTemperature(20.0, START.date() - timedelta(days=1)),),
    )
    return notebook_of(log)


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


def test_populations_that_do_not_grow_are_said_not_to_be_fitted() -> None:
    def told(*points: tuple[str, float | None, int]) -> str:
        made = tuple(
            GrowthPoint(name, 20.0, 10, adults, r, None, None, None, False)
            for name, r, adults in points
        )
        return " ".join(
            growth_by_heat.words(GrowthByHeat("moth", ("a",), (), (), made, (), None, None))
        )

    not_fitted = "The laws know no rates below 0: such cohorts are not fitted."
    assert "In a (20.0 °C) it shrinks. " + not_fitted in told(("a", -0.1, 5))
    assert told(("a", None, 0)).endswith("such a population dies out. " + not_fitted)
    assert told(("a", None, 3)).endswith("No eggs that count were told in a (20.0 °C).")
    assert not_fitted not in told(("a", 0.1, 3))


def test_what_to_look_for_names_the_stage_and_what_it_is_taken_for() -> None:
    found = identify(find("monarch"), Measured(head_mm=(1.5,), length_mm=9.0), {})
    clues = (Clue("Measure it."), Clue("It is striped.", "L2"), Clue("It moves.", "egg", "dust"))
    assert identified.look_for(replace(found, clues=clues)) == (
        "Measure it.",
        "L2: It is striped.",
        "egg is taken for dust: It moves.",
    )


@pytest.mark.parametrize(
    ("eggs", "larvae", "told"),
    [
        (1, 3, "4 died, most often as L1 (3)"),
        (0, 3, "3 died, all as L1"),
        (3, 0, "3 died, all as egg"),
        (2, 2, "4 died."),
        (1, 1, "2 died."),
    ],
)
def test_in_which_stage_most_died(eggs: int, larvae: int, told: str) -> None:
    lives = ["egg dead"] * eggs + ["egg L1 dead"] * larvae + ["egg L1 L2 pupa adult"]
    log = tiny_log({str(n): life for n, life in enumerate(lives)})
    lead = survival.lead(notebook_of(log).survival())
    assert told in lead
    assert ("most often" in lead or "all as" in lead) == ("as" in told)


def test_an_objection_names_the_cohorts_in_which_some_are_still_in_the_stage() -> None:
    books = []
    for celsius, days in ((15.0, 6), (20.0, 3), (25.0, 2)):
        log = tiny_log(
            {str(n): " ".join(["egg"] * days + ["L1"]) for n in range(3)},
            laid=(-1, 0),
            temperatures=(ConstantTemperature(celsius, START.date() - timedelta(days=1)),),
            name=f"t{celsius:g}",
        )
        books.append(notebook_of(log))
    egg = thermal(books).stages[0]
    first, *others = egg.points
    stage = replace(
        egg,
        points=(replace(first, in_stage=2), *others),
        objections=(Objection.STILL_IN_STAGE, Objection.THRESHOLD_UNSURE),
    )
    still, falling = [each for each in constants.words(stage) if each.startswith("Objection")]
    assert still.endswith(" (t15 2).")
    assert "t15" not in falling


def test_an_animal_whose_head_is_not_known_is_told_by_what_one_sees() -> None:
    """Nothing is told of heads where that of the animal is not known, or that of its stage."""
    lady = find("painted-lady")
    told = practice.sign(lady, Specimen("L2", 0.61, 5.0, 0.2))
    assert told.startswith("Its head is 0.61 mm wide. Heads in mm: L1 ")
    assert told.endswith("It has just molted: the body is short, the head is not.")
    assert "molt" not in practice.sign(lady, Specimen("L2", 0.61, 5.0, 0.5))
    assert "about to molt" in practice.sign(lady, Specimen("L2", 0.61, 5.0, 0.9))
    assert "molt" not in practice.sign(lady, Specimen("L2", 0.61, 5.0, None))
    without = replace(lady.stage("L2"), head_width_mm=None)
    bare = replace(lady, stages=(*lady.stages[:2], without, *lady.stages[3:]))
    for profile, head in ((lady, None), (bare, 0.61)):
        animal = Specimen("L2", head, 5.0, 0.2)
        assert practice.sign(profile, animal) == practice.sign_of(profile.stage("L2"))


def test_a_head_is_told_beside_those_of_its_neighbours_alone() -> None:
    lady = find("painted-lady")
    for stage, told in (("L1", ["L1", "L2"]), ("L3", ["L2", "L3", "L4"]), ("L5", ["L4", "L5"])):
        sign = practice.sign(lady, Specimen(stage, 1.0, 5.0, 0.5))
        assert re.findall(r"(L\d) [\d.]+", sign) == told


def test_what_is_not_the_animal_is_told_by_what_gives_it_away() -> None:
    lady = find("painted-lady")
    likely = next(each for each in lady.stages if each.confusions)
    plain = next(each for each in lady.stages if not each.confusions)
    other = Specimen(NOT_THE_ANIMAL, None, None, None, taken_for=likely.code)
    assert practice.sign(lady, other) == likely.confusions[0].tell
    assert practice.sign(lady, replace(other, taken_for=plain.code)) == (
        f"It has none of the marks of the {plain.code}."
    )


def test_the_days_by_which_half_had_died_have_one_decimal() -> None:
    log = tiny_log({"1": "egg dead", "2": "egg dead"})
    found = notebook_of(log).survival()

    def told(low: float, high: float | None, most: float | None = None) -> str | None:
        quartiles = (None, (low, high), None)
        median = replace(
            found.median, quartiles=quartiles, population_low=0.96, population_high=most
        )
        return survival.half_died(replace(found, median=median))

    assert told(1.26, 2.04) == "Half had died after day 1.3 and by day 2"
    assert told(1.26, 2.04, 3.14) == (
        "Half had died after day 1.3 and by day 2 (95 % interval 1 to 3.1)"
    )
    assert told(2.04, 2.04) == "Half had died by day 2"
    assert told(1.26, None) == "Half had died after day 1.3 at the earliest"


@pytest.mark.parametrize(("end", "said"), [("dead", False), ("lost", True), ("removed", True)])
def test_percentages_are_explained_where_somebody_left(end: str, said: bool) -> None:
    log = tiny_log({"1": f"egg {end}", "2": "egg L1 L2 pupa adult"})
    told = survival.plainly(notebook_of(log).survival())
    assert ("Percentages count" in told) == said
