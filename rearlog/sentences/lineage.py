"""Which cohort comes from which."""

from __future__ import annotations

from rearlog.analysis.comparing.lineage import Lineage, LineageFamily, LineageMember
from rearlog.analysis.comparing.survival_difference import SurvivalComparison
from rearlog.records.wording import counted
from rearlog.sentences import compare as compare_words
from rearlog.sentences import survival_difference as survival_words
from rearlog.sentences.phrases import cohorts_named, listed, reached_word
from rearlog.sentences.texts import Texts


def lead(result: Lineage) -> str:
    """Of how many generations the cohorts are, from the first to the last."""
    if not result.families:
        named = "No cohort names" if len(result.alone) != 1 else f"{result.alone[0]} names no"
        what = " one that it comes from" if len(result.alone) != 1 else " cohort that it comes from"
        return f"{named}{what}."
    first, *others = result.families
    text = f"{_span(first)}."
    if others:
        text += f" {counted(len(others), 'more family').replace('familys', 'families')}: "
        text += "; ".join(map(_span, others)) + "."
    return text


def _survival(found: SurvivalComparison) -> str:
    """Whether as many became adults in each generation, and how many may yet."""
    counts = []
    for each in found.groups:
        told = [f"{each.reached.reached} of {each.n} reached {reached_word(each.reached.stage)}"]
        told += [f"{each.died} died before"] if each.died else []
        told += [f"{each.reached.waiting} may yet"] if each.reached.waiting else []
        counts.append(f"in {each.cohort} {', '.join(told)}")
    finding = survival_words.finding(found)
    return f"Survival to {found.groups[0].reached.stage}: {finding}; {'; '.join(counts)}."


def _span(family: LineageFamily) -> str:
    first, *_, last = family.generations
    count = counted(len(family.generations), "generation")
    return f"{count}, from {cohorts_named(first)} to {cohorts_named(last)}"


def words(result: Lineage) -> tuple[str, ...]:
    """What generations have in days and survival, and what does not fit."""
    lines: list[str] = []
    for family in result.families:
        if family.comparison is not None:
            lines.append(compare_words.lead(family.comparison))
            lines.append(_survival(family.comparison.survival))
        for member in family.members:
            lines += _misfits(member)
    if result.alone and result.families:
        verb = "comes" if len(result.alone) == 1 else "come"
        lines.append(f"{cohorts_named(result.alone)} {verb} from none, and none from them.")
    return tuple(lines)


def notices(result: Lineage) -> list[str]:
    """What a reader should know of the comparisons of generations."""
    return [
        text
        for family in result.families
        if family.comparison is not None
        for text in compare_words.notices(family.comparison)
    ]


def parents(member: LineageMember) -> str:
    """Whom a cohort comes from: summer (A01, A02) and autumn."""
    return listed(
        [
            f"{each.cohort} ({', '.join(each.individuals)})" if each.individuals else each.cohort
            for each in member.parents
        ]
    )


def _misfits(member: LineageMember) -> list[str]:
    if member.missing:
        of = cohorts_named(member.children)
        verb = "comes" if len(member.children) == 1 else "come"
        return [f"{of} {verb} from {member.cohort}, which is not among these cohorts."]
    found = []
    for each in member.parents:
        if each.strangers:
            found.append(
                f"{member.cohort} comes from {listed(each.strangers)} of {each.cohort}, which has "
                "no such individual."
            )
        if each.later:
            found.append(f"{member.cohort} began before {each.cohort}, from which it comes.")
    return found


TEXTS: Texts = {Lineage: {"words": words, "lead": lead}}
