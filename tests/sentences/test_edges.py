"""What is said where a condition turns: one more, one less, or just on the limit."""

from datetime import date

import pytest
from msgspec.structs import replace

from rearlog.analysis.comparing.learning import Learned, LearnedStage, LearnedThreshold
from rearlog.analysis.forecasting.found_animal import found_animal
from rearlog.analysis.forecasting.future_temperature import TemperatureBasis
from rearlog.analysis.growth.evidence import AnswerShare, Evidence, EvidenceKind, ExpectedSize
from rearlog.analysis.growth.practice import Specimen
from rearlog.analysis.simulation.sample_size import PowerAt, SampleSize
from rearlog.records.profile import NOT_THE_ANIMAL, Quantity
from rearlog.sentences import (
    durations,
    evidence,
    forecast,
    future_temperature,
    learning,
    practice,
    sample_size,
    survival,
)
from rearlog.sentences import found_animal as found_words
from rearlog.sentences.expected import brackets
from rearlog.sentences.phrases import beyond, cohorts_in_a_row, with_short_names
from rearlog.sentences.texts import texts_about
from rearlog.species.catalogue import find
from tests.builders import small_profile
from tests.sentences.invented_stages import made, stage
from tests.sentences.small_lives import small


def test_four_cohorts_are_named_in_a_row_and_five_are_counted() -> None:
    assert cohorts_in_a_row("abcd") == "a, b, c, d"
    assert cohorts_in_a_row("abcde") == "5 cohorts"
    assert beyond("abcd").endswith(": a, b, c, d")


def test_names_of_twenty_letters_stand_whole_in_a_title() -> None:
    whole, longer = "n" * 20, "m" * 21
    told = with_short_names(f"{whole} and {longer}", [whole, longer])
    assert told.startswith(f"{whole} and ")
    assert longer not in told


PLANNED = SampleSize(
    "egg", "adult", "days", 20.0, 22.0, 30.0, 29.0, 1.0, 1, 0.05, 0.8, 400, 20,
    (PowerAt(20, 0.8, 0.7, 0.9), PowerAt(500, 0.4, 0.3, 0.5)), PowerAt(20, 0.05, 0.02, 0.08),
    False, (),
)  # fmt: skip


@pytest.mark.parametrize(
    ("difference", "said"),
    [
        (1.0, "1 day"),
        (-1.004, "1 day"),  # as it is shown
        (1.006, "1.01 days"),
        (1.04, "1.04 days"),
        (0.5, "0.5 days"),
        (2.5449, "2.54 days"),
    ],
)
def test_a_difference_of_one_day_is_one_as_it_is_shown(difference: float, said: str) -> None:
    planned = replace(PLANNED, difference_days=difference)
    assert sample_size.lead(planned) == (
        f"20 individuals that complete it in each cohort show a difference of {said} in 80% of "
        "comparisons."
    )
    never = replace(planned, n=None)
    shows = f"Not even 500 individuals in each cohort would show a difference of {said} in 80% of "
    assert sample_size.words(never) == (f"{shows}comparisons.",)
    assert sample_size.words(replace(never, in_step=True)) == (
        f"{shows}comparisons: too many pass between the same checks, so look more often.",
    )


def test_what_was_learned_is_cited_by_its_cohorts() -> None:
    unknown = LearnedStage("egg", None, None, None, 2, 1, 0, (), ())
    found = Learned("Moth test", ("a",), None, 10.0, (unknown,))
    assert learning.citation(found).startswith("Own cohort a: means ")
    both = replace(found, cohorts=("a", "b"))
    assert learning.citation(both).startswith("Own cohorts a and b: means ")
    threshold = LearnedThreshold(10.04, None, "L1", (20.0, 24.04))
    assert learning.threshold_note(threshold) == (
        "L1 at 20.0 and 24.0 °C; two temperatures say nothing of its error"
    )
    three = replace(threshold, se=0.456, at=(20.0, 24.0, 28.0))
    assert learning.threshold_note(three) == "L1 at 20.0, 24.0 and 28.0 °C, standard error 0.46 °C"


@pytest.mark.parametrize(
    ("grown", "said"),
    [(0.2, "just molted"), (0.21, ""), (0.79, ""), (0.81, "about to molt")],
)
def test_how_far_an_animal_has_grown_is_told_at_the_ends_of_an_instar(
    grown: float, said: str
) -> None:
    told = practice.sign(find("painted-lady"), Specimen("L2", 0.61, 5.0, grown))
    assert ("molt" in told) == bool(said)
    assert said in told


def test_in_plain_words_the_whole_took_so_long_where_somebody_came_through() -> None:
    assert durations.plainly(made(stage("egg to adult", 30.04, n=7))) == [
        "From egg to adult they took 30.0 days on average (n = 7)."
    ]
    assert durations.plainly(made(stage("egg to adult"))) == []
    assert durations.plainly(made()) == []


def test_most_died_in_a_stage_where_that_is_one_of_several_on_the_way() -> None:
    """Nor is a stage told in which as many died as in another, or the last one itself."""

    def told(*lives: str) -> str:
        return survival.lead(small("tiny", lives).survival())

    assert told("egg dead", "egg dead", "egg dead").endswith("became adults: 3 died.")
    one = "egg L1 dead"
    assert told(one, one, one).endswith("3 died, all as L1.")
    assert told(one, one, one, "egg dead").endswith("4 died, most often as L1 (3).")
    grown = "egg L1 L2 pupa adult dead"
    assert told(one, one, "egg dead", grown, grown, grown).endswith("3 died, most often as L1 (2).")


def test_texts_are_of_results_of_the_analysis_alone() -> None:
    """Whatever else bears the name of a module with sentences, or has none, has no texts."""

    def of(module: str) -> type:
        return type("Found", (), {"__module__": module})

    assert dict(texts_about(Learned)) == {}
    assert dict(texts_about(SampleSize))["lead"] is sample_size.lead
    for module in ("rearlog.records.survival", "elsewhere.survival", "rearlog.analysis.no.words"):
        assert dict(texts_about(of(module))) == {}

    class Own(SampleSize, frozen=True):
        """Of another module."""

    assert dict(texts_about(Own))["lead"] is sample_size.lead


def test_measures_of_an_animal_have_their_decimals() -> None:
    assert practice.facts(Specimen("L2", 0.614, 5.04, None)) == [
        "head 0.61 mm wide",
        "5.0 mm long",
    ]
    assert practice.facts(Specimen("L2", None, 5.04, None)) == ["5.0 mm long"]
    assert practice.facts(Specimen("L2", 0.616, None, None)) == ["head 0.62 mm wide"]
    assert practice.facts(Specimen("egg", None, None, None)) == []
    heads = {"L1": 0.304, "L2": 0.484, "L3": 1.2512}
    profile = small_profile()
    stages = tuple(
        replace(each, head_width_mm=Quantity("test", value=heads[each.code]))
        if each.code in heads
        else each
        for each in profile.stages
    )
    told = practice.sign(replace(profile, stages=stages), Specimen("L2", 0.614, None, 0.5))
    assert told == "Its head is 0.61 mm wide. Heads in mm: L1 0.3, L2 0.48, L3 1.3."


def test_what_speaks_for_a_stage_is_told_with_what_is_known_of_it() -> None:
    asked = Evidence(
        EvidenceKind.ANSWER, "Is it striped?", (), "yes", ("L2",), (),
        (AnswerShare("L2", 0.904), AnswerShare(NOT_THE_ANIMAL, 0.05)),
    )  # fmt: skip
    assert evidence.given(asked) == "yes"
    assert evidence.words(asked) == "judged to be so in 90 % of L2, 5 % of something else"
    sizes = (ExpectedSize("L1", 0.30444, 0.30444, 7), ExpectedSize("L2", 0.48, 0.48))
    head = Evidence(EvidenceKind.MEASURE, "head width", (0.5, 0.52), None, ("L2",), (), sizes)
    assert evidence.given(head) == "0.5, 0.52 mm"
    assert evidence.given(replace(head, reading_error_mm=0.02)) == "0.5, 0.52 ± 0.02 mm"
    assert evidence.words(head) == "expected: L1 0.304 (own, n = 7), L2 0.48 mm"
    ranges = (ExpectedSize("L1", 2.0, 4.25), ExpectedSize("L2", 4.0, 7.5))
    body = replace(head, kind=EvidenceKind.LENGTH, grounds=ranges)
    assert evidence.words(body) == "expected: L1 2 to 4.25, L2 4 to 7.5 mm"


def test_without_expected_events_there_are_no_brackets() -> None:
    assert brackets([]) == brackets([(), ()]) == ""


def test_of_no_cohort_nothing_is_foretold() -> None:
    assert forecast.title([]) == "Nothing can be foretold of  yet"


def test_of_a_grown_animal_the_age_is_told_and_what_it_rests_on() -> None:
    """Nothing is to come; where its age is not known either, there is nothing to rest on."""
    found = found_animal(find("silkworm"), "L3", 24, date(2026, 3, 9))
    last = replace(found, coming=())
    assert found_words.words(last) == found_words.words(found)
    assert found_words.words(replace(last, age=None)) == ()
    young = found_words.words(replace(found, age=None))
    assert young == ("How old it is, the profile does not tell.", *found_words.words(found)[1:])


@pytest.mark.parametrize(
    ("trend", "told"),
    [
        (0.0, ""),
        (0.054, ", taken to get warmer: by 0.05 °C a day, then less"),
        (-1.456, ", taken to get cooler: by 1.46 °C a day, then less"),
    ],
)
def test_a_trend_of_the_temperature_is_told_by_its_sign(trend: float, told: str) -> None:
    taken = TemperatureBasis(20.04, False, None, None, 7, trend)
    lately = "20.0 °C, the mean of the last 7 days on record"
    assert future_temperature.basis(taken) == f"{lately}{told}"
    assert future_temperature.basis(replace(taken, given=True)) == "20.04 °C, as given"
    first, last = date(2026, 3, 9), date(2026, 3, 12)
    assert future_temperature.basis(replace(taken, given=True, first=first, last=last)) == (
        "as given for 2026-03-09 to 2026-03-12 (20.0 °C on average), then the mean of the last 7 "
        "days"
    )
    assert future_temperature.basis(None) == "not known"
