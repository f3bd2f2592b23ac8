"""Animals to practise on vary as the profile says, and every round has the pairs that teach."""

from itertools import combinations

import numpy as np
import pytest
from msgspec.structs import replace
from scipy.stats import kstest, lognorm

from rearlog.analysis.growth.practice import ROUND, Specimen, as_stage, specimens
from rearlog.drawings.stages import picture_of
from rearlog.records.profile import NOT_THE_ANIMAL
from rearlog.sentences.practice import sign
from rearlog.species.catalogue import bundled, find

LADY = find("painted-lady")


def rounds(count: int, seed: int = 1) -> list[tuple[Specimen, ...]]:
    found = specimens(LADY, count, seed)
    return [found[place : place + ROUND] for place in range(0, len(found), ROUND)]


def test_heads_vary_between_animals_as_the_profile_says() -> None:
    """The reference is scipy's log-normal with the profile's mean and standard deviation."""
    heads = [
        each.head_width_mm
        for each in specimens(LADY, 400, 3)
        if each.stage == "L4" and each.head_width_mm is not None
    ]
    known = LADY.stage("L4").head_width_mm
    assert known is not None
    assert known.value is not None
    assert known.sd is not None
    sigma = np.sqrt(np.log1p((known.sd / known.value) ** 2))
    assert len(heads) > 300
    assert kstest(heads, lognorm(sigma, scale=known.value).cdf).pvalue > 0.01


def test_each_round_has_one_just_molted_and_one_about_to_molt_of_an_instar() -> None:
    for asked in rounds(50):
        assert len(asked) == ROUND
        assert any(
            one.stage == other.stage and {one.grown, other.grown} == {0.05, 0.95}
            for one, other in combinations(asked, 2)
        )


def test_each_round_has_two_of_one_length_and_of_different_instars() -> None:
    for asked in rounds(50):
        assert any(
            one.stage != other.stage and one.length_mm == other.length_mm
            for one, other in combinations(asked, 2)
            if one.head_width_mm is not None
        )
        for each in asked:  # as long as its stage may be, and grown by as much as that says
            known = LADY.stage(each.taken_for or each.stage).length_mm
            if each.grown is not None:
                assert each.length_mm is not None
                assert known is not None
                assert known.low is not None
                assert known.high is not None
                length = known.low + each.grown * (known.high - known.low)
                assert each.length_mm == pytest.approx(length)


def test_something_without_ribs_lies_beside_the_eggs() -> None:
    others = [each for each in specimens(LADY, 50, 1) if each.stage == NOT_THE_ANIMAL]
    assert 15 < len(others) < 45
    drawn = picture_of(as_stage(LADY, others[0]))
    assert drawn.marks == ()
    assert "ribs" in sign(LADY, others[0])


def test_eggs_of_which_no_length_is_known_have_nothing_beside_them() -> None:
    egg, *others = LADY.stages
    bare = replace(LADY, stages=(replace(egg, length_mm=None), *others))
    assert NOT_THE_ANIMAL not in {each.stage for each in specimens(bare, 20, 1)}


@pytest.mark.parametrize("species", [each.id for each in bundled()])
def test_every_profile_can_be_practised(species: str) -> None:
    profile = find(species)
    asked = specimens(profile, 6, 2)
    assert asked == specimens(profile, 6, 2) != specimens(profile, 6, 3)
    assert {each.stage for each in asked} <= {*profile.codes, NOT_THE_ANIMAL}
    egg = profile.stages[0]
    mimicked = bool(egg.form and egg.form.marks and egg.length_mm)
    assert any(each.stage == NOT_THE_ANIMAL for each in specimens(profile, 20, 1)) == mimicked
    for each in asked:
        drawn = picture_of(as_stage(profile, each))
        assert drawn.width_mm > 0
        assert sign(profile, each)
        if each.length_mm is not None and drawn.size is not None and not drawn.is_spanned:
            assert drawn.size.centre == each.length_mm


def test_the_sign_compares_the_head_with_its_neighbours() -> None:
    told = sign(LADY, Specimen("L3", 0.93, 8.0, 0.05))
    assert told.startswith("Its head is 0.93 mm wide. Heads in mm: L2 ")
    assert "L3" in told
    assert "L4" in told
    assert "just molted" in told


def test_the_head_is_shown_beside_those_of_both_neighbours_and_no_other() -> None:
    known = {code: LADY.stage(code).head_width_mm for code in ("L1", "L2", "L3", "L4", "L5")}
    heads = {code: f"{code} {width.centre:.2g}" for code, width in known.items() if width}
    third = sign(LADY, next(each for each in specimens(LADY, 50, 1) if each.stage == "L3"))
    assert f"Heads in mm: {heads['L2']}, {heads['L3']}, {heads['L4']}." in third
    first = sign(LADY, next(each for each in specimens(LADY, 50, 1) if each.stage == "L1"))
    assert f"Heads in mm: {heads['L1']}, {heads['L2']}." in first
    last = sign(LADY, next(each for each in specimens(LADY, 50, 1) if each.stage == "L5"))
    assert f"Heads in mm: {heads['L4']}, {heads['L5']}." in last
