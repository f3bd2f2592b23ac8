"""What methods assume, and where they are checked beside the test of their own module."""

from __future__ import annotations

from collections.abc import Mapping

from msgspec import Struct


class Method(Struct, frozen=True):
    """What a function of `rearlog.analysis` takes for granted, in a sentence.

    `checked` are the test modules that call it, under `tests/`; none: the one that mirrors its
    module. A function that is part of another, and tested with it, names that as `part_of`.
    """

    assumes: str = ""
    checked: tuple[str, ...] = ()
    part_of: str = ""


_APART = "Cohorts are independent, or those of one site are alike for that reason alone."

METHODS: Mapping[str, Method] = {
    "agreement.agreement.agreement": Method(
        "Calls within the same minutes are of the same moment; pairs are independent."
    ),
    "comparing.compare.compare": Method(
        "Individuals (or cages, or clutches) are independent, and cohorts differ in nothing but "
        "what is compared."
    ),
    "comparing.means_of_all.means_of_all": Method(
        "All cohorts have times of one shape; who was lost would have been as the others.",
        part_of="comparing.compare.compare",
    ),
    "comparing.growth_by_heat.growth_by_heat": Method(
        "r scatters about one of the laws, which hold where the population grows."
    ),
    "comparing.heat_mortality.mortality_curve": Method(
        "The logit of the mortality is a parabola of the temperature; losses do not foretell "
        "deaths."
    ),
    "comparing.factorial.factorial": Method(
        "What the levels add to the logarithm of the time adds up, or differs by combination; all "
        "scatter alike, by one law; individuals, or whole cohorts, containers or clutches, are "
        "independent."
    ),
    "comparing.survival_by_group.survival_by_group": Method(
        "Individuals are independent; who is of no known level is in no group."
    ),
    "comparing.learning.credible_threshold": Method("The rate is straight over the temperatures."),
    "comparing.rate_curves.best_bent": Method(part_of="comparing.rate_curves.rate_curves"),
    "comparing.rate_curves.landmarks": Method("The law holds between the cohorts’ temperatures."),
    "comparing.rate_curves.rate_curves": Method(
        "Mean rates scatter about one of the laws, each by its standard error."
    ),
    "comparing.rate_models.ikemoto_takai": Method(
        "The rate is straight over the temperatures, which are measured in °C.",
        (
            "analysis/comparing/test_rate_models.py",
            "published/test_honek_2003.py",
        ),
    ),
    "comparing.rate_models.linear_rate": Method(
        "The rate is straight over the temperatures: a cohort above the optimum bends it. The "
        "threshold lies beyond what was measured.",
        (
            "analysis/comparing/test_rate_models.py",
            "published/test_honek_2003.py",
        ),
    ),
    "comparing.rate_models.weighted_rate": Method(
        "As the straight line; the errors of the cohorts’ rates are known.",
        part_of="comparing.thermal.thermal",
    ),
    "comparing.swinging_heat.swinging_heat": Method(
        "Development follows the temperature of the moment, straight above the threshold."
    ),
    "comparing.thermal.rate_error": Method("The error of the days is small beside the days."),
    "comparing.thermal.thermal": Method(
        "A cohort’s individuals are alike but for chance, and had the temperatures on record."
    ),
    "forecasting.cohort_pace.cohort_pace": Method(
        "A cohort is faster or slower than the profile by one factor a stage, log-normal."
    ),
    "forecasting.deadline.deadline": Method(
        "As the forecast, at a constant temperature from now on."
    ),
    "forecasting.emergence.emergence": Method("As the forecast; all live."),
    "forecasting.forecast.forecast": Method(
        "Development is straight above the threshold, individuals differ as the profile says, and "
        "the temperature to come is as said; deaths are left out."
    ),
    "forecasting.found_animal.found_animal": Method(
        "It may be at any moment of its stage, all alike, at one temperature all its life."
    ),
    "forecasting.individual_forecast.individual_forecasts": Method(
        "As the forecast.", part_of="forecasting.forecast.forecast"
    ),
    "growth.identify.identify": Method(
        "Widths of an instar are log-normal about the profile’s mean; pieces of evidence are "
        "independent."
    ),
    "growth.instars.dyar": Method(
        "The head grows by one ratio from instar to instar.",
        (
            "analysis/growth/test_instars.py",
            "published/test_silkworm.py",
        ),
    ),
    "growth.instars.growth_ratios": Method(
        checked=(
            "analysis/growth/test_instars.py",
            "published/test_silkworm.py",
        )
    ),
    "growth.instars.relative_growth_rate": Method("The mass grows by a constant part a day."),
    "growth.width_groups.width_groups": Method("ln width is normal in each group, one SD for all."),
    "heat.degree_days.degree_days": Method(
        "Development is straight above the threshold; between minimum and maximum the temperature "
        "runs as the method says.",
        (
            "analysis/heat/test_degree_days.py",
            "published/test_degree_day_tables.py",
        ),
    ),
    "heat.gap_filling.gaps_in": Method(checked=("analysis/heat/test_daily_temperatures.py",)),
    "pooling.funnel.funnel": Method(
        "Animals of a cohort live or die each by itself; where cohorts scatter more, all do so by "
        "one factor."
    ),
    "pooling.funnel.limits": Method(part_of="pooling.funnel.funnel"),
    "pooling.pooled_stages.pooled_stage": Method(_APART, part_of="pooling.season.season"),
    "pooling.random_effects.deleted_p": Method(
        "Cohorts differ by a normal law; the errors of their means are known."
    ),
    "pooling.random_effects.random_effects": Method(
        "Cohorts differ by a normal law; the errors of their means are known."
    ),
    "pooling.random_effects.site_effects": Method(
        "Sites differ by a normal law, and cohorts of one site by another, the same at all sites."
    ),
    "pooling.season.season": Method(_APART),
    "pooling.season_survival.season_survival": Method(_APART, part_of="pooling.season.season"),
    "pooling.season_thermal.season_thermal": Method(_APART, part_of="pooling.season.season"),
    "pooling.standing_out.standing_out": Method(_APART, part_of="pooling.season.season"),
    "reproduction.age_stage.age_stage": Method("Survival and eggs by age stay as they are."),
    "reproduction.pairs_of_cohorts.pairs_of_cohorts": Method(
        "Individuals (or cages) are independent, within cohorts and between them.",
        ("analysis/reproduction/test_estimates.py",),
    ),
    "reproduction.estimates.population": Method(
        "Survival and eggs by age stay as they are.", ("published/test_birch_1948.py",)
    ),
    "reproduction.euler_lotka.generation_times": Method(
        checked=(
            "analysis/reproduction/test_euler_lotka.py",
            "published/test_birch_1948.py",
        )
    ),
    "reproduction.reproduction.reproduction": Method(
        "Who is lost would have lived and laid as the others of the age."
    ),
    "reproduction.estimates.estimates": Method("Individuals (or cages) are independent."),
    "reproduction.euler_lotka.intrinsic_rate": Method(
        "Survival and eggs by age stay as they are, and ages are stable.",
        (
            "analysis/reproduction/test_euler_lotka.py",
            "published/test_birch_1948.py",
        ),
    ),
    "simulation.sample_size.sample_size": Method(
        "Individuals differ as the profile says, and are looked at as planned."
    ),
    "stages.durations.durations": Method(
        "A passage lies in the middle between two looks; no look is a mistake unless another "
        "contradicts it."
    ),
    "stages.expected.expectation": Method("The values of the profile hold for this population."),
    "stages.left_open.left_open": Method(part_of="stages.durations.durations"),
    "stages.profile_values.beyond_measured": Method(
        checked=("analysis/stages/test_heat_needs.py",)
    ),
    "stages.progress.expected_events": Method(
        "The values of the profile hold for this population.", part_of="stages.progress.progress"
    ),
    "stages.stage_heat.coverage": Method(part_of="stages.stage_heat.heat"),
    "statistics.binomial_fit.binomial_fit": Method(
        "Cohorts scatter alike about the curve, and individuals of one die independently."
    ),
    "statistics.accelerated_life.design_fit": Method(
        "All scatter alike about what the design says, by one law.",
        ("analysis/statistics/test_design_fit.py",),
    ),
    "statistics.checked_mean.checked_mean": Method(
        "Values are independent but for the looks, which fell on them by chance."
    ),
    "statistics.clusters.intraclass": Method("Clusters are alike but for chance."),
    "statistics.cumulative_incidence.stage_mortality": Method(
        "Losses do not foretell deaths: who was lost would have fared as the others."
    ),
    "statistics.differences.holm": Method("Nothing of how the tests hang together."),
    "statistics.differences.mean_test": Method(
        "Means are near to normal; groups may scatter differently."
    ),
    "statistics.differences.resampled_medians": Method("Individuals are independent."),
    "statistics.interval_log_rank.interval_log_rank": Method(
        "Losses do not foretell deaths; groups are looked at independently of who dies.",
        (
            "analysis/statistics/test_interval_log_rank.py",
            "published/test_leukemia_remission.py",
        ),
    ),
    "statistics.interval_median.interval_median": Method(
        "Individuals are independent; losses do not foretell the event."
    ),
    "statistics.kaplan_meier.kaplan_meier": Method(
        "Losses do not foretell deaths; a death counts on the day it was found.",
        (
            "analysis/statistics/test_kaplan_meier.py",
            "published/test_leukemia_remission.py",
        ),
    ),
    "statistics.kappa.kappa": Method(
        "Pairs of calls are independent.", ("published/test_kappa.py",)
    ),
    "statistics.life_table.k_value": Method("The mortality is known."),
    "statistics.life_table.life_table": Method(
        "Losses do not foretell deaths, and fall in the middle of a day on average.",
        (
            "analysis/statistics/test_life_table.py",
            "published/test_life_table_exercise.py",
        ),
    ),
    "statistics.pairs.pairs_of_means": Method(
        "Means are near to normal; groups may scatter differently."
    ),
    "statistics.straight_line.straight_line": Method("All points scatter alike about a line."),
    "statistics.turnbull.turnbull": Method(
        "When somebody looks says nothing of when it happens.",
        (
            "analysis/statistics/test_turnbull.py",
            "published/test_breast_cosmesis.py",
        ),
    ),
    "statistics.weighted_line.unexplained": Method("The errors of the means are known."),
    "survival.survival.reached_end": Method(
        "Losses do not foretell deaths.", part_of="survival.survival.survival"
    ),
    "survival.survival.survival": Method("Losses do not foretell deaths."),
}
