"""What the numbers of survival are."""

from __future__ import annotations

from rearlog.sentences.meanings.word import Word

_TABLE = ("LifeTableRow",)

SURVIVAL = (
    Word(("x",), "life table: age in days", kinds=_TABLE),
    Word(("n",), "life table: alive at age x", kinds=_TABLE, glossary="n, l, d, q"),
    Word(
        ("l",),
        "part that lives to x",
        "l(x+1) = l(x) · (1 − q(x)), l(0) = 1",
        kinds=_TABLE,
        glossary="n, l, d, q",
    ),
    Word(("d",), "deaths from x to x + 1", kinds=_TABLE, glossary="n, l, d, q"),
    Word(
        ("q",),
        "part of those alive at x that die before x + 1",
        "d / (n − w/2), w being those not watched further",
        kinds=_TABLE,
        glossary="n, l, d, q",
    ),
    Word(
        ("L",),
        "life table: mean part alive from x to x + 1",
        "(l(x) + l(x+1)) / 2",
        kinds=_TABLE,
        glossary="L, T, e",
    ),
    Word(("T",), "the sum of L from x on", "Σ L from x on", kinds=_TABLE, glossary="L, T, e"),
    Word(
        ("e",),
        "days still to be expected at x",
        "T / l, within the table, which ends with the watch",
        kinds=_TABLE,
        glossary="L, T, e",
    ),
    Word(
        ("q", "q_least", "q_most", "q_low", "q_high"),
        "the part that dies in the stage, those lost or taken out counting as long as they were "
        "watched; where the last were not watched to its end it lies between two numbers",
        "Aalen and Johansen’s estimate; deaths / entered where nobody was lost",
        "statistics.cumulative_incidence.stage_mortality",
        ("StageSurvival",),
    ),
    Word(
        ("k", "k_low", "k_high", "killing power"),
        "−log10 of the part that survives a stage",
        "−log10(1 − q)",
        "statistics.life_table.k_value",
        ("StageSurvival",),
        glossary="k, K",
    ),
    Word(
        ("K", "K_low", "K_high"),
        "−log10 of the part that survives all stages; where nobody is lost, the k of all stages "
        "add up to it",
        "−log10 of the part that reached the last stage",
        "statistics.life_table.k_value",
        ("Survival",),
        glossary="k, K",
    ),
    Word(
        ("n",),
        "how many individuals came under watch",
        kinds=("Survival", "GroupSurvival", "Fates"),
    ),
    Word(("deaths",), "how many were found dead"),
    Word(("stage_table",), "what became of those who entered each stage"),
    Word(("life_table",), "the life table by age in days"),
    Word(("causes",), "deaths by cause and stage"),
    Word(("since",), "the stage from which days count; none: from the start"),
    Word(
        ("median_days", "median_low", "median_high"),
        "the first day by which half had been found dead, and its 95 % limits",
        "the first day on which S ≤ 1/2",
        "statistics.kaplan_meier.kaplan_meier",
        ("Survival",),
    ),
    Word(
        ("day",), "days since they came under watch, on which one ended", kinds=("KaplanMeierRow",)
    ),
    Word(
        ("at_risk", "at risk"), "how many were followed up to that day", kinds=("KaplanMeierRow",)
    ),
    Word(
        ("survival",),
        "the part still alive just after the day",
        "S = Π (1 − deaths / at risk) over the days so far",
        "statistics.kaplan_meier.kaplan_meier",
        ("KaplanMeierRow",),
    ),
    Word(
        ("se", "SE"),
        "Greenwood’s standard error of the survival",
        "S · √Σ deaths / (at risk · (at risk − deaths))",
        "statistics.kaplan_meier.kaplan_meier",
        ("KaplanMeierRow",),
    ),
    Word(
        ("after", "by", "after day", "by day"),
        "the days between which deaths fell, by the looks before and after them",
        kinds=("DeathsBetween",),
    ),
    Word(
        ("died", "survival"),
        "the part that died between two looks, and that still alive then",
        "Turnbull’s estimate: the masses of highest likelihood, and 1 less their sum so far",
        "statistics.turnbull.turnbull",
        ("DeathsBetween",),
    ),
    Word(
        ("half died after day", "by day", "half had died (days)", "quartiles"),
        "the days after and by which half (or a quarter, three quarters) of these had died, "
        "whatever the times were within the looks",
        by="statistics.interval_median.interval_median",
        kinds=("IntervalMedian",),
    ),
    Word(("events",), "how many died", kinds=("IntervalMedian",)),
    Word(("sex",), "females, males, or not known", kinds=("Survival", "SurvivalByGroup")),
    Word(
        ("level",),
        "the level of the factor that a group is of; null: not known",
        kinds=("Survival",),
    ),
    Word(("by",), "the factor that parts the groups", kinds=("SurvivalByGroup",)),
    Word(("names",), "what the groups are called, one for each", kinds=("SurvivalByGroup",)),
    Word(
        ("expected",),
        "how many deaths there would be if all groups died alike",
        "Σ over the deaths of the part of all under watch that was in the group",
        "statistics.interval_log_rank.interval_log_rank",
        ("GroupSurvival",),
    ),
    Word(
        ("reached", "reached adulthood"),
        "how many reached the last stage, as a part where those lost count as long as they were "
        "watched",
        by="statistics.cumulative_incidence.stage_mortality",
        kinds=("GroupSurvival",),
    ),
    Word(("median",), "when half of the group had died", kinds=("GroupSurvival",)),
    Word(
        ("chi2", "χ²", "df", "p"),
        "the log-rank test of deaths that lie between two looks: χ²; df, its degrees of freedom, "
        "one less than the groups; p by dealing the individuals out to the groups anew",
        by="statistics.interval_log_rank.interval_log_rank",
        kinds=("SurvivalComparison",),
    ),
    Word(
        ("left_out",),
        "deaths in the last stage, which do not count in whether survival on the way there differs",
        kinds=("SurvivalComparison",),
    ),
    Word(
        ("reached",),
        "how many reached the end, and which part of all they are",
        kinds=("Survival",),
    ),
    Word(
        ("most",),
        "what the part that reached it may still become at most",
        by="statistics.cumulative_incidence.stage_mortality",
        kinds=("ReachedEnd",),
    ),
)
