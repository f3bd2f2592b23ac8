"""What the numbers of a life table from egg to egg are."""

from __future__ import annotations

import re

from rearlog.analysis.reproduction.estimates import Measure
from rearlog.sentences.meanings.word import Word
from rearlog.sentences.reproduction import CALLED

_ESTIMATE = ("Estimate",)
_AGES = ("LifeTableDay",)
_STAGES = ("AgeStageDay",)
_POPULATION = "reproduction.estimates.population"
_TIMES = "reproduction.euler_lotka.generation_times"


def measured(measure: Measure, says: str, formula: str = "", by: str = "") -> Word:
    """A measure, by the name that programs meet, by the one of the tables, and by the symbol that
    stands in brackets there."""
    called = CALLED[measure]
    symbol = re.findall(r"\((.+)\)$", called)
    return Word((str(measure), called, *symbol), says, formula, by, _ESTIMATE)


MEASURES = (
    measured(
        Measure.R0,
        "net reproductive rate: eggs of the next generation for each egg",
        "Σ l(x)·m(x)",
        _POPULATION,
    ),
    measured(
        Measure.RATE,
        "intrinsic rate of increase: the part by which numbers grow a day at stable ages",
        "the r of Σ exp(−r·a)·l(x)·m(x) = 1, eggs of day x being laid at age a = x + 0.5 (or x)",
        "reproduction.euler_lotka.intrinsic_rate",
    ),
    measured(
        Measure.FINITE_RATE,
        "finite rate: how many times as many, a day later",
        "exp(r)",
        _POPULATION,
    ),
    measured(
        Measure.GENERATION,
        "mean generation time: the days in which numbers grow to R0 times as many",
        "ln R0 / r",
        _TIMES,
    ),
    measured(
        Measure.COHORT_GENERATION,
        "cohort generation time: the mean age of mothers when eggs are laid, days",
        "Σ a·l(x)·m(x) / R0",
        _TIMES,
    ),
    measured(
        Measure.DOUBLING,
        "days until there are twice as many; without end where numbers do not grow",
        "ln 2 / r",
        _POPULATION,
    ),
    measured(
        Measure.GROSS_RATE,
        "gross reproductive rate: eggs of one that lives to the highest age",
        "Σ m(x)",
        _POPULATION,
    ),
    measured(
        Measure.LIFE, "the days that an egg is to live", "e(0) = Σ l(x) · part of the day lived"
    ),
    measured(Measure.PRE_LAYING, "days from adult to the first eggs, of females that laid"),
    measured(Measure.TO_FIRST_EGGS, "days from egg to the first eggs, of females that laid"),
    measured(
        Measure.LAYING,
        "days between looks that found eggs and the looks before them, of females that laid",
    ),
    measured(Measure.EGGS, "eggs of an adult female in her life, those without any included"),
    measured(Measure.EGGS_A_DAY, "eggs of a female on a day on which she lays"),
    measured(Measure.FEMALE_DAYS, "days that a female lives as an adult"),
    measured(Measure.MALE_DAYS, "days that a male lives as an adult"),
    measured(
        Measure.FEMALE_SHARE,
        "the part of females among those whose sex is known, with Wilson’s limits",
        "females / (females + males)",
        "statistics.life_table.wilson",
    ),
    measured(
        Measure.HATCH_SHARE,
        "the part that hatched of the eggs of which it was counted; its error is no less than that "
        "of eggs that hatch each by itself",
        "hatched / eggs; SE ≥ √(p·(1 − p) / eggs)",
    ),
)

REPRODUCTION = (
    *MEASURES,
    Word(
        ("cages_unsexed",),
        "of how many cages the eggs were shared among animals of unknown sex",
        by="reproduction.histories.histories",
        kinds=("Reproduction",),
    ),
    Word(
        ("males_records", "males_eggs"),
        "records of eggs told of males, and these eggs: in doubt, and not counted",
        by="reproduction.histories.histories",
        kinds=("Reproduction",),
    ),
    Word(("measure",), "which figure it is", kinds=("Estimate", "PairOfCohorts")),
    Word(
        ("se", "SE", "low", "high"),
        "standard error and 95 % limits from cohorts drawn anew, whole lives with replacement; "
        "none of what rests on one life or cage alone",
        "SD of the draws; limits bias-corrected and accelerated",
        "reproduction.estimates.estimates",
        _ESTIMATE,
    ),
    Word(
        ("of",),
        "both sexes, each egg counting; or females only, daughters counting",
        kinds=_ESTIMATE,
    ),
    Word(
        ("difference",),
        "how much more the first cohort has than the second, with limits for all pairs together",
        by="reproduction.pairs_of_cohorts.pairs_of_cohorts",
        kinds=("PairOfCohorts",),
    ),
    Word(
        ("p", "differ?", "do they differ?"),
        "how often chance alone would make two cohorts differ so much, corrected for the number of "
        "pairs",
        by="reproduction.pairs_of_cohorts.pairs_of_cohorts",
        kinds=("PairOfCohorts",),
    ),
    Word(
        ("pair", "pairs", "first", "second"),
        "the two cohorts",
        kinds=("PairOfCohorts", "ReproductionComparison"),
    ),
    Word(("x",), "age in days, from x to x + 1", kinds=(*_AGES, *_STAGES)),
    Word(("n",), "how many were watched through the day", kinds=(*_AGES, *_STAGES)),
    Word(
        ("l", "l_low", "l_high", "its limits"),
        "the part alive at age x, with 95 % limits",
        "Π (1 − deaths / watched) over the days before",
        "reproduction.estimates.estimates",
        _AGES,
    ),
    Word(
        ("m", "m_low", "m_high", "limits of m"),
        "eggs laid on the day for each that is alive, of both sexes, with 95 % limits",
        "eggs of the day / watched through it",
        "reproduction.estimates.estimates",
        _AGES,
    ),
    Word(("lm", "l·m"), "eggs of the day for each egg at the start", "l(x)·m(x)", kinds=_AGES),
    Word(
        ("e",),
        "days still to live at age x",
        "Σ from x on of (l + l of the next day) / 2, over l(x)",
        kinds=(*_AGES, *_STAGES),
    ),
    Word(
        ("v",),
        "reproductive value: what one of age x adds to the numbers to come, an egg adding 1",
        "exp(r·x)/l(x) · Σ from x on of exp(−r·a)·l·m",
        "reproduction.age_stage.age_stage",
        (*_AGES, *_STAGES),
    ),
    Word(
        ("c",),
        "the part of this age (and stage) in a population of stable ages",
        "exp(−r·x)·l(x), over the sum of these",
        "reproduction.age_stage.age_stage",
        (*_AGES, *_STAGES),
    ),
    Word(
        ("l_female", "m_female", "l, ♀", "m, ♀"),
        "the same of females only, eggs that become daughters counting",
        kinds=_AGES,
    ),
    Word(
        ("s",),
        "the part of all eggs that is alive at age x and in the stage (s_xj)",
        by="reproduction.age_stage.age_stage",
        kinds=_STAGES,
    ),
    Word(
        ("f",),
        "eggs of the day for each of those of the age and stage (f_xj)",
        by="reproduction.age_stage.age_stage",
        kinds=_STAGES,
    ),
    Word(("age_stage",), "the life table by age and stage, both sexes"),
    Word(
        ("stable_stages", "part"),
        "the part of a stage in a population of stable ages",
        by="reproduction.age_stage.age_stage",
        kinds=("Reproduction", "StableStage"),
    ),
    Word(("sex",), "of adults: females, males, or not known", kinds=(*_STAGES, "StableStage")),
    Word(
        ("since_entry",),
        "of how many the age is counted from entry, in place of the egg",
        kinds=("Reproduction",),
    ),
    Word(("unsexed",), "the adults whose sex is not known", kinds=("Reproduction",)),
    Word(("eggs",), "all eggs that were laid", kinds=("Reproduction",)),
    Word(
        ("childless",),
        "in how many of the resamples no egg was laid",
        by="reproduction.estimates.estimates",
        kinds=("Reproduction",),
    ),
)
