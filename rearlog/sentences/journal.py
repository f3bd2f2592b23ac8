"""What is said over and under the tables that journals print."""

from __future__ import annotations

from collections.abc import Sequence

from rearlog.analysis.comparing.rate_curves import LAW, RateLaw
from rearlog.analysis.comparing.stage_comparison import DAYS, StageComparison
from rearlog.analysis.comparing.survival_difference import SurvivalComparison
from rearlog.analysis.reproduction.reproduction import Reproduction, ReproductionComparison
from rearlog.analysis.stages.left_open import MeanOf
from rearlog.analysis.statistics.differences import FEWEST_FOR_INTERVAL, FEWEST_FOR_TEST
from rearlog.analysis.statistics.levels import DIFFERENT
from rearlog.sentences import stage_comparison as stage_words
from rearlog.sentences import survival_difference as survival_words
from rearlog.sentences.differences import SHARED
from rearlog.sentences.phrases import INTERVAL, LIMITS, listed, p_text, reached_word
from rearlog.sentences.thermal import LAW_NAMES

DIGITS = (
    "Values have as many decimals as show two digits of their standard error (of a quarter of the "
    "width of an interval)."
)

OF_ALL = (
    f"Mean of all that entered, those counted that did not complete it, and its {INTERVAL}; n: how "
    "many completed it. A test is of the logarithms of these."
)
OF_SOME = {
    MeanOf.EARLY: (
        "Mean of those that have completed it: others are still in it although watched for as long "
        "as the quickest took, so that it may yet rise."
    ),
    MeanOf.SURVIVORS: (
        "Mean of those that completed it: others died or left although watched for as long as the "
        "quickest took, so that it may be too short."
    ),
}
LEFT_OUT = f"Not in the test: fewer than {FEWEST_FOR_TEST} completed it."
NOT_SETTLED = (
    f"Not all were watched to the end of it: what it will be has these {LIMITS}, and no estimate."
)
NOT_USED = "Not to be used as a threshold, for the reason that the analysis gives."
TWO_TEMPERATURES = "Two points lie on a line whatever they are: no standard error."
NO_TEST = "No differences were tested."

NO_UPPER = "Without an upper limit: the numbers may not grow."
TOO_FEW_TO_DRAW = f"Fewer than {FEWEST_FOR_INTERVAL} to draw from: no standard error."

NOBODY_COMPLETED = "nobody has completed a stage for which this is known"
NOBODY_WATCHED = "nobody was watched to the end of a stage"
NO_HEADS = "no head widths were measured"
NO_LINE = "no stage has a straight line: it takes cohorts at two temperatures that completed it"

LIFE_TABLE = "From egg to egg: life table of both sexes"
HEAD_WIDTHS = "Head capsule width (mm) in each instar"
DYARS_RATIO = "Dyar’s ratio"
SURVIVAL = "Mortality in each stage, and the part that came to its end (%)"
CONSTANTS = "Lower threshold T0 (°C) and thermal constant K (degree-days)"
OF_LINES = ("T0 (°C)", "K (degree-days)", "R²", "cohorts")
OF_CURVES = ("optimum (°C)", "upper threshold (°C)")

WHAT_A_MEAN_IS = (
    "Mean ± SE (n): midpoints between looks of those that completed it, the error of the looks "
    "being part of the SE."
)
WHAT_A_WIDTH_IS = (
    "Mean ± SE (n individuals, each with the mean of its readings in the instar). Dyar’s ratio: "
    "least squares of ln width on instar (Dyar 1890), n the individuals or, where few were "
    "followed, the widths."
)
WHAT_A_SHARE_IS = (
    f"Estimate [{LIMITS}] (n that entered): who was lost or taken out counts for as long as it was "
    "watched (Aalen & Johansen 1978); limits by Wilson (1927) with the effective size of a sample "
    "(Dorey & Korn 1987)."
)
WHAT_A_CONSTANT_IS = (
    "Estimate ± SE: least squares of the rate of development on the mean temperature, a point a "
    f"cohort (Campbell et al. 1974); [{LIMITS}] by Student’s t on n − 2 degrees of freedom."
)


def days(unit: str, lower: float | None) -> str:
    """The caption of durations, or of degree-days above a threshold where that is one for all."""
    if unit == DAYS:
        return "Days in each stage"
    return f"Degree-days{'' if lower is None else f' above {lower:g} °C'} in each stage"


def died_in(stage: str) -> str:
    """The name of the row of those that died in a stage."""
    return f"died as {stage}"


def came_to(stage: str) -> str:
    """The name of the row of those that reached the last stage."""
    return f"reached {reached_word(stage)}"


def tests(rows: Sequence[StageComparison]) -> list[str]:
    """Which tests the letters come from, and at which level."""
    made = [row for row in rows if row.p is not None]
    if not made:
        return [NO_TEST]
    many = any(len(row.tested) > 2 for row in made)
    test = "analysis of variance for unequal variances (Welch 1951)"
    pairs = ", and of pairs (Games & Howell 1976); letters by the way of Piepho (2004)"
    if not many:
        test, pairs = "a t test for unequal variances (Welch 1947)", ""
    shared = dict.fromkeys(thing for row in made for thing in row.clustered_by)
    of = [f"Standard errors and tests are those of {listed([SHARED[each] for each in shared])}."]
    return [
        "Within a row, means that have no letter in common were shown to differ "
        f"(p < {DIFFERENT:g}) by {test}, corrected for the number of stages (Holm 1979; the whole "
        f"development is tested by itself){pairs}.",
        *(of if shared else []),
    ]


def what_a_measure_is(results: Sequence[Reproduction]) -> str:
    """What stands in a cell of a life table, and at which age eggs count."""
    drawn = max(each.resamples for each in results)
    text = "Estimate ± SE (n; of those that hatch: eggs)"
    if drawn:
        text += (
            f", SE by the bootstrap of whole lives, {drawn:,} resamples (Efron & Tibshirani 1993)"
        )
    return (
        f"{text}. Growth by the equation of Euler and Lotka (Birch 1948), eggs of the day from age "
        f"x to x + 1 counting as laid at {results[0].egg_age}."
    )


def pairs(found: ReproductionComparison) -> str:
    """Which tests the letters of life tables come from, and at which level."""
    if all(each.p is None for each in found.pairs):
        return NO_TEST
    return (
        "Within a row, cohorts that have no letter in common were shown to differ "
        f"(p < {DIFFERENT:g}) by paired resamples, corrected for the number of pairs (Holm 1979); "
        "letters by the way of Piepho (2004)."
    )


def no_test(row: StageComparison) -> str:
    """Why no test of a row could be made."""
    return f"No test: {stage_words.reason(row)}."


def survival_test(found: SurvivalComparison) -> str:
    """What the test between the cohorts says, and which it is."""
    if found.p is None:
        return survival_words.words(found)
    return (
        "Log-rank test of deaths that lie between two looks (Sun 1996), p by permutation (Fay & "
        f"Shih 1998): χ² = {found.chi2:.2f}, df = {found.df}, {p_text(found.p)}."
    )


def of_law(law: RateLaw) -> str:
    """From which curve the optimum and the upper threshold are."""
    return f"Optimum and upper threshold by {LAW_NAMES[law]} ({LAW[law].source})."


def invented(cohorts: Sequence[str]) -> str:
    """That these data are no observations."""
    return f"Invented data: {listed(cohorts)}."
