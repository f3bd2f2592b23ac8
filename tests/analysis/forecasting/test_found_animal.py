"""From the stage of one animal to its age and to what is to come."""

from datetime import date
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from rearlog.analysis.forecasting.found_animal import FoundAnimal, Wait, found_animal
from rearlog.records.profile import SOURCE_KINDS, Profile, Quantity, Source, Span, StageProfile
from rearlog.sentences.found_animal import passage, words
from rearlog.species.catalogue import bundled, find
from tests.analysis.invented_moth import LOWER, MEAN_DD, SD_DD, moth, stage

TODAY = date(2026, 3, 9)


def waits(found: FoundAnimal) -> dict[str, Wait]:
    return {each.into: each.wait for each in found.coming}


def test_a_silkworm_by_the_published_days() -> None:
    """Rev. Colomb. Entomol., 24 °C: egg 11.0, L1 4.60, L2 6.00, L3 6.06, L4 6.47, L5 9.87, pupa
    15.40 days, total 59.40. In the middle of L3 11 + 4.6 + 6 + 3.03 = 24.63 days have gone, and
    3.03 + 6.47 + 9.87 + 15.40 = 34.77 are to come. Medians are a little less than these means: the
    more of a stage is counted, the more animals differ."""
    found = found_animal(find("silkworm"), "L3", 24, TODAY)
    assert found.age is not None
    assert found.laid is not None
    assert found.age.likely == pytest.approx(24.63, abs=0.1)
    expected = {"L4": 3.03, "L5": 9.50, "pupa": 19.37, "adult": 34.77}
    told = waits(found)
    assert {into: wait.likely for into, wait in told.items()} == pytest.approx(expected, abs=0.1)
    assert found.age.likely + told["adult"].likely == pytest.approx(59.40, abs=0.2)
    assert found.laid.likely == date(2026, 2, 12)
    assert found.coming[-1].on.likely == date(2026, 4, 13)
    assert found.kinds == ("derived",)
    assert found.beyond == ()


def test_without_any_spread_all_moments_of_the_stage_are_alike() -> None:
    """75 degree-days at 10 above the threshold: 7.5 days, of which the middle nine in ten lie from
    0.375 to 7.125; before it 140 degree-days, after it 130."""
    still = moth(*(replace(stage(c), degree_days=Quantity("invented", dd, sd=0.0))
                   for c, dd in MEAN_DD.items()))  # fmt: skip
    found = found_animal(still, "L3", LOWER + 10, TODAY)
    assert found.age is not None
    for wait, before in ((found.age, 14.0), (found.coming[0].wait, 0), (found.coming[1].wait, 13)):
        assert wait.low == pytest.approx(before + 0.375, abs=0.01)
        assert wait.likely == pytest.approx(before + 3.75, abs=0.01)
        assert wait.high == pytest.approx(before + 7.125, abs=0.01)


def test_ranges_are_those_of_drawn_lives() -> None:
    """200,000 animals: each stage normal, two stages of one animal correlated at 0.5."""
    random = np.random.default_rng(11)
    n, codes = 200_000, list(MEAN_DD)
    correlation = np.full((5, 5), 0.5) + 0.5 * np.eye(5)
    sd = np.array([SD_DD[code] for code in codes])
    lives = random.multivariate_normal(
        [MEAN_DD[code] for code in codes], correlation * np.outer(sd, sd), size=n
    )
    spent = random.uniform(size=n)
    found = found_animal(moth(), "L2", LOWER + 12, TODAY)
    assert found.age is not None
    ages = (lives[:, :2].sum(axis=1) + spent * lives[:, 2]) / 12
    to_adult = ((1 - spent) * lives[:, 2] + lives[:, 3:].sum(axis=1)) / 12
    for wait, drawn in ((found.age, ages), (found.coming[-1].wait, to_adult)):
        expected = np.quantile(drawn, (0.05, 0.5, 0.95))
        assert (wait.low, wait.likely, wait.high) == pytest.approx(tuple(expected), abs=0.02)


def test_a_profile_without_a_threshold_goes_by_its_days() -> None:
    """Black swallowtail, from memory: egg 4 to 9 days, larva 10 to 30, pupa 9 to 18; the instars
    are known only together, of which about half of 20 has gone (the median is lower, for larvae
    differ much)."""
    found = found_animal(find("black-swallowtail"), "L3", 25, TODAY)
    assert (found.known, found.lower) == ("L1 to L5", None)
    assert found.age is not None
    assert found.age.likely == pytest.approx(6.5 + 10, abs=1)
    assert [each.event for each in found.coming] == ["pupation", "eclosion"]
    assert found.coming[0].wait.likely == pytest.approx(10, abs=1)
    told = " ".join(words(found))
    assert "the profile's days, whatever the temperature (from memory)" in told
    assert "anywhere within L1 to L5 (known together)" in told


def test_nothing_develops_in_the_cold() -> None:
    found = found_animal(find("monarch"), "L3", 8, TODAY)
    assert (found.grows, found.age, found.laid, found.coming) == (False, None, None, ())
    assert words(found) == (
        "At 8 °C nothing develops: the lower threshold is 11.5 °C. How old it is cannot be told.",
    )


def test_at_the_threshold_itself_nothing_develops() -> None:
    found = found_animal(find("monarch"), "L3", 11.5, TODAY)
    assert (found.grows, found.age, found.coming) == (False, None, ())


def test_hotter_than_the_upper_threshold_is_no_faster() -> None:
    hot, limit = (found_animal(find("monarch"), "L3", each, TODAY) for each in (38.0, 33.0))
    assert waits(hot) == waits(limit)
    assert "above 11.5 °C, 33 °C at most" in " ".join(words(hot))


def test_so_slow_that_no_day_can_be_named() -> None:
    found = found_animal(find("monarch"), "L3", 11.5001, TODAY)
    assert (found.age, found.coming) == (None, ())


def test_values_of_other_temperatures_are_said_to_be_extrapolated() -> None:
    told = " ".join(words(found_animal(find("painted-lady"), "L3", 30, TODAY)))
    assert "Extrapolated: the values of egg and pupa hold for 20 to 24 °C." in told
    assert "hold for 22.2 to 27.7 °C" in told


def test_a_variable_number_of_instars_is_reckoned_as_one_time() -> None:
    """Mealworm, from memory: 60 to 300 days in 9 to 22 instars."""
    found = found_animal(find("mealworm"), "L8", 25, TODAY)
    assert found.known == "L1 to L22"
    assert [each.into for each in found.coming] == ["pupa", "adult"]
    assert 60 < found.coming[0].wait.likely < 120


def test_instars_that_may_be_left_out_are_not_counted_on() -> None:
    optional = replace(stage("L2"), optional=True)
    found = found_animal(moth(optional), "L1", LOWER + 10, TODAY)
    assert [each.into for each in found.coming] == ["L3", "pupa", "adult"]
    gone, all_ = (found_animal(each, "L3", LOWER + 10, TODAY).age for each in
                  (moth(optional), moth()))  # fmt: skip
    assert gone is not None
    assert all_ is not None
    assert all_.likely - gone.likely == pytest.approx(MEAN_DD["L2"] / 10, abs=0.05)


def test_what_the_profile_does_not_say_ends_it() -> None:
    gap = found_animal(moth(StageProfile("L3", "L3")), "L1", 20, TODAY)
    assert [passage(each) for each in gap.coming] == ["molt to L2", "molt to L3"]
    assert "How long L3 last, the profile does not say." in words(gap)
    bare = Profile("own", "own", "Genus", (StageProfile("egg", "egg"), StageProfile("L1", "L1"),
                   StageProfile("adult", "adult")), {"own": Source("own", "mine")})  # fmt: skip
    nothing = found_animal(bare, "egg", 20, TODAY)
    assert (nothing.age, nothing.coming) == (None, ())
    assert words(nothing) == ("How long egg and L1 last, the profile does not say.",)


def test_an_age_is_told_only_where_the_profile_begins_with_the_egg() -> None:
    larvae = replace(moth(), stages=moth().stages[1:])
    found = found_animal(larvae, "L1", 20, TODAY)
    assert found.age is None
    assert found.coming
    assert words(found)[0] == "How old it is, the profile does not tell."


@settings(max_examples=60, deadline=None)
@given(
    species=st.sampled_from([each.id for each in bundled()]),
    celsius=st.floats(-10, 60),
    place=st.integers(0, 30),
)
def test_any_stage_at_any_temperature(species: str, celsius: float, place: int) -> None:
    profile = find(species)
    code = profile.codes[min(place, len(profile.codes) - 1)]
    found = found_animal(profile, code, celsius, TODAY)
    spans = [each.wait for each in found.coming] + ([found.age] if found.age else [])
    assert all(0 <= each.low <= each.likely <= each.high for each in spans)
    for one, two in pairwise(found.coming):
        assert one.wait.likely <= two.wait.likely
        assert one.on.earliest <= one.on.likely <= one.on.latest
    if code == profile.codes[-1]:
        assert spans == []
    assert all(told.endswith(".") for told in words(found))


def test_nothing_comes_after_the_last_stage_and_its_name_is_what_is_known() -> None:
    found = found_animal(moth(), "adult", LOWER + 10, TODAY)
    assert (found.known, found.age, found.laid, found.coming) == ("adult", None, None, ())
    assert found.grows


def test_values_in_days_and_in_degree_days_say_how_they_are_known() -> None:
    """The best first; what is known of a stage that may be passed over is not used."""
    published, memory = Source("published", "a study"), Source("from memory", "heard of")
    sources = {"invented": Source("own", "invented"), "study": published, "heard": memory}
    days = Quantity("heard", 4.0, sd=0.4, at_celsius=(20.0, 20.0))
    heat = Quantity("study", 75.0, sd=8.0)
    mixed = replace(
        moth(stage("L2", degree_days=None, days=days), stage("L3", degree_days=heat, days=days)),
        sources=sources,
    )
    kinds = [kind for kind in SOURCE_KINDS if kind in {"own", "published", "from memory"}]
    assert list(found_animal(mixed, "L1", 20.0, TODAY).kinds) == kinds
    of_heat = replace(moth(stage("L3", degree_days=heat, days=days)), sources=sources)
    assert set(found_animal(of_heat, "L1", 20.0, TODAY).kinds) == {"own", "published"}
    passed = stage("L3", degree_days=heat, optional=True)
    assert found_animal(replace(moth(passed), sources=sources), "L1", 20.0, TODAY).kinds == ("own",)


def test_of_stages_that_are_known_together_alone_the_span_says_how() -> None:
    larva = Span("L1", "pupa", "larva", degree_days=Quantity("study", 155.0, sd=10.0))
    life = Span("egg", "adult", "life", degree_days=Quantity("heard", 345.0, sd=20.0))
    bare = [stage(code, degree_days=None) for code in ("L1", "L2", "L3")]
    sources = {
        "invented": Source("own", "invented"),
        "study": Source("published", "a study"),
        "heard": Source("from memory", "heard of"),
    }
    profile = replace(moth(*bare, spans=(life, larva)), sources=sources)
    assert found_animal(profile, "L1", 20.0, TODAY).kinds == ("published", "own")
