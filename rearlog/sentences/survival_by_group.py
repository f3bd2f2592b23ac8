"""Whether groups lived equally long."""

from __future__ import annotations

from rearlog.analysis.comparing.survival_by_group import SurvivalByGroup
from rearlog.analysis.statistics.differences import Verdict
from rearlog.analysis.statistics.interval_log_rank import NoLogRank
from rearlog.records.factors import OF_INDIVIDUALS
from rearlog.sentences.phrases import MOST_NAMED, cohorts_named, least_to_most, listed, p_text
from rearlog.sentences.texts import Texts

NO_TEST = {
    NoLogRank.TOO_FEW: "there was one alone of a {}",
    NoLogRank.NO_EVENTS: "nobody died",
    NoLogRank.ALL_ALIKE: "the looks tell no death from another",
}


def lead(result: SurvivalByGroup) -> str:
    """Whether the groups differ in how they died, and how many of each did."""
    found, counts = result.comparison, died(result)
    where, what = f"in {cohorts_named(result.cohorts)}", _compared(result)
    if found is None or found.reason is not None:
        return f"Whether the {what} differ {where} cannot be told, since {_why(result)}: {counts}."
    if found.verdict is Verdict.DIFFER:
        return f"The {what} did not die alike {where}: {counts}."
    return f"No difference between the {what} was shown {where}: {counts}."


def words(result: SurvivalByGroup) -> tuple[str, ...]:
    """Whether the groups differ, how many of each died, and of how many the level is not known."""
    found = result.comparison
    if found is None or found.reason is not None:
        finding = f"no test, since {_why(result)}"
    else:
        finding = f"the {_compared(result)} differ"
        if found.verdict is Verdict.NOT_SHOWN:
            finding = "no difference shown"
        finding += f" ({p_text(found.p)})" if found.p is not None else ""
        if _of_cohorts(result):
            finding += f", which does not say whether it is the {things(result.by)} or the cohorts"
    lines = [f"Survival: {finding}; {died(result)}."]
    if result.not_known:
        last = _of_last_stage(result)
        lines.append(not_known(result.by, result.not_known, since_last=last))
    if result.by == "sex" and not _of_last_stage(result):
        lines.append(
            "A sex is noted of those alone that lived to show it, so that none of them can have "
            "died before: what died early is missing on both sides."
        )
    return tuple(lines)


def not_known(by: str, count: int, *, since_last: bool = False) -> str:
    """That the level of some is not known, and for a sex, why that matters, unless those alone are
    looked at that came into the last stage."""
    if by == "sex" and not since_last:
        return (
            f"The sex of {count} more is not known. Where it shows in the last stages alone, that "
            "is who died before; compare from such a stage on."
        )
    return f"The {by} of {count} more is not known: they are not compared."


def things(by: str) -> str:
    """What the groups of a factor are called together."""
    ending = "" if by.endswith("s") else "es" if by.endswith(("x", "ch")) else "s"
    return f"{by}{ending}"


def died(result: SurvivalByGroup) -> str:
    """How many of each group died; of many, the least part and the largest."""
    if len(result.known) > MOST_NAMED:
        return f"{least_to_most([each.deaths / each.n for _, each in result.known])} groups"
    of = "" if result.by == "sex" and not _of_cohorts(result) else _OF.get(result.by, "of ")
    return listed([f"{each.deaths} of {each.n} {of}{name} died" for name, each in result.known])


_OF = {"temperature": "at ", "food": "on ", "site": "at ", "place": "at "}
"""What stands before the name of a group, unless “of”."""


def _of_cohorts(result: SurvivalByGroup) -> bool:
    """Whether each group is of one level and of one of several cohorts."""
    return result.by in OF_INDIVIDUALS and len(result.cohorts) > 1


def _compared(result: SurvivalByGroup) -> str:
    """What differs or not: the sexes, or each sex of each cohort."""
    if _of_cohorts(result):
        return f"groups of {result.by} and cohort together"
    return things(result.by)


def _of_last_stage(result: SurvivalByGroup) -> bool:
    return all(each.of_last_stage for each in result.groups)


def _why(result: SurvivalByGroup) -> str:
    """Why there is no test."""
    found = result.comparison
    if found is None or found.reason is None:
        return f"there is one {result.by} only"
    return NO_TEST[found.reason].format(result.by)


TEXTS: Texts = {SurvivalByGroup: {"words": words, "lead": lead}}
