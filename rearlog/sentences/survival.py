"""How many lived, how long, and what killed the rest."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from msgspec import Struct

from rearlog.analysis.statistics.differences import Verdict
from rearlog.analysis.survival.survival import Fates, ReachedEnd, Survival
from rearlog.records.fields import SEXES
from rearlog.records.wording import counted
from rearlog.sentences.phrases import (
    BAND,
    INTERVAL,
    Finding,
    by_cohort,
    in_a_sentence,
    is_are,
    listed,
    percent,
    plural,
    reached_word,
    sentence_case,
    there,
    was_were,
    with_short_names,
)
from rearlog.sentences.texts import Texts

if TYPE_CHECKING:
    from rearlog.analysis.comparing.survival_difference import SurvivalComparison

FEWEST_FOR_MOST = 3
"""Deaths from which on it is said in which stage most of them fell."""


def lead(result: Survival) -> str:
    """How many of how many came to the end, and what became of the others."""
    if result.of_last_stage:
        text = (
            f"Of the {result.n} of {result.cohort} that {was_were(result.n)} seen as {result.since}"
        )
        half = half_died(result, limits=False)
        told = [f"{result.deaths or 'none'} died"]
        if removed := sum(each.removed for each in result.stage_table):
            told.append(f"{removed} {was_were(removed)} taken out alive")
        return f"{text}, {listed(told)}{f': {in_a_sentence(half)}' if half else ''}."
    found = result.reached
    n = found.n + found.waiting + found.gone
    if not n:
        return f"Nobody was under watch in {result.cohort}."
    adult = found.stage == "adult"
    goal = plural(found.stage) if adult and found.reached != 1 else found.stage
    died = found.n - found.reached
    rest = [f"{died} died{_where_most(result, died)}"] if died else []
    if found.gone:
        rest.append(f"{found.gone} {was_were(found.gone)} lost or taken out before")
    if found.waiting:
        rest.append(f"{found.waiting} {is_are(found.waiting)} alive and may yet")
    since = f" that entered {result.since}" if result.since else ""
    text = (
        f"Of the {n if n > 1 else 'one'}{since} in {result.cohort} "
        f"{'so far ' if found.waiting else ''}{found.reached or 'none'} "
        f"{'became' if adult else 'reached'} {goal}"
    )
    text += f" ({share_reached(found)})" if found.settled and found.reached else ""
    return f"{text}{f': {listed(rest)}' if rest else ''}."


def _where_most(result: Survival, died: int) -> str:
    """In which stage most of them died on the way, where that is one."""
    stages = [each.stage for each in result.stage_table]
    end = stages.index(result.reached.stage) if result.reached.stage in stages else len(stages)
    rows = sorted(result.stage_table[:end], key=lambda each: -each.died)
    if died < FEWEST_FOR_MOST or len(rows) < 2 or rows[0].died == rows[1].died:
        return ""
    if rows[0].died == died:
        return f", all as {rows[0].stage}"
    return f", most often as {rows[0].stage} ({rows[0].died})"


def told(result: Survival) -> list[str]:
    """What became of everyone, and the causes of death: for those who need no more."""
    lines = [] if result.fates is None else [_fates(result.fates)]
    return [*lines, *_causes(result)]


def _causes(result: Survival) -> list[str]:
    return [f"Deaths: {', '.join(causes(result))}."] if result.causes else []


def causes(result: Survival) -> list[str]:
    """How many died of what, in which stage: the causes of most deaths first."""
    return [
        f"{each.deaths} {each.cause or 'without a noted cause'} ({each.stage})"
        for each in result.causes
    ]


def words(result: Survival) -> tuple[str, ...]:
    """How many reached the end, what became of all, the causes of death, and half their time."""
    lines = [] if result.of_last_stage else [reached(result.reached)]
    if result.fates is not None:
        lines.append(_fates(result.fates))
    elif result.of_last_stage:
        lines.append(f"Of the {result.n} that were seen as {result.since}, {result.deaths} died.")
    else:
        since = f"entered {result.since}" if result.since else "were under watch"
        lines.append(f"Of the {result.n} that {since}, {result.deaths} died on the way.")
    lines += _causes(result)
    half = half_died(result)
    if half:
        lines.append(f"{half}.")
    return tuple(lines)


def half_died(result: Survival, *, limits: bool = True) -> str | None:
    """Between what days half had died, and the `limits` of that in their population; None where
    too few have died."""
    found = result.median
    if found.low is None:
        return None
    if found.high is None:
        return f"Half had died after day {_day(found.low)} at the earliest"
    if found.low == found.high:
        text = f"Half had died by day {_day(found.high)}"
    else:
        text = f"Half had died after day {_day(found.low)} and by day {_day(found.high)}"
    if limits and found.population_low is not None and found.population_high is not None:
        text += f" ({INTERVAL} {_day(found.population_low)} to {_day(found.population_high)})"
    return text


def _day(day: float) -> str:
    return f"{round(day, 1):g}"


def days_of(results: Sequence[Survival]) -> str:
    """What the days of the curves are counted from."""
    since = results[0].since
    return f"Days since first seen as {since}" if since else "Age (days)"


def reached(found: ReachedEnd) -> str:
    """How many reached the end. No percentage while nobody has: all may be yet to come."""
    what = reached_word(found.stage)
    if found.reached == 0 and found.waiting:
        return f"Nobody has reached {what} yet; {found.waiting} {is_are(found.waiting)} alive."
    if found.low is None:
        return f"Of nobody is it known whether it reached {what}."
    limits = f"{INTERVAL} {100 * found.low:.0f} to {percent(there(found.high))}"
    return f"{sentence_case(_finding(found))} ({limits})."


def share_reached(found: ReachedEnd) -> str:
    """The part that has reached the end and, where that is open, what it may become: as every
    title, table and sentence has it."""
    if found.fraction is None:
        return "unknown"
    if found.reached == 0 and found.waiting:
        return "none yet"
    if found.settled:
        return percent(found.fraction)
    return f"{100 * found.fraction:.0f} to {percent(there(found.most))}"


def _finding(found: ReachedEnd) -> str:
    """The part that reached the end, and the numbers behind it."""
    what, share = reached_word(found.stage), share_reached(found)
    if not found.waiting and not found.gone:
        return f"{share} reached {what}: {found.reached} of the {found.n} whose outcome is known"
    others = (
        (found.n - found.reached, "died"),
        (found.gone, f"{was_were(found.gone)} lost or taken out on the way"),
        (found.waiting, f"{is_are(found.waiting)} alive"),
    )
    counts = [f"{found.reached} did", *(f"{count} {word}" for count, word in others if count)]
    if found.settled:
        told = f"{share} reached {what}"
    elif found.waiting:
        told = f"so far {percent(there(found.fraction))} reached {what}, and up to "
        told += f"{percent(there(found.most))} may"
    else:
        told = f"between {share.replace(' to ', ' and ')} reached {what}"
    return f"{told}: {listed(counts)}"


def total_k(result: Survival) -> str:
    """K and its limits, or what is known of it."""
    low, high = result.K_low, result.K_high
    limits = ""
    if low is not None:
        limits = f"{low:.2f} or more" if high is None else f"{low:.2f} to {high:.2f}"
        limits = f"{INTERVAL} {limits}"
    if result.K is not None:
        return f"{result.K:.2f} ({limits})"
    why = "infinite, for nobody reached the end" if result.reached.settled else "not known yet"
    return f"{why} ({limits})" if limits else why


def _fates(found: Fates) -> str:
    """What became of everyone, in a sentence."""
    ends = ((found.dead, "died"), (found.lost, "lost"), (found.removed, "taken out alive"))
    parts = [f"{count} {word}" for count, word in ends if count]
    parts.append(f"{found.alive or 'none'} alive at the last check")
    return f"Of {found.n} in all: {', '.join(parts)}."


def title(results: Sequence[Survival], compared: SurvivalComparison | None = None) -> str:
    """The finding: what part reached the last stage, and whether a test of the cohorts (`compared`)
    shows that they differ. While nobody has, it is how many died."""
    text = _title(results)
    if compared is not None and compared.verdict is not Verdict.NOT_TESTED:
        differ = compared.verdict is Verdict.DIFFER
        text += "; deaths differ" if differ else "; no difference in deaths is shown"
    return with_short_names(text, [each.cohort for each in results])


def _title(results: Sequence[Survival]) -> str:
    if not any(each.reached.reached for each in results):
        died = [Finding(each.cohort, each.deaths, f"{each.deaths} of {each.n}") for each in results]
        return f"{died[0].words} died" if len(died) == 1 else f"Died: {by_cohort(died)}"
    word = reached_word(results[0].reached.stage)
    found = [each.reached for each in results]
    if len(results) == 1:
        return sentence_case(_finding(found[0]))
    parts = [each.fraction or 0.0 for each in found]
    words = [
        share_reached(each) if part else "none" for part, each in zip(parts, found, strict=True)
    ]
    names = [each.cohort for each in results]
    return f"Reached {word}: {by_cohort([*map(Finding, names, parts, words)])}"


def alt_text(results: Sequence[Survival]) -> str:
    """One sentence that stands for the chart."""
    names = ", ".join(each.cohort for each in results)
    medians = [
        f"{each.cohort}: {in_a_sentence(half)}" for each in results if (half := half_died(each))
    ]
    return "; ".join([f"Survival by age in {names}. {title(results)}", *medians]) + "."


NO_TABLE = "The numbers at risk are left out here for want of room."


def notes(results: Sequence[Survival], *, bands: bool = True) -> list[str]:
    """How the curves were made, and what the strokes are."""
    sentences = ["Steps: Kaplan–Meier, a death counts on the day it was found"]
    if any(each.between_looks for each in results):
        sentences.append("Thin line: deaths between the looks before and after them (Turnbull)")
    if any(each.censored for each in results):
        sentences.append("Strokes: last seen alive then (lost, taken out, or still living)")
    if not bands:
        sentences.append(f"Of so many curves the {BAND}s are left out")
    if any(each.level in SEXES and not each.of_last_stage for each in results):
        sentences.append("A sex is known of those alone that lived to show it")
    return [". ".join(sentences) + "."]


def plainly(survival: Survival) -> str:
    """How many became adults and died, for those who do not know the trade's words."""
    rest = not_grown(survival)
    text = (
        f"Of the {counted(survival.n, 'animal')} in {survival.cohort}, "
        f"{survival.reached.reached or 'none'} became adult"
    )
    told = _rest(rest)
    text += f"; {listed(told)}." if told else "."
    if (rest.lost or rest.removed) and survival.reached.n:
        text += " (Percentages count who was lost or taken out for as long as it was watched.)"
    return text


class NotGrown(Struct, frozen=True):
    """How many have not come into the last stage: those still growing, and what became of the
    others before it."""

    growing: int
    died: int
    lost: int
    removed: int


def not_grown(survival: Survival) -> NotGrown:
    """What became of those who are not adults (yet)."""
    rows = [row for row in survival.stage_table if row.stage != survival.reached.stage]
    return NotGrown(
        growing=sum(row.in_stage for row in rows),
        died=sum(row.died for row in rows),
        lost=sum(row.lost for row in rows),
        removed=sum(row.removed for row in rows),
    )


def _rest(found: NotGrown) -> list[str]:
    others = {
        "still growing": found.growing,
        "lost": found.lost,
        "taken out alive": found.removed,
    }
    words = [f"{n} {is_are(n)} {state}" for state, n in others.items() if n]
    return [*([f"{found.died} died"] if found.died else []), *words]


TEXTS: Texts = {Survival: {"words": words, "lead": lead}}
