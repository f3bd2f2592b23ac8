"""What is said of life tables: each verdict and its contrary."""

import pytest
from msgspec.structs import replace

from rearlog.analysis.reproduction.estimates import Measure
from rearlog.analysis.reproduction.euler_lotka import EggAge
from rearlog.analysis.survival.survival import Sex
from rearlog.sentences.reproduction import (
    CALLED,
    alt_text,
    differ,
    lead,
    notes,
    number,
    stage_name,
    title,
    words,
)
from tests.sentences.invented_life_tables import compared, pair, result


def test_each_egg_is_said_to_be_followed_by_so_many() -> None:
    assert lead(result()) == (
        "Each egg in warm was followed by 71 eggs of the next generation (95 % interval 41 to "
        "116), in 33 days."
    )
    assert lead(result(alive=3)).startswith("So far each egg in warm was followed by 71 eggs")
    few = lead(result(r0=(8.25, None, None)))
    assert few == (
        "Each egg in warm was followed by 8.2 eggs of the next generation; of so few nobody can "
        "say how sure that is."
    )
    assert lead(result(r0=(8.25, 1.0, None))) == few
    assert lead(result(r0=(8.25, None, 9.0))) == few
    assert "by 1.0 egg of" in lead(result(r0=(1.0, 0.5, 1.5)))
    assert "by 1,000,000 eggs of" in lead(result(r0=(1e6, 5.0, 2e6)))
    assert "by 10 eggs of" in lead(result(r0=(10.0, 5.0, 15.0)))


def test_growth_is_claimed_no_further_than_the_interval_goes() -> None:
    unsure = lead(result(r0=(1.4, 0.6, 2.9), r=(0.01, -0.02, 0.03)))
    assert unsure.endswith("in 33 days; whether they keep up their number cannot be told.")
    assert lead(result(r=(0.01, 0.0, 0.03))).endswith("cannot be told.")
    assert lead(result(r=(0.01, None, 0.03))).endswith("cannot be told.")
    dying = lead(result(r0=(0.4, 0.1, 0.8), r=(-0.03, -0.05, -0.01)))
    assert dying.endswith("in 33 days: too few to keep up their number.")
    for r0, r in (((0.4, 0.1, 1.2), (-0.03, -0.05, -0.01)), ((4.0, 0.9, 8.0), (0.1, 0.05, 0.2))):
        assert lead(result(r0=r0, r=r)).endswith("cannot be told.")  # both must show it
    barren = lead(result(r0=(0.0, 0.0, 0.0), r=(None, None, None)))
    assert barren == (
        "Each egg in warm was followed by 0.0 eggs of the next generation (95 % interval 0.0 to "
        "0.0); whether they keep up their number cannot be told."
    )


GROWS, FALLS, UNSURE = "in 33 days.", "too few to keep up their number.", "cannot be told."


@pytest.mark.parametrize(
    ("r0", "r", "said"),
    [
        ((1.1, 3.0), (0.05, 0.2), GROWS),
        ((1.0, 3.0), (0.05, 0.2), UNSURE),
        ((1.1, 3.0), (0.0, 0.2), UNSURE),
        ((1.1, 3.0), (None, 0.2), UNSURE),
        ((0.2, 0.8), (-0.2, -0.05), FALLS),
        ((0.2, 0.8), (None, -0.05), FALLS),
        ((0.2, 1.0), (-0.2, -0.05), UNSURE),
        ((0.2, 0.8), (-0.2, 0.0), UNSURE),
        ((0.2, 0.8), (-0.2, 0.05), UNSURE),
        ((0.2, 0.8), (-0.2, None), UNSURE),
    ],
)
def test_both_intervals_must_show_whether_numbers_grow(
    r0: tuple[float, float], r: tuple[float | None, float | None], said: str
) -> None:
    assert lead(result(r0=(0.5, *r0), r=(0.01, *r))).endswith(said)


def test_which_grows_faster_is_said_where_it_is_shown() -> None:
    assert lead(compared(0.001, 0.001, 0.3)) == (
        "Numbers grow faster in warm than in cool: to 1.158 times as many each day, and to 1.083 "
        "times; in room to 1.137 times."
    )
    assert lead(compared(0.001, factors=(1.2, 1.1))) == (
        "Numbers grow faster in cool than in room: to 1.200 times as many each day, and to 1.100 "
        "times."
    )
    four = lead(compared(0.9, 0.9, 0.01, 0.9, 0.9, 0.9, factors=(1.0, 1.1, 1.1, 1.2)))
    assert four.endswith("; the other 2 lie between.")
    assert lead(compared(0.01, 0.2, 0.3)) == (
        "Numbers do not grow equally fast in cool, room and warm: each day to 1.083 times in cool, "
        "1.137 times in room and 1.158 times in warm."
    )


def test_no_difference_shown_is_no_proof() -> None:
    assert lead(compared(0.2, 0.2, 0.3)) == (
        "No difference in how fast numbers grow was shown between cool, room and warm, which is no "
        "proof that there is none."
    )
    assert lead(compared(None, None, None)) == (
        "Whether numbers grow equally fast in cool, room and warm cannot be told of so few: 1.083 "
        "times in cool, 1.137 times in room and 1.158 times in warm."
    )
    assert lead(compared(None, factors=(1.1, None))) == (
        "No two of cool and room laid eggs, so that their growth cannot be compared."
    )


def test_one_that_laid_no_eggs_has_no_rate_though_none_follow_each_day() -> None:
    found = compared(None, factors=(1.1, 1.2))
    barren = result("room", r=(None, None, None), factor=0.0)
    assert lead(replace(found, cohorts=(found.cohorts[0], barren))) == (
        "No two of cool and room laid eggs, so that their growth cannot be compared."
    )


def test_everybody_is_told_of_and_how_errors_were_found() -> None:
    assert words(result()) == (
        "Of 40 eggs came 14 females and 14 males; 14 laid 2858 eggs in all.",
        "Eggs of the day from age x to x + 1 count as laid at x + 0.5.",
        "SE and limits: bootstrap, 10,000 resamples of whole lives (bias-corrected and "
        "accelerated; of the sexes Wilson’s; of hatching no less than of eggs that hatch each by "
        "itself).",
    )
    told = words(
        result(
            females=1,
            males=0,
            unsexed=2,
            layers=0,
            dead=30,
            alive=1,
            left_out=4,
            since_entry=5,
            units=12,
            childless=1234,
            egg_age=EggAge.START,
        )
    )
    assert told[:6] == (
        "Of 40 eggs came 1 female and no males and 2 of no known sex; none laid 2858 eggs in all.",
        "1 still lives: figures are of what was seen so far.",
        "9 lost or taken out: counted for as long as they were under watch.",
        "4 entered later than as eggs, their age unknown, and are left out.",
        "Of 5 it is not known when the egg was laid: their age counts from when they came under "
        "watch, and is higher in truth.",
        "Those that shared a cage or container count as one: 12 in place of 40.",
    )
    assert told[6] == "Eggs of the day from age x to x + 1 count as laid at age x."
    assert told[8] == (
        "warm: in 1,234 resamples nobody laid eggs; they count as R0 = 0 and as less than any r, "
        "and not in T or the SE of r and λ."
    )
    assert words(result(alive=2, dead=37))[1:3] == (
        "2 still live: figures are of what was seen so far.",
        "1 lost or taken out: counted for as long as they were under watch.",
    )
    assert words(result(resamples=0))[-1] == "Fewer than 5 to draw from, so no SE: warm."


def test_of_several_those_are_told_of_that_were_too_few_to_draw_from() -> None:
    found = compared(0.2, factors=(1.1, 1.2))
    few, many = found.cohorts
    few = replace(few, resamples=0, childless=7)
    told = words(replace(found, cohorts=(few, replace(many, childless=3))))
    assert told[3].startswith("SE and limits: bootstrap, 10,000 resamples of whole lives")
    assert told[4] == "Fewer than 5 to draw from, so no SE: cool."
    assert told[5].startswith("room: in 3 resamples nobody laid eggs")
    assert len(told) == 6


def test_pairs_that_differ_are_named() -> None:
    told = words(compared(0.001, 0.002, 0.3))
    assert told[0] == "In r differ cool from room, cool from warm."
    assert told[1] == "In R0 differ cool from room, cool from warm."
    assert (
        words(compared(0.2, 0.2, 0.3))[0] == "In r differ no two, which is no proof that none do."
    )


def test_cells_say_whether_any_differ() -> None:
    shown, not_shown, none = (pair(Measure.R0, 0, 1, p) for p in (0.01, 0.5, None))
    assert differ([none, not_shown, shown]) == "yes"
    assert differ([none, not_shown]) == "not shown"
    assert differ([none]) == differ([]) == "cannot be told"


def test_measures_are_called_and_written_as_they_are() -> None:
    assert set(CALLED) == set(Measure)
    assert len(set(CALLED.values())) == len(CALLED)
    assert number(0.128312, Measure.RATE) == "0.1283"
    assert number(1.13691, Measure.FINITE_RATE) == "1.1369"
    assert number(71.45678, Measure.R0) == "71.5"
    assert number(143.18, Measure.GROSS_RATE) == "143.2"
    assert number(204.14, Measure.EGGS) == "204.1"
    assert number(0.87928, Measure.HATCH_SHARE) == "0.879"
    assert number(0.4583, Measure.FEMALE_SHARE) == "0.46"
    assert number(33.2702, Measure.GENERATION) == "33.27"
    assert number(None, Measure.R0) is None


@pytest.mark.parametrize(
    ("sex", "told"),
    [(None, "adult"), (Sex.FEMALE, "female"), (Sex.MALE, "male")],
)
def test_adults_are_called_by_their_sex(sex: Sex | None, told: str) -> None:
    assert stage_name("adult", sex) == told
    assert stage_name("adult", Sex.NOT_KNOWN) == "adult, sex not known"


def test_the_chart_states_the_finding_and_what_it_draws() -> None:
    one, other = result(), result("cool", r0=(4.24, 1.0, 9.0))
    assert title([one]) == "Each egg in warm was followed by 71 eggs"
    assert title([one, other]) == "Eggs that follow each egg: warm 71, cool 4.2"
    assert title([result(r0=(1.0, 0.5, 2.0))]) == "Each egg in warm was followed by 1.0 egg"
    assert alt_text([one]) == (
        "Survival and eggs by age in warm. Each egg in warm was followed by 71 eggs; warm: the "
        "last died at age 62."
    )
    assert alt_text([replace(one, alive=1)]).endswith("followed by 71 eggs.")
    [with_bands] = notes([one])
    assert with_bands.endswith("both sexes counted. Shaded: 95 % band (bootstrap).")
    assert notes([one], bands=False)[0].endswith("both sexes counted.")


def test_eggs_of_males_and_of_cages_whose_sexes_nobody_noted_are_told() -> None:
    assert "50 eggs of 1 record in doubt are not counted: they are told of males." in words(
        result(males_records=1, males_eggs=50)
    )
    assert "1 egg of 2 records in doubt are not counted: they are told of males." in words(
        result(males_records=2, males_eggs=1)
    )
    for cages, told in ((1, "1 cage"), (2, "2 cages")):
        assert (
            f"Eggs of {told} were shared among animals of unknown sex; the part of females rests "
            "on noted sexes and on eggs of their own."
        ) in words(result(cages_unsexed=cages))
