"""Many cohorts as one, of summaries whose answer is known."""

from datetime import date
from typing import Any

import numpy as np
import pytest
from msgspec.structs import replace
from scipy import stats

from rearlog.analysis.comparing.thermal import Objection
from rearlog.analysis.pooling.cohort_summary import CohortSummary
from rearlog.analysis.pooling.pooled_stages import CohortInStage
from rearlog.analysis.pooling.random_effects import (
    RandomEffects,
    SiteEffects,
    deleted_p,
    random_effects,
)
from rearlog.analysis.pooling.season import Copy, SpeciesSeason, once_each, season
from rearlog.analysis.pooling.season_thermal import SeasonThermal, ThermalConstants, _objections
from rearlog.analysis.pooling.standing_out import (
    Direction,
    Reason,
    StandsOut,
    _at_temperature,
)
from rearlog.records.errors import UsageError
from tests.made_summaries import WHOLE, coming, stage, summary

DAYS = (28.0, 30.0, 31.0, 29.0, 30.0, 32.0, 30.5, 29.5)
SEED = 20261126


def of(*cohorts: CohortSummary) -> SpeciesSeason:
    (found,) = season(cohorts).species
    return found


def alike(**more: object) -> list[CohortSummary]:
    return [summary(f"c{n}", stage(days), **more) for n, days in enumerate(DAYS)]


def test_a_stage_is_pooled_over_cohorts() -> None:
    found = of(*alike()).whole
    assert found is not None
    assert (found.stage, found.cohorts, found.individuals) == (WHOLE, 8, 160)
    assert (found.sites, found.left_out, found.over_sites) == (0, 0, None)
    assert found.over_cohorts == random_effects(DAYS, [0.5] * 8)
    assert found.best is found.over_cohorts
    assert found.over_cohorts.mean == pytest.approx(30.0)


def test_sites_are_counted_where_there_are_three_and_one_has_two() -> None:
    places = ["north", "north", "east", "east", "south", "south", "south", None]
    cohorts = [
        summary(f"c{n}", stage(days), site=site)
        for n, (days, site) in enumerate(zip(DAYS, places, strict=True))
    ]
    found = of(*cohorts).whole
    assert found is not None
    assert isinstance(found.best, SiteEffects)
    assert found.sites == 3
    # who tells no site is one by itself
    assert sorted(each.k for each in found.best.sites) == [1, 2, 2, 3]
    means = {each.site: each.mean for each in found.best.sites}
    assert means["north"] == pytest.approx(29.0)
    assert means["south"] == pytest.approx((30 + 32 + 30.5) / 3)
    two = of(*cohorts[:4]).whole
    assert two is not None
    assert isinstance(two.best, RandomEffects)


@pytest.mark.parametrize(
    ("left", "out"),
    [
        (stage(20.0, completed=2), 1),
        (stage(20.0, completed=3), 0),
        (stage(20.0, None, completed=1), 1),
        (stage(20.0, completed=18, in_stage=2), 0),
        (stage(20.0, completed=17, in_stage=3), 1),
        (stage(None, None, completed=0, in_stage=4), 0),
        (stage(20.0, None), 1),
        (stage(20.0, 0.0), 1),
        (stage(0.0, 0.5), 1),
    ],
)
def test_who_is_left_out(left: object, out: int) -> None:
    """Fewer than three, or more than a tenth still in it; who has none through is not counted."""
    found = of(*alike(), summary("left", left)).whole  # type: ignore[arg-type]
    assert found is not None
    assert found.left_out == out
    assert found.cohorts == (8 if out or left.mean is None else 9)  # type: ignore[attr-defined]


def test_stages_keep_their_order_and_species_are_apart() -> None:
    longer = summary("a", stage(4, name="egg"), stage(3, name="L1"), stage(30))
    shorter = summary("b", stage(5, name="egg"), stage(31))
    other = summary("c", stage(9), species="Pieris rapae")
    result = season([other, shorter, longer])
    assert [each.species for each in result.species] == ["Vanessa cardui", "Pieris rapae"]
    assert [each.stage for each in result.species[0].stages] == ["egg", "L1", WHOLE]
    assert result.species[1].cohorts == 1
    assert [each.id for each in result.cohorts] == ["a", "b", "c"]


def test_a_slow_cohort_stands_out_and_the_cold_explains_it() -> None:
    """Rates of (T − 10)/300 at 22 to 24 °C, and one cohort at 14 °C; another at 23 °C takes twice
    as long as it should, which nothing explains, and is found though the cold one takes longer."""
    rng = np.random.default_rng(SEED)
    warmth = [*np.linspace(22, 24, 20), 14.0, 23.0]
    means = [300 / (celsius - 10) * rng.normal(1, 0.01) for celsius in warmth]
    means[-1] *= 2
    cohorts = [
        summary(f"c{n}", stage(days, 0.3, celsius=celsius), missed=100 if n > 20 else 0)
        for n, (days, celsius) in enumerate(zip(means, warmth, strict=True))
    ]
    (cold,) = of(*cohorts[:-1]).stand_out
    assert (cold.id, cold.stage, cold.direction) == ("c20", WHOLE, Direction.LONGER)
    assert cold.value == pytest.approx(means[20])
    assert cold.at_temperature == pytest.approx(75.0, rel=0.05)
    assert cold.p_holm < 0.05
    assert cold.explained
    assert not cold.off_the_line
    assert cold.reasons == (Reason.COOLER,)
    odd = next(each for each in of(*cohorts).stand_out if each.id == "c21")
    assert odd.reasons == (Reason.CHECKS_MISSED,)
    assert odd.direction is Direction.LONGER
    assert odd.off_the_line
    assert not odd.explained


def test_both_tests_are_corrected_together() -> None:
    """Nine cohorts in one stage, with temperatures: eighteen tests."""
    warmth = [20.0, 21, 22, 23, 24, 25, 26, 27, 23.5]
    means = [300 / (celsius - 10) for celsius in warmth]
    means[-1] = 60.0
    rows = [
        summary(f"c{n}", stage(days, 0.4, celsius=celsius))
        for n, (days, celsius) in enumerate(zip(means, warmth, strict=True))
    ]
    (found,) = of(*rows).stand_out
    assert found.p_line is not None
    assert found.p_line_holm == pytest.approx(18 * found.p_line)
    rates = [1 / each for each in means]
    errors = [0.4 / each**2 for each in means]
    assert found.p_line == pytest.approx(deleted_p(rates, errors, warmth)[-1])


def test_at_the_level_itself_nothing_is_shown() -> None:
    far = StandsOut(
        "c", "c", WHOLE, Direction.LONGER, 40.0, 30.0, 0.01, 31.0, 0.05, 0.05, 20.0, 22.0, ()
    )
    assert (far.explained, far.off_the_line) == (True, False)
    near = replace(far, p_line=0.049, p_line_holm=0.049)
    assert (near.explained, near.off_the_line) == (False, True)
    unknown = replace(far, p_line=None, p_line_holm=None)
    assert (unknown.explained, unknown.off_the_line) == (False, False)


def test_every_reason() -> None:
    cases: dict[Reason, dict[str, Any]] = {
        Reason.CHECKS_MISSED: {"missed": 81},
        Reason.TEMPERATURES_STRUCK: {"struck_temperatures": 1},
        Reason.DOUBTS: {"doubtful": 3},
        Reason.LOST: {"gone": 3},
    }
    for reason, more in cases.items():
        given: dict[str, Any] = {"celsius": 20.0, **more}
        odd = summary("odd", stage(60.0, 0.5), **given)
        (found,) = of(*alike(celsius=20.0), odd).stand_out
        assert found.direction is Direction.LONGER
        assert found.reasons == (reason,)
    for reason, celsius in ((Reason.WARMER, 22.0), (Reason.COOLER, 18.0)):
        others = [summary(f"c{n}", stage(d, celsius=20.0)) for n, d in enumerate(DAYS)]
        (found,) = of(*others, summary("odd", stage(60.0, celsius=celsius))).stand_out
        assert found.reasons == (reason,)
        assert (found.celsius, found.middle_celsius) == (celsius, 20.0)
    just_not = summary("odd", stage(60.0), missed=80, doubtful=2, gone=2, celsius=21.9)
    (found,) = of(*alike(celsius=20.0), just_not).stand_out
    assert found.reasons == ()


def test_shorter_is_told_too() -> None:
    (found,) = of(*alike(), summary("odd", stage(5.0))).stand_out
    assert (found.id, found.direction) == ("odd", Direction.SHORTER)
    assert found.centre == pytest.approx(random_effects([*DAYS, 5.0], [0.5] * 9).mean)


def test_survival_stands_out_and_leaves_out_who_is_on_the_way() -> None:
    few = summary("few", stage(30.0), reached=4, gone=1)
    early = summary("early", stage(30.0), known=10, reached=0, waiting=10)
    found = of(*alike(), few, early)
    assert (found.survival.reached, found.survival.n, found.survival.left_out) == (164, 180, 1)
    assert found.survival.ids == (*(f"c{n}" for n in range(8)), "few")
    (out,) = found.stand_out
    assert (out.id, out.stage, out.direction, out.value) == ("few", None, Direction.FEWER, 0.2)
    assert out.centre == pytest.approx(164 / 180)
    assert out.reasons == ()
    assert out.at_temperature is None
    assert (out.celsius, out.middle_celsius) == (None, None)
    assert not out.explained


def test_survival_by_site() -> None:
    cohorts = [
        summary("a", stage(30.0), site="north", reached=18),
        summary("b", stage(31.0), site="north", reached=19),
        summary("c", stage(30.0), site="east", reached=17),
        summary("d", stage(29.0), site="south", reached=5),
        summary("e", stage(28.0)),
    ]
    found = of(*cohorts)
    assert found.survival.sites == ("east", "north", "south")
    assert found.survival.over_sites is not None
    assert [each.n for each in found.survival.over_sites.points] == [20, 40, 20]
    rows = {each.site: each for each in found.by_site}
    assert list(rows) == ["east", "north", "south", None]
    assert (rows["north"].cohorts, rows["north"].individuals) == (2, 40)
    assert (rows["north"].reached, rows["north"].n) == (37, 40)
    assert rows["north"].days == random_effects([30.0, 31.0], [0.5, 0.5])
    p = found.survival.over_sites.points[2].p_holm
    assert rows["south"].p_holm == p
    assert rows[None].p_holm is None
    assert of(*alike()).by_site == ()


def test_sites_are_told_of_the_development_that_most_cohorts_have() -> None:
    """The first cohort has a profile of its own, which begins with larvae."""
    first = summary("a", stage(20.0, name="L1 to adult"), site="east")
    others = [summary(f"b{n}", stage(days), site="north") for n, days in enumerate(DAYS)]
    found = of(first, *others)
    assert found.whole is not None
    assert (found.whole.stage, found.whole.cohorts) == (WHOLE, 8)
    days = {each.site: each.days for each in found.by_site}
    assert days == {"east": None, "north": random_effects(DAYS, [0.5] * 8)}
    early = summary("a", stage(20.0, completed=2, name="L1 to adult"), site="east")
    assert {each.site: each.days for each in of(early, *others).by_site} == days
    assert {each.site: each.days for each in of(summary("a", site="east"), *others).by_site} == days


@pytest.mark.parametrize(
    ("known", "waiting", "out"), [(18, 2, 0), (17, 3, 1), (17, 2, 1), (0, 0, 1)]
)
def test_survival_counts_cohorts_of_which_nine_in_ten_are_known(
    known: int, waiting: int, out: int
) -> None:
    more = summary("more", stage(30.0), known=known, reached=known, waiting=waiting)
    found = of(*alike(), more).survival
    assert (found.left_out, found.n) == (out, 160 + (0 if out else known))


def test_the_farthest_stand_first_and_durations_before_survival() -> None:
    """Two that took longer, and two of which few came through, each the less far one first."""
    rng = np.random.default_rng(SEED)
    others = [
        summary(f"c{n}", stage(float(days), 0.3), reached=17)
        for n, days in enumerate(30 + rng.normal(0, 0.3, 30))
    ]
    odd = [
        summary("slow", stage(42.0, 0.3), reached=17),
        summary("slower", stage(48.0, 0.3), reached=17),
        summary("few", stage(30.0, 0.3), reached=6),
        summary("fewer", stage(30.0, 0.3), reached=1),
    ]
    found = of(*others, *odd).stand_out
    assert [each.id for each in found] == ["slower", "slow", "fewer", "few"]
    assert [each.p_holm for each in found[:2]] == sorted(each.p_holm for each in found[:2])


def at(celsius: list[float], site: str, threshold: float, constant: float) -> list[CohortSummary]:
    rng = np.random.default_rng(SEED + len(site))
    return [
        summary(
            f"{site}{n}",
            stage(constant / (each - threshold) * rng.normal(1, 0.003), 0.3, celsius=each),
            site=site,
        )
        for n, each in enumerate(celsius)
    ]


def errors_by_a_plain_loop(
    cohorts: list[CohortSummary], found: SeasonThermal
) -> list[tuple[float, float]]:
    """The errors of the sites by the scatter of all their lines, from scipy's lines."""
    lines, missed, freedom = [], 0.0, 0
    for each in found.by_site:
        stages = [one.stages[0] for one in cohorts if one.site == each.site]
        x = np.array([one.celsius for one in stages], dtype=float)
        y = np.array([1 / one.mean for one in stages if one.mean])
        line = stats.linregress(x, y)
        own = float(np.sum((y - line.intercept - line.slope * x) ** 2)) / (len(x) - 2)
        lines.append((each, line, own, y.mean(), len(x)))
        missed, freedom = missed + own * (len(x) - 2), freedom + len(x) - 2
    errors = []
    for _, line, own, rate, n in lines:
        slope_se = line.stderr * (missed / freedom / own) ** 0.5
        variance = missed / freedom
        relative = (variance / n / rate**2 + (slope_se / line.slope) ** 2) ** 0.5
        errors.append((rate / line.slope * relative, slope_se / line.slope**2))
    return errors


def test_threshold_and_constant_of_all_and_site_by_site() -> None:
    cohorts = [
        *at([18, 21, 24, 27], "north", 9.0, 310.0),
        *at([19, 22, 25], "east", 10.0, 300.0),
        *at([20, 23, 26, 28], "south", 11.0, 290.0),
        *at([20.0, 20.2, 24.0], "two", 10.0, 300.0),
    ]
    (found,) = of(*cohorts).thermal
    assert found.stage == WHOLE
    assert (found.all_cohorts.n, found.all_cohorts.site) == (14, None)
    assert (found.all_cohorts.coldest, found.all_cohorts.warmest) == (18, 28)
    assert found.all_cohorts.threshold == pytest.approx(10.0, abs=1.0)
    assert found.objections == ()
    # `two` has two temperatures, as far as they can be told apart
    assert [(each.site, each.n) for each in found.by_site] == [
        ("east", 3), ("north", 4), ("south", 4)
    ]  # fmt: skip
    assert [each.threshold for each in found.by_site] == pytest.approx([10, 9, 11], abs=0.25)
    assert [each.constant for each in found.by_site] == pytest.approx([300, 310, 290], rel=0.03)
    assert found.threshold is not None
    assert found.constant is not None
    assert found.threshold == random_effects(
        [each.threshold for each in found.by_site],
        [each.threshold_se or 0 for each in found.by_site],
    )
    assert found.threshold.tau == pytest.approx(1.0, abs=0.15)
    for each, errors in zip(found.by_site, errors_by_a_plain_loop(cohorts, found), strict=True):
        assert (each.threshold_se, each.constant_se) == pytest.approx(errors)
    north = found.by_site[1]
    assert north.threshold_se is not None
    assert north.threshold_low is not None
    # on 1 + 2 + 2 degrees of freedom t is 2.5706
    assert north.threshold - north.threshold_low == pytest.approx(2.570582 * north.threshold_se)
    assert found.constant.k == 3
    (few,) = of(*cohorts[:4]).thermal
    assert few.threshold is None
    assert few.constant is None


def test_what_speaks_against_a_threshold() -> None:
    (two,) = of(*at([20, 25], "north", 10.0, 300.0)).thermal
    assert two.objections == (Objection.THRESHOLD_UNSURE,)
    flat = [summary(f"c{n}", stage(30.0 - n / 10, celsius=20.0 + n)) for n in range(4)]
    (cold,) = of(*flat).thermal
    assert Objection.THRESHOLD_TOO_COLD in cold.objections
    assert of(*[summary(f"c{n}", stage(30.0, celsius=20.0)) for n in range(4)]).thermal == ()


CONSTANTS = ThermalConstants(None, 4, 10.0, 25.0, 9.0, 1.0, 7.0, 11.0, 300.0, 5.0, 290.0, 310.0)


@pytest.mark.parametrize(
    ("more", "objections"),
    [
        ({}, ()),
        ({"threshold_se": 3.0}, ()),
        ({"threshold_se": 3.01}, (Objection.THRESHOLD_UNSURE,)),
        ({"threshold_se": None}, (Objection.THRESHOLD_UNSURE,)),
        ({"threshold": -10.0}, ()),
        ({"threshold": -10.01}, (Objection.THRESHOLD_TOO_COLD,)),
        ({"threshold": 10.0}, ()),
        ({"threshold": 10.01}, (Objection.THRESHOLD_ABOVE_COLDEST,)),
    ],
)
def test_a_threshold_at_the_edge_of_what_is_credible(
    more: dict[str, Any], objections: tuple[Objection, ...]
) -> None:
    assert tuple(_objections(replace(CONSTANTS, **more))) == objections


def test_by_a_line_that_reaches_the_coldest_cohort_nobody_is_judged() -> None:
    """At its own threshold a cohort would take for ever; by hand, (T − 9)/300 a day else."""
    warm = [10.0, 14.0, 18.0, 20.0, 22.0, 25.0, None]
    rows = [CohortInStage(summary(f"c{n}"), 20, 30.0 - n, 0.5, each) for n, each in enumerate(warm)]
    found = _at_temperature(rows, CONSTANTS)
    assert list(found) == [0, 1, 2, 3, 4, 5]
    assert [days for days, _ in found.values()] == pytest.approx(
        [300.0, 60.0, 300 / 9, 300 / 11, 300 / 13, 300 / 16]
    )
    assert _at_temperature(rows, replace(CONSTANTS, threshold=10.0)) == {}
    assert _at_temperature(rows, None) == {}


@pytest.mark.parametrize(("gap", "line"), [(0.49, False), (0.5, True)])
def test_half_a_degree_makes_two_temperatures(gap: float, line: bool) -> None:
    cohorts = [
        *at([20.0, 20.0 + gap], "a", 10.0, 300.0),
        *at([20.0, 20.5, 20.5 + gap], "b", 10.0, 300.0),
    ]
    assert bool(of(*cohorts[:2]).thermal) == line
    (found,) = of(*cohorts).thermal
    assert [each.site for each in found.by_site] == ["b"] * line


def test_what_is_to_come_adds_up_day_by_day() -> None:
    today = date(2026, 4, 1)
    cohorts = [
        summary("a", coming=coming(d3=2.0, d4=1.5), as_of=today),
        summary("b", coming=coming(d4=0.25), as_of=today),
        summary("c"),
        summary("d", species="Pieris rapae", coming=coming(d3=4.0), as_of=today),
    ]
    result = season(cohorts)
    assert result.running == 3
    assert [(each.species, each.date.day, each.adults) for each in result.coming] == [
        ("Pieris rapae", 3, 4.0),
        ("Vanessa cardui", 3, 2.0),
        ("Vanessa cardui", 4, 1.75),
    ]


def test_adults_to_come_are_told_in_hundredths_and_species_alike_in_number_by_name() -> None:
    today = date(2026, 4, 1)
    result = season(
        [
            summary("a", coming=coming(d4=1.1), as_of=today, species="Vanessa cardui"),
            summary("b", coming=coming(d4=2.2), as_of=today, species="Vanessa cardui"),
            summary("c", species="Pieris rapae"),
            summary("d", species="Pieris rapae"),
        ]
    )
    assert [each.adults for each in result.coming] == [3.3]
    assert [each.species for each in result.species] == ["Pieris rapae", "Vanessa cardui"]


def test_cohorts_are_listed_by_site_those_of_none_last_and_by_name() -> None:
    given = [("1", None, "b"), ("2", None, "a"), ("3", "west", "c"), ("4", "east", "d")]
    given += [("6", "east", "b"), ("5", "east", "b")]
    found = season([summary(key, site=site, name=name) for key, site, name in given])
    assert [each.id for each in found.cohorts] == ["5", "6", "4", "3", "2", "1"]


def test_a_cohort_that_is_met_twice_counts_once_with_the_most_looks() -> None:
    older, newer, other = summary("a", looks=10), summary("a", looks=12), summary("b")
    chosen, copies = once_each([("z.json", older), ("y.json", newer), ("x.json", other)])
    assert chosen == [newer, other]
    assert copies == [Copy("a", "a", "y.json", ("z.json",))]
    chosen, _ = once_each([("a.json", older), ("b.json", newer), ("c.json", older)])
    assert chosen == [newer]  # though another file comes first
    same, copies = once_each([("z.json", older), ("b.json", older), ("c.json", older)])
    assert same == [older]
    assert copies == [Copy("a", "a", "b.json", ("c.json", "z.json"))]


def test_counts_of_the_season() -> None:
    result = season([*alike(site="north"), summary("x", invented=True, individuals=5)])
    assert (result.individuals, result.sites, result.running) == (165, 1, 0)
    assert result.invented
    assert not season(alike()).invented
    assert season([]).species == ()


def test_stages_stand_in_their_order_and_are_found_by_name() -> None:
    """The order is that of the cohort that shows most of them, whichever is first."""
    rows = {name: stage(4.0, name=name) for name in ("egg", "L1", "L2", "pupa", WHOLE)}
    late = summary("a", *(rows[name] for name in ("L2", "pupa", WHOLE)))
    found = of(late, summary("b", *rows.values()))
    assert [each.stage for each in found.stages] == [*rows]
    assert found.stage("L1") is found.stages[1]
    assert found.stage() is found.whole is found.stages[-1]
    with pytest.raises(UsageError, match="there is no mean of “L9”") as caught:
        found.stage("L9")
    assert caught.value.problems[0].remedy == f"stages with means: {', '.join(rows)}"
    young = of(summary("c", rows["egg"], stage(9.0, name="L1"), stage(40.0, completed=2)))
    assert young.whole is None
    assert young.stage() is young.stages[1]  # the longest that is known


def test_a_cohort_that_stands_out_is_known_by_its_id_and_called_by_its_name() -> None:
    lived = [summary(f"c{n}", stage(30.0), name=f"room {n}", reached=18) for n in range(8)]
    few = summary("odd", stage(30.0), name="cellar", reached=2)
    (found,) = of(*lived, few).stand_out
    assert (found.id, found.cohort, found.direction) == ("odd", "cellar", Direction.FEWER)
    slow = summary("slow", stage(45.0), name="attic", reached=18)
    assert {(each.id, each.cohort) for each in of(*lived, slow).stand_out} == {("slow", "attic")}


def test_of_a_cohort_of_unknown_temperature_none_is_given_as_a_reason() -> None:
    lived = [summary(f"c{n}", stage(30.0), celsius=20.0, reached=18) for n in range(8)]
    few = [summary("odd", stage(30.0), celsius=each, reached=2) for each in (None, 22.0, 21.9)]
    (unknown,), (warm,), (near,) = (of(*lived, each).stand_out for each in few)
    assert (unknown.reasons, unknown.celsius, unknown.middle_celsius) == ((), None, 20.0)
    assert (warm.reasons, near.reasons) == ((Reason.WARMER,), ())
