"""What the marks of the charts stand for; each chart says the same below it, in its own words."""

from __future__ import annotations

from rearlog.sentences.meanings.word import Word

MARKS = (
    Word(("slanted edge",), "the passage lies between two checks", charts=("progress",)),
    Word(("×", "cross"), "found dead", charts=("progress",)),
    Word(("?", "question mark"), "lost", charts=("progress",)),
    Word(("▷", "triangle"), "taken out alive", charts=("progress",)),
    Word(("outlined", "◁"), "outside the expected range", charts=("progress",)),
    Word(
        ("bracket", "brackets"),
        "from the earliest to the latest that the species profile expects of a passage at these "
        "temperatures",
        by="stages.progress.expected_events",
        charts=("progress", "stages"),
    ),
    Word(
        ("layer", "layers"),
        "how many were in the stage in which each was last seen by the end of the day",
        by="stages.stage_counts.stage_counts",
        charts=("stages",),
    ),
    Word(
        ("marks", "dot", "dots"),
        "completed stages to the nearest half day, larger for more individuals",
        charts=("durations",),
    ),
    Word(
        ("bar",),
        "between which days the median lies, as far as the checks tell",
        by="statistics.interval_median.interval_median",
        charts=("durations",),
    ),
    Word(
        ("thin line",),
        "95 % limits of the median of all such individuals",
        by="statistics.interval_median.interval_median",
        charts=("durations",),
    ),
    Word(
        ("box",),
        "the range that the species profile expects",
        by="stages.expected.expectation",
        charts=("durations",),
    ),
    Word(("hollow",), "certainly outside the expected range", charts=("durations",)),
    Word(
        ("marks",),
        "when half of those who came into a stage had done so, on the total of degree-days",
        charts=("heat",),
    ),
    Word(("upright bars",), "the heat by which the profile expects a passage", charts=("heat",)),
    Word(("hollow",), "a day filled from the days beside it", charts=("heat",)),
    Word(("hatched",), "a day without a temperature: no total from there on", charts=("heat",)),
    Word(
        ("lₓ", "l_x"),
        "the part of all eggs that is alive at age x",
        by="reproduction.estimates.estimates",
        charts=("reproduction",),
    ),
    Word(
        ("mₓ", "m_x"),
        "eggs on the day from age x to x + 1 for each alive at its start, of both sexes",
        by="reproduction.estimates.estimates",
        charts=("reproduction",),
    ),
    Word(
        ("Shaded",),
        "95 % limits by age, each age by itself: percentiles of cohorts of lives drawn anew",
        by="reproduction.estimates.estimates",
        charts=("reproduction",),
    ),
    Word(
        ("steps",),
        "the part still alive, a death counting on the day it was found",
        by="statistics.kaplan_meier.kaplan_meier",
        charts=("survival",),
    ),
    Word(
        ("band",),
        "95 % limits of the part still alive, day by day",
        by="statistics.kaplan_meier.kaplan_meier",
        charts=("survival",),
    ),
    Word(
        ("thin line",),
        "the part still alive where deaths lie between the looks before and after them",
        by="statistics.turnbull.turnbull",
        charts=("survival",),
    ),
    Word(
        ("strokes",), "last seen alive then: lost, taken out, or still living", charts=("survival",)
    ),
    Word(("marks",), "mean head width of an instar", charts=("growth",)),
    Word(("bars",), "SD between individuals", charts=("growth",)),
    Word(("short strokes",), "the profile’s means", charts=("growth",)),
    Word(
        ("line",),
        "growth of the head by a constant ratio",
        by="growth.instars.dyar",
        charts=("growth",),
    ),
    Word(("lines by age",), "one individual each", charts=("growth",)),
    Word(("solid",), "how many have come so far", charts=("forecast",)),
    Word(
        ("dashed", "dash"),
        "how many are expected to have come, if all live",
        by="forecasting.emergence.emergence",
        charts=("forecast",),
    ),
    Word(
        ("band",),
        "the part of outcomes that was asked for (nine in ten), if all live",
        by="forecasting.emergence.emergence",
        charts=("forecast",),
    ),
    Word(
        ("cells",),
        "how many pairs of calls; on the diagonal both called the same stage",
        by="agreement.agreement.agreement",
        charts=("agreement",),
    ),
    Word(("marks",), "the mean of those that completed it", charts=("pace",)),
    Word(("bars",), "SD of those that completed it", charts=("pace",)),
    Word(
        ("bars",),
        "SD of temperature between individuals, standard error of the rate",
        charts=("rate",),
    ),
    Word(
        ("line",),
        "the straight line through the rates, dashed beyond the temperatures measured",
        by="comparing.rate_models.linear_rate",
        charts=("rate",),
    ),
    Word(
        ("band",),
        "95 % limits of the mean rate",
        "a + b·T ± t · √(s²/n + (T − T̄)² · SE_b²)",
        "comparing.rate_models.linear_rate",
        charts=("rate",),
    ),
    Word(
        ("dotted",),
        "the law of the rate that the points prefer to the line",
        by="comparing.rate_curves.rate_curves",
        charts=("rate",),
    ),
    Word(("hollow",), "a cohort that was left out by name", charts=("rate",)),
    Word(
        ("bars",),
        "Wilson’s 95 % limits of the part that died in each cohort",
        by="statistics.life_table.wilson",
        charts=("mortality",),
    ),
    Word(
        ("line",),
        "the part that dies at any temperature, by logistic regression",
        by="comparing.heat_mortality.mortality_curve",
        charts=("mortality",),
    ),
    Word(
        ("band",),
        "95 % limits of that part, scatter between cohorts counted",
        by="comparing.heat_mortality.mortality_curve",
        charts=("mortality",),
    ),
    Word(
        ("triangle",),
        "the temperature of the least mortality, with its 95 % limits",
        by="comparing.heat_mortality.mortality_curve",
        charts=("mortality",),
    ),
    Word(("hollow",), "a cohort that was left out by name", charts=("mortality",)),
)
