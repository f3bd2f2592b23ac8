import math

import pytest
from msgspec.structs import replace

from rearlog.analysis.growth.key import (
    next_question,
    probabilities,
    read_answer,
    read_answers,
)
from rearlog.records.errors import UsageError
from rearlog.records.profile import KeyAnswer, KeyQuestion
from rearlog.species.catalogue import bundled, find
from tests.analysis.invented_moth import moth


def question(key, *likelihoods):
    answers = tuple(KeyAnswer(f"answer {n}", each) for n, each in enumerate(likelihoods, start=1))
    return KeyQuestion(key, f"{key}?", answers, "invented")


HALVES = question(
    "halves",
    {"egg": 1, "L1": 1, "L2": 1},
    {"L3": 1, "pupa": 1, "adult": 1, "none": 1},
)
ONE = question("one", {"egg": 1}, dict.fromkeys(("L1", "L2", "L3", "pupa", "adult", "none"), 1))
NOISE = question("noise", dict.fromkeys(("egg", "L1", "L2", "L3", "pupa", "adult", "none"), 0.5))


def test_the_question_that_tells_most_comes_first():
    """Of 7 possibilities: 3 to 4 tells 0.985 bits, 1 to 6 tells 0.592, as binary entropies do."""
    assert next_question(moth(questions=(ONE, NOISE, HALVES)), {}) == HALVES
    assert math.isclose(
        -(1 / 7) * math.log2(1 / 7) - (6 / 7) * math.log2(6 / 7), 0.592, abs_tol=1e-3
    )


def test_a_look_that_tells_enough_goes_before_any_ruler():
    """HALVES tells 0.985 bits, ONE 0.592, and NOISE nothing."""
    with_ruler = replace(HALVES, needs_ruler=True)
    profile = moth(questions=(with_ruler, NOISE, ONE))
    assert next_question(profile, {}) == ONE
    assert next_question(profile, {"one": None}) == with_ruler
    even = dict.fromkeys((*profile.codes, "none"), 0.5)
    slight = question("slight", {**even, "egg": 0.6}, {**even, "egg": 0.4})
    assert next_question(moth(questions=(with_ruler, slight)), {}) == with_ruler


def told_by(one: float) -> float:
    """Bits that a question tells whose answers each occur in one half of the stages with `one` and
    in the other with 1 − `one`: those of a symmetric channel (Shannon 1948)."""
    return 1 + one * math.log2(one) + (1 - one) * math.log2(1 - one)


@pytest.mark.parametrize(
    ("one", "bits", "asked"), [(0.70, 0.119, "look"), (0.68, 0.096, "ruler"), (0.75, 0.189, "look")]
)
def test_a_tenth_of_a_bit_is_worth_a_look(one, bits, asked):
    """Of the eggs, L1 and L2, and L3, pupae and adults: nothing else is possible."""
    young, old = ("egg", "L1", "L2"), ("L3", "pupa", "adult")
    animal = question("animal", dict.fromkeys((*young, *old), 1), {"none": 1})
    here, there = dict.fromkeys(young, one), dict.fromkeys(old, 1 - one)
    look = question(
        "look",
        here | there,
        {code: 1 - p for code, p in (here | there).items()},
    )
    ruler = replace(HALVES, key="ruler", needs_ruler=True)
    profile = moth(questions=(animal, ruler, look))
    assert told_by(one) == pytest.approx(bits, abs=0.001)
    found = next_question(profile, {"animal": animal.answers[0]})
    assert found is not None
    assert found.key == asked


@pytest.mark.parametrize(
    ("one", "bits", "asked"), [(0.56, 0.0104, True), (0.558, 0.0097, False), (0.58, 0.0185, True)]
)
def test_a_question_that_tells_less_than_a_hundredth_of_a_bit_is_not_asked(one, bits, asked):
    young, old = ("egg", "L1", "L2"), ("L3", "pupa", "adult")
    animal = question("animal", dict.fromkeys((*young, *old), 1), {"none": 1})
    share = dict.fromkeys(young, one) | dict.fromkeys(old, 1 - one)
    look = question("look", share, {code: 1 - p for code, p in share.items()})
    found = next_question(moth(questions=(animal, look)), {"animal": animal.answers[0]})
    assert told_by(one) == pytest.approx(bits, abs=0.0001)
    assert (found is not None) == asked


@pytest.mark.parametrize(
    "species", [each.id for each in bundled() if find(each.id).questions], ids=str
)
def test_a_bundled_key_begins_with_what_needs_no_measuring(species):
    profile = find(species)
    first = next_question(profile, {})
    assert first is not None
    assert first.key == "form"
    answers: dict[str, KeyAnswer | None] = {}
    rulers = []
    while (asked := next_question(profile, answers)) is not None:
        answers[asked.key] = None  # not sure of anything
        rulers.append(asked.needs_ruler)
    assert True in rulers
    assert rulers == sorted(rulers)


def test_a_monarch_is_often_told_without_a_ruler():
    """Bands, filaments that end at the head, leaf eaten from its edge: L3."""
    monarch = find("monarch")
    told = {"form": "a caterpillar", "bands": "yes", "past-head": "about", "feeding": "the leaf's"}
    answers = read_answers(monarch, told)
    found = probabilities(monarch, answers)
    assert max(found, key=found.__getitem__) == "L3"
    assert next_question(monarch, dict(list(answers.items())[:1])).needs_ruler is False


def test_a_question_is_asked_once_and_one_that_tells_nothing_never():
    profile = moth(questions=(ONE, NOISE, HALVES))
    assert next_question(profile, {"halves": None}) == ONE
    assert next_question(profile, {"halves": None, "one": None}) is None


def test_who_is_sure_is_not_asked_again():
    profile = moth(questions=(ONE, HALVES))
    assert probabilities(profile, {"one": ONE.answers[0]})["egg"] == 1
    assert next_question(profile, {"one": ONE.answers[0]}) is None


def test_nine_in_ten_is_sure_enough():
    nearly = question("nearly", {"egg": 0.95, "L1": 0.05}, {"egg": 0.05, "L1": 0.95, "L2": 1})
    profile = moth(questions=(nearly, ONE))
    assert next_question(profile, {"nearly": nearly.answers[0]}) is None
    assert next_question(profile, {"nearly": nearly.answers[1]}) is not None


def test_a_contradiction_ends_the_key():
    profile = moth(questions=(ONE, HALVES, NOISE))
    answers = {"one": ONE.answers[0], "halves": HALVES.answers[1]}
    assert probabilities(profile, answers) == {}
    assert next_question(profile, answers) is None


@pytest.mark.parametrize(
    ("text", "number"),
    [("2", 2), ("stubs of less than 1 mm", 2), ("STUBS", 2), ("more", 5), ("1 to 3 mm", 3)],
)
def test_an_answer_by_its_number_its_text_or_how_it_begins(text, number):
    asked = next(each for each in find("monarch").questions if each.key == "front-filaments")
    assert read_answer(asked, text) == asked.answers[number - 1]


def test_a_whole_text_goes_before_the_beginning_of_a_longer_one():
    short, longer = (
        replace(each, text=text) for each, text in zip(ONE.answers, ("egg", "eggs"), strict=False)
    )
    asked = replace(ONE, answers=(longer, short))
    assert read_answer(asked, "egg") == short
    assert read_answer(asked, "eggs") == longer


@pytest.mark.parametrize("text", ["", "?", "not sure", "Not Sure"])
def test_not_sure_is_an_answer(text):
    assert read_answer(find("monarch").questions[0], text) is None


@pytest.mark.parametrize("text", ["9", "0", "-1", "a pale", "a whale"])
def test_what_is_not_clear_is_refused_with_the_answers(text):
    with pytest.raises(UsageError, match="3 a caterpillar"):
        read_answer(find("monarch").questions[0], text)


def test_all_that_cannot_be_read_is_told_at_once():
    with pytest.raises(UsageError) as error:
        read_answers(find("monarch"), {"form": "9", "colour": "1", "bands": "3"})
    form, colour = error.value.problems
    assert (form.message, form.place) == ("“9” is not an answer", "form")
    assert (colour.message, colour.place) == ("there is no question “colour”", find("monarch").name)
    assert colour.remedy.startswith("the questions are form, ")


@pytest.mark.parametrize(
    "species", [each.id for each in bundled() if find(each.id).questions], ids=str
)
def test_the_key_of_a_bundled_profile_leads_to_most_stages(species):
    """Answered as the profile says is likeliest, it ends with the true stage as the likeliest."""
    profile = find(species)
    for code in profile.codes:
        answers: dict[str, KeyAnswer | None] = {}
        while (asked := next_question(profile, answers)) is not None:
            answers[asked.key] = max(asked.answers, key=lambda each: each.likelihood.get(code, 0))
        found = probabilities(profile, answers)
        assert max(found, key=found.__getitem__) == code
        assert len(answers) <= len(profile.questions)
