"""What is said of stages, heat, survival, growth and the log, digit by digit."""

from datetime import date, timedelta

import pytest
from msgspec.structs import replace

from rearlog.analysis.growth.growth import Growth
from rearlog.analysis.growth.instars import Dyar, NoDyar
from rearlog.analysis.heat.gap_filling import TemperatureGaps
from rearlog.analysis.stages.completeness import Completeness
from rearlog.analysis.stages.expected import Basis, BasisKind, OtherThresholds
from rearlog.analysis.stages.stage_heat import Coverage
from rearlog.analysis.survival.survival import Fates, ReachedEnd
from rearlog.records.log import ConstantTemperature
from rearlog.sentences import completeness, growth, stage_heat
from rearlog.sentences.expected import basis_words, extrapolated
from rearlog.sentences.gap_filling import gaps
from rearlog.sentences.survival import reached
from rearlog.sentences.texts import texts_of
from tests.builders import START, notebook_of, small_profile, tiny_log

HEAT = Basis(BasisKind.HEAT, (44.32, 75.68), 6.9, (20.0, 24.0), 22.04)
THRESHOLDS = OtherThresholds(6.9, None, 10.0, 33.0)


@pytest.mark.parametrize(
    ("basis", "said"),
    [
        (HEAT, "44 to 76 degree-days above 6.9 °C at the cohort's own temperatures"),
        (
            replace(HEAT, celsius=17.64, extrapolated=True),
            "44 to 76 degree-days above 6.9 °C at the cohort's own temperatures; extrapolated: "
            "measured at 20 to 24 °C, here 17.6 °C",
        ),
        (Basis(BasisKind.DAYS), "the profile's days"),
        (
            Basis(BasisKind.DAYS, measured_celsius=(25.0, 25.0), other_thresholds=THRESHOLDS),
            "the profile's days at 25 °C, since the profile's degree-days are counted above "
            "6.9 °C, not above 10 °C and up to 33 °C",
        ),
        (Basis(BasisKind.NOTHING), "the profile has no value"),
        (
            Basis(BasisKind.NOTHING, other_thresholds=replace(THRESHOLDS, profile_lower=None)),
            "the profile's degree-days are counted above a threshold it does not give, not above "
            "10 °C and up to 33 °C",
        ),
    ],
)
def test_what_a_range_rests_on(basis: Basis, said: str) -> None:
    assert basis_words(basis) == said
    assert extrapolated(basis) == said.partition("; ")[2]


@pytest.mark.parametrize(
    ("found", "said"),
    [
        (
            ReachedEnd("adult", 3, 0, 1, 0, 0.0, 0.25, 0.0, 0.7),
            "Nobody has reached adulthood yet; 1 is alive.",
        ),
        (
            ReachedEnd("pupa", 0, 0, 0, 2, None, None, None, None),
            "Of nobody is it known whether it reached pupa.",
        ),
        (
            ReachedEnd("adult", 23, 17, 0, 0, 17 / 23, 17 / 23, 0.5353, 0.8745),
            "74 % reached adulthood: 17 of the 23 whose outcome is known "
            "(95 % interval 54 to 87 %).",
        ),
        (
            ReachedEnd("adult", 23, 17, 0, 2, 0.7471, 0.7471, 0.5353, 0.8745),
            "75 % reached adulthood: 17 did, 6 died and 2 were lost or taken out on the way "
            "(95 % interval 54 to 87 %).",
        ),
        (
            ReachedEnd("pupa", 4, 1, 1, 0, 0.2, 0.4, 0.0456, 0.8041),
            "So far 20 % reached pupa, and up to 40 % may: 1 did, 3 died and 1 is alive "
            "(95 % interval 5 to 80 %).",
        ),
        (
            ReachedEnd("pupa", 4, 1, 0, 1, 0.2, 0.4, 0.0456, 0.8041),
            "Between 20 and 40 % reached pupa: 1 did, 3 died and 1 was lost or taken out on the "
            "way (95 % interval 5 to 80 %).",
        ),
    ],
)
def test_how_many_reached_the_end(found: ReachedEnd, said: str) -> None:
    assert reached(found) == said


def test_how_the_head_and_the_mass_grew() -> None:
    fit = Dyar(ratio=1.4952, se=0.0316, r2=0.99, n=14, followed=None, missed_after=3)
    result = Growth("tiny", (), fit, None, (), (), 1234.4, 5)
    assert growth.words(result) == (
        "From instar to instar the head grows 1.50 times as wide (standard error 0.032); "
        "14 widths.",
        "The step after instar 3 is about two steps: an instar may have been missed there.",
        "Mass grew 1234-fold on average from the first weighing to the heaviest (n = 5).",
    )
    own = replace(result, dyar=replace(fit, followed=4))
    assert (
        "14 widths, by the growth of 4 animals from one instar to another." in growth.words(own)[0]
    )
    bare = replace(result, dyar=replace(fit, se=None, missed_after=None), mass_fold=None)
    assert growth.words(bare) == (
        "From instar to instar the head grows 1.50 times as wide; 14 widths.",
    )
    for why in NoDyar:
        none = replace(result, dyar=None, no_dyar=why, mass_fold=None)
        (said,) = growth.words(none)
        assert said == f"No growth ratio: {texts_of(none)['no_dyar']}."


def test_how_complete_a_log_is() -> None:
    result = Completeness(
        cohort="tiny",
        checks=40,
        struck=2,
        days=9,
        unchecked=(date(2026, 3, 14), date(2026, 3, 15)),
        due=48,
        missed=8,
        temperatures=Coverage(9, 5, 3, 1),
        missing_temperatures=(date(2026, 3, 12),),
    )
    assert completeness.words(result) == (
        "40 of 48 daily looks were made.",
        "Nobody was looked at on 2026-03-14, 2026-03-15.",
        "Of 9 days, 5 have a temperature on record, 3 filled from the days beside them, 1 missing.",
        "2 records were struck out as mistakes.",
    )
    for coverage, told in (
        (Coverage(9, 4, 4, 1), "Of 9 days, 4 have a temperature on record, 4 filled from "),
        (Coverage(9, 0, 3, 6), "Of 9 days, 0 have a temperature on record, 3 filled from "),
    ):
        assert completeness.words(replace(result, temperatures=coverage))[2].startswith(told)
    bare = replace(
        result, struck=0, unchecked=(), due=0, missed=0, temperatures=Coverage(9, 0, 0, 9)
    )
    assert completeness.words(bare) == ("No temperatures were recorded.",)


def test_gaps_in_the_temperatures() -> None:
    days = [date(2026, 3, day) for day in (10, 12, 13, 20, 21, 22, 23)]
    assert gaps(TemperatureGaps("tiny", tuple(days[:3]), ())) == (
        "No temperature on record for 3 days (2026-03-10 and 2026-03-12 to 2026-03-13): taken from "
        "the days beside; to fill it: rearlog temps tiny --min MIN --max MAX --on 2026-03-10"
    )
    assert gaps(TemperatureGaps("tiny", tuple(days[:1]), tuple(days[3:]))) == (
        "No temperature on record for 1 day (2026-03-10): taken from the days beside; for 4 days "
        "(2026-03-20 to 2026-03-23): not known, since no more than 3 days in a row are taken from "
        "the days beside; to fill it: rearlog temps tiny --min MIN --max MAX --on 2026-03-20"
    )
    assert gaps(TemperatureGaps("tiny", tuple(days[:3]), (), sparse=2)) == (
        "No temperature on record for 3 days (2026-03-10 and 2026-03-12 to 2026-03-13): taken from "
        "the days beside (2 of these days have readings, with gaps of over 6 hours); to fill it: "
        "rearlog temps tiny --min MIN --max MAX --on 2026-03-10"
    )


def test_nothing_is_said_of_what_has_no_words() -> None:
    assert texts_of(Fates(1, 0, 0, 0, 1)) == {}
    assert texts_of("a text") == {}


def test_a_stage_that_needed_no_heat_at_all_is_the_farthest_off() -> None:
    cold = (ConstantTemperature(8.0, START.date() - timedelta(5), START.date() + timedelta(40)),)
    profile = small_profile(heat={"egg": 40.0, "L1": 30.0})
    lives = {"1": "egg egg L1 L1 L2", "2": "egg egg L1 L1 L2"}
    log = tiny_log(lives, profile=profile, laid=(-1.0, 0.0), temperatures=cold)
    result = notebook_of(log).heat()
    assert [each.mean for each in result.stages if each.stage in ("egg", "L1")] == [0.0, 0.0]
    assert "0 degree-days, " in stage_heat.lead(result)
