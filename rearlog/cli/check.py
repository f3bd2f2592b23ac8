"""The asked round: each living individual in turn. What it knows is in `records.asked_round`."""

from __future__ import annotations

import contextlib
import re
from collections.abc import Mapping
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import click
from msgspec.structs import replace

from rearlog.cli.asking import WIDTH, ask, initials, say, which_cohort
from rearlog.cli.completion import individuals
from rearlog.cli.options import (
    CohortName,
    by_option,
    notice,
    notice_caution,
    on_option,
    quiet_option,
    strict_option,
)
from rearlog.cli.streams import is_asked
from rearlog.records import times
from rearlog.records.asked_round import Round, answer, begin
from rearlog.records.asked_words import BACK, HELP, NEXT, QUIT, SAVE, SKIP, Words
from rearlog.records.doubts import Doubt, doubts_with
from rearlog.records.entries import SAME, shortened
from rearlog.records.errors import EntryError, RearlogError, RecordError, UsageError
from rearlog.records.fates import FATES, SUGGESTED_CAUSES, Fate
from rearlog.records.forms import StageKind, kind_of
from rearlog.records.incoming import telling
from rearlog.records.log import CohortLog
from rearlog.records.rules import doubts_of
from rearlog.records.wording import (
    counted,
    day_stamp,
    days_between,
    in_stage,
    line_of,
    overdue,
    spelled,
    weekday,
)
from rearlog.store.calling import called
from rearlog.store.cohort_file import CohortFile
from rearlog.store.draft import DraftFile

if TYPE_CHECKING:
    from rearlog.analysis.forecasting.individual_forecast import IndividualForecast

_SEEN = {NEXT: "next stage"} | {each: each for each in ("prepupa", "pupa", "adult", *FATES)}
_DO = {SKIP: "not looked at", BACK: "one back", SAVE: "save now", QUIT: "later", HELP: "help"}
_CAUSE = re.compile(r"[^\W\d][^()\"]{1,99}")
_AT_THE_END = "Enter saves this; a code asks for it again; q keeps it for later: "


@click.command("check")
@click.argument("cohort", type=CohortName(), required=False)
@click.argument("who", nargs=-1, metavar="[WHO]...", shell_complete=individuals)
@on_option
@by_option
@strict_option
@quiet_option
def check_command(
    cohort: Path | None, who: tuple[str, ...], on: str | None, by: str | None, strict: bool
) -> None:
    """Record a round by being asked for each living individual, or for WHO alone.

    Enter means no change; a key (shown) tells a stage or fate; a code goes to that individual, and
    those before it did not change. Nothing is recorded before the summary at the end is confirmed.
    A round that is stopped, however it is stopped, goes on where it was.

    \b
    rearlog check room
    rearlog check room 7-8 --on yesterday --by KT
    """
    path = cohort or which_cohort("check")
    file, drafts = CohortFile(path), DraftFile(path)
    log = file.read()
    with drafts.held():
        try:
            round_ = _left_over(log, drafts, bool(who or on)) or _begun(log, who, on, by)
            done = _go_through(round_, file, drafts, strict)
        except (KeyboardInterrupt, EOFError):
            say("")
            done = False
        if not done and drafts.path.exists():
            notice(f"Kept for later; it goes on with: rearlog check {called(file.path)}")


def _left_over(log: CohortLog, drafts: DraftFile, another: bool) -> Round | None:
    """The round that was stopped, if there is one and it is to go on; `another` one was meant."""
    draft = drafts.read()
    if draft is None:
        return None
    if draft.saved_in(log):
        drafts.clear()
        return None
    by = f" by {draft.by}" if draft.by else ""
    answered = f"{len(draft.answers)} of {len(draft.asked)} have an answer"
    say(f"A round of {day_stamp(draft.at)}{by} is not saved yet: {answered}.")
    if another:
        say("The one that you asked for can begin when this one is saved or thrown away.")
    while True:
        chosen = ask("Enter goes on with it, d throws it away: ").casefold()
        if not chosen:
            return draft.resumed(log)
        if chosen == "d" and _is_thrown_away(len(draft.answers)):
            drafts.clear()
            return None


def _is_thrown_away(answered: int) -> bool:
    """Whether a round is really to be thrown away: it takes a word, for d is the key of a death."""
    return (
        ask(f"Throw {counted(answered, 'answer')} away for good? yes, or Enter to keep: ") == "yes"
    )


def _begun(log: CohortLog, who: tuple[str, ...], on: str | None, by: str | None) -> Round:
    """A new round; raises UsageError for a time to come."""
    header = log.cohort
    now = times.now(header.zone)
    at = times.read_moment(on, header.zone, header.check_time, now) if on else now
    if at > now:
        raise UsageError(f"{on} is in the future")
    round_ = begin(log, at, by, who)  # before initials are asked: there may be nobody to check
    known = by or initials(round_.words.keys.values())
    return round_ if known == by else begin(log, at, known, who)


def _go_through(round_: Round, file: CohortFile, drafts: DraftFile, strict: bool) -> bool:
    """Ask until all is answered and saved (True) or the round is left for later (False).

    What is in doubt is asked again, and in a `strict` round not taken.
    """
    expected = _expected(round_)
    by = f", by {round_.by}" if round_.by else ""
    say(f"{round_.log.cohort.name}, {day_stamp(round_.at)}{by}: {len(round_.asked)} to check")
    say(*_help(round_))
    saving, typed = False, None
    while True:
        at_the_end = saving or round_.next is None
        if at_the_end:
            say(*_summary(round_))
        line = typed or ask(_AT_THE_END if at_the_end else _question(round_, expected))
        typed = None
        if at_the_end and not line:
            if _saved(round_, file):
                drafts.clear()
                return True
            saving = False
            continue
        try:
            step = answer(round_, line)
        except EntryError as error:
            say(*(f"Error: {line}" for line in error.told()))
            continue
        doubts = _in_doubt(round_, step.round)
        say(*(f"  In doubt: {each.problem}" for each in doubts))
        if doubts and (strict or not _sure()):
            continue
        if step.round is not round_:
            drafts.write(step.round)
            told, typed = _with_causes(round_, step.round, drafts)
            step = replace(step, round=told)
        say(*(f"  {line}" for line in (*step.told, *_doubts(round_, step.round))))
        round_, saving = step.round, step.command == SAVE
        if step.command == HELP:
            say(*_help(round_))
        if step.command == QUIT:
            return False


def _with_causes(before: Round, after: Round, drafts: DraftFile) -> tuple[Round, str | None]:
    """The round with the causes of the deaths that are new in it, as somebody there tells them.

    And a line that was typed instead of a cause: it goes on with the round.
    """
    for check in after.checks if is_asked() else ():
        new = before.answers.get(check.individual) is not check
        if not new or check.fate != Fate.DEAD or check.cause:
            continue
        cause, line = _cause(check.individual, after.words)
        if line is not None:
            return after, line
        if cause:
            known = replace(check, cause=cause)
            after = replace(after, answers={**after.answers, check.individual: known})
            drafts.write(after)
    return after, None


def _cause(code: str, words: Words) -> tuple[str | None, str | None]:
    """What an individual died of (None where nobody knows), or a line that means the round."""
    causes = SUGGESTED_CAUSES[Fate.DEAD]
    listed = ", ".join(f"{number} {cause}" for number, cause in enumerate(causes, start=1))
    say(f"{code} died of what? {listed}; or in words; Enter not known")
    while line := ask(f"{code} died of > "):
        if line.isdecimal() and 1 <= int(line) <= len(causes):
            return causes[int(line) - 1], None
        with contextlib.suppress(EntryError):
            words.read(line)
            return None, line
        if _CAUSE.fullmatch(line):
            return line, None
        say(f"“{shortened(line)}” is no cause: give a number of the list, some words, or Enter")
    return None, None


def _in_doubt(before: Round, after: Round) -> list[Doubt]:
    """What contradicts another record in the answers that are new."""
    new = [each for each in after.checks if before.answers.get(each.individual) is not each]
    return doubts_with(after.log, new)


def _sure() -> bool:
    return ask("Sure? y keeps it, Enter asks again: ").casefold() in ("y", "yes")


def _saved(round_: Round, file: CohortFile) -> bool:
    """Put the round into the log; False where the log does not take it, after saying why."""
    checks = round_.checks
    if checks:
        try:
            now = times.now(round_.log.cohort.zone)
            file.record([telling(checks)], now, [each.individual for each in checks])
        except RecordError as error:
            say(*(f"Error: {line}" for line in error.told()))
            return False
    notice(f"Recorded {counted(len(checks), 'check')} at {day_stamp(round_.at)}.")
    notice_caution(checks)
    return True


def _help(round_: Round) -> list[str]:
    """The keys of this round, and how to name individuals and details."""
    keys = round_.words.keys
    seen = [f"{keys[name]} {told}" for name, told in _SEEN.items() if name in keys]
    do = [f"{keys[name]} {told}" for name, told in _DO.items() if name in keys]
    return [
        f"Enter no change, {', '.join(seen)}",
        f". rest no change, {', '.join(do)}",
        "A code goes there, those before it did not change; 7+ or 7 L4 says what was seen",
        'Stages by their code, details behind it: L4 head=0.9 len=12 "pale", dead(mould)',
        *_help_with_adults(round_),
    ]


def _help_with_adults(round_: Round) -> list[str]:
    """How eggs and mates are told, where there are adults to tell them of."""
    if all(kind_of(round_.question(code).stage) is not StageKind.ADULT for code in round_.asked):
        return []
    told = "Of adults: eggs=34 (laid since the look before) hatched=30 mate=7 or mate=cage-1"
    cages = round_.words.cages
    return [told, *([f"A cage is told of once: {cages[0]} eggs=34"] if cages else [])]


def _expected(round_: Round) -> dict[str, str]:
    """What each individual should do next, and when."""
    from rearlog.analysis.forecasting.next_events import next_events  # start-up time

    try:
        found = next_events(round_.log, round_.at)
    except RearlogError as error:  # what can be seen must be recorded all the same
        say(f"What is expected next cannot be told: {error}")
        return {}
    today = round_.at.date()
    return {
        code: f"; {each.event} {_when(each, today)}"
        for code, each in found.items()
        if each.likely is not None
    }


def _when(event: IndividualForecast, today: date) -> str:
    """The days between which an event is expected, or for how long it is overdue."""
    assert event.earliest is not None
    assert event.latest is not None
    if event.overdue_days is not None:
        return overdue(event.overdue_days)
    if event.earliest <= today:
        return "due today" if event.latest <= today else f"due by {weekday(event.latest)}"
    return days_between(event.earliest, event.latest)


def _question(round_: Round, expected: Mapping[str, str]) -> str:
    """One line: code, last stage, how long it has been in it, what is expected next."""
    code = round_.next
    assert code is not None
    days = in_stage(*round_.days_in_stage(code))
    width = max(map(len, round_.asked))
    stage = round_.question(code).stage
    known = f"{code:>{width}}  {stage}, {days}{_whereabouts(round_, code)}"
    return f"{shortened(known + expected.get(code, ''), WIDTH - 10)} > "


def _whereabouts(round_: Round, code: str) -> str:
    """With whom one is kept or in which cage, or else in which container; empty if not known."""
    if (keeping := round_.kept.get(code)) is not None:
        return f", {keeping.words}"
    container = round_.log.by_code[code].container
    return f", in {container}" if container else ""


def _summary(round_: Round) -> list[str]:
    """What will be saved: every change and detail, how many did not change, who is left out."""
    lines: list[str] = []
    changed = 0
    for check in round_.checks:
        stage, line = round_.question(check.individual).stage, line_of(check)
        if round_.changed(check):
            changed += 1
            lines.append(f"  {line} (was {stage})")
        elif line not in (f"{check.individual} {stage}", f"{check.individual} {SAME}"):
            lines.append(f"  {line}")
    looked_at = len(round_.checks)
    lines.append(f"{looked_at} looked at, {changed} changed, {looked_at - changed} did not change.")
    skipped = [code for code in round_.asked if round_.answers.get(code, ...) is None]
    open_ = [code for code in round_.asked if code not in round_.answers]
    if skipped:
        lines.append(f"Not looked at: {spelled(skipped, round_.asked)}.")
    if open_:
        lines.append(f"Not asked yet, will not be recorded: {spelled(open_, round_.asked)}.")
    return lines


def _doubts(before: Round, after: Round) -> list[str]:
    """What is unusual in the answers that are new."""
    found = []
    for check in after.checks:
        if before.answers.get(check.individual) is not check:
            stage = check.stage or after.question(check.individual).stage
            for doubt in doubts_of(after.log.cohort.species, check, stage):
                found.append(f"Note: {replace(doubt, place=check.individual)}")
    return found
