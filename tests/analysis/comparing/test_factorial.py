"""Designs of several factors, against statsmodels on times that are known, and by hand."""

import math
from collections.abc import Iterable, Sequence

import numpy as np
import pandas as pd
import pytest
import statsmodels.formula.api as smf
from lifelines import LogNormalAFTFitter, WeibullAFTFitter
from msgspec.structs import replace
from scipy.stats import t as student_t
from statsmodels.stats.anova import anova_lm

from rearlog.analysis.comparing.cohorts import Shared
from rearlog.analysis.comparing.design import Design
from rearlog.analysis.comparing.factorial import (
    Factorial,
    NoDesign,
    StageDesign,
    _error,
    _one_fits_all,
    _Seen,
    _stage,
)
from rearlog.analysis.comparing.factorial import factorial as factorial_of
from rearlog.analysis.statistics.accelerated_life import DesignFit, Times
from rearlog.analysis.statistics.differences import NoTest, Verdict
from rearlog.notebook import Notebook, compare, factorial
from rearlog.present.between import factorial_tables
from rearlog.present.flat import flat_factorial
from rearlog.records.errors import UsageError
from rearlog.records.groups import grouped, levels_of
from rearlog.records.log import Individual
from rearlog.sentences.factorial import lead, notices, words
from tests.builders import START, notebook_of, seen, tiny_log


def kept(
    name: str,
    days: Iterable[float],
    food: str | None,
    celsius: float,
    cages: Sequence[str | None] = (),
    *,
    waiting: int = 0,
) -> Notebook:
    """A cohort whose L1 took exactly so many days; some more were left in it."""
    log = tiny_log({"x": "egg"}, name=name)
    checks = []
    for n, day in enumerate(days):
        checks += [seen(f"a{n}", 1.0, "L1!"), seen(f"a{n}", 1.0 + day, "L2!")]
    checks += [seen(f"w{n}", 1.0, "L1!") for n in range(waiting)]
    codes = dict.fromkeys(each.individual for each in checks)
    known = dict(zip(codes, cages or [None] * len(codes), strict=False))
    header = replace(log.cohort, food=food, planned_celsius=celsius)
    individuals = tuple(Individual(code, START, "egg", container=known.get(code)) for code in codes)
    log = replace(log, cohort=header, individuals=individuals, all_observations=tuple(checks))
    return notebook_of(log)


def cell(rng: np.random.Generator, n: int, log_mean: float) -> np.ndarray:
    return np.round(np.exp(rng.normal(log_mean, 0.15, n)), 6)


CELLS = {("leek", 20.0): (9, 2.3), ("leek", 25.0): (12, 1.9),
         ("moss", 20.0): (14, 2.5), ("moss", 25.0): (10, 2.5)}  # fmt: skip


def four(seed: int = 5) -> tuple[list[Notebook], pd.DataFrame]:
    rng = np.random.default_rng(seed)
    notebooks, rows = [], []
    for (food, celsius), (n, mean) in CELLS.items():
        days = cell(rng, n, mean)
        notebooks.append(kept(f"{food}{celsius:g}", days, food, celsius))
        rows += [{"y": math.log(day), "food": food, "c": f"{celsius:g}"} for day in days]
    return notebooks, pd.DataFrame(rows)


BY = ("food", "temperature")


def apart(
    notebooks: Sequence[Notebook],
    by: Sequence[str],
    first: str | None = None,
    until: str | None = None,
) -> Factorial:
    """The design of the same individuals as if all were of one cohort, each with levels of its own:
    there is nothing then that sets whole cohorts apart."""
    (one,) = grouped([each.log for each in notebooks], "species")
    both = zip(*([level for each in notebooks for level in levels_of(each.log, factor)]
                 for factor in by), strict=True)  # fmt: skip
    cohort = replace(notebook_of(one.log).compared(None), levels=tuple(both))
    return factorial_of([cohort], by, first, until)


def test_terms_are_tested_as_nested_models_of_least_squares() -> None:
    """Reference: statsmodels, anova_lm of nested models of ln time, all of which is known."""
    notebooks, frame = four()
    result = apart(notebooks, BY, "L1", "L2")
    (row,) = result.stages
    assert (row.stage, row.family, row.reason) == ("L1 to L2", "log-normal", None)
    models = {text: smf.ols(f"y ~ {text}", frame).fit() for text in
              ("food", "c", "food + c", "food * c")}  # fmt: skip
    nested = {"food": ("c", "food + c"), "temperature": ("food", "food + c"),
              "food × temperature": ("food + c", "food * c")}  # fmt: skip
    assert [each.term for each in row.effects] == [*nested]
    for effect in row.effects:
        less, more = (models[text] for text in nested[effect.term])
        table = anova_lm(less, more)
        assert effect.f == pytest.approx(table["F"].iloc[1], rel=1e-3)
        assert effect.p == pytest.approx(table["Pr(>F)"].iloc[1], rel=1e-2)
        assert (effect.df, effect.freedom) == (1, more.df_resid)
        assert effect.chi2 == pytest.approx(2 * (more.llf - less.llf), rel=1e-3)
    assert [each.verdict for each in row.effects] == [Verdict.DIFFER] * 3


def test_ratios_and_means_are_those_of_least_squares() -> None:
    notebooks, frame = four()
    (row,) = apart(notebooks, BY, "L1", "L2").stages
    full = smf.ols("y ~ food * c", frame).fit()
    means = frame.groupby(["food", "c"])["y"].mean()
    spread = full.ssr / len(frame)
    for found in row.cells:
        food, celsius = found.levels
        middle = means[food, celsius.removesuffix(" °C")]
        assert found.mean == pytest.approx(math.exp(middle + spread / 2), rel=1e-4)
        n, _ = CELLS[food, float(celsius.removesuffix(" °C"))]
        assert (found.n, found.completed, found.clusters) == (n, n, None)
        reach = float(student_t.ppf(0.975, full.df_resid)) * (full.scale / n) ** 0.5
        assert found.low == pytest.approx(math.exp(middle + spread / 2 - reach), rel=1e-4)
        assert found.high == pytest.approx(math.exp(middle + spread / 2 + reach), rel=1e-4)
    moss, warmth = row.ratios
    assert (moss.factor, moss.level, moss.reference) == ("food", "moss", "leek")
    assert (warmth.level, warmth.reference) == ("25 °C", "20 °C")
    by_food = means.groupby("food").mean()
    assert moss.ratio == pytest.approx(math.exp(by_food["moss"] - by_food["leek"]), rel=1e-4)
    contrast = full.t_test("food[T.moss] + 0.5 * food[T.moss]:c[T.25] = 0")
    low, high = np.exp(contrast.conf_int()[0])
    assert (moss.low, moss.high) == pytest.approx((low, high), rel=1e-3)


def test_three_levels_have_two_degrees_and_ratios_to_the_first() -> None:
    rng = np.random.default_rng(2)
    notebooks, rows = [], []
    for place, (food, celsius) in enumerate(
        (food, c) for food in ("a", "b") for c in (30.0, 20.0, 25.0)
    ):
        days = cell(rng, 6, 2.0 + 0.02 * celsius + 0.1 * (food == "b"))
        notebooks.append(kept(f"n{place}", days, food, celsius))
        rows += [{"y": math.log(day), "food": food, "c": f"{celsius:g}"} for day in days]
    (row,) = apart(notebooks, BY, "L1", "L2").stages
    frame = pd.DataFrame(rows)
    assert [each.df for each in row.effects] == [1, 2, 2]
    assert [(each.level, each.reference) for each in row.ratios] == [
        ("b", "a"), ("25 °C", "20 °C"), ("30 °C", "20 °C"),
    ]  # fmt: skip
    models = [smf.ols(f"y ~ {text}", frame).fit() for text in ("food + c", "food * c")]
    assert row.effects[2].f == pytest.approx(anova_lm(*models)["F"].iloc[1], rel=1e-3)
    cells = frame.groupby(["food", "c"])["y"].mean().groupby("c").mean()
    assert row.ratios[2].ratio == pytest.approx(math.exp(cells["30"] - cells["20"]), rel=1e-4)


def test_who_is_still_waiting_counts_as_long_as_it_was_watched() -> None:
    notebooks, _ = four()
    days = [3.0, 4.0, 5.0, 4.5]
    # ten that have waited since day 1 for nothing more: they are seen on that day alone
    more = [*notebooks[:3], kept("moss25", days, "moss", 25.0, waiting=10)]
    few = [*notebooks[:3], kept("moss25", days, "moss", 25.0)]
    waiting, done = (apart(each, BY, "L1", "L2").stages[0].cells[3] for each in (more, few))
    assert (waiting.completed, done.completed) == (4, 4)
    assert waiting.n == 14


def test_cages_are_counted_whole() -> None:
    """Cages that differ and animals that hardly do: 40 animals show what 12 cages do not."""
    rng = np.random.default_rng(3)
    notebooks = []
    for place, (food, celsius) in enumerate(CELLS):
        cages = np.repeat(rng.normal(2.0 + 0.15 * (food == "moss"), 0.2, 3), 4)
        days = np.exp(cages + rng.normal(0, 0.02, 12))
        names = [f"cup {n // 4}" for n in range(12)]
        notebooks.append(kept(f"n{place}", days, food, celsius, names))
    whole = apart(notebooks, BY, "L1", "L2")
    assert whole.clustered_by is Shared.CONTAINER
    (row,) = whole.stages
    assert [each.clusters for each in row.cells] == [3] * 4
    assert [each.freedom for each in row.effects] == [12 - 3, 12 - 3, 12 - 4]
    bare = [
        each.with_log(replace(each.log, individuals=tuple(
            replace(one, container=None) for one in each.log.individuals)))
        for each in notebooks
    ]  # fmt: skip
    alone = apart(bare, BY, "L1", "L2").stages[0]
    assert alone.effects[0].p < row.effects[0].p
    assert "errors are those of whole containers" in " ".join(notices(whole))
    two = [kept("p", [4, 5, 6, 4.5], "leek", 20.0, ["1", "1", "2", "2"]), *notebooks[1:]]
    few = apart(two, BY, "L1", "L2")
    assert few.stages[0].reason is NoDesign.FEW_CLUSTERS
    assert "of fewer than 3 cohorts, containers or clutches" in lead(few)


def test_several_cohorts_of_one_combination_are_what_is_counted() -> None:
    rng = np.random.default_rng(4)
    notebooks = [
        kept(f"{food}{celsius:g}-{n}", cell(rng, 5, mean + rng.normal(0, 0.1)), food, celsius,
             ["cup"] * 5)
        for (food, celsius), (_, mean) in CELLS.items()
        for n in range(3)
    ]  # fmt: skip
    result = factorial(notebooks, BY, "L1", "L2")
    assert result.clustered_by is Shared.COHORT
    assert [each.clusters for each in result.stages[0].cells] == [3] * 4
    assert [each.n for each in result.stages[0].cells] == [15] * 4


def test_two_cohorts_of_one_combination_make_cohorts_count_in_all() -> None:
    notebooks, _ = four()
    more = kept("leek20-2", [9.0, 10.0, 11.0], "leek", 20.0)
    result = factorial([*notebooks, more], BY, "L1", "L2")
    assert result.clustered_by is Shared.COHORT
    assert [each.clusters for each in result.stages[0].cells] == [2, 1, 1, 1]
    assert result.stages[0].reason is NoDesign.FEW_CLUSTERS
    assert apart(notebooks, BY, "L1", "L2").clustered_by is None


def test_a_design_of_four_cohorts_is_no_surer_than_one_factor_of_them() -> None:
    """Each combination is of one cohort, but each food of two: what a cohort does by itself cannot
    be told from what its food does."""
    notebooks, _ = four()
    result = factorial(notebooks, BY, "L1", "L2")
    assert result.clustered_by is Shared.COHORT
    assert result.stages[0].reason is NoDesign.FEW_CLUSTERS
    assert result.stages[0].effects == ()
    assert [each.title for each in factorial_tables(result)] == [
        "L1 to L2: days of each combination"
    ]
    one = compare(notebooks, "L1", "L2", "food")
    assert one.stages[0].reason is NoTest.FEW_CLUSTERS
    assert lead(result) == (
        "Whether food and temperature matter from L1 to L2 cannot be told: some combination is of "
        "fewer than 3 cohorts, containers or clutches, which are what is counted, too few to say "
        "how far such differ."
    )
    assert "cohorts are what is counted, and the errors are those of whole cohorts" in " ".join(
        notices(result)
    )
    # of three levels each is of one cohort, which are compared as they are; the sexes lie within
    sexed = [with_sexes(each) for each in notebooks[:2]]
    within = factorial(sexed, ("sex", "temperature"), "L1", "L2")
    assert within.clustered_by is None
    assert [each.term for each in within.stages[0].effects] == [
        "sex", "temperature", "sex × temperature",
    ]  # fmt: skip
    again = [with_sexes(each, name=f"{each.name}-2") for each in notebooks[:2]]
    assert factorial([*sexed, *again], ("sex", "temperature")).clustered_by is Shared.COHORT


def with_sexes(notebook: Notebook, name: str = "") -> Notebook:
    """The same, of which every other is a female."""
    log = notebook.log
    sex = {each.code: "fm"[n % 2] for n, each in enumerate(log.individuals)}
    looks = tuple(replace(each, sex=sex[each.individual]) for each in log.all_observations)
    header = replace(log.cohort, name=name, id="") if name else log.cohort
    return notebook.with_log(replace(log, cohort=header, all_observations=looks))


def looked_at(name: str, food: str, celsius: float, days: Iterable[int], every: int) -> Notebook:
    """A cohort whose eggs of day 0 were looked at every so many days, and took so long."""
    last = max(days) + 2 * every
    lives = {
        str(n): " ".join(
            "-" if look % every else "egg" if look < day else "L1" for look in range(last)
        )
        for n, day in enumerate(days)
    }
    log = tiny_log(lives, name=name, laid=(-0.5, 0.0))
    return notebook_of(replace(log, cohort=replace(log.cohort, food=food, planned_celsius=celsius)))


def test_the_error_that_coarse_looks_share_counts() -> None:
    """All of a combination hatch between the same two looks, four days apart: days of 4 to 8 beside
    4 to 8 and 8 to 12 are as alike as 8 and 8."""
    step = {("leek", 20.0): 6, ("leek", 25.0): 6, ("moss", 20.0): 10, ("moss", 25.0): 6}
    notebooks = [
        looked_at(f"{food}{celsius:g}", food, celsius, [day] * 8, 4)
        for (food, celsius), day in step.items()
    ]
    row = apart(notebooks, BY, "egg", "L1").stages[0]
    assert row.in_step
    assert [each.verdict for each in row.effects] == [Verdict.NOT_SHOWN] * 3
    assert all(each.low < 0.01 and each.high > 100 for each in row.ratios)  # the looks tell nothing
    assert {(each.low, each.high) for each in row.cells} == {(None, None)}
    assert [each.mean is not None for each in row.cells] == [True] * 4
    result = apart(notebooks, BY, "egg", "L1")
    assert lead(result).startswith("No effect of food and temperature from egg to L1 was shown")
    assert "most passed between the same two checks" in " ".join(words(result))
    assert factorial_tables(result)[2].rows[0][5] is None
    # a spread of many looks leaves hardly any error that all share
    spread = [
        looked_at(f"{food}{celsius:g}", food, celsius, range(day, day + 16), 1)
        for (food, celsius), day in step.items()
    ]
    fine = apart(spread, BY, "egg", "L1").stages[0]
    assert not fine.in_step
    assert all(each.low is not None for each in fine.cells)


def test_an_effect_whose_interval_holds_one_is_not_told_as_a_ratio_that_is_sure() -> None:
    result = told()
    (row,) = result.stages
    food = replace(row.effects[0], p=0.001, verdict=Verdict.DIFFER)
    quiet = [replace(each, verdict=Verdict.NOT_SHOWN, p=0.5) for each in row.effects[1:]]
    unsure = replace(row.ratios[0], ratio=1.05, low=0.96, high=1.16)
    odd = replace(row, effects=(food, *quiet), ratios=(unsure, row.ratios[1]))
    assert lead(replace(result, stages=(odd,))) == (
        "From L1 to L2 the test shows an effect of food (p = 0.001), yet not which levels differ "
        "by how much: moss took 1.05 times as long as leek (95 % interval 0.96 to 1.16)."
    )


def test_from_the_last_stage_the_end_is_death() -> None:
    """By hand: adults of two sexes at two temperatures, looked at daily, that die on day 4 to 12
    after they were first seen; the one that still lives is censored."""

    def adults(name: str, celsius: float, lives: dict[str, Sequence[int]], alive: int) -> Notebook:
        looks, codes = [], []
        for sex, days in lives.items():
            for n, day in enumerate(days):
                code = f"{sex}{n}"
                codes.append(code)
                looks.append(replace(seen(code, 1.0, "adult"), sex=sex))
                looks += [seen(code, 1.0 + look, "adult") for look in range(1, day)]
                looks.append(seen(code, 1.0 + day, "dead"))
        for n in range(alive):
            codes.append(f"l{n}")
            looks.append(replace(seen(f"l{n}", 1.0, "adult"), sex="f"))
            looks.append(seen(f"l{n}", 21.0, "adult"))
        log = tiny_log({"x": "egg"}, name=name)
        header = replace(log.cohort, planned_celsius=celsius)
        more = (*(Individual(code, START, "egg") for code in codes), Individual("e", START, "egg"))
        looks.append(seen("e", 1.0, "dead"))
        return notebook_of(
            replace(log, cohort=header, individuals=more, all_observations=tuple(looks))
        )

    females, males = (9, 10, 11, 12, 14), (4, 5, 5, 6, 7)
    books = [
        adults("cool", 20.0, {"f": females, "m": males}, 1),
        adults("warm", 25.0, {"f": females, "m": males}, 0),
    ]
    result = factorial(books, ("sex", "temperature"), "adult")
    (row,) = result.stages
    assert row.stage == "adult to death"
    assert [(each.n, each.completed) for each in row.cells] == [(6, 5), (5, 5), (5, 5), (5, 5)]
    assert result.not_known == 0  # an egg that died is of no sex, and was no adult
    assert factorial(books, ("sex", "temperature"), "egg").not_known == 2
    sex, celsius, both = row.effects
    assert (sex.verdict, celsius.verdict, both.verdict) == (
        Verdict.DIFFER, Verdict.NOT_SHOWN, Verdict.NOT_SHOWN,
    )  # fmt: skip
    assert lead(result).startswith("From adult to death sex matters: females took 2.")
    # dated to the middles between looks, with one that lives, by a reference library
    frame = pd.DataFrame(
        [(day - 0.5, 1, group == "f", warm) for warm in (0, 1)
         for group, days in (("f", females), ("m", males)) for day in days]
        + [(20.0, 0, True, 0)],
        columns=["days", "died", "female", "warm"],
    ).astype(float)  # fmt: skip
    fitter = {"Weibull": WeibullAFTFitter, "log-normal": LogNormalAFTFitter}[row.family or ""]()
    frame["both"] = (frame.female - 0.5) * (frame.warm - 0.5)
    fitter.fit(frame, "days", "died")
    params = fitter.params_.droplevel(0)
    assert row.ratios[0].reference == "f"
    assert math.log(row.ratios[0].ratio) == pytest.approx(-params["female"], abs=0.02)


def test_clutches_count_where_there_are_fewer_of_them_than_cups() -> None:
    rng = np.random.default_rng(6)
    notebooks = []
    for place, (food, celsius) in enumerate(CELLS):
        cups = [f"cup {n // 2}" for n in range(12)]
        notebook = kept(f"n{place}", cell(rng, 12, 2.0), food, celsius, cups)
        individuals = tuple(
            replace(each, clutch=f"{place}-{n // 4}")
            for n, each in enumerate(notebook.log.individuals)
        )
        notebooks.append(notebook.with_log(replace(notebook.log, individuals=individuals)))
    result = apart(notebooks, BY, "L1", "L2")
    assert result.clustered_by is Shared.CLUTCH
    assert [each.clusters for each in result.stages[0].cells] == [3] * 4
    assert "errors are those of whole clutches" in " ".join(notices(result))


def test_who_is_of_no_cup_stands_alone() -> None:
    notebooks, _ = four()
    days = [7.0, 7.5, 8.0, 8.5, 9.0]
    mixed = kept("moss25", days, "moss", 25.0, ["a", "a", None, None, "b"])
    (row,) = apart([*notebooks[:3], mixed], BY, "L1", "L2").stages
    assert [each.clusters for each in row.cells] == [9, 12, 14, 4]


def test_without_all_combinations_only_the_factors_are_tested() -> None:
    notebooks, frame = four()
    three = apart(notebooks[:3], BY, "L1", "L2")
    assert not three.complete
    (row,) = three.stages
    assert [each.term for each in row.effects] == ["food", "temperature"]
    part = frame[~((frame.food == "moss") & (frame.c == "25"))]
    models = [smf.ols(f"y ~ {text}", part).fit() for text in ("c", "food + c")]
    assert row.effects[0].f == pytest.approx(anova_lm(*models)["F"].iloc[1], rel=1e-3)
    assert "Not all combinations of food and temperature" in " ".join(notices(three))


def test_every_stage_is_corrected_and_the_whole_is_not() -> None:
    def lived(name: str, food: str, celsius: float, slow: int) -> Notebook:
        lives = {
            str(n): "egg " * (1 + n % 3 + slow) + "L1 " * (2 + n % 2) + "L2 pupa adult"
            for n in range(9)
        }
        log = tiny_log(lives, name=name, laid=(-0.5, 0.0))
        header = replace(log.cohort, food=food, planned_celsius=celsius)
        return notebook_of(replace(log, cohort=header))

    notebooks = [
        lived(f"n{place}", food, celsius, 2 * (celsius < 22))
        for place, (food, celsius) in enumerate(CELLS)
    ]
    result = apart(notebooks, BY)
    assert [each.stage for each in result.stages] == [
        "egg", "L1", "L2", "pupa", "whole development",
    ]  # fmt: skip
    assert apart(notebooks, BY, until="L2").stages[0].stage == "egg to L2"
    assert apart(notebooks, BY, "L2").stages[0].stage == "L2 to adult"
    egg = result.stages[0]
    tested = [each for each in result.stages[:-1] if each.effects]
    smallest = min(each.effects[1].p for each in tested)
    assert egg.effects[1].p == smallest
    assert egg.effects[1].p_holm == pytest.approx(smallest * len(tested))
    whole = result.stages[-1]
    assert whole.effects[1].p_holm == whole.effects[1].p
    assert result.overall is whole
    # L1 of 2 or 3 days, one day each of L2 and pupa, and nothing of an optional stage
    for one, other in zip(whole.cells, egg.cells, strict=True):
        assert one.mean is not None
        assert other.mean is not None
        assert one.mean == pytest.approx(other.mean + 4.5, abs=0.5)
    assert lead(result).startswith("From egg to adult temperature matters: 20 °C took 1.")


def told() -> Factorial:
    return apart(four()[0], BY, "L1", "L2")


def test_sentences_say_what_the_tests_do() -> None:
    result = told()
    (row,) = result.stages
    assert lead(result).startswith("From L1 to L2 food and temperature act together: what one")
    text = " ".join(words(result))
    assert "food: an effect (p < 0.001)" in text
    assert "look at the combinations" in text
    calm = replace(
        row,
        effects=tuple(replace(each, verdict=Verdict.NOT_SHOWN, p=0.5) for each in row.effects),
    )
    quiet = replace(result, stages=(calm,))
    assert lead(quiet).startswith("No effect of food and temperature from L1 to L2 was shown")
    alone = replace(calm, effects=(row.effects[0], *calm.effects[1:]))
    most = lead(replace(result, stages=(alone,)))
    ratio = row.ratios[0]
    assert most == (
        f"From L1 to L2 food matters: moss took {ratio.ratio:.2f} times as long as leek "
        f"(95 % interval {ratio.low:.2f} to {ratio.high:.2f})."
    )
    shorter = replace(ratio, ratio=0.5, low=0.4, high=0.8)
    assert "leek took 2.00 times as long as moss (95 % interval 1.25 to 2.50)" in lead(
        replace(result, stages=(replace(alone, ratios=(shorter,)),))
    )
    assert "look at the combinations" not in " ".join(words(replace(result, stages=(alone,))))
    # the ratio that is told is the largest, either way, of those that matter
    both = replace(alone, effects=(*row.effects[:2], calm.effects[2]))
    warm = replace(row.ratios[1], ratio=0.9, low=0.8, high=0.95)
    large = replace(ratio, ratio=1.5, low=1.2, high=1.9)
    said = lead(replace(result, stages=(replace(both, ratios=(large, warm)),)))
    assert said.startswith("From L1 to L2 food and temperature matter: moss took 1.50 times as")
    cold = replace(warm, ratio=0.5, low=0.4, high=0.6)
    said = lead(replace(result, stages=(replace(both, ratios=(large, cold)),)))
    assert "matter: 20 °C took 2.00 times as long as 25 °C" in said
    said = lead(replace(result, stages=(replace(alone, ratios=(large, cold)),)))
    assert "food matters: moss took 1.50 times as long as leek" in said
    assert lead(replace(result, stages=())).startswith("Nobody has completed a stage")
    assert "whole" not in " ".join(notices(result))


def test_tables_and_rows_have_every_term() -> None:
    result = told()
    tables = factorial_tables(result)
    assert [row[0] for row in tables[0].rows] == ["food", "temperature", "food × temperature"]
    assert tables[0].rows[0][5] == "<0.001"
    assert [row[:3] for row in tables[1].rows] == [
        ["food", "moss", "leek"], ["temperature", "25 °C", "20 °C"],
    ]  # fmt: skip
    food = result.stages[0].ratios[0]
    assert tables[1].rows[0][4] == f"{food.low:.2f}–{food.high:.2f}"
    assert tables[2].rows[0][:3] == ["leek", "20 °C", 9]
    first = result.stages[0].cells[0]
    assert str(tables[2].rows[0][4]) == f"{first.mean:.1f}"
    assert tables[2].rows[0][5] == f"{first.low:.1f}–{first.high:.1f}"
    assert [each.full for each in tables] == [False, False, False, True, True]
    rows = flat_factorial(result)
    assert [*rows.columns[:4]] == ["stage", "family", "term", "df"]
    assert [row[2] for row in rows.rows] == ["food", "temperature", "food × temperature"]


def test_what_is_no_design_is_told() -> None:
    notebooks, _ = four()
    with pytest.raises(UsageError, match="a design has 2 to 3 different factors"):
        factorial(notebooks, ["food", "food"])
    with pytest.raises(UsageError, match="there is no other place than"):
        factorial(
            [each.with_log(replace(each.log, cohort=replace(each.log.cohort, place="x")))
             for each in notebooks], ["food", "place"])  # fmt: skip
    with pytest.raises(UsageError, match="no place is known"):
        factorial(notebooks, ["food", "place"])
    with pytest.raises(UsageError, match="food and temperature go together"):
        factorial([notebooks[0], notebooks[3]], BY)
    with pytest.raises(UsageError, match="given twice"):
        factorial([notebooks[0], notebooks[0]], BY)
    missing = [*notebooks, kept("none", [4.0, 5.0, 6.0], None, 20.0)]
    result = apart(missing, BY, "L1", "L2")
    assert result.not_known == 3
    assert "of 3 more is not known" in " ".join(notices(result))
    few = [*notebooks[:3], kept("moss25", [3.0, 4.0], "moss", 25.0)]
    short = apart(few, BY, "L1", "L2")
    assert short.stages[0].reason is NoDesign.TOO_FEW
    assert "cannot be told: fewer than 3 came to the end" in lead(short)
    assert words(short) == ()
    three = apart([*notebooks[:3], kept("moss25", [3.0, 4.0, 4.5], "moss", 25.0)], BY, "L1", "L2")
    assert three.stages[0].reason is None


def test_an_error_that_rounding_takes_below_0_is_none() -> None:
    whole = DesignFit("gamma", np.ones(2), np.diag([4.0, -1e-20]), 5.0, 0.0, 0.0)
    assert _error(np.array([1.0, 0.0]), whole) == 2.0
    assert _error(np.array([0.0, 1.0]), whole) == 0.0


@pytest.mark.parametrize(
    ("low", "width", "one"),
    [(4.9, 0.0, True), (5.0, 0.0, False), (5.9, 1.0, True), (6.0, 1.0, False)],
)
def test_one_time_may_be_that_of_all_where_their_intervals_overlap(
    low: float, width: float, one: bool
) -> None:
    """Of 4 to 5 days and of `low` to a day more, each half a `width` longer or shorter."""
    lows = np.array([4.0, low])
    assert _one_fits_all(Times(lows, lows + 1, np.full(2, width))) is one


def in_unit(unit: float) -> StageDesign:
    """Four combinations of eight each that were looked at daily, with days of so many units."""
    rng = np.random.default_rng(8)
    cells = (("a", "x"), ("a", "y"), ("b", "x"), ("b", "y"))
    seen = []
    for mean in (6.0, 7.0, 6.5, 9.0):
        low = np.floor(rng.normal(mean, 0.4, 8))
        bounds = unit * np.column_stack((low, low + 1))
        everybody, who = np.ones(8, dtype=bool), np.arange(8)
        times = Times(bounds[:, 0], bounds[:, 1], np.zeros(8))
        seen.append(_Seen(everybody, times, everybody, bounds.mean(axis=1), (bounds,), who))
    cell_of = tuple(np.full(8, place) for place in range(4))
    design = Design(("f", "g"), cells, (("a", "b"), ("x", "y")), cell_of, None, True)
    return _stage("L1", seen, design)


def test_another_unit_changes_no_ratio_and_no_test() -> None:
    """Also where the mean is less than one of it; the error that the looks share counts in both."""
    one, small = in_unit(1.0), in_unit(0.01)
    assert one.in_step
    assert small.in_step
    for ours, theirs in zip(small.ratios, one.ratios, strict=True):
        assert (ours.ratio, ours.low, ours.high) == pytest.approx(
            (theirs.ratio, theirs.low, theirs.high), rel=1e-3
        )
    for mine, yours in zip(small.effects, one.effects, strict=True):
        assert (mine.f, mine.p) == pytest.approx((yours.f, yours.p), rel=5e-3)
