"""Reference: `analysis.growth.instars`, which is checked against published widths."""

from datetime import UTC, datetime

import numpy as np
import pytest

from rearlog.analysis.growth import instars
from rearlog.records import head_widths
from rearlog.records.head_widths import contradiction, probabilities
from rearlog.records.log import Observation
from rearlog.records.rules import doubts_of
from rearlog.species.catalogue import bundled, find

# Published head capsule widths in mm, L1–L5: Rev. Colomb. Entomol., biology of the silkworm
SILKWORM = {"L1": 0.54, "L2": 1.02, "L3": 1.65, "L4": 2.51, "L5": 3.58}
WITH_WIDTHS = [
    each.id for each in bundled() if any(stage.head_width_mm for stage in find(each.id).stages)
]


def check(stage, width):
    return Observation("7", datetime(2026, 3, 20, 9, tzinfo=UTC), stage, head_width_mm=width)


@pytest.mark.parametrize("species", WITH_WIDTHS)
def test_the_light_arithmetic_agrees_with_the_full_one(species):
    profile = find(species)
    known = {stage.code: stage.head_width_mm for stage in profile.stages if stage.head_width_mm}
    means = {code: width.centre for code, width in known.items()}
    spreads = {code: head_widths.spread(width) for code, width in known.items()}
    for width in np.geomspace(0.1, 6, 60).tolist():
        full = instars.instar_probabilities(width, means, spreads)
        light = probabilities(profile, width)
        assert bool(light) == full.fits
        if light:
            assert light == pytest.approx(full.probabilities)


def test_both_rest_on_the_same_numbers():
    light = (head_widths.BETWEEN_CV, head_widths.READING_CV, head_widths.SURE)
    assert light == (instars.BETWEEN_CV, instars.MEASUREMENT_CV, instars.SURE)


@pytest.mark.parametrize("instar", SILKWORM)
@pytest.mark.parametrize("entered", SILKWORM)
def test_the_mean_of_another_instar_contradicts_the_stage_and_both_are_named(instar, entered):
    found = contradiction(find("silkworm"), check(entered, SILKWORM[instar]), entered)
    if instar == entered:
        assert found is None
    else:
        assert found is not None
        assert f"that of {instar}" in found.message
        assert f"not of {entered}" in found.message
        assert "7 at 2026-03-20" in found.place


def test_a_width_between_two_instars_contradicts_neither():
    between = (SILKWORM["L3"] * SILKWORM["L4"]) ** 0.5
    for stage in ("L3", "L4"):
        assert contradiction(find("silkworm"), check(stage, between), stage) is None


@pytest.mark.parametrize("width", [None, 0.0, -1.0, float("nan"), 0.2, 30.0])
def test_a_width_that_is_of_no_instar_contradicts_none(width):
    assert contradiction(find("silkworm"), check("L3", width), "L3") is None


def test_a_stage_or_a_profile_without_widths_is_not_contradicted():
    assert contradiction(find("silkworm"), check("pupa", 1.65), "pupa") is None
    assert contradiction(find("vinegar-fly"), check("L2", 1.65), "L2") is None


def test_the_doubt_is_told_once():
    (doubt,) = doubts_of(find("silkworm"), check("L2", 1.65), "L2")
    assert "not of L2" in doubt.message
    (unusual,) = doubts_of(find("silkworm"), check("L1", 0.3), "L1")
    assert "unusual for L1" in unusual.message
