"""What is said first, to those who know none of the trade's words. Day 0 is Monday 9 March 2026."""

from datetime import datetime, timedelta

import pytest
from msgspec.structs import replace

from rearlog.analysis.forecasting.forecast import Forecast
from rearlog.notebook import Notebook
from rearlog.records.log import ConstantTemperature
from rearlog.sentences import everyone
from rearlog.species.catalogue import find
from tests.builders import START, notebook_of, small_profile, tiny_log
from tests.sentences.invented_forecasts import coming, event


def notebook(*lives: str, name: str = "tiny", celsius: float = 20.0) -> Notebook:
    kept = ConstantTemperature(celsius, START.date() - timedelta(days=1))
    log = tiny_log(
        {str(place): life for place, life in enumerate(lives)},
        profile=small_profile(heat={"L1": 30.0, "L2": 30.0, "pupa": 60.0}),
        temperatures=(kept,),
        laid=(-1, 0),
        name=name,
    )
    return notebook_of(log)


NOW = START + timedelta(days=4)


def lead(*notebooks: Notebook, now: datetime = NOW) -> str:
    found = [each.forecast(as_of=now) for each in notebooks]
    return everyone.lead(
        [each.progress() for each in notebooks],
        [each for each in found if each.last_event],
        "moths",
    )


GROWN = "egg L1 L2 pupa adult!"
LATER = "egg L1 L2 L2 pupa pupa adult!"


@pytest.mark.parametrize(
    ("lives", "told"),
    [
        ((), "No animals are in it yet."),
        (("egg -", "egg -"), "2 animals are under watch since Monday 9 March; nobody has looked"),
        ((GROWN, LATER, "egg dead"), "2 of 3 became moths, the first by Friday 13 March and the "
         "last by Sunday 15 March 2026."),
        ((GROWN, GROWN, "egg dead"), "2 of 3 became moths, by Friday 13 March 2026."),
        ((GROWN, LATER), "All 2 became moths, the first by Friday 13 March and the last by "
         "Sunday 15 March 2026."),
        (("egg dead", "egg L1 lost"), "None of the 2 became adult; they were last looked at on "
         "Wednesday 11 March."),
    ],
)  # fmt: skip
def test_of_one_cohort(lives: tuple[str, ...], told: str) -> None:
    assert lead(notebook(*lives), now=START + timedelta(days=20)).startswith(told)


def test_while_some_are_to_come_it_is_when() -> None:
    young, other = notebook("egg L1 L1", "egg L1 L1"), notebook("egg L1", name="cold", celsius=14.0)
    sooner, later = (each.forecast(as_of=NOW).last_event for each in (young, other))
    assert sooner is not None
    assert later is not None
    days = [f"{each.likely:%A} {each.likely.day} {each.likely:%B}" for each in (sooner, later)]
    assert lead(young) == f"Half of them should be moths by {days[0]}."
    assert lead(young, other) == (
        f"Half of them should be moths by {days[0]} in tiny to {days[1]} in cold."
    )
    both = lead(young, notebook(GROWN, name="gone"))
    assert both == f"1 of 3 are moths by now; half of the others should be moths by {days[0]}."


@pytest.mark.parametrize(
    ("found", "told"),
    [
        (coming("a", event()), "Half of them should be moths by Tuesday 17 March."),
        (coming("a", event(into="pupa")), ""),
        (coming("a", replace(event(), likely=None)), ""),
        (coming("a", event(overdue=True)), ""),
        (coming("a"), ""),
    ],
)
def test_a_day_is_told_where_one_is_known_of_grown_ones_to_come(found: Forecast, told: str) -> None:
    courses = [notebook("egg L1").progress()]
    alive = "On Tuesday 10 March, 1 of 1 were alive, in L1."
    assert everyone.lead(courses, [found], "moths") == (told or alive)


def test_of_cohorts_in_which_nobody_grew_up_no_day_is_told() -> None:
    late = START + timedelta(days=20)
    assert lead(notebook(GROWN), notebook("egg dead", name="none"), now=late) == (
        "1 of 2 became moths, by Friday 13 March 2026."
    )


def test_long_names_of_cohorts_are_shortened_in_a_sentence() -> None:
    whole, longer = "n" * 24, "m" * 25
    told = lead(notebook("egg L1 L1", name=whole), notebook("egg L1", name=longer, celsius=14.0))
    assert f" in {whole} to " in told
    assert longer not in told


def test_six_causes_of_death_are_told_and_seven_are_not() -> None:
    lives = [f"egg dead:cause-{n}" for n in range(7)]
    six, seven = (everyone.others(notebook(*lives[:n]).survival(), "moths") for n in (6, 7))
    assert six.endswith("1 cause-5 (egg).")
    assert seven == "7 died before they could become moths."
    unknown = everyone.others(notebook("egg dead", "egg dead").survival(), "moths")
    assert unknown == "2 died before they could become moths."


def test_where_nothing_can_be_foretold_it_is_who_lives() -> None:
    unknown = tiny_log({"1": "egg L1", "2": "egg egg", "3": "egg dead"})
    young = notebook_of(unknown)
    assert lead(young) == "On Tuesday 10 March, 2 of 3 were alive, in egg and L1."


def test_what_became_of_the_others() -> None:
    lives = [GROWN, "egg dead", "egg L1 dead", "egg lost", "egg removed", "egg removed", "egg egg"]
    told = everyone.others(notebook(*lives).survival(), "moths")
    assert told == (
        "1 is still growing; 2 died before they could become moths; 1 got lost, and nobody knows "
        "what became of it; 2 were taken out alive."
    )
    found = notebook(*lives).survival()
    assert everyone.others(found, "moths", growing_told=True).startswith("2 died before")
    assert (everyone.growing(found), everyone.heading([found])) == (1, "How they are")
    over = notebook(GROWN, "egg dead").survival()
    assert (everyone.growing(over), everyone.heading([over])) == (0, "What became of them")
    one = everyone.others(notebook(GROWN, "egg dead").survival(), "butterflies")
    assert one == "1 died before it could become a butterfly."
    assert everyone.others(notebook(GROWN).survival(), "moths") == ""
    noted = everyone.others(notebook(GROWN, "egg L1 dead:mould", "egg dead").survival(), "moths")
    assert noted.endswith("become moths: 1 mould (L1), 1 without a noted cause (egg).")


def test_when_the_grown_ones_of_a_cohort_came() -> None:
    assert everyone.when(notebook(GROWN, "egg dead").progress()).startswith("By ")
    assert everyone.when(notebook("egg egg").progress()) == ""


def test_a_life_in_a_line() -> None:
    lives = ["egg L1! L2 dead:mould", "egg - L1 L1", "egg removed", "egg lost"]
    course = notebook(*lives).progress()
    assert [everyone.of_one(course, each) for each in course.individuals] == [
        "0 in tiny: egg, L1 by 10 Mar, L2 by 11 Mar, found dead on 12 Mar (mould).",
        "1 in tiny: egg, L1 by 11 Mar, alive on 12 Mar.",
        "2 in tiny: egg, taken out alive on 10 Mar.",
        "3 in tiny: egg, lost by 10 Mar.",
    ]


def test_what_grown_ones_are_called() -> None:
    lady, monarch, ladybird = map(find, ("painted-lady", "monarch", "seven-spot-ladybird"))
    assert everyone.grown([lady, monarch]) == "butterflies"
    assert everyone.grown([lady, ladybird]) == "adults"
    assert everyone.grown([ladybird]) == "ladybirds"
    assert everyone.grown([small_profile()]) == "adults"
