"""Small wrong profiles beside the one message that each must bring."""

import json
import tomllib
from contextlib import suppress
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from rearlog.records.errors import ProfileError
from rearlog.records.profile import Profile
from rearlog.species.loader import check, read
from tests.species.invented_profile import HEAD, LOWER, OWN, SOUND, STAGES


def told(text: str) -> list[str]:
    return [str(problem) for problem in check(tomllib.loads(text), "moth.toml")]


def with_egg(line: str) -> str:
    """The sound profile with one more line in its egg stage."""
    return SOUND.replace('code = "egg"\n', f'code = "egg"\n{line}\n')


def with_days(inside: str) -> str:
    return SOUND.replace("low = 3, high = 5, at_celsius = [20, 24]", inside)


def with_stages(*codes: str) -> str:
    return HEAD + OWN + "".join(f'[[stages]]\ncode = "{code}"\n' for code in codes)


def with_span(text: str) -> str:
    value = 'days = { value = 9, source = "own" }'
    return f'{SOUND}[[spans]]\nname = "larva"\n{value}\n{text}\n'


QUESTION = '[[questions]]\nkey = "horn"\ntext = "Has it a horn?"\nsource = "own"\nanswers = '


def with_answer(likelihood: str) -> str:
    """The sound profile with a question: `no` is the answer in L1 in four of ten cases."""
    no = '{ text = "no", likelihood = { L1 = 0.4 } }'
    return f'{SOUND}{QUESTION}[{{ text = "yes", likelihood = {likelihood} }}, {no}]\n'


def test_a_sound_profile_has_no_problems() -> None:
    assert told(SOUND) == []
    assert told(with_stages("egg", "N1-N5", "adult")) == []
    assert told(with_stages("L1", "prepupa", "pupa")) == []
    assert told(with_span('first = "L1"\nuntil = "adult"')) == []
    assert told(with_answer("{ L1-L2 = 0.6, none = 1 }")) == []


BROKEN_FILES = [
    (
        HEAD.replace("name", "nmae", 1) + OWN + STAGES,
        "nmae: there is no such key (did you mean name?)",
    ),
    (HEAD.replace('name = "test moth"', "") + OWN + STAGES, "moth.toml, name: is missing"),
    (HEAD.replace("test moth", " ") + OWN + STAGES, "moth.toml, name: is empty"),
    (HEAD.replace('"test moth"', "7") + OWN + STAGES, "name: must be a text in quotation marks"),
    (HEAD.replace("test-moth", "Test moth") + OWN + STAGES, "“Test moth” is not an id"),
    (HEAD + "cautions = [1]" + OWN + STAGES, "caution 1: must be a text"),
    (HEAD + 'cautions = "mind"' + OWN + STAGES, "cautions: must be a list [ … ]"),
    (HEAD + "stages = 3" + OWN, "stages: must be a list [ … ]"),
    (HEAD + "stages = [3, 4]" + OWN, "stage 1: must be a table { … }"),
    (HEAD + "sources = 3\n" + STAGES, "sources: must be a table { … }"),
]

MISTAKES = [
    # stages
    (with_stages("egg"), "stages: a profile needs two stages or more"),
    (with_stages("egg", "larva"), "stage larva: “larva” is not a stage code (use egg, L1, L2"),
    (with_stages("egg", "l1"), "“l1” is not a stage code"),
    (with_stages("egg", "L0"), "“L0” is not a stage code"),
    (with_stages("egg", "egg"), "stage egg: the stage is given twice"),
    (with_stages("L1", "egg"), "stage egg: it stands after L1"),
    (with_stages("egg", "adult", "pupa"), "stage pupa: it stands after adult"),
    (with_stages("egg", "L2", "L1"), "stage L1: it stands after L2"),
    (with_stages("egg", "L1", "N2"), "stage N2: L1 stands beside N2 (use either L or N)"),
    (with_stages("egg", "L1", "L4"), "no instar with the number 2, 3"),
    (with_egg("optional = true"), "stage egg: only instars can be optional"),
    (with_egg("optional = 1"), "stage egg, optional: must be true or false"),
    (with_egg('colour = "red"'), "stage egg, colour: there is no such key (known here: code, name"),
    (SOUND.replace('"L1"', '"L1"\noptional = true'), "stage L1: L2 is not optional"),
    (SOUND.replace('code = "egg"', 'name = "egg"'), "stage egg, code: is missing"),
    # sources
    (
        SOUND.replace('kind = "own"', 'kind = "hearsay"'),
        "source own, kind: “hearsay” is not a kind",
    ),
    (SOUND.replace("An invented notebook.", ""), "source own, citation: is empty"),
    (SOUND.replace('kind = "own"', ""), "source own, kind: is missing"),
    (
        with_days("low = 3, high = 5, spread_source = 'owm'"),
        "“owm” is not among the sources (did you",
    ),
    (
        with_days("value = 4").replace('value = 4, source = "own"', "value = 4"),
        "stage egg, days, source: is missing",
    ),
    (with_egg('signs = [{ text = "round", source = "book" }]'), "egg, sign 1: “book” is not among"),
    (with_egg('signs = [{ text = "round" }]'), "stage egg, sign 1, source: is missing"),
    (with_egg('confusions = [{ taken_for = "sap", tell = "", source = "own" }]'), "tell: is empty"),
    (SOUND + '[[notes]]\ntext = "n"\nsource = "x"', "note 1: “x” is not among the sources"),
    # numbers
    (with_days('low = "3", high = 5'), "stage egg, days, low: must be a number"),
    (with_days("low = true, high = 5"), "stage egg, days, low: must be a number"),
    (with_days("low = nan, high = 5"), "stage egg, days, low: must be a finite number"),
    (with_days("value = inf"), "stage egg, days, value: must be a finite number"),
    (with_days("value = 1" + 400 * "0"), "stage egg, days, value: must be a finite number"),
    (with_days("low = 5, high = 3"), "stage egg, days: low 5 is above high 3"),
    (with_days("value = 7, low = 3, high = 5"), "value 7 is not between low 3 and high 5"),
    (with_days("low = 3"), "stage egg, days: low and high belong together"),
    (with_days("at_celsius = 20"), "stage egg, days: there is no number"),
    (
        with_days("value = 0"),
        "stage egg, days: value 0 days is not plausible (between 0.01 and 3000",
    ),
    (with_days("value = 4, sd = 0"), "stage egg, days: sd 0 is not above zero"),
    (with_days("low = 3, high = 5, sd = 1"), "sd is the spread around a value, which is missing"),
    (with_days("value = 4, spread_source = 'own'"), "spread_source without a spread"),
    (with_days("value = 4, at_celsius = [24, 20]"), "at_celsius: 24 is above 20"),
    (
        with_days("value = 4, at_celsius = 75"),
        "at_celsius 75 °C is not plausible (between -10 and 60",
    ),
    (with_days("value = 4, at_celsius = []"), "at_celsius: must be one temperature, or"),
    (with_days("value = 4, at_celsius = [20, 22, 24]"), "at_celsius: must be one temperature, or"),
    (SOUND.replace("value = 10,", "value = 72,"), "lower: value 72 °C is not plausible"),
    (
        SOUND.replace(LOWER, LOWER + 'upper = { value = 9, source = "own" }\n'),
        "upper: upper 9 °C is not above lower 10 °C",
    ),
    (
        SOUND.replace(LOWER, "") + 'degree_days = { value = 9, source = "own" }',
        "stage adult, degree_days: the lower developmental threshold is missing",
    ),
    (SOUND.replace("value = 0.8", "value = 0.5"), "0.5 mm is not above the 0.5 mm of L1"),
    (
        SOUND.replace("value = 0.8", "value = 80"),
        "stage L2, head_width_mm: value 80 mm is not plausible",
    ),
    (with_egg('length_mm = { value = 0.02, source = "own" }'), "length_mm: value 0.02 mm is not"),
    (with_egg('mass_mg = { value = -1, source = "own" }'), "mass_mg: value -1 mg is not plausible"),
    (
        with_egg('measures_mm.horn = { value = 4000, source = "own" }'),
        "egg, measures_mm horn: value",
    ),
    # forms
    (
        with_egg('form = { shape = "barel", source = "own" }'),
        "stage egg, form: “barel” is no shape of a drawn egg (did you mean barrel",
    ),
    (
        with_egg('form = { shape = "ball", marks = ["bands"], source = "own" }'),
        "stage egg, form: “bands” is no mark of a drawn egg (known here: ribs, threads",
    ),
    (with_egg('form = { shape = "ball", source = "x" }'), "egg, form: “x” is not among"),
    (with_egg('form = { shape = "ball" }'), "stage egg, form, source: is missing"),
    # spans
    (
        with_span('first = "L1"\nuntil = "adult"').replace(
            'days = { value = 9, source = "own" }', ""
        ),
        "span larva: there is no value (give days or degree_days)",
    ),
    (with_span('first = "L2"\nuntil = "L1"'), "span larva: L2 does not come before L1"),
    (with_span('first = "L2"\nuntil = "L2"'), "span larva: L2 does not come before L2"),
    (
        with_span('first = "L1"\nuntil = "adlt"'),
        "span larva: “adlt” is not a stage of this profile (did",
    ),
    # the key of questions
    (SOUND + QUESTION + "[]", "question horn: a question needs two answers or more"),
    (with_answer("{ L1 = 0.5 }") + with_answer("{}").removeprefix(SOUND), "the key is used twice"),
    (with_answer("{ L1-L3 = 0.1 }"), "question horn: “L3” is not a stage of this profile"),
    (with_answer("{ L1 = 1.5 }"), "likelihood 1.5 of L1 is not between 0 and 1"),
    (with_answer("{ L1 = 'x' }"), "question horn, answer 1, likelihood L1: must be a number"),
    (with_answer("{ L1 = 0.7 }"), "horn: the likelihoods of L1 add up to 1.1 over the answers"),
]


@pytest.mark.parametrize(("text", "message"), BROKEN_FILES, ids=[each for _, each in BROKEN_FILES])
def test_a_broken_part_of_the_file_is_named(text: str, message: str) -> None:
    assert any(message in each for each in told(text)), told(text)


@pytest.mark.parametrize(("text", "message"), MISTAKES, ids=[each for _, each in MISTAKES])
def test_each_mistake_brings_its_one_message(text: str, message: str) -> None:
    (only,) = told(text)
    assert message in only
    assert only.startswith("moth.toml, ")


def test_all_mistakes_are_listed_at_once() -> None:
    text = (
        SOUND.replace("low = 3", 'low = "3"')
        .replace("value = 0.8", "value = 0.4")
        .replace('scientific_name = "Exemplum inventum"', "latin = 1")
        .replace('kind = "own"', 'kind = "hearsay"')
    )
    expected = (
        "latin: there is no such key",
        "scientific_name: is missing",
        "egg, days, low: must be a number",
        "“hearsay” is not a kind of source",
        "0.4 mm is not above the 0.5 mm of L1",
    )
    messages = told(text)
    for message in expected:
        assert any(message in each for each in messages), message


def test_a_document_that_is_no_table_is_one_problem() -> None:
    assert [str(problem) for problem in check([1, 2])] == ["must be a table { … }"]


SCALARS = st.one_of(
    st.none(),
    st.booleans(),
    st.integers(),
    st.just(10**400),
    st.floats(),
    st.text(max_size=8),
    st.sampled_from(["egg", "L1", "L1-L99", "N2", "pupa", "adult", "own", "none", "test-moth"]),
)
KEYS = """
    id name scientific_name stages sources spans lower upper measure_relations questions cautions
    notes code optional days degree_days head_width_mm measures_mm signs confusions first until key
    text answers likelihood source value sd low high at_celsius kind citation
"""
WORDS = st.one_of(st.text(max_size=6), st.sampled_from(KEYS.split()))
ANYTHING = st.recursive(
    SCALARS,
    lambda inner: st.one_of(st.lists(inner, max_size=4), st.dictionaries(WORDS, inner, max_size=6)),
    max_leaves=25,
)


def problems_or_profile(document: Any) -> None:
    """Whatever the document is: problems that can be shown, or a profile that can be kept."""
    problems = check(document)
    assert all(str(problem) for problem in problems)
    if not problems:
        profile = read(document)
        assert Profile.from_dict(json.loads(json.dumps(profile.to_dict()))) == profile


@given(ANYTHING)
@settings(max_examples=300)
def test_no_document_brings_a_traceback(document: Any) -> None:
    problems_or_profile(document)


@given(st.data())
@settings(max_examples=200, suppress_health_check=[HealthCheck.too_slow])
def test_no_change_of_a_sound_profile_brings_a_traceback(data: st.DataObject) -> None:
    document = tomllib.loads(with_answer("{ L1-L2 = 0.6 }"))
    place: Any = document
    while True:
        keys = list(place) if isinstance(place, dict) else list(range(len(place)))
        key = data.draw(st.sampled_from(keys))
        if not isinstance(place[key], dict | list) or not place[key] or data.draw(st.booleans()):
            place[key] = data.draw(ANYTHING)
            break
        place = place[key]
    problems_or_profile(document)


@given(ANYTHING)
@settings(max_examples=200)
def test_a_cohort_file_with_anything_as_its_profile_is_refused_plainly(document: Any) -> None:
    with suppress(ProfileError):
        assert isinstance(Profile.from_dict(document), Profile)
