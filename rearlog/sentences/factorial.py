"""Which factors of a design matter for how long stages took."""

from __future__ import annotations

from rearlog.analysis.comparing.factorial import (
    DEATH,
    TIMES,
    Effect,
    Factorial,
    LevelRatio,
    NoDesign,
    StageDesign,
)
from rearlog.analysis.statistics.accelerated_life import FEWEST_EVENTS
from rearlog.analysis.statistics.clusters import FEWEST_CLUSTERS
from rearlog.analysis.statistics.differences import Verdict
from rearlog.records.groups import level_name
from rearlog.sentences.differences import SHARED
from rearlog.sentences.phrases import INTERVAL, listed, p_text, sentence_case
from rearlog.sentences.stage_comparison import meanwhile
from rearlog.sentences.survival_by_group import not_known
from rearlog.sentences.texts import Texts


def lead(result: Factorial) -> str:
    """Which factors matter for the whole, and whether they act together, with the largest ratio."""
    row = result.overall
    if row is None:
        return "Nobody has completed a stage yet: there is nothing to compare."
    when = meanwhile(row.stage)
    if not row.effects:
        return f"Whether {listed(result.factors)} matter {when} cannot be told: {reason(row)}."
    matters = [each for each in row.effects if _shown(each)]
    together = [each for each in matters if TIMES in each.term]
    if together:
        parts = listed(together[0].term.split(TIMES))
        return (
            f"{sentence_case(when)} {parts} act together: what one does depends on the other "
            f"({p_text(together[0].p)})."
        )
    if not matters:
        return (
            f"No effect of {listed(result.factors)} {when} was shown, which is no proof that there "
            "is none."
        )
    factors = [each.term for each in matters]
    of_them = [each for each in row.ratios if each.factor in factors]
    sure = [each for each in of_them if each.low > 1 or each.high < 1]
    # of those that are alike but for their last digits, the first
    most = max(sure or of_them, key=lambda each: round(max(each.ratio, 1 / each.ratio), 6))
    if {each.factor for each in sure} != {*factors}:
        tests = listed([f"of {each.term} ({p_text(each.p)})" for each in matters])
        return (
            f"{sentence_case(when)} the test shows an effect {tests}, yet not which levels differ "
            f"by how much: {ratio(most)}."
        )
    verb = "matter" if len(factors) > 1 else "matters"
    return f"{sentence_case(when)} {listed(factors)} {verb}: {ratio(most)}."


def ratio(found: LevelRatio) -> str:
    """How many times as long one level took as another, the longer one first."""
    one, other = (level_name(found.factor, each) for each in (found.level, found.reference))
    times, low, high = found.ratio, found.low, found.high
    if times < 1:
        one, other, times, low, high = other, one, 1 / times, 1 / high, 1 / low
    return f"{one} took {times:.2f} times as long as {other} ({INTERVAL} {low:.2f} to {high:.2f})"


def words(result: Factorial) -> tuple[str, ...]:
    """What every term says of the whole, and what is counted."""
    row = result.overall
    if row is None or not row.effects:
        return ()
    found = [
        f"{each.term}: {'an effect' if _shown(each) else 'no effect shown'} ({p_text(each.p)})"
        for each in row.effects
    ]
    lines = [f"{sentence_case(meanwhile(row.stage))}: {'; '.join(found)}."]
    if row.in_step:
        lines.append(
            "In some combination most passed between the same two checks: that nobody knows when "
            "in between is counted as an error that all of it share."
        )
    if any(TIMES in each.term and _shown(each) for each in row.effects):
        lines.append(
            "Where factors act together, the ratio of one is an average over the levels of the "
            "others: look at the combinations."
        )
    return tuple(lines)


def notices(result: Factorial) -> list[str]:
    """What a reader should know of the design."""
    found = []
    if len(result.species) > 1:
        found.append(f"The cohorts are of different species ({', '.join(result.species)}).")
    if not result.complete:
        found.append(
            f"Not all combinations of {listed(result.factors)} were there: whether they act "
            "together is not tested."
        )
    if result.clustered_by is not None:
        things = SHARED[result.clustered_by]
        found.append(
            f"Individuals shared {things}: {things} are what is counted, and the errors are "
            f"those of whole {things}, not of individuals."
        )
    else:
        found.append(
            "Each combination is of one cohort or of individuals apart: what else sets cohorts "
            "apart, such as their place, cannot be told from the factors."
        )
    if result.not_known:
        sexed = "sex" in result.factors
        by = "sex" if sexed else " or ".join(result.factors)
        last = any(each.stage.endswith(DEATH) for each in result.stages)
        found.append(not_known(by, result.not_known, since_last=last))
    return found


def reason(row: StageDesign) -> str:
    """Why a stage could not be tested."""
    if row.reason is NoDesign.FEW_CLUSTERS:
        return (
            f"some combination is of fewer than {FEWEST_CLUSTERS} cohorts, containers or clutches, "
            "which are what is counted, too few to say how far such differ"
        )
    return f"fewer than {FEWEST_EVENTS} came to the end in some combination"


def _shown(effect: Effect) -> bool:
    return effect.verdict is Verdict.DIFFER


TEXTS: Texts = {Factorial: {"words": words, "lead": lead}}
