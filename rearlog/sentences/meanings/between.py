"""What the numbers of the answers about several cohorts are."""

from __future__ import annotations

from rearlog.analysis.comparing.thermal import COLDEST_THRESHOLD, LARGEST_SE
from rearlog.sentences.meanings.word import Word

_POINT = ("RatePoint",)
_LINES = ("LinearRate", "WeightedRate", "IkemotoTakai")
_DEATHS = ("MortalityPoint",)
_MODELS = (*_LINES, "RateCurve", "SwingingHeat")

BETWEEN = (
    # differences
    Word(("survival",), "how many lived, compared", kinds=("Comparison",)),
    Word(("n", "finished it"), "how many completed it", kinds=("GroupSummary",)),
    Word(
        ("mean", "days on average", "mean_of_all", "all"),
        "the mean of those that completed it; all: with those counted that were not seen to "
        "complete it although watched for as long",
        "Σ x / n; of all from the fit of an accelerated life",
        "comparing.means_of_all.means_of_all",
        ("GroupSummary",),
    ),
    Word(
        ("statistic", "test", "p"),
        "the test whether the means differ, before the correction for the number of stages",
        "Welch’s t or F, the error of the checks counted; of all: a likelihood ratio against F",
        "statistics.differences.mean_test",
        ("StageComparison",),
    ),
    Word(
        ("p_holm", "p", "do they differ?"),
        "how often chance alone would make cohorts differ so much, corrected for the number of "
        "stages; below 0.05 a difference counts as shown",
        "Holm: the i-th smallest of m is multiplied by m − i + 1",
        "statistics.differences.holm",
        ("StageComparison",),
    ),
    Word(
        ("tested",),
        "whether the cohort is one of those that the test compares",
        kinds=("GroupSummary",),
    ),
    Word(
        ("letters", "alike"),
        "cohorts that share a letter were not shown to differ",
        by="statistics.pairs.letters",
        kinds=("GroupSummary",),
    ),
    # generations
    Word(("families",), "cohorts that come from each other", kinds=("Lineage",)),
    Word(("alone",), "cohorts that come from none, and none from them", kinds=("Lineage",)),
    Word(("members",), "the cohorts, each beneath its first parent", kinds=("LineageFamily",)),
    Word(
        ("generation",),
        "how many generations it is from those that come from none, by the longest way",
        "1 + the largest of its parents; 0 without",
        kinds=("LineageMember",),
    ),
    Word(
        ("parents", "comes from", "comes_from"),
        "the cohorts that it comes from, and the individuals of them",
        kinds=("LineageMember",),
    ),
    Word(("children",), "the cohorts that come from it", kinds=("LineageMember",)),
    Word(("family",), "the number of the family", kinds=("LineageFamily",)),
    Word(
        ("missing",), "whether it is named, but not among these cohorts", kinds=("LineageMember",)
    ),
    Word(("n",), "how many individuals it has", kinds=("GenerationFigures",)),
    Word(
        ("days",),
        "the mean days from egg to adult of those that completed it",
        kinds=("GenerationFigures",),
    ),
    Word(
        ("reached", "adults"),
        "how many became adults, as a part where those lost count as long as they were watched",
        by="statistics.cumulative_incidence.stage_mortality",
        kinds=("GenerationFigures",),
    ),
    Word(
        ("r0", "R0"),
        "the net reproductive rate, eggs of the next generation for each egg",
        "Σ l_x·m_x",
        "reproduction.reproduction.reproduction",
        ("GenerationFigures",),
    ),
    # designs of several factors
    Word(("factors",), "the factors of the design", kinds=("Factorial",)),
    Word(
        ("family",),
        "the law of the scatter that fits best: Weibull, log-normal or gamma",
        kinds=("StageDesign",),
    ),
    Word(("cells",), "the combinations of levels", kinds=("StageDesign",)),
    Word(("effects",), "what each term of the design adds", kinds=("StageDesign",)),
    Word(("ratios",), "how many times as long one level took as another", kinds=("StageDesign",)),
    Word(("levels",), "the levels of the combination, factor by factor", kinds=("Cell",)),
    Word(("n",), "how many entered it at a time that is known", kinds=("Cell",)),
    Word(("completed", "finished it"), "how many were seen to complete it", kinds=("Cell",)),
    Word(("clusters",), "how many cohorts, containers or clutches it is of", kinds=("Cell",)),
    Word(
        ("mean", "days on average"),
        "the mean days of all of the combination, as the design fits it",
        "exp(Σ of what the levels add to ln time) times the mean of the scatter",
        "statistics.accelerated_life.design_fit",
        ("Cell",),
    ),
    Word(
        ("term",),
        "a factor, or several that act together (×)",
        kinds=("Effect",),
    ),
    Word(
        ("chi2", "χ²"),
        "twice what the log-likelihood gains by the term; where whole cohorts, containers or "
        "clutches are counted, Wald’s: its coefficients over their covariance",
        "2 · (ℓ with the term − ℓ without it)",
        "comparing.factorial.factorial",
        ("Effect",),
    ),
    Word(
        ("f", "F"),
        "χ² as an F, so that p is right for few too",
        "(exp(χ²/events) − 1) · freedom / df; Wald: χ²/df",
        "comparing.factorial.factorial",
        ("Effect",),
    ),
    Word(("df",), "how many coefficients the term has", kinds=("Effect",)),
    Word(
        ("freedom", "df of error"),
        "how much the scatter is known by",
        "events − coefficients; whole clusters: clusters − coefficients",
        kinds=("Effect",),
    ),
    Word(
        ("p",),
        "how often chance alone would give the term such an F; p_holm: corrected for the number "
        "of stages",
        by="comparing.factorial.factorial",
        kinds=("Effect",),
    ),
    Word(
        ("ratio", "times as long"),
        "how many times as long those of the level took as those of the level beside it, over the "
        "levels of the other factors alike",
        "exp of the difference of what both levels add to ln time",
        "statistics.accelerated_life.design_fit",
        ("LevelRatio",),
    ),
    Word(("factor",), "the factor whose levels are compared", kinds=("LevelRatio",)),
    Word(("level",), "the level that is compared", kinds=("LevelRatio",)),
    Word(("reference", "beside"), "the level that it stands beside", kinds=("LevelRatio",)),
    Word(
        ("medians",),
        "the difference of two medians with its interval",
        "median₁ − median₂; interval by bootstrap",
        "statistics.differences.resampled_medians",
    ),
    Word(
        ("means",),
        "the difference of two means with its interval",
        "mean₁ − mean₂ ± q · √((SE₁² + SE₂²)/2), q of the studentized range",
        "statistics.pairs.pairs_of_means",
    ),
    Word(
        ("intraclass",),
        "how alike those are that share a cage or clutch: 0 as others, 1 all the same",
        "(MSB − MSW) / (MSB + (n₀ − 1) · MSW)",
        "statistics.clusters.intraclass",
    ),
    # temperature
    Word(("points",), "a point a cohort: mean rate at mean temperature"),
    Word(
        ("temperature", "°C"),
        "the mean temperature that its individuals had while in the stage, °C",
        kinds=_POINT,
    ),
    Word(
        ("temperature_sd",),
        "how far the individuals’ mean temperatures lie apart, °C",
        kinds=_POINT,
    ),
    Word(("rate",), "part of the stage that is done in a day", "1 / mean days", kinds=_POINT),
    Word(
        ("rate_se",),
        "standard error of the rate",
        "SE of the days / days²",
        "comparing.thermal.rate_error",
    ),
    Word(
        ("days", "days_se", "SE"),
        "the mean days in the stage, and their standard error",
        kinds=_POINT,
    ),
    Word(("residual",), "how far the rate lies above the straight line, 1/day", kinds=_POINT),
    Word(
        ("linear", "weighted", "ikemoto_takai"),
        "threshold and thermal constant by one way of drawing the line: least squares, weighed by "
        "1/SE², or the reduced major axis",
        kinds=("StageThermal",),
    ),
    Word(
        ("no_linear", "no_weighted", "no_ikemoto_takai", "no_curve"),
        "why there is no such model; none where there is one",
    ),
    Word(
        ("threshold", "T0", "°C"),
        "the temperature (°C) below which nothing develops: where the line crosses 0, which is "
        "beyond all that was measured",
        "T0 = −intercept / slope",
        "comparing.rate_models.linear_rate",
        ("LinearRate",),
    ),
    Word(
        ("not to be used",),
        "the line gives a threshold that is hardly known (its standard error is above "
        f"{LARGEST_SE:g} °C), colder than any can be (below {COLDEST_THRESHOLD:g} °C), or warmer "
        "than the coldest cohort, which did develop; which of these, stands below the table",
        kinds=("StageThermal",),
    ),
    Word(
        ("constant", "K", "degree-days", "thermal constant K"),
        "the degree-days that a stage needs",
        "K = 1 / slope",
        "comparing.rate_models.linear_rate",
        ("LinearRate",),
        glossary="thermal constant K",
    ),
    Word(
        ("threshold_se", "threshold_low", "threshold_high", "SE", "possible"),
        "how far off the threshold may be: standard error and 95 % limits, °C",
        "SE(T0) = (r̄/b) · √(s²/(N · r̄²) + (SE_b/b)²)",
        "comparing.rate_models.linear_rate",
        ("LinearRate",),
    ),
    Word(
        ("constant_se", "constant_low", "constant_high", "SE", "possible"),
        "how far off the thermal constant may be: standard error and 95 % limits, degree-days",
        "SE(K) = SE_b / b²",
        "comparing.rate_models.linear_rate",
        ("LinearRate",),
    ),
    Word(
        ("slope", "slope_se", "intercept"),
        "the line through the rates: rate = intercept + slope · temperature",
        by="statistics.straight_line.straight_line",
        kinds=("LinearRate",),
    ),
    Word(
        ("r2", "R²"),
        "the part of the scatter that the line takes up, from 0 to 1",
        "1 − Σ residual² / Σ (y − ȳ)²",
        "statistics.straight_line.straight_line",
        ("LinearRate", "IkemotoTakai", "Dyar"),
    ),
    Word(
        ("threshold", "threshold_se", "constant", "constant_se", "T0 (WLS)"),
        "threshold and constant of the line with cohorts weighed by 1/SE² of their rates",
        by="comparing.rate_models.weighted_rate",
        kinds=("WeightedRate",),
    ),
    Word(
        ("threshold", "threshold_se", "constant", "constant_se", "T0 (RMA)", "K (RMA)"),
        "threshold and constant of the reduced major axis of days · temperature on days",
        "T0 = ± SD(D·T)/SD(D), K = mean(D·T) − T0 · mean(D)",
        "comparing.rate_models.ikemoto_takai",
        ("IkemotoTakai",),
    ),
    Word(("n",), "how many cohorts it rests on", kinds=_MODELS),
    Word(
        ("law",),
        "which law of the rate: a straight line, or one of those that bend",
        by="comparing.rate_curves.rate_curves",
        kinds=("RateCurve",),
    ),
    Word(
        ("threshold", "T0", "optimum", "upper"),
        "where the curve is 0, highest, and 0 again, °C; the latter two only where a cohort lies "
        "past the highest point",
        by="comparing.rate_curves.landmarks",
        kinds=("RateCurve",),
    ),
    Word(
        ("threshold_limits", "optimum_limits", "upper_limits"),
        "95 % limits of these, °C, from experiments invented by the curve",
        by="comparing.rate_curves.rate_curves",
        kinds=("RateCurve",),
    ),
    Word(
        ("AICc", "aicc"),
        "how well a law fits, less what the number of its parameters alone would gain; the least "
        "is best",
        "n·ln(Σ w·residual²/n) + 2K + 2K(K + 1)/(n − K − 1), K = parameters + 1",
        "comparing.rate_curves.rate_curves",
        glossary="AICc",
    ),
    Word(
        ("delta", "ΔAICc"),
        "how much worse than the best law this one fits",
        "AICc − least AICc",
        "comparing.rate_curves.rate_curves",
        ("RateCurve",),
    ),
    Word(
        ("weight",),
        "the part of the evidence that a law has, from 0 to 1",
        "exp(−ΔAICc/2), over the sum of these of all laws",
        "comparing.rate_curves.rate_curves",
        ("RateCurve",),
    ),
    Word(
        ("threshold", "threshold_low", "threshold_high", "constant", "cv", "swing"),
        "the threshold above which cohorts whose temperatures rise and fall needed the most equal "
        "degree-days",
        "the T0 of the least CV of the cohorts’ mean degree-days",
        "comparing.swinging_heat.swinging_heat",
        ("SwingingHeat",),
    ),
    # mortality by temperature
    Word(
        ("temperature", "°C"),
        "the mean temperature (°C) while in the stage of those that died in it or came through",
        kinds=_DEATHS,
    ),
    Word(("n",), "how many died in the stage or came through", kinds=_DEATHS),
    Word(("died",), "how many of these died", kinds=_DEATHS),
    Word(
        ("mortality", "low", "high"),
        "the part of these that died, with Wilson’s 95 % limits",
        "died / n",
        "statistics.life_table.wilson",
        _DEATHS,
    ),
    Word(("mortality",), "the part that dies by temperature, stage by stage", kinds=("Thermal",)),
    Word(
        ("curve", "coefficients", "covariance", "centre"),
        "the part that dies at any temperature: logistic regression on °C and, from four "
        "temperatures on, °C²",
        "logit(mortality) = c0 + c1·x + c2·x², x = T − centre",
        "comparing.heat_mortality.mortality_curve",
        ("HeatMortality", "MortalityCurve"),
    ),
    Word(
        ("dispersion",),
        "by how much cohorts scatter more, in variance, than chance among individuals makes them",
        "Pearson’s χ² / (cohorts − coefficients), no less than 1",
        "statistics.binomial_fit.binomial_fit",
    ),
    Word(
        ("f", "p"),
        "the test whether the mortality hangs on the temperature at all",
        "F = (deviance of one mortality for all − deviance) / coefficients but one / dispersion",
        "statistics.binomial_fit.dependence",
        ("MortalityCurve",),
    ),
    Word(
        ("best", "best_low", "best_high"),
        "the temperature of the least mortality, °C, with 95 % limits (Fieller)",
        "centre − c1 / (2·c2)",
        "comparing.heat_mortality.mortality_curve",
        ("MortalityCurve",),
    ),
    Word(
        ("least", "least_low", "least_high"),
        "the mortality at the best temperature, with 95 % limits",
        by="comparing.heat_mortality.mortality_curve",
        kinds=("MortalityCurve",),
    ),
    # growth by temperature
    Word(
        ("r", "r a day"),
        "the intrinsic rate of increase: by which part the population would grow a day at stable "
        "ages",
        "the r of Σ exp(−r·a)·l(x)·m(x) = 1",
        "reproduction.euler_lotka.intrinsic_rate",
        ("GrowthPoint",),
    ),
    Word(
        ("se", "SE", "low", "high"),
        "standard error and 95 % limits of r, by the bootstrap over individuals",
        by="reproduction.estimates.estimates",
        kinds=("GrowthPoint",),
    ),
    Word(
        ("temperature", "°C"),
        "the mean temperature that its individuals had all their lives, °C",
        kinds=("GrowthPoint",),
    ),
    Word(("n",), "how many entered as eggs", kinds=("GrowthPoint",)),
    Word(("adults",), "how many grew up", kinds=("GrowthPoint",)),
    Word(
        ("fastest",),
        "the r of the best curve at its highest point, a day",
        by="comparing.growth_by_heat.growth_by_heat",
    ),
    # what is learned
    Word(
        ("celsius", "se", "at"),
        "the lower threshold that cohorts tell, °C, its standard error, and the mean temperatures "
        "that it comes from",
        by="comparing.learning.credible_threshold",
        kinds=("LearnedThreshold",),
    ),
    Word(("degree_days",), "the degree-days that the stage took", kinds=("LearnedStage",)),
    # how many are needed
    Word(
        ("n", "individuals in each cohort", "individuals"),
        "how many individuals each of the two cohorts has",
        kinds=("PowerAt",),
    ),
    Word(
        ("power", "shown in", "shown"),
        "the part of invented comparisons of two such cohorts that showed the difference",
        "comparisons with p below the level / comparisons",
        "simulation.sample_size.sample_size",
        ("PowerAt",),
    ),
    Word(("difference_days",), "the difference of the mean times, days"),
    Word(("every",), "days from one round of checks to the next"),
    Word(("runs",), "how many comparisons were invented"),
    Word(
        (
            "mean_of_all_low",
            "mean_of_all_high",
        ),
        "95 % limits of the mean of all",
        by="comparing.means_of_all.means_of_all",
        kinds=("GroupSummary",),
    ),
    Word(("other",), "the cohort that the first is compared with", kinds=("PairDifference",)),
    Word(
        ("freedom",),
        "the degrees of freedom of the error, or of the test",
        kinds=(
            "RatePoint",
            "MortalityCurve",
        ),
    ),
    Word(
        (
            "coldest",
            "hottest",
        ),
        "the lowest and the highest of the temperatures measured, °C",
        kinds=("MortalityCurve",),
    ),
    Word(
        (
            "df",
            "df_within",
        ),
        "degrees of freedom: of the distances from the line, and of the scatter within cohorts",
        by="statistics.weighted_line.unexplained",
        kinds=("LackOfFit",),
    ),
    Word(
        ("until",),
        "the stage whose beginning ends the time that is compared",
        kinds=("SampleSize",),
    ),
    Word(("other_celsius",), "the temperature of the other cohort, °C", kinds=("SampleSize",)),
    Word(("level",), "the p below which a difference counts as shown", kinds=("SampleSize",)),
    Word(
        ("wanted",),
        "the part of the comparisons that should show the difference",
        kinds=("SampleSize",),
    ),
    Word(("days",), "the mean days that the stage took", kinds=("LearnedStage",)),
    Word(
        ("heated",),
        "of how many that completed it the degree-days are known",
        kinds=("LearnedStage",),
    ),
)
