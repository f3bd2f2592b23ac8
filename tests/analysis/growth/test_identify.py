import numpy as np
import pytest
from msgspec.structs import replace
from scipy.stats import norm

from rearlog.analysis.growth.evidence import LENGTH_FLOOR, Measured
from rearlog.analysis.growth.growth import Growth, InstarWidth
from rearlog.analysis.growth.identify import Reservation, _possible, identify
from rearlog.analysis.growth.key import read_answers
from rearlog.present.json import plain
from rearlog.records.errors import UsageError
from rearlog.records.profile import Quantity
from rearlog.sentences.evidence import given, words
from rearlog.sentences.identify import look_for, verdict, warnings
from rearlog.species.catalogue import bundled, find

# Published head capsule widths in mm, L1–L5: Rev. Colomb. Entomol., biology of the silkworm
SILKWORM = {"L1": 0.54, "L2": 1.02, "L3": 1.65, "L4": 2.51, "L5": 3.58}
# Published front filaments in mm: larval field guide, University of Minnesota
MONARCH_FILAMENTS = {"L2": 0.3, "L3": 1.7, "L4": 5.0, "L5": 11.0}
MIDPOINTS = list(zip(list(SILKWORM)[:-1], list(SILKWORM)[1:], strict=True))


def told(species, answers=None, growth=None, **measured):
    profile = find(species) if isinstance(species, str) else species
    return identify(profile, Measured(**measured), read_answers(profile, answers or {}), growth)


def likely(result):
    return {each.stage: each.probability for each in result.probabilities}


# --- head widths ---------------------------------------------------------------------------------


@pytest.mark.parametrize("instar", SILKWORM)
def test_each_published_mean_is_assigned_to_its_own_instar(instar):
    result = told("silkworm", head_mm=(SILKWORM[instar],))
    assert result.stage == instar
    assert likely(result)[instar] > 0.90


@pytest.mark.parametrize(("lower", "upper"), MIDPOINTS)
@pytest.mark.parametrize("kind", ["arithmetic", "geometric"])
def test_a_midpoint_is_called_uncertain_with_both_named(lower, upper, kind):
    low, high = SILKWORM[lower], SILKWORM[upper]
    middle = (low + high) / 2 if kind == "arithmetic" else (low * high) ** 0.5
    result = told("silkworm", head_mm=(middle,))
    assert result.stage is None
    assert verdict(result) == f"between {lower} and {upper}, measure again"
    assert result.clues


def test_measuring_again_makes_sure():
    once, thrice = (told("silkworm", head_mm=(2.2,) * times) for times in (1, 3))
    assert once.stage is None
    assert thrice.stage == "L4"


@pytest.mark.parametrize("widths", [(0.2,), (9.0,), (1.02, 2.51)])
def test_widths_of_no_instar_are_not_forced_into_one(widths):
    result = told("silkworm", head_mm=widths)
    assert result.stage is None
    assert "head width: of no stage" in verdict(result)
    assert (result.probabilities, result.clues) == ((), ())
    assert result.evidence[0].speaks_for == ()


def test_evidence_says_what_it_speaks_for_and_against():
    (head,) = told("silkworm", head_mm=(1.65,)).evidence
    assert (head.what, given(head)) == ("head width", "1.65 mm")
    assert head.speaks_for == ("L3",)
    assert head.speaks_against == ("L1", "L2", "L4", "L5")
    assert words(head) == "expected: L2 1.02, L3 1.65, L4 2.51 mm"


# --- other parts and length ----------------------------------------------------------------------


@pytest.mark.parametrize("instar", MONARCH_FILAMENTS)
def test_filaments_tell_the_instar(instar):
    result = told("monarch", parts_mm={"front_filament": (MONARCH_FILAMENTS[instar],)})
    assert result.stage == instar


def test_two_measures_decide_where_one_does_not():
    head, filament = (1.8,), {"front_filament": (1.7,)}
    assert told("monarch", head_mm=head).stage is None
    assert told("monarch", head_mm=head, parts_mm=filament).stage == "L3"


@pytest.mark.parametrize("species", [
    each.id for each in bundled() if any(s.length_mm for s in find(each.id).stages)
])  # fmt: skip
@pytest.mark.parametrize("length_mm", [0.5, 1.0, 3.0, 8.0, 12.0, 24.0, 45.0, 200.0])
def test_length_alone_never_decides_and_is_warned_of(species, length_mm):
    result = told(species, length_mm=length_mm)
    assert result.stage is None
    assert "length alone does not decide" in verdict(result)
    assert "poor guide" in warnings(result)[0]


def test_length_alone_still_says_what_is_likely():
    result = told("monarch", length_mm=12.0)  # L3 10 to 14, published
    assert max(likely(result), key=likely(result).__getitem__) == "L3"
    assert sum(likely(result).values()) == pytest.approx(1.0, abs=0.001)


def test_length_does_not_tip_what_is_uncertain_into_certain():
    """2.04 mm lies between L3 and L4; 13 to 24 and 24 to 40 mm are their lengths (memory)."""
    without = told("silkworm", head_mm=(2.04,))
    result = told("silkworm", head_mm=(2.04,), length_mm=40.0)
    assert likely(result)["L4"] > likely(without)["L4"]
    assert likely(result)["L4"] > 0.9  # with the length it would be sure
    assert result.stage is None


def test_a_length_against_the_head_is_warned_of_but_does_not_outweigh_it():
    result = told("silkworm", head_mm=(1.02,), length_mm=70.0)
    assert result.stage == "L2"
    assert warnings(result) == ("A body of 70 mm is unusual for L2.",)
    assert result.evidence[-1].speaks_for == ("L5",)


def test_a_length_leaves_no_stage_without_a_chance():
    with_length = likely(told("silkworm", head_mm=(2.04,), length_mm=3.0))
    without = likely(told("silkworm", head_mm=(2.04,)))
    assert with_length["L3"] / with_length["L4"] == pytest.approx(without["L3"] / without["L4"])
    assert LENGTH_FLOOR > 0


# --- the cohort's own widths ---------------------------------------------------------------------


def grown(n, **widths):
    instars = tuple(
        InstarWidth(stage, n, mean, 0.05 * mean, None, None) for stage, mean in widths.items()
    )
    return Growth("cups", instars, None, None, (), (), None, 0)


def test_the_cohorts_own_widths_are_taken_where_enough_were_measured():
    """A small cohort: its L4 are as wide as others are between L3 and L4."""
    small = {code: 0.8 * width for code, width in SILKWORM.items()}
    few = told("silkworm", head_mm=(2.04,), growth=grown(4, **small))
    enough = told("silkworm", head_mm=(2.04,), growth=grown(5, **small))
    assert few.stage is None
    assert enough.stage == "L4"
    assert enough.cohort == "cups"
    assert "L4 2.01 (own, n = 5)" in words(enough.evidence[0])


def test_a_profile_without_widths_can_go_by_the_cohorts_own():
    vinegar_fly = find("vinegar-fly")
    with pytest.raises(UsageError, match="no head widths"):
        told(vinegar_fly, head_mm=(0.4,))
    result = told(vinegar_fly, head_mm=(0.4,), growth=grown(9, L1=0.2, L2=0.4, L3=0.8))
    assert result.stage == "L2"


# --- answers -------------------------------------------------------------------------------------


def test_answers_are_weighed_by_bayes_theorem():
    """By hand: L2 0.05, L3 0.86, L4 0.06 of the answer, all caterpillars alike."""
    result = told("monarch", {"form": "3", "front-filaments": "3"})
    assert likely(result) == pytest.approx(
        {"L2": 0.05 / 0.97, "L3": 0.86 / 0.97, "L4": 0.06 / 0.97}, abs=0.00005
    )
    assert result.stage is None
    assert verdict(result) == "between L3 and L4, look again"


def test_all_stages_within_reach_are_named():
    """A caterpillar with bands: L2 to L5 are about as likely, L1 is not."""
    result = told("monarch", {"form": "3", "bands": "3"})
    assert verdict(result) == "between L2, L3, L4 and L5, look again"
    assert words(result.evidence[1]).startswith("judged to be so in 98 % of L3")


def test_an_answer_makes_sure_and_the_signs_can_be_checked():
    result = told("monarch", {"form": "a caterpillar", "front-filaments": "more than 7 mm"})
    assert result.stage == "L5"
    assert any("swing as it walks" in each for each in look_for(result))


def test_what_is_not_the_animal_is_said():
    result = told("monarch", {"form": "a pale drop"})
    assert (result.stage, verdict(result)) == ("none", "not the animal (97 %)")


def test_not_sure_tells_nothing():
    answered = told("monarch", {"form": "3", "bands": "not sure"})
    assert likely(answered) == likely(told("monarch", {"form": "3"}))


def test_answers_that_contradict_each_other():
    result = told("monarch", {"form": "a butterfly", "front-filaments": "1 to 3"})
    assert (result.stage, result.probabilities) == (None, ())
    assert verdict(result) == "what was given contradicts itself; look again"


def test_measures_and_answers_go_together():
    result = told("monarch", {"front-filaments": "4"}, head_mm=(1.8,))
    assert result.stage == "L4"
    assert [each.what[:4] for each in result.evidence] == ["head", "How "]


# --- what cannot be weighed ----------------------------------------------------------------------


@pytest.mark.parametrize(
    ("measured", "messages"),
    [
        ({}, ["nothing is known"]),
        ({"head_mm": (0.0, float("nan"))}, ["0 mm is not above zero", "nan mm"]),
        ({"length_mm": -3.0}, ["-3 mm is not above zero"]),
        ({"parts_mm": {"horn": (2.0,)}}, ["no measure “horn”", "front_filament"]),
        ({"parts_mm": {"horn": (-2.0,)}}, ["no measure “horn”", "-2 mm"]),
    ],
)
def test_all_that_cannot_be_weighed_is_told_at_once(measured, messages):
    with pytest.raises(UsageError) as error:
        told("monarch", **measured)
    for message in messages:
        assert message in str(error.value)


def test_a_varying_number_of_instars_is_warned_of():
    profile = find("silkworm")
    stages = tuple(
        replace(each, optional=each.code == "L5", head_width_mm=each.head_width_mm)
        for each in profile.stages
    )
    result = told(replace(profile, stages=stages), head_mm=(1.65,))
    assert any("number of instars varies" in each for each in warnings(result))


def test_a_spread_of_the_profile_is_taken():
    profile = find("silkworm")
    stages = tuple(
        replace(each, head_width_mm=Quantity("biology", each.head_width_mm.value, sd=0.3))
        if each.code == "L4"
        else each
        for each in profile.stages
    )
    wide = likely(told(replace(profile, stages=stages), head_mm=(3.0,)))
    assert wide["L4"] > likely(told("silkworm", head_mm=(3.0,)))["L4"]


@pytest.mark.parametrize("listing", bundled(), ids=lambda each: each.id)
def test_every_bundled_profile_can_be_asked(listing):
    profile = find(listing.id)
    for question in profile.questions:
        for number in range(1, len(question.answers) + 1):
            result = told(profile, {question.key: str(number)})
            assert sum(likely(result).values()) == pytest.approx(1.0, abs=0.001)
            assert plain(result)


# --- what a body length says ---------------------------------------------------------------------


def test_beyond_its_range_a_length_is_less_likely_by_a_normal_density():
    """Monarch (published): L3 10 to 14 mm, L4 13 to 25 mm. A body a fifth longer (on the scale of
    logarithms) than the longest L3 is one SD off it, and in the range of L4."""
    found = likely(told("monarch", length_mm=14 * np.exp(0.2)))
    assert found["L3"] / found["L4"] == pytest.approx(norm.pdf(1) / norm.pdf(0), rel=1e-3)
    shorter = likely(told("monarch", length_mm=13 * np.exp(-0.2)))
    assert shorter["L4"] / shorter["L3"] == pytest.approx(norm.pdf(1) / norm.pdf(0), rel=1e-3)


def test_a_length_alone_leaves_no_stage_of_unknown_length_and_beside_a_head_it_does_not_matter():
    alone = likely(told("monarch", length_mm=12.0))
    assert "adult" not in alone
    assert "none" not in alone
    (length,) = told("monarch", length_mm=12.0).evidence
    assert [(each.stage, each.low_mm, each.high_mm) for each in length.grounds] == [
        ("L2", 6.0, 9.0),
        ("L3", 10.0, 14.0),
        ("L4", 13.0, 25.0),
    ]
    assert length.speaks_for == ("L2", "L3", "L4")
    # a mean alone is a range of no width
    l3 = find("monarch").stage("L3")
    stages = tuple(
        replace(each, length_mm=Quantity(each.length_mm.source, value=12.0)) if each == l3 else each
        for each in find("monarch").stages
    )
    (length,) = told(replace(find("monarch"), stages=stages), length_mm=12.0).evidence
    assert (length.grounds[1].low_mm, length.grounds[1].high_mm) == (12.0, 12.0)


@pytest.mark.parametrize(
    "beside",
    [
        {"head_mm": (1.5,)},
        {"parts_mm": {"front_filament": (1.7,)}},
        {"answers": {"front-filaments": "1 to 3 mm"}},
    ],
    ids=str,
)
def test_a_stage_of_unknown_length_stays_possible_beside_other_evidence(beside):
    """The published head and filament of L3, whose length is taken to be unknown."""
    plain = find("monarch")
    stages = tuple(
        replace(each, length_mm=None) if each.code == "L3" else each for each in plain.stages
    )
    result = told(replace(plain, stages=stages), length_mm=12.0, **beside)
    assert likely(result)["L3"] > 0.5


def test_what_was_measured_is_doubted_only_where_there_is_reason():
    assert told("silkworm", head_mm=(1.02,)).doubts == ()
    assert told("silkworm", head_mm=(1.02,), length_mm=9.0).doubts == ()
    assert told("silkworm", length_mm=9.0).doubts == (Reservation.LENGTH_ALONE,)
    assert told("silkworm", head_mm=(1.02,), length_mm=70.0).doubts == (Reservation.UNUSUAL_LENGTH,)


def test_only_what_fits_no_stage_is_named_as_unfit():
    result = told("monarch", head_mm=(9.0,), parts_mm={"front_filament": (1.7,)})
    assert result.unfit == ("head width",)
    assert [each.what for each in result.evidence] == ["head width", "front filament"]


def test_without_widths_the_questions_are_left_and_without_those_the_signs():
    plain = find("monarch")
    headless = replace(
        plain, stages=tuple(replace(each, head_width_mm=None) for each in plain.stages)
    )
    with pytest.raises(UsageError, match="answer its questions"):
        told(headless, head_mm=(1.5,))
    with pytest.raises(UsageError, match="rearlog species show monarch"):
        told(replace(headless, questions=()), head_mm=(1.5,))


def test_probabilities_are_told_to_four_decimals_and_clues_part_what_is_possible():
    for lower, upper in MIDPOINTS:
        result = told("silkworm", head_mm=((SILKWORM[lower] * SILKWORM[upper]) ** 0.5,))
        assert all(each.probability == round(each.probability, 4) for each in result.probabilities)
        for clue in result.clues:
            if clue.taken_for is not None:
                assert {clue.stage, clue.taken_for} <= {lower, upper}


def test_a_length_that_only_one_stage_has_does_not_decide_either():
    """Of a profile that knows the length of L3 alone."""
    plain = find("monarch")
    stages = tuple(
        each if each.code == "L3" else replace(each, length_mm=None) for each in plain.stages
    )
    result = told(replace(plain, stages=stages), length_mm=12.0)
    assert likely(result) == {"L3": 1.0}
    assert result.stage is None


def test_a_stage_that_is_half_as_likely_as_the_likeliest_is_not_named_with_it():
    assert _possible({"L1": 0.125, "L2": 0.5, "L3": 0.25}) == ["L2"]
    assert _possible({"L1": 0.375, "L2": 0.5, "L3": 0.125}) == ["L1", "L2"]


def test_a_reading_error_is_above_zero_and_of_a_reading():
    plain = told("monarch", head_mm=(1.5,))
    fine = told("monarch", head_mm=(1.5,), reading_error_mm=0.4)
    assert max(likely(fine).values()) < max(likely(plain).values())
    assert told("monarch", parts_mm={"front_filament": (1.7,)}, reading_error_mm=0.01).stage == "L3"
    for wrong in (0.0, -0.1, np.nan, np.inf):
        with pytest.raises(UsageError, match=r"a reading error of .* is not above zero"):
            told("monarch", head_mm=(1.5,), reading_error_mm=wrong)
    with pytest.raises(UsageError, match="a reading error without a reading"):
        told("monarch", length_mm=12.0, reading_error_mm=0.1)
