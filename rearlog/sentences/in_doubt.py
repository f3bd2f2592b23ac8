"""What is in doubt, which record is taken for the mistake, and the command that settles it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from rearlog.analysis.stages.in_doubt import Blame, InDoubt, Told
from rearlog.records.command_text import CommandText
from rearlog.records.doubts import REMEDIES, DoubtKind
from rearlog.records.wording import record_name, stamp
from rearlog.sentences.phrases import cohorts_named
from rearlog.sentences.texts import Texts


def words(found: InDoubt) -> str:
    """Both records, which of them is taken for the mistake, and how to settle it."""
    return f"{found.individual}: {contradiction(found)}; " + remedy(found)


def others(count: int, cohort: str) -> str:
    """That there are more doubts than were told, and where they stand."""
    listed = CommandText(f"rearlog verify {cohort} lists them", "they stand under “Everyone”")
    return f"And {count} more: " + listed


def contradiction(found: InDoubt) -> str:
    """Both records, and which of them is taken for the mistake."""
    return f"{_contradiction(found)}; {_verdict(found)}"


def remedy(found: InDoubt) -> str:
    """What settles a doubt: the command, or what its kind asks for where neither is the mistake."""
    both = (found.before, found.look)
    wrong = [each for each in both if each.blame is Blame.MISTAKE and each.record is not None]
    if not wrong and found.kind in REMEDIES:
        return f"to settle it: {REMEDIES[found.kind]}"
    if len(wrong) == 1 and (stage := _one_stage(wrong[0])) is not None:
        day = wrong[0].at.date()
        how = CommandText(
            f"rearlog correct {found.cohort} {found.individual} {stage} --from {day}",
            f"correct its stage to {stage} on {day}",
        )
    else:
        records = [each for each in wrong or both if each.record is not None]
        named = " or ".join(record_name(each.record) for each in records)
        how = CommandText(f"rearlog strike {found.cohort} {named}", f"strike {named} out")
    entered_wrongly = any(each.blame is Blame.MISTAKE and each.record is None for each in both)
    when = "if it entered so after all: " if entered_wrongly else "to settle it: "
    return when + how + CommandText(" --because TEXT", ", on its own page")


def resting_on(contradicted: Mapping[str, Sequence[str]]) -> list[CommandText]:
    """Of which individuals an answer rests on looks that contradict each other, cohort by cohort.

    Without a full stop.
    """
    command = CommandText("“rearlog verify” shows both", "their own pages show both")
    return [
        f"Looks at {cohorts_named(codes, 'individuals')} in {cohort} contradict each other; this "
        "rests on those that fit together best, and " + command
        for cohort, codes in contradicted.items()
    ]


def _contradiction(found: InDoubt) -> str:
    look, before = _record(found.look), _record(found.before)
    match found.kind:
        case DoubtKind.EARLIER_STAGE:
            return f"{look} is an earlier stage than {before}"
        case DoubtKind.AFTER_THE_END:
            return f"{look} comes after {before}"
        case DoubtKind.STAGE_LEFT_OUT:
            return f"{look} was seen to come, and not the stage between it and {before}"
        case DoubtKind.NO_TIME:
            return f"{look} comes sooner after {before} than the stages between can have taken"
        case DoubtKind.EGGS_OF_THE_YOUNG:
            return f"{look} tells eggs, and it was no adult by {before}"
        case DoubtKind.EGGS_OF_A_MALE:
            return f"{look} tells eggs, and {before} that it is a male"
        case DoubtKind.COUNTED_TWICE:
            return f"{look} counts the same eggs as {before}, so that they are taken twice"
        case DoubtKind.BOTH_SEXES:
            return f"{look} tells another sex than {before}"
        case DoubtKind.MORE_HATCHED:
            return f"{look} tells more eggs hatched than were laid since {before}"


def _record(told: Told) -> str:
    number = "as it entered" if told.record is None else record_name(told.record)
    return f"{told.said} at {stamp(told.at)} ({number})"


def _verdict(found: InDoubt) -> str:
    both = (found.before, found.look)
    wrong = [each for each in both if each.blame is Blame.MISTAKE]
    if wrong:
        return f"taken for the mistake: {' and '.join(map(_name, wrong))}"
    if any(each.blame is Blame.PERHAPS for each in both):
        return "either may be the mistake"
    if found.kind is DoubtKind.AFTER_THE_END:
        return f"{_name(found.before)} counts"
    if found.kind is DoubtKind.EGGS_OF_A_MALE:
        return "the eggs are not counted"
    if found.kind is DoubtKind.BOTH_SEXES:
        return "its sex counts as not known"
    return "both count"


def _name(told: Told) -> str:
    stage = _one_stage(told)
    name = "how it entered" if told.record is None else record_name(told.record)
    return f"{name} (counted as {stage})" if stage else name


def _one_stage(told: Told) -> str | None:
    """The stage that a look counts as instead of what it says, where that is one."""
    first, last = told.stages or (told.said, told.said)
    return first if first == last != told.said else None


TEXTS: Texts = {InDoubt: {"words": words}}
