"""How far a cohort has come."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from rearlog.analysis.stages.expected import Timing
from rearlog.analysis.stages.progress import ExpectedEvent, Progress
from rearlog.records.wording import in_runs
from rearlog.sentences.expected import basis_words, brackets, extrapolated, rests_on
from rearlog.sentences.phrases import (
    LONGEST_NAME,
    MOST_NAMED,
    Finding,
    beyond,
    by_cohort,
    listed,
    reached_word,
    sentence_case,
    short_date,
    with_short_names,
)
from rearlog.sentences.texts import Texts


def title(results: Sequence[Progress]) -> str:
    """The finding: how many reached the last stage, or how far the cohort has come; and who is late
    for what was expected."""
    names = [each.cohort for each in results]
    if len(results) == 1:
        return with_short_names(f"{_finding(results[0])}{_late(results[0])}", names)
    findings = [
        Finding(
            each.cohort,
            each.reached / max(1, len(each.individuals)),
            f"{each.reached} of {len(each.individuals)}",
        )
        for each in results
    ]
    text = f"Reached {reached_word(results[0].last_stage)}: {by_cohort(findings)}"
    return with_short_names(f"{text}{_late_of_all(results)}", names)


def late(result: Progress) -> list[str]:
    """The individuals that certainly took longer in a stage than was expected, in their order."""
    return [
        each.individual
        for each in result.individuals
        if any(span.outside is Timing.LONGER for span in each.spans)
    ]


def _late(result: Progress) -> str:
    """Who took longer than expected: by their names if they are few, else how many."""
    found = late(result)
    if not found:
        return "; nobody was late for certain" if _could_be_late(result) else ""
    order = [each.individual for each in result.individuals]
    who = listed(in_runs(found, order))
    if len(found) > MOST_NAMED or len(who) > LONGEST_NAME:
        who = f"{len(found)} of them"
    return f"; {who} took longer than expected"


def _could_be_late(result: Progress) -> bool:
    """Whether something is expected, and somebody lives or has come to the end."""
    return bool(result.expected and (result.alive or result.reached))


def _late_of_all(results: Sequence[Progress]) -> str:
    counts = [(len(late(each)), each.cohort) for each in results]
    told = [f"{n} in {cohort}" for n, cohort in counts if n]
    if not told:
        return "; nobody was late for certain" if all(map(_could_be_late, results)) else ""
    if len(told) > 2:
        return f"; {sum(n for n, _ in counts)} took longer than expected"
    return f"; late: {listed(told)}"


def alt_text(results: Sequence[Progress]) -> str:
    """One sentence that stands for the chart."""
    marked = sum(each.outside for each in results)
    names = ", ".join(each.cohort for each in results)
    outside = f"; {marked} marked as outside the expected range" if marked else ""
    return (
        f"Chart of {names}: a row for each individual, its stages as spans by date. "
        f"{title(results)}{outside}."
    )


def _finding(result: Progress) -> str:
    n = len(result.individuals)
    if not n:
        return f"{result.cohort} has no individuals yet"
    word = reached_word(result.last_stage)
    if result.reached:
        text = f"{result.reached} of {n} reached {word}"
        if result.first_reached is None:
            return text
        day = short_date(_day(result, result.first_reached))
        return f"{text}, the first by {day}"
    if result.alive:
        day = short_date(_day(result, result.last_check))
        stages = ", ".join(f"{each.n} in {each.stage}" for each in result.alive)
        return f"On {day}, of {n}: {stages}"
    ends = ", ".join(f"{len(each.individuals)} {each.name}" for each in result.groups)
    return f"None of {n} reached {word}: {ends}"


def notes(results: Sequence[Progress], *, brief: bool = False) -> list[str]:
    """What the signs of the chart are, and unless `brief` what the expected ranges rest on."""
    fates = {each.fate for result in results for each in result.individuals}
    signs = {"dead": "× found dead", "lost": "? lost", "removed": "▷ taken out alive"}
    key = [text for fate, text in signs.items() if fate in fates]
    if any(each.outside for each in results):
        key.append("outlined or ◁: outside the expected range")
    sentences = ["; ".join(["Slanted edge: between two checks", *key])]
    # the last event's range holds all the stages before it
    last = [(each.cohort, each.expected[-1]) for each in results if each.expected]
    if last:
        bases = dict.fromkeys(
            f"expected {event.event} rests on {rests_on(event.rests_on)}" for _, event in last
        )
        sentences.append(brackets([each.expected for each in results]))
        sentences += [] if brief else [sentence_case("; ".join(bases))]
    if brief:
        return [". ".join(sentences) + "."]
    far = [(cohort, event) for cohort, event in last if event.rests_on.extrapolated]
    if len(results) == 1:
        sentences += [sentence_case(extrapolated(event.rests_on)) for _, event in far]
    elif far:
        sentences.append(beyond([cohort for cohort, _ in far]))
    return [". ".join(sentences) + "."]


def _day(result: Progress, days: float) -> date:
    """The calendar day so many days after the start."""
    return result.clock.day_after(days)


TEXTS: Texts = {ExpectedEvent: {"basis": lambda each: basis_words(each.rests_on)}}
