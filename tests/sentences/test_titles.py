"""What titles claim, of a thousand cohorts of all shapes, beside what the lives themselves show.

The lives are written down here, so that the counts need none of rearlog's arithmetic.
"""

import random
import re
from datetime import timedelta

import pytest

from rearlog.analysis.stages.expected import Timing
from rearlog.notebook import Notebook, compare
from rearlog.records.log import ConstantTemperature
from rearlog.sentences import (
    agreement,
    durations,
    forecast,
    growth,
    progress,
    stage_counts,
    stage_heat,
    survival,
)
from rearlog.sentences.phrases import sentence_case, short_names, with_short_names
from tests.builders import START, moment, notebook_of, small_profile, tiny_log

STAGES = ("egg", "L1", "L2", "L3", "pupa", "adult")
OPTIONAL = "L3"
HEAT = {"egg": 30.0, "L1": 25.0, "L2": 30.0, "pupa": 60.0}
SEEDS = range(250)


def a_life(rng: random.Random, until: int, ends: float) -> list[str]:
    """What was seen of one animal on each day; it may die, get lost or be taken out."""
    words, place, left = ["egg"], 0, rng.randint(1, 4)
    for _ in range(until):
        if rng.random() < ends:
            return [*words, rng.choice(["dead", "dead", "dead:mould", "lost", "removed"])]
        left -= 1
        if left <= 0 and place < len(STAGES) - 1:
            place += 2 if STAGES[place + 1] == OPTIONAL and rng.random() < 0.6 else 1
            left = rng.randint(1, 5)
        words.append(STAGES[place] if rng.random() < 0.9 else "-")
    return words


def a_cohort(seed: int, name: str = "tiny") -> tuple[dict[str, list[str]], Notebook]:
    rng = random.Random(seed)
    n, until = rng.choice([0, 1, 2, 5, 12]), rng.choice([0, 1, 4, 12, 40])
    ends = rng.choice([0.0, 0.02, 0.15, 0.6])
    lives = {str(code): a_life(rng, until, ends) for code in range(1, n + 1)}
    warm = ConstantTemperature(22.0, START.date() - timedelta(3))
    known = rng.random() < 0.6
    log = tiny_log(
        {code: " ".join(words) for code, words in lives.items()},
        profile=small_profile(heat=HEAT if known else None),
        laid=(-1, 0),
        temperatures=(warm,) if rng.random() < 0.7 else (),
        name=name,
    )
    return lives, notebook_of(log)


def last_day(lives: dict[str, list[str]]) -> int:
    return max((len(each) - 1 for each in lives.values()), default=0)


def ends_of(lives: dict[str, list[str]]) -> list[str]:
    return [words[-1].partition(":")[0] for words in lives.values()]


@pytest.mark.parametrize("seed", SEEDS)
def test_no_title_is_empty_or_has_a_number_that_is_none(seed: int) -> None:
    lives, cohort = a_cohort(seed)
    titles = [
        durations.title([cohort.durations()]),
        progress.title([cohort.progress()]),
        stage_counts.title([cohort.stage_counts()]),
        growth.title([cohort.growth()]),
        forecast.title([cohort.forecast(as_of=moment(last_day(lives) + 0.1))]),
    ]
    if lives:
        titles.append(survival.title([cohort.survival()]))
    if cohort.daily_temperatures.any_known:
        titles.append(stage_heat.title([cohort.heat()]))
    for text in titles:
        assert text
        assert text[0].isupper() or text[0].isdigit() or text.startswith("tiny")
        assert not re.search(r"\b(nan|None days|inf)\b", text), text


@pytest.mark.parametrize("seed", SEEDS)
def test_counts_are_those_of_the_lives(seed: int) -> None:
    lives, cohort = a_cohort(seed)
    adults = sum("adult" in each for each in lives.values())
    counts, came = stage_counts.title([cohort.stage_counts()]), f"{adults} of {len(lives)} "
    assert counts.startswith(came) == (adults > 0), counts
    far = progress.title([cohort.progress()])
    assert far.startswith(came) == (adults > 0), far
    if adults:
        # half of those that came is never claimed of those that are still to come
        assert "Half of" not in counts


@pytest.mark.parametrize("seed", SEEDS)
def test_what_part_survived_is_said_alike_everywhere(seed: int) -> None:
    lives, cohort = a_cohort(seed)
    if not lives:
        return
    result = cohort.survival()
    title, first = survival.title([result]), survival.words(result)[0]
    adults = sum("adult" in each for each in lives.values())
    dead = sum(each == "dead" for each in ends_of(lives))
    assert (result.reached.reached, result.deaths) == (adults, dead)
    if adults == 0:
        assert title == f"{dead} of {len(lives)} died"
        return
    assert re.findall(r"\d+ %", title) == re.findall(r"\d+ %", first.partition("(")[0])
    gone = sum(each in ("lost", "removed") for each in ends_of(lives))
    if gone == 0 and all("adult" in each or each[-1].startswith("dead") for each in lives.values()):
        assert title.startswith(f"{100 * adults / len(lives):.0f} % reached adulthood")
    waiting = any(
        words[-1] not in ("lost", "removed")
        and not words[-1].startswith("dead")
        and "adult" not in words
        for words in lives.values()
    )
    if waiting:
        assert "so far" in title.lower()


@pytest.mark.parametrize("seed", SEEDS)
def test_a_title_on_durations_says_what_the_verdicts_say(seed: int) -> None:
    _, cohort = a_cohort(seed)
    result = cohort.durations()
    title = durations.title([result])
    by_stage = {sentence_case(each.stage): each for each in result.stages}
    off = re.match(r"(\w+) took (longer|shorter) than expected", title)
    done = [each for each in result.stages if each.completed]
    if off:
        stage = by_stage[off[1]]
        assert stage.expected is not None
        low, high = stage.expected
        if off[2] == "longer":
            assert stage.verdict is Timing.LONGER
            assert stage.mean_low > high
        else:
            assert stage.verdict is Timing.SHORTER
            assert stage.mean_high < low
        return
    if "off its expected range" in title:
        assert any(each.verdict in (Timing.LONGER, Timing.SHORTER) for each in done)
        return
    if "as expected" in title:
        assert all(each.verdict is Timing.AS_EXPECTED for each in done)
    if title.startswith("Every stage"):
        passed = {each.stage for each in done}
        assert passed | {OPTIONAL} == set(STAGES[:-1]) | {OPTIONAL}
    if not done:
        assert title.startswith("No stage is over yet")


@pytest.mark.parametrize("seed", SEEDS[:100])
def test_of_two_cohorts_each_number_is_its_own(seed: int) -> None:
    (one, first), (two, second) = a_cohort(2 * seed, "one"), a_cohort(2 * seed + 1, "two")
    title = stage_counts.title([first.stage_counts(), second.stage_counts()])
    for name, lives in (("one", one), ("two", two)):
        adults = sum("adult" in each for each in lives.values())
        told = re.search(rf"{name} \d+ \w+ \((\d+) of (\d+)\)", title)
        assert (told is not None) == (adults > 0), title
        if told:
            assert (int(told[1]), int(told[2])) == (adults, len(lives))


# --- findings that need a verdict --------------------------------------------------------------


NEEDS = {"egg": 15.0, "L1": 30.0, "L2": 15.0, "pupa": 15.0}


def kept(
    days: dict[str, int], name: str, celsius: float = 20.0, *, needs: dict[str, float] | None = None
) -> Notebook:
    """Individuals by their days in L1, whose passages were seen, at a temperature; 30 degree-days
    are expected of it unless `needs` says more, at 20 °C 2.4 to 3.6 days."""
    lives = {code: "egg L1! " + "L1 " * (n - 1) + "L2! L2 pupa adult" for code, n in days.items()}
    log = tiny_log(
        lives,
        profile=small_profile(heat=needs or {"L1": 30.0}),
        temperatures=(ConstantTemperature(celsius, START.date()),),
        laid=(-1, 0),
        name=name,
    )
    return notebook_of(log)


USUAL = {str(n): 3 for n in range(1, 13)}


def test_progress_names_the_late_ones_or_says_that_none_is() -> None:
    def title(**slow: int) -> str:
        return progress.title([kept(USUAL | slow, "tiny", needs=NEEDS).progress()])

    assert title().endswith("; nobody was late for certain")
    assert title(a=9).endswith("; a took longer than expected")
    assert title(a=9, b=8).endswith("; a and b took longer than expected")
    assert title(**{f"s{n}": 8 for n in range(6)}).endswith("; 6 of them took longer than expected")
    two = [kept(USUAL | {"a": 9}, "one").progress(), kept(USUAL, "two").progress()]
    assert progress.title(two).endswith("; late: 1 in one")


def test_heat_says_whether_cohorts_needed_the_same() -> None:
    """5 and 10 degree-days a day: 6 to 8 and 3 to 4 days are alike, 9 and 10 days are more."""

    def title(first: list[int], second: list[int]) -> str:
        cohorts = [
            kept({f"a{n}": days for n, days in enumerate(first)}, "cool", 15.0),
            kept({f"a{n}": days for n, days in enumerate(second)}, "warm", 20.0),
        ]
        return stage_heat.title([each.heat() for each in cohorts], compare(cohorts, "L1", "L2"))

    same = title([6, 7, 8, 7, 6, 8], [3, 4, 4, 3, 4, 3])
    assert same.startswith("No difference in heat from L1 to L2 is shown: ")
    assert len(same) <= MOST
    apart = title([6, 7, 8, 7, 6, 8], [9, 10, 9, 10, 9, 10])
    assert apart.startswith("The cohorts needed different heat from L1 to L2: cool ")
    alone = stage_heat.title([kept(USUAL, "cool").heat(), kept(USUAL, "warm").heat()])
    assert alone == "Degree-days had by 16 Mar: cool 90, warm 90"


def test_heat_of_one_cohort_says_whether_it_was_as_expected() -> None:
    as_expected = stage_heat.title([kept(USUAL, "tiny").heat()])
    assert "; " not in as_expected
    more = stage_heat.title([kept(dict.fromkeys(USUAL, 6), "tiny").heat()])
    assert more == "L1 needed more heat than expected in tiny: 60 degree-days, not 24 to 36"


def test_survival_claims_no_difference_that_is_not_shown() -> None:
    """Of twelve 11 and 1 died as eggs, on different days; then five and six."""

    def cohort(dead: int) -> Notebook:
        lives = {f"d{n}": "egg " * (1 + n % 4) + "dead" for n in range(dead)}
        lives |= {f"a{n}": "egg L1 L2 pupa adult adult" for n in range(12 - dead)}
        name = f"of{dead}"
        return notebook_of(tiny_log(lives, name=name))

    def title(*dead: int) -> str:
        cohorts = [cohort(each) for each in dead]
        return survival.title([each.survival() for each in cohorts], compare(cohorts).survival)

    assert title(11, 1).endswith("; deaths differ")
    assert title(5, 6).endswith("; no difference in deaths is shown")
    assert "deaths" not in survival.title([cohort(5).survival(), cohort(6).survival()])


# --- titles that fit ---------------------------------------------------------------------------

MOST = 100
"""Letters that a title takes at one or a few cohorts with names of usual length."""

LONG = ["a-cohort-with-a-name-of-sixty-letters-on-the-window-shelf-01", "a" * 59 + "b", "a" * 60]


def titles_of(cohorts: list[Notebook]) -> list[str]:
    return [
        durations.title([each.durations() for each in cohorts]),
        progress.title([each.progress() for each in cohorts]),
        stage_counts.title([each.stage_counts() for each in cohorts]),
        growth.title([each.growth() for each in cohorts]),
        survival.title([each.survival() for each in cohorts]),
        stage_heat.title([each.heat() for each in cohorts]),
        forecast.title([each.forecast(as_of=moment(9)) for each in cohorts]),
        agreement.title([each.agreement() for each in cohorts]),
    ]


@pytest.mark.parametrize("names", [["cool"], ["cool", "warm"], LONG, [f"c{n}" for n in range(12)]])
def test_titles_fit_and_name_no_two_cohorts_alike(names: list[str]) -> None:
    cohorts = [kept(USUAL, name) for name in names]
    for text in titles_of(cohorts):
        assert len(text) <= (MOST if names is not LONG else 160), text
        assert not any(name in text for name in LONG), text


def test_long_names_lose_their_middle_and_stay_apart() -> None:
    short = short_names([*LONG, "room"])
    assert len(set(short.values())) == 3
    assert "room" not in short
    assert all(len(each) < 60 for each in short.values())
    assert with_short_names(f"{LONG[0]} took 3 days", LONG) == f"{short[LONG[0]]} took 3 days"
    assert short_names(["a" * 30])["a" * 30] == "a" * 10 + "…" + "a" * 9
