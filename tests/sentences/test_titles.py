"""What titles claim, of a thousand cohorts of all shapes, beside what the lives themselves show.

The lives are written down here, so that the counts need none of rearlog's arithmetic.
"""

import random
import re
from datetime import timedelta
from pathlib import Path

import pytest

from rearlog.analysis.stages.expected import Timing
from rearlog.notebook import Notebook
from rearlog.records.log import ConstantTemperature
from rearlog.sentences import (
    durations,
    forecast,
    growth,
    progress,
    stage_counts,
    stage_heat,
    survival,
)
from rearlog.sentences.phrases import sentence_case
from tests.builders import START, moment, small_profile, tiny_log

STAGES = ("egg", "L1", "L2", "L3", "pupa", "adult")
OPTIONAL = "L3"
HEAT = {"egg": 30.0, "L1": 25.0, "L2": 30.0, "pupa": 60.0}
SEEDS = range(400)


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
    return lives, Notebook(Path(f"{name}.json")).with_log(log)


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
    if cohort.temperatures.any_known:
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
