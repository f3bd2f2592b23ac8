"""A round of checks that is asked, one individual after the other: what is answered so far.

The round is a value: each line that is typed makes a new one, or a mistake leaves it as it was. The
next to be asked is always the first one without an answer. The terminal is not here.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime, timedelta
from functools import cached_property

from msgspec import Struct
from msgspec.structs import replace

from rearlog.records.asked_words import BACK, NEXT, REST, SKIP, Act, Words
from rearlog.records.cages import Keeping, cages_at, kept_at, layer, sexes
from rearlog.records.clock import CohortClock
from rearlog.records.command_text import CommandText
from rearlog.records.entries import SAME, parse, resolve, shortened
from rearlog.records.errors import EntryError, Problem
from rearlog.records.fields import COUNTS
from rearlog.records.log import CohortLog, Individual, Observation
from rearlog.records.rules import nobody_alive, problems_with
from rearlog.records.wording import line_of, spelled, stamp

Answers = Mapping[str, Observation | None]
"""What was answered for each code; None: not looked at, so that nothing is recorded."""


class LastSeen(Struct, frozen=True):
    """One individual as it was last seen: its stage, when it was first seen in that stage, and when
    it was looked at the last time before that (None: it came in that stage)."""

    code: str
    stage: str
    since: datetime
    before: datetime | None = None

    def unlooked(self, clock: CohortClock) -> int:
        """So many calendar days it may have been in the stage before it was seen to be: those of
        which nobody looked, and 0 where somebody had the day before."""
        if self.before is None:
            return 0
        days = (clock.day(self.since) - clock.day(self.before)).days
        return days if days > 1 else 0


def last_seen(individual: Individual, checks: Iterable[Observation]) -> LastSeen:
    """What some of its checks, in order, say of an individual."""
    stage, since, look = individual.stage, individual.entered_at, individual.entered_at
    before = None
    for check in checks:
        if check.stage not in (None, stage):
            stage, since, before = check.stage or stage, check.at, look
        if check.stage is not None or check.same:
            look = check.at
    return LastSeen(individual.code, stage, since, before)


class Round(Struct, frozen=True, dict=True):
    """A round at one moment: who is asked for, in order, and what was answered so far."""

    log: CohortLog
    at: datetime
    by: str | None
    asked: tuple[str, ...]
    answers: Answers

    @cached_property
    def words(self) -> Words:
        """The words that may be typed."""
        cages = {
            name: living
            for name, members in cages_at(self.log, self.at).items()
            if (living := tuple(code for code in members if code in self.asked))
        }
        return Words(self.log.cohort.species, self.asked, cages)

    @cached_property
    def kept(self) -> dict[str, Keeping]:
        """With whom each one is kept before this round, of those that are not alone."""
        return kept_at(self.log, self.at)

    @property
    def next(self) -> str | None:
        """The first one without an answer; None when all have one."""
        return next((code for code in self.asked if code not in self.answers), None)

    @property
    def checks(self) -> list[Observation]:
        """The answers as observations, in the order of asking."""
        found = (self.answers.get(code) for code in self.asked)
        return [each for each in found if each is not None]

    def question(self, code: str) -> LastSeen:
        """What is known of an individual before this round, whoever else looks in it."""
        earlier = (check for check in self.log.checks[code] if check.at < self.at)
        return last_seen(self.log.by_code[code], earlier)

    def days_in_stage(self, code: str) -> tuple[int, int]:
        """Calendar days since an individual was first seen in its stage, and since when it may have
        been in it: more where nobody looked for some days."""
        clock, known = self.log.cohort.clock, self.question(code)
        days = (clock.day(self.at) - clock.day(known.since)).days
        return days, days + known.unlooked(clock)

    def changed(self, check: Observation) -> bool:
        """Whether an answer says more than that nothing changed."""
        known = self.question(check.individual).stage
        return check.fate is not None or check.stage not in (None, known)


class Step(Struct, frozen=True):
    """What came of a line: the round after it, what is to be told, and a command left to do."""

    round: Round
    told: tuple[str, ...] = ()
    command: str = ""


def begin(log: CohortLog, at: datetime, by: str | None = None, only: Sequence[str] = ()) -> Round:
    """A round of all that came to a moment alive and have no check at it yet, in the log's order.

    `by` somebody, those are asked for too whom others alone have checked: both calls are kept.

    `only` names some of them, by codes and ranges. Raises EntryError where one that is named is
    not among them, or where nobody is left to ask for.
    """
    alive = log.alive_at(at - timedelta(microseconds=1), entered_by=at)
    if not alive:
        raise EntryError(nobody_alive(log, at))
    asked = [
        code
        for code in alive
        if all(
            check.at != at or (by is not None and check.by not in (None, by))
            for check in log.checks[code]
        )
    ]
    if not asked:
        who = f" by {by}" if by else ""
        raise EntryError(
            f"all in {log.cohort.name} were checked at {stamp(at)}{who} already",
            CommandText(
                "another observer says so with --by", "another observer gives other initials"
            ),
        )
    if only:
        words = Words(log.cohort.species, asked)
        strangers = [each for each in only if not words.who(each)]
        if strangers:
            message = f"{', '.join(strangers)}: nobody to check at {stamp(at)}"
            raise EntryError(message, f"there are {shortened(', '.join(asked))}")
        wanted = {code for each in only for code in words.who(each)}
        asked = [code for code in asked if code in wanted or REST in wanted]
    return Round(log, at, by, tuple(asked), {})


def answer(round_: Round, line: str) -> Step:
    """The round after a line was typed.

    Raises EntryError with what is wrong; then nothing of the line counts.
    """
    acts = round_.words.read(line)
    told: list[str] = []
    for place, act in enumerate(acts):
        if act.command == BACK:
            round_ = _one_back(round_, told)
        elif act.command:
            if place < len(acts) - 1:
                raise EntryError(f"{act.command} stands before other words", "put it last")
            return Step(round_, tuple(told), act.command)
        else:
            round_ = _seen(round_, act, told)
    return Step(round_, tuple(told))


def _one_back(round_: Round, told: list[str]) -> Round:
    before = round_.next
    place = len(round_.asked) if before is None else round_.asked.index(before)
    if place == 0:
        raise EntryError("this is the first one")
    return _asked_again(round_, round_.asked[place - 1], told)


def _asked_again(round_: Round, code: str, told: list[str]) -> Round:
    check = round_.answers[code]
    told.append(f"taken back: {line_of(check) if check else f'{code} not looked at'}")
    left = {each: found for each, found in round_.answers.items() if each != code}
    return replace(round_, answers=left)


def _seen(round_: Round, act: Act, told: list[str]) -> Round:
    """What was seen of those who are named, of the rest, or of the one who is next."""
    if act.who == (REST,):
        who: Sequence[str] = [code for code in round_.asked if code not in round_.answers]
    else:
        who = act.who or [code for code in (round_.next,) if code is not None]
    if act.cage:  # of whom something else was answered, that holds
        who = [code for code in who if (said := round_.answers.get(code)) is None or said.same]
    if not who:
        raise EntryError("everyone has an answer", "name whom you mean, such as 7 L3")
    laying = layer(who, sexes(round_.log)) if act.cage else None
    if act.cage and laying is None and any(map(_is_count, act.details)):
        raise EntryError("there are only males in this cage", "tell eggs of a female")
    round_ = _no_change_before(round_, who, told)
    if not act.state and not act.details:
        if len(who) > 1:
            raise EntryError("nothing is said of them", "write what was seen, such as 5-9 L3")
        return _asked_again(round_, who[0], told) if who[0] in round_.answers else round_
    answers = dict(round_.answers)
    problems: list[Problem] = []
    for code in who:
        counted = not act.cage or code == laying
        details = tuple(each for each in act.details if counted or not _is_count(each))
        try:
            answers[code] = _read(round_, code, act.state or SAME, details)
        except EntryError as error:
            problems += error.problems
    if problems:
        raise EntryError(problems)
    return replace(round_, answers=answers)


def _is_count(detail: str) -> bool:
    """Whether a detail counts eggs: of a cage it is told once, at the one that `layer` finds."""
    word, equals, _ = detail.partition("=")
    return bool(equals) and word.casefold() in {each.word for each in COUNTS}


def _no_change_before(round_: Round, named: Sequence[str], told: list[str]) -> Round:
    """Those before the last one named that have no answer yet, and are not named: no change."""
    last = max(map(round_.asked.index, named))
    passed = [
        code for code in round_.asked[:last] if code not in round_.answers and code not in named
    ]
    if not passed:
        return round_
    told.append(f"no change: {spelled(passed, round_.asked)}")
    same = {code: _read(round_, code, SAME, ()) for code in passed}
    return replace(round_, answers={**round_.answers, **same})


def _read(round_: Round, code: str, state: str, details: tuple[str, ...]) -> Observation | None:
    """One answer as an observation that keeps the rules of the log."""
    profile, stage = round_.log.cohort.species, round_.question(code).stage
    if state == SKIP:
        if details:
            raise EntryError(Problem("it was not looked at, yet there are details", code))
        return None
    if state == NEXT:
        if stage == profile.codes[-1]:
            raise EntryError(Problem(f"{stage} is the last stage", code))
        state = profile.codes[profile.rank[stage] + 1]
    try:
        entries = parse(" ".join((code, state, *details)))
        (check,) = resolve(entries, profile, [code], [code], round_.at, round_.by)
    except EntryError as error:
        raise EntryError([replace(each, place=code) for each in error.problems]) from None
    last = max([round_.at, *(each.at for each in round_.log.checks[code])])
    problems = problems_with(round_.log, [check], last)
    if problems:
        raise EntryError(problems)
    return check
