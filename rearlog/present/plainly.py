"""The findings of a page in sentences for those who do not know the trade's words."""

from __future__ import annotations

import re
from collections.abc import Sequence

from rearlog.analysis.comparing.compare import DAYS, Comparison, StageComparison
from rearlog.analysis.statistics.differences import Verdict
from rearlog.analysis.statistics.levels import DIFFERENT
from rearlog.analysis.survival.survival import Survival
from rearlog.present.contents import CohortResults, Contents
from rearlog.sentences.differences import FOUND
from rearlog.sentences.phrases import listed

NO_PROOF = "no difference was shown, which is no proof that there is none"


def plainly(contents: Contents) -> list[str]:
    """How many there were, became adults and died; how long it took; whether cohorts differ."""
    outcomes = [_outcome(each) for each in contents.cohorts]
    if contents.comparison is None:
        return [*outcomes, *_duration(contents.cohorts[0])]
    return [*outcomes, *_differences(contents.comparison)]


def codes(contents: Contents) -> list[str]:
    """What the short words mean that stand in the pictures, as far as they are used."""
    larval = dict.fromkeys(
        stage
        for each in contents.cohorts
        for stage in each.stage_counts.stages
        if re.fullmatch(r"L\d+", stage)
    )
    lines = ["cohort: animals that started together and are kept at the same temperatures"]
    if larval:
        first, *_, last = [*larval, *larval]
        lines.append(
            f"{first} to {last}: the stages of the larva, in order from hatching; each ends "
            "when the skin is shed"
        )
    lowest = dict.fromkeys(f"{each.heat.lower:g}" for each in contents.cohorts if each.heat)
    if lowest:
        lines.append(
            f"degree-day: a measure of warmth, one degree above {' or '.join(lowest)} °C for one "
            "day; at colder times the animals do not grow"
        )
    lines.append("n: how many animals a number rests on")
    if contents.comparison is not None:
        lines.append(
            "p: how often chance alone would make cohorts differ so much; below "
            f"{DIFFERENT:g} the difference is called shown"
        )
    return lines


def _outcome(each: CohortResults) -> str:
    survival = each.survival
    goal = survival.reached.stage
    text = (
        f"Of the {survival.n} animals in {each.cohort.name}, "
        f"{survival.reached.reached or 'none'} became adult"
    )
    rest = _rest(survival)
    text += f"; {listed(rest)}." if rest else "."
    gone = sum(row.lost + row.removed for row in survival.stage_table if row.stage != goal)
    if gone and survival.reached.n:
        text += " (Percentages count who was lost or taken out for as long as it was watched.)"
    return text


def _rest(survival: Survival) -> list[str]:
    """What became of those who are not adults (yet)."""
    rows = [row for row in survival.stage_table if row.stage != survival.reached.stage]
    died = sum(row.died for row in rows)
    others = {
        "still growing": sum(row.in_stage for row in rows),
        "lost": sum(row.lost for row in rows),
        "taken out alive": sum(row.removed for row in rows),
    }
    words = [f"{n} {'is' if n == 1 else 'are'} {state}" for state, n in others.items() if n]
    return [*([f"{died} died"] if died else []), *words]


def _duration(each: CohortResults) -> list[str]:
    whole = each.whole.stages[0] if each.whole.stages else None
    if whole is None or whole.mean is None:
        return []
    return [
        f"From egg to adult they took {whole.mean:.1f} days on average (n = {whole.completed})."
    ]


def _differences(comparison: Comparison) -> list[str]:
    sentences = [
        _pace(row) if row.unit == DAYS else _warmth(row) for row in comparison.whole if row.by_mean
    ]
    found = comparison.survival.verdict
    if found is not Verdict.NOT_TESTED:
        finding = FOUND[found] if found is Verdict.DIFFER else NO_PROOF
        sentences.append(f"In how many died, {finding}.")
    return sentences


def _pace(row: StageComparison) -> str:
    known = _known(row)
    text = f"From egg to adult it took, on average, {_means(known, '.1f', 'days')}"
    if row.verdict is Verdict.NOT_TESTED or len(known) < 2:
        return f"{text}."
    if row.verdict is Verdict.NOT_SHOWN:
        return f"{text}; {NO_PROOF}."
    (least, fastest), *_, (most, slowest) = sorted(known)
    pair = row.pair(slowest, fastest)
    if pair is None or pair.verdict is not Verdict.DIFFER:
        return f"{text}: not the same in all."
    # of the figures as they are shown, lest they contradict each other
    gap = round(most, 1) - round(least, 1)
    return f"{text}: {fastest} was faster than {slowest} by {gap:.1f} days."


def _warmth(row: StageComparison) -> str:
    text = f"Counted as warmth, they needed {_means(_known(row), '.0f', 'degree-days')}"
    if row.verdict is Verdict.NOT_TESTED:
        return f"{text}."
    if row.verdict is Verdict.DIFFER:
        return f"{text}: not the same, so warmth alone does not explain the days."
    return f"{text}; {NO_PROOF}."


def _known(row: StageComparison) -> list[tuple[float, str]]:
    return [(group.mean, group.cohort) for group in row.groups if group.mean is not None]


def _means(known: Sequence[tuple[float, str]], form: str, unit: str) -> str:
    first, *others = [(f"{mean:{form}}", cohort) for mean, cohort in known]
    return listed([f"{first[0]} {unit} in {first[1]}", *map(" in ".join, others)])
