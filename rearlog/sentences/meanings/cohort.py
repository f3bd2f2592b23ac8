"""What the numbers of the answers about one cohort are: stages, heat, growth, who looks."""

from __future__ import annotations

from rearlog.sentences.meanings.word import Word

_DURATION = ("StageDuration", "IndividualDuration")
_SPELL = ("StageDuration", "StageSurvival")

COHORT = (
    # how long the stages took
    Word(("entered",), "how many were known to have come into the stage", kinds=_SPELL),
    Word(
        ("completed", "finished it", "done", "n", "went on"),
        "how many were seen to come through the stage",
        kinds=_SPELL,
    ),
    Word(("in_stage", "still in", "still in it"), "how many are still in the stage", kinds=_SPELL),
    Word(
        ("start_unknown", "start unknown"),
        "how many were in the stage when they came under watch, so that its length is not known",
        kinds=("StageDuration",),
    ),
    Word(
        ("days", "days on average", "mean"),
        "days in the stage: the passage out less the passage in, each at the middle between the "
        "two looks around it",
        "(out_low + out_high)/2 − (in_low + in_high)/2; of a cohort the mean of these",
        "stages.durations.durations",
        _DURATION,
    ),
    Word(
        ("shortest–longest", "range", "min", "max"),
        "the shortest and the longest of those that completed it",
        kinds=("StageDuration", "StageHeat"),
    ),
    Word(
        ("se", "SE"),
        "standard error of the mean: how far the average may be off, the error of the checks, "
        "which all share, included",
        "√(SD²/n + check_error²), no less than what the checks make of it",
        "statistics.checked_mean.checked_mean",
        ("StageDuration", "StageHeat", "GroupSummary"),
    ),
    Word(
        ("mean_low", "mean_high"),
        "the ends of the 95 % limits of the mean",
        "mean ± t · SE, Student’s t on Satterthwaite’s degrees of freedom",
        "statistics.checked_mean.checked_mean",
    ),
    Word(
        ("interval_width", "±"),
        "how far apart the bounds of one duration lie on average; ± is half of that, and so how "
        "far off one duration can be",
        kinds=("StageDuration",),
    ),
    Word(
        ("median_bounds", "half"),
        "days between which half of those that entered had completed it, whatever the times were "
        "within the looks",
        by="statistics.interval_median.interval_median",
        kinds=("StageDuration",),
    ),
    Word(
        ("quartile_bounds", "a quarter", "three quarters", "lower_quartile", "upper_quartile"),
        "days between which a quarter, half and three quarters had completed it",
        by="statistics.interval_median.interval_median",
        kinds=("StageDuration",),
    ),
    Word(
        ("npmle_median", "npmle_quartiles", "npmle_lower_quartile", "npmle_upper_quartile"),
        "the innermost interval between looks that holds the half (or a quarter, three quarters) "
        "by the likeliest distribution: no statement of where that lies",
        by="statistics.turnbull.turnbull",
        kinds=("StageDuration",),
    ),
    Word(
        ("median_limits", "half of all such: 95 % limits"),
        "95 % limits of the median of all the individuals that these stand for",
        by="statistics.interval_median.interval_median",
        kinds=("StageDuration",),
    ),
    Word(
        ("expected",),
        "the range that the species profile leads one to expect at this cohort’s temperatures",
        by="stages.expected.expectation",
        kinds=(*_DURATION, "StageHeat"),
    ),
    Word(
        ("outside", "out"),
        "what cannot have been within the expected range, wherever between the looks it was",
        kinds=_DURATION,
    ),
    Word(
        ("outcome",),
        "how its time in the stage ended: completed, died, lost, removed, still in it, or not "
        "known since it began before the watch",
        kinds=("IndividualDuration",),
    ),
    Word(
        ("between",),
        "the shortest and the longest that this duration can have been, by the looks around it",
        kinds=("IndividualDuration",),
    ),
    Word(("degree_days", "DD"), "the heat that it had in the stage", kinds=("IndividualDuration",)),
    Word(
        ("gaps",),
        "the days without a temperature on record",
        kinds=("Durations", "Heat", "Comparison"),
    ),
    # heat
    Word(
        ("degree_days", "DD"),
        "the degree-days of one calendar day",
        "the mean over the day of max(0, T − T0), cut off at the upper threshold",
        "heat.degree_days.degree_days",
        ("HeatDay",),
    ),
    Word(
        ("cumulative", "total"),
        "the degree-days since the start, added up; not known after a day that is not",
        "Σ of the degree-days of the days so far",
        kinds=("HeatDay",),
    ),
    Word(("filled",), "taken from the days beside it, for want of a record", kinds=("HeatDay",)),
    Word(("days",), "how many days the temperatures should cover", kinds=("Coverage",)),
    Word(("recorded",), "days of these with a temperature on record"),
    Word(("filled",), "days of these filled from the days beside them", kinds=("Coverage",)),
    Word(("missing",), "days of these whose temperature is not known"),
    Word(("missing_dates",), "which days have no temperature"),
    Word(("coverage",), "how many days have a temperature, and how it is known"),
    Word(
        ("mean", "mean DD", "degree-days on average"),
        "the degree-days that the stage took, on average of those that completed it",
        "Σ degree-days between the passages in and out / n",
        "stages.stage_heat.heat",
        ("StageHeat",),
    ),
    Word(("n", "finished it"), "how many completed the stage", kinds=("StageHeat",)),
    Word(("lower",), "the lower threshold, °C: below it nothing is counted", kinds=("Heat",)),
    Word(
        ("upper",),
        "the upper threshold, °C: what is above it counts by the cutoff",
        kinds=("Heat",),
    ),
    Word(
        ("method",),
        "how a day’s degree-days are worked out of its temperatures",
        by="heat.degree_days.degree_days",
    ),
    Word(
        ("cutoff",),
        "what counts above the upper threshold",
        by="heat.degree_days.degree_days",
    ),
    Word(("low", "high"), "the ends of the expected range", kinds=("ExpectedTotal",)),
    Word(
        ("profile_lower", "profile_upper", "lower", "upper"),
        "thresholds (°C): those that the profile counts with, and those in use instead",
        kinds=("OtherThresholds",),
    ),
    # growth
    Word(("instars",), "the head widths, instar by instar"),
    Word(("n", "measured"), "how many individuals were measured in it", kinds=("InstarWidth",)),
    Word(
        ("head_width_mm_mean", "mm on average", "mean"),
        "mean head capsule width, mm, each individual counting once",
        "x̄ = Σ x / n",
        "growth.growth.growth",
        ("InstarWidth",),
    ),
    Word(
        ("ratio_to_previous", "times the one before", "ratio"),
        "by how much the head is wider than in the instar before",
        "mean width / mean width of the instar before",
        "growth.instars.growth_ratios",
        ("InstarWidth",),
    ),
    Word(
        ("expected", "usual, mm", "profile"),
        "the mean head width of the species profile, mm",
        kinds=("InstarWidth",),
    ),
    Word(
        ("Dyar’s ratio", "dyar", "ratio"),
        "by how much the head grows from instar to instar",
        "exp of the slope of ln width on the number of the instar",
        "growth.instars.dyar",
        ("Growth", "Dyar"),
        glossary="Dyar’s ratio",
    ),
    Word(("n",), "how many instars it rests on", kinds=("Dyar",)),
    Word(("no_dyar", "no_groups", "no_expected"), "why there is none"),
    Word(("series",), "what was measured, look by look"),
    Word(("day",), "days since the individual came under watch", kinds=("Measurement",)),
    Word(
        ("degree_days", "DD"),
        "the heat that it had had since it came under watch",
        kinds=("Measurement",),
    ),
    Word(("gains",), "the growth from one weighing to the next"),
    Word(("from_day", "from day"), "the day of the first weighing, from entry"),
    Word(("to_day", "to day"), "the day of the second weighing, from entry"),
    Word(
        ("rate_per_day", "rate a day"),
        "relative growth rate: the growth a day as a part of the mass",
        "ln(m2/m1) / days",
        "growth.instars.relative_growth_rate",
    ),
    Word(
        ("fold",),
        "how many times as heavy it was as before",
        "m2/m1",
        "growth.instars.fold_increase",
        ("MassGain",),
    ),
    Word(("mean_mm",), "the geometric mean of the widths of a group, mm"),
    Word(
        ("limit_mm",), "the width (mm) from which on the next group is likelier; none for the last"
    ),
    # how many in which stage
    Word(("n",), "how many individuals the cohort has", kinds=("StageCounts",)),
    Word(("days",), "the counts, day by day", kinds=("StageCounts",)),
    Word(("date",), "the day by whose end it is", kinds=("DayCounts", "StageOnDay")),
    Word(
        ("n",),
        "how many of the living were in the stage",
        by="stages.stage_counts.stage_counts",
        kinds=("StageOnDay",),
    ),
    Word(("arrivals",), "when they came into each stage"),
    Word(("n",), "how many came into the stage", kinds=("Arrival",)),
    Word(
        ("first", "median", "last"),
        "when the first, the middle and the last of them came, at the middle between two looks",
        kinds=("Arrival",),
    ),
    Word(
        ("half_seen",), "the day by whose end half of them had been seen in it", kinds=("Arrival",)
    ),
    Word(
        ("expected",),
        "the passages as the species profile foresees them at these temperatures",
        by="stages.progress.expected_events",
        kinds=("StageCounts", "Progress"),
    ),
    Word(("rests_on", "basis"), "what the expected range rests on: heat, or days"),
    # who looks
    Word(
        ("n", "pairs", "both looked"),
        "pairs of calls compared",
        kinds=("Agreement", "PairAgreement"),
    ),
    Word(("pairs",), "each two observers, by themselves", kinds=("Agreement",)),
    Word(
        ("agreed", "said the same"),
        "pairs in which both called the same stage",
        kinds=("Agreement", "PairAgreement"),
    ),
    Word(("that is",), "the part of the pairs that agree", "agreed / n", kinds=("PairAgreement",)),
    Word(
        ("kappa", "linear", "quadratic"),
        "agreement beyond chance: 1 for all, 0 for that of chance; linear and quadratic count "
        "calls that lie farther apart as worse",
        "(observed − chance) / (1 − chance)",
        "statistics.kappa.kappa",
        ("PairAgreement", "ObserverAgreement", "Kappa"),
    ),
    Word(("who",), "the two who looked", kinds=("PairAgreement",)),
    Word(("n",), "how many times it was so", kinds=("Confused", "Taken")),
    Word(
        ("called", "called by one or both", "both", "by both", "agreement"),
        "specific agreement of a stage: how often it was called by one and by both, and the part "
        "of all calls of it that the other made too",
        "2 · both / (all calls of it)",
        kinds=("StageAgreement",),
    ),
    Word(("calls",), "the calls of one observer", kinds=("ObserverAgreement",)),
    Word(
        ("agreed", "share"),
        "calls that say what all looks together were settled as, and their part of those compared",
        "agreed / (calls − open)",
        kinds=("ObserverAgreement",),
    ),
    Word(
        ("observers", "observer_1", "observer_2"),
        "the two who looked, in the order of their calls",
        kinds=("DifferingCalls",),
    ),
    Word(("confused",), "stages called one for the other, and how often"),
    Word(("table",), "calls of the first observer down, of the second across"),
    Word(("differences",), "the pairs of calls that differ"),
    Word(
        ("said", "stages", "stage_1", "stage_2"),
        "the stages that were called",
        kinds=("Taken", "DifferingCalls", "Told"),
    ),
    Word(
        ("numbers", "records", "record_1", "record_2"),
        "the numbers of the records",
        kinds=("DifferingCalls",),
    ),
    # which stage it is
    Word(
        ("evidence", "what", "found", "why"),
        "what was measured or seen",
        kinds=("Identification", "Evidence"),
    ),
    Word(("speaks_for", "for"), "the stages that it speaks for", kinds=("Evidence",)),
    Word(("speaks_against", "against"), "the stages that it speaks against", kinds=("Evidence",)),
    Word(
        ("probability",),
        "how likely it is that the animal is in this stage, by what was measured and seen",
        "prior · Π likelihoods, over the sum of these (Bayes)",
        "growth.identify.identify",
    ),
    Word(
        ("outcome",), "whether one stage is sure, or which are possible", kinds=("Identification",)
    ),
    Word(("doubts",), "what makes the answer less sure"),
    Word(("own_n",), "how many of the cohort’s own individuals it rests on"),
    Word(("share",), "the part of the stage that is judged to be so", kinds=("AnswerShare",)),
    Word(("given", "look_for", "warnings"), "what is told of it in words"),
    # everyone, day by day
    Word(("spans",), "the stages of one individual, from when to when"),
    Word(
        ("begin_low", "begin_high", "end_low", "end_high"),
        "the looks between which a stage began and ended, in days since the start of the cohort",
    ),
    Word(("name",), "what the group is called", kinds=("Group",)),
    Word(
        ("changes", "of", "figure", "before", "after"),
        "which figures become other ones when the records are struck out: what, before and after",
        kinds=("StrikeEffect", "Change"),
    ),
    Word(
        ("unchanged",),
        "how many figures that are known stay as they are without the records",
        kinds=("StrikeEffect",),
    ),
    Word(
        ("check_error",),
        "how far the mean may be off by the checks alone, the same for all individuals (an SD)",
        kinds=("StageDuration",),
    ),
    Word(
        ("in_step",),
        "whether the error of the checks, which all share, is a large part of the standard error",
        kinds=("StageDuration",),
    ),
    Word(
        ("left_open",),
        "who was not seen to complete it although watched for as long",
        kinds=(
            "StageDuration",
            "GroupSummary",
        ),
    ),
    Word(
        ("off_days",),
        "by how many days the mean lies outside the expected range",
        kinds=("StageDuration",),
    ),
    Word(
        ("extrapolated",),
        "whether the heat was measured at other temperatures than the cohort had",
        kinds=("Basis",),
    ),
    Word(
        ("daily",), "the degree-days of each calendar day, and the running total", kinds=("Heat",)
    ),
    Word(("weighed_again",), "how many were weighed more than once", kinds=("Growth",)),
    Word(
        ("clock",),
        "the start of the cohort, from which its days count, and the zone of its calendar days",
        kinds=(
            "StageCounts",
            "Progress",
        ),
    ),
    Word(
        ("last_stage",),
        "the last stage that individuals come to",
        kinds=(
            "Progress",
            "Forecast",
        ),
    ),
    Word(
        ("first_reached",),
        "the day by which the first is known to have come into the last stage",
        kinds=("Progress",),
    ),
    Word(("readings_mm",), "what was measured of the part, mm", kinds=("Evidence",)),
    Word(("answer",), "what was answered to the question", kinds=("Evidence",)),
)
