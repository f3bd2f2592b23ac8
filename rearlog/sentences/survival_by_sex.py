"""Whether females and males lived equally long."""

from __future__ import annotations

from rearlog.analysis.comparing.survival_by_sex import SurvivalBySex
from rearlog.analysis.statistics.differences import Verdict
from rearlog.analysis.statistics.interval_log_rank import NoLogRank
from rearlog.analysis.survival.survival import Sex
from rearlog.sentences.phrases import listed, p_text
from rearlog.sentences.survival import OF_SEX
from rearlog.sentences.texts import Texts

FOUND = {Verdict.DIFFER: "the sexes differ", Verdict.NOT_SHOWN: "no difference shown"}
NO_TEST = {
    NoLogRank.TOO_FEW: "there was one alone of a sex",
    NoLogRank.NO_EVENTS: "nobody died",
    NoLogRank.ALL_ALIKE: "the looks tell no death from another",
}


def lead(result: SurvivalBySex) -> str:
    """Whether the sexes differ in how they died, and how many of each did."""
    known = [each for each in result.groups if each.sex not in (None, Sex.NOT_KNOWN)]
    counts = listed(
        [f"{each.deaths} of {each.n} {OF_SEX[each.sex]} died" for each in known if each.sex]
    )
    found = result.comparison
    where = f"in {result.cohort}"
    if found is None or found.reason is not None:
        why = NO_TEST[found.reason] if found and found.reason else "there is one sex only"
        beside = f": {counts}" if counts else ""
        return f"Whether the sexes differ {where} cannot be told, since {why}{beside}."
    if found.verdict is Verdict.DIFFER:
        return f"The sexes did not die alike {where}: {counts}."
    return f"No difference between the sexes was shown {where}: {counts}."


def words(result: SurvivalBySex) -> tuple[str, ...]:
    """Whether the sexes differ, how many of each died, and of how many the sex is not known."""
    found = result.comparison
    if found is None:
        finding = "no test, since there is one sex only"
    elif found.reason is not None:
        finding = f"no test, since {NO_TEST[found.reason]}"
    else:
        finding = FOUND[found.verdict]
        finding += f" ({p_text(found.p)})" if found.p is not None else ""
    known = [each for each in result.groups if each.sex not in (None, Sex.NOT_KNOWN)]
    counts = [f"{each.deaths} of {each.n} {OF_SEX[each.sex]} died" for each in known if each.sex]
    lines = [f"Survival: {finding}; {listed(counts)}."]
    others = sum(each.n for each in result.groups if each.sex is Sex.NOT_KNOWN)
    if others:
        lines.append(
            f"The sex of {others} more is not known. Where it shows in the last stages alone, that "
            "is who died before; compare from such a stage on."
        )
    return tuple(lines)


TEXTS: Texts = {SurvivalBySex: {"words": words, "lead": lead}}
