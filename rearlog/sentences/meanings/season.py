"""What the numbers of an answer about any number of cohorts are."""

from __future__ import annotations

from rearlog.sentences.meanings.word import Word

_COHORT = ("CohortSummary",)
_MEAN = ("RandomEffects", "SiteEffects")
_STAGE = ("StageSummary",)
_LINE = ("ThermalConstants",)
_OUT = ("StandsOut",)
_POOLED = "pooling.random_effects.random_effects"
_SITES = "pooling.random_effects.site_effects"

SEASON = (
    Word(("sites",), "how many sites are told", kinds=("Season",)),
    Word(
        ("coming",), "the adults that are expected, day by day", kinds=("Season", "CohortSummary")
    ),
    Word(("passed_over",), "the files that could not be read", kinds=("Season",)),
    Word(("passed_over",), "the files of it that do not count", kinds=("Copy",)),
    Word(("file",), "the file that could not be read", kinds=("PassedOver",)),
    Word(("why",), "why it could not be read", kinds=("PassedOver",)),
    Word(("why",), "what may be why it stands out, in words", kinds=_OUT),
    Word(("survival",), "how many came into the last stage", kinds=("SpeciesSeason",)),
    Word(
        ("thermal",),
        "threshold and thermal constant of each stage",
        by="pooling.season.season",
        kinds=("SpeciesSeason",),
    ),
    Word(
        ("by_site",),
        "the cohorts of each site together",
        kinds=("SpeciesSeason",),
    ),
    Word(
        ("stand_out",),
        "the cohorts that lie farther from the others than chance",
        by="pooling.season.season",
        kinds=("SpeciesSeason",),
    ),
    Word(
        ("adults", "week from"),
        "how many adults are expected more on a day (or in the week from it), if all live",
        by="forecasting.emergence.emergence",
        kinds=("AdultsOnDay", "ExpectedAdults"),
    ),
    # one cohort
    Word(("site",), "the school or laboratory; null: not told", kinds=(*_COHORT, "SiteSeason")),
    Word(("site",), "the site", kinds=("SiteMean",)),
    Word(("last_stage",), "the stage that all are to come to", kinds=_COHORT),
    Word(("started",), "the day on which it was started", kinds=_COHORT),
    Word(("last_look",), "the day of the last look; null: nobody has looked", kinds=_COHORT),
    Word(("invented",), "whether it is invented", kinds=_COHORT),
    Word(("animals",), "how many individuals it has", kinds=_COHORT),
    Word(
        ("known",),
        "of how many it is known whether they came into the last stage",
        by="survival.survival.reached_end",
        kinds=_COHORT,
    ),
    Word(
        ("reached", "came through"),
        "how many of these came into the last stage",
        by="survival.survival.reached_end",
        kinds=(*_COHORT, "SeasonSurvival", "Funnel"),
    ),
    Word(("gone",), "how many were lost or removed before the last stage", kinds=_COHORT),
    Word(("looks",), "how many looks stand", kinds=_COHORT),
    Word(
        ("due",),
        "how many daily looks there should have been, one a day and living individual",
        by="stages.completeness.completeness",
        kinds=_COHORT,
    ),
    Word(
        ("missed", "looks missed"),
        "how many of these were not made; in tables the part of them",
        by="stages.completeness.completeness",
        kinds=_COHORT,
    ),
    Word(
        ("doubtful",),
        "how many individuals have looks that contradict each other",
        by="stages.in_doubt.in_doubt",
        kinds=_COHORT,
    ),
    Word(
        ("struck_temperatures",), "how many records of temperature were struck out", kinds=_COHORT
    ),
    Word(
        ("likely",),
        "the day by which half of those that are to come should be in the last stage",
        by="forecasting.forecast.forecast",
        kinds=_COHORT,
    ),
    Word(("completed",), "how many completed it, their start being known", kinds=_STAGE),
    Word(("in_stage",), "how many are still in it", kinds=_STAGE),
    Word(
        ("freedom",),
        "the degrees of freedom of the standard error",
        by="statistics.checked_mean.checked_mean",
        kinds=_STAGE,
    ),
    # over cohorts and sites
    Word(
        ("over_sites",),
        "the mean over sites, where there are three or more and some have several cohorts",
        by=_SITES,
        kinds=("PooledStage",),
    ),
    Word(("k",), "how many cohorts or sites it is the mean of", kinds=("RandomEffects",)),
    Word(("k",), "how many cohorts the site has", kinds=("SiteMean",)),
    Word(("left out",), "cohorts with too few that came through, or too many still in it"),
    Word(("sites",), "the mean of each site", by=_SITES, kinds=("SiteEffects",)),
    Word(
        ("mean", "days on average", "days"),
        "the mean over cohorts, or over sites",
        "Σ w·y / Σ w, w = 1/(s² + τ²)",
        _POOLED,
        _MEAN,
    ),
    Word(
        ("low", "possible"),
        "between these limits the true mean lies, with 95 % confidence",
        "μ ± t·√(Σ w·(y − μ)² / ((k − 1)·Σ w))",
        _POOLED,
        _MEAN,
    ),
    Word(
        ("predicted_low", "predicted_high", "another cohort"),
        "between these limits one more cohort is expected, 95 times in 100",
        "μ ± t·√(τ² + SE²), t on k − 2",
        _POOLED,
        _MEAN,
    ),
    Word(
        ("tau", "τ", "τ (DL)"),
        "the SD between cohorts, without the error of each",
        "τ² with which Σ w·(y − μ)² = k − 1; DL: in one step",
        _POOLED,
        ("RandomEffects",),
    ),
    Word(
        ("tau_low", "tau_high"),
        "95 % limits of the SD between cohorts",
        "where Σ w·(y − μ)² meets the quantiles of χ²",
        _POOLED,
        ("RandomEffects",),
    ),
    Word(
        ("i2", "I²"),
        "the part of the variance of what was found that lies between cohorts",
        "τ²/(τ² + s²)",
        _POOLED,
        ("RandomEffects",),
    ),
    Word(("tau_sites", "τ sites"), "the SD between sites", by=_SITES, kinds=("SiteEffects",)),
    Word(
        ("tau_cohorts", "τ cohorts"),
        "the SD between cohorts of one site",
        by=_SITES,
        kinds=("SiteEffects",),
    ),
    # survival
    Word(("ids",), "the cohorts, by their identities", kinds=("SeasonSurvival",)),
    Word(("sites",), "the sites, by their names", kinds=("SeasonSurvival",)),
    Word(
        ("on_the_way",),
        "the cohorts that are left out because more than a tenth of them may yet come",
        kinds=("SeasonSurvival",),
    ),
    Word(
        ("unknown",),
        "the cohorts that are left out because nobody’s end is known",
        kinds=("SeasonSurvival",),
    ),
    Word(
        ("days",),
        "the mean over the cohorts of the site of the whole development",
        by=_POOLED,
        kinds=("SiteSeason",),
    ),
    # what stands out
    Word(("direction",), "on which side of the others it lies", kinds=_OUT),
    Word(("centre", "others"), "what is so of the others on average", kinds=_OUT),
    Word(("middle_celsius",), "the temperature (°C) of the middle one of the cohorts", kinds=_OUT),
    Word(
        ("at_temperature", "at its °C"),
        "the days that the line of the rates says at its temperature",
        "K/(T − T0)",
        "pooling.season.season",
        _OUT,
    ),
    Word(
        ("p_line",),
        "how often chance would take it so far from that line",
        by="pooling.random_effects.deleted_p",
        kinds=_OUT,
    ),
    Word(
        ("p_line_holm", "p of the line"),
        "the same, corrected for all cohorts and stages",
        by="pooling.random_effects.deleted_p",
        kinds=_OUT,
    ),
    # threshold and constant
    Word(
        ("coldest", "warmest"),
        "the temperatures (°C) between which cohorts were",
        kinds=(*_LINE, "PooledStage"),
    ),
    Word(
        ("unlike",),
        "whether one of them was 2 °C or more from the middle one, so that a mean in days is of "
        "unlike things",
        kinds=("PooledStage",),
    ),
    Word(
        ("threshold", "threshold_se", "threshold_low", "threshold_high", "T0", "T0 of sites"),
        "the lower threshold (°C), its standard error and 95 % limits",
        "T0 = −a/b of the line rate = a + b·T",
        "comparing.rate_models.linear_rate",
        _LINE,
    ),
    Word(
        ("constant", "constant_se", "constant_low", "constant_high", "K"),
        "the thermal constant (degree-days), its standard error and 95 % limits",
        "K = 1/b",
        "comparing.rate_models.linear_rate",
        _LINE,
    ),
    # charts
    Word(
        ("rows", "bars"), "the mean of a cohort (or site) with its 95 % limits", charts=("means",)
    ),
    Word(
        ("diamond",),
        "the mean over all, from its lower limit to its upper one",
        by=_POOLED,
        charts=("means",),
    ),
    Word(
        ("line through the diamond",),
        "where one more cohort is expected, 95 times in 100",
        by=_POOLED,
        charts=("means",),
    ),
    Word(
        ("point", "points"),
        "a cohort, larger for several with the same numbers; red: it stands out",
        charts=("funnel",),
    ),
    Word(
        ("lines", "inner lines"),
        "between them chance leaves 95 of 100 cohorts of that size",
        by="pooling.funnel.limits",
        charts=("funnel",),
    ),
    Word(
        ("outer lines",),
        "between them chance leaves all cohorts at once, 95 times in 100",
        by="pooling.funnel.limits",
        charts=("funnel",),
    ),
)
