"""How many lived, how long, and what killed the rest."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from rearlog.analysis.survival.survival import Fates, ReachedEnd, Survival
from rearlog.sentences.phrases import INTERVAL, Finding, by_cohort, percent, reached_word
from rearlog.sentences.texts import Texts


def words(result: Survival) -> tuple[str, ...]:
    """How many reached the end, what became of all, the causes of death, and half their time."""
    lines = [reached(result.reached)]
    if result.fates is not None:
        lines.append(_fates(result.fates))
    else:
        since = f"entered {result.since}" if result.since else "were under watch"
        lines.append(f"Of the {result.n} that {since}, {result.deaths} died on the way.")
    total: Counter[str] = Counter()
    for each in result.causes:
        total[each.cause or "without a noted cause"] += each.deaths
    if total:
        counts = (f"{deaths} {cause}" for cause, deaths in total.most_common())
        lines.append(f"Deaths: {', '.join(counts)}.")
    if result.median_days is not None:
        lines.append(f"Half had died by day {result.median_days:.0f}.")
    return tuple(lines)


def reached(found: ReachedEnd) -> str:
    """How many reached the end. No percentage while nobody has: all may be yet to come."""
    what = reached_word(found.stage)
    if found.reached == 0 and found.waiting:
        is_are = "is" if found.waiting == 1 else "are"
        return f"Nobody has reached {what} yet; {found.waiting} {is_are} alive."
    if found.fraction is None or found.low is None or found.high is None:
        return f"Of nobody is it known whether it reached {what}."
    return (
        f"{'So far ' if found.waiting else ''}{percent(found.fraction)} reached {what}: "
        f"{found.reached} of the {found.n} whose outcome is known "
        f"({INTERVAL} {100 * found.low:.0f} to {percent(found.high)})."
    )


def _fates(found: Fates) -> str:
    """What became of everyone, in a sentence."""
    ends = ((found.dead, "died"), (found.lost, "lost"), (found.removed, "taken out alive"))
    parts = [f"{count} {word}" for count, word in ends if count]
    parts.append(f"{found.alive or 'none'} alive at the last check")
    return f"Of {found.n} in all: {', '.join(parts)}."


def title(results: Sequence[Survival]) -> str:
    """The finding: how many of those whose outcome is known reached the last stage.

    While nobody has, it is how many died.
    """
    if not any(each.reached.reached for each in results):
        died = [Finding(each.cohort, each.deaths, f"{each.deaths} of {each.n}") for each in results]
        return f"{died[0].words} died" if len(died) == 1 else f"Died: {by_cohort(died)}"
    word = reached_word(results[0].reached.stage)
    found = [each.reached for each in results]
    if len(results) == 1:
        part, n = percent(found[0].reached / found[0].n), found[0].n
        return f"{part} reached {word}: {found[0].reached} of {n} whose outcome is known"
    parts = [each.reached / each.n if each.reached else 0.0 for each in found]
    words = [percent(part) if part else "none" for part in parts]
    names = [each.cohort for each in results]
    return f"Reached {word}: {by_cohort([*map(Finding, names, parts, words)])}"


def alt_text(results: Sequence[Survival]) -> str:
    """One sentence that stands for the chart."""
    names = ", ".join(each.cohort for each in results)
    medians = [
        f"half had died by day {each.median_days:.0f} in {each.cohort}"
        for each in results
        if each.median_days is not None
    ]
    return "; ".join([f"Survival by age in {names}. {title(results)}", *medians]) + "."


def notes(results: Sequence[Survival]) -> list[str]:
    """How the curves were made, and what the strokes are."""
    sentences = ["Kaplan–Meier; a death counts on the day it was found"]
    if any(each.censored for each in results):
        sentences.append("Strokes: last seen alive then (lost, taken out, or still living)")
    return [". ".join(sentences) + "."]


TEXTS: Texts = {Survival: {"words": words}}
