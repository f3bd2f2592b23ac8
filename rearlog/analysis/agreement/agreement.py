"""How far observers agree on the stage, with each other and with what their looks were settled as.

Only calls count that a person made: “no change” is none, and neither is a fate.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta
from itertools import combinations

import numpy as np
from msgspec import Struct

from rearlog.analysis.answer import Answer
from rearlog.analysis.stages.events import EventHistory
from rearlog.analysis.stages.settling import SettledDoubt
from rearlog.analysis.statistics.kappa import Kappa, kappa, linear, quadratic
from rearlog.analysis.statistics.life_table import wilson
from rearlog.records.log import CohortLog

TOGETHER = timedelta(hours=1)
"""Two looks no farther apart are looks at the same state: a round seldom takes longer."""


class DifferingCalls(Struct, frozen=True):
    """One pair of calls that differ: who said which stage of whom, and the records' numbers."""

    individual: str
    at: datetime
    observers: tuple[str, str]
    stages: tuple[str, str]
    numbers: tuple[int | None, int | None]


class Confused(Struct, frozen=True):
    """Two stages, the earlier first, of which one was called where another person called the other,
    `n` times."""

    stages: tuple[str, str]
    n: int


class PairAgreement(Struct, frozen=True):
    """Two observers, their n pairs of calls, and how many agreed.

    `table[i][j]` pairs were called `stages[i]` by the first observer and `stages[j]` by the second.
    `linear` and `quadratic` are weighted by how many stages calls lie apart. Kappas are None where
    both only ever called one stage. Their standard errors take pairs as independent.
    """

    observers: tuple[str, str]
    n: int
    agreed: int
    kappa: Kappa | None
    linear: Kappa | None
    quadratic: Kappa | None
    stages: tuple[str, ...]
    table: tuple[tuple[int, ...], ...]
    confused: tuple[Confused, ...]


class StageAgreement(Struct, frozen=True):
    """A stage in the pairs of all observers: who called it, did the other one too?

    `called` by at least one of the two, `both` by both; `agreement` = 2·both / (all calls of it).
    Source: specific agreement, Spitzer & Fleiss 1974, Br. J. Psychiatry 125:341–347 (from memory).
    """

    stage: str
    called: int
    both: int
    agreement: float


class Taken(Struct, frozen=True):
    """`n` calls of a stage that were mistakes: it was in `stage`, None where nobody knows in which,
    or where it had ended."""

    said: str
    stage: str | None
    n: int


class ObserverAgreement(Struct, frozen=True):
    """One observer's calls against the settled stages.

    Of `calls`, `open` stand against others that are as good, and are not compared; of the rest
    `agreed` with what was settled; `share` of them, with 95 % limits (Wilson). `kappa` as in
    `PairAgreement`, over calls with one settled stage. `taken` are the mistakes. Calls that no
    other look bears on agree with themselves.
    """

    observer: str
    calls: int
    open: int
    agreed: int
    share: float | None
    low: float | None
    high: float | None
    kappa: Kappa | None
    taken: tuple[Taken, ...]


class Agreement(Answer, frozen=True):
    """How far the observers of a cohort agree, in all n pairs of calls, and in each two's.

    Paired are calls by two people on one individual not more than `within_minutes` apart.
    """

    cohort: str
    within_minutes: float
    n: int
    agreed: int
    pairs: tuple[PairAgreement, ...]
    stages: tuple[StageAgreement, ...]
    confused: tuple[Confused, ...]
    observers: tuple[ObserverAgreement, ...]
    differences: tuple[DifferingCalls, ...]


class _Call(Struct, frozen=True):
    """That somebody called an individual's stage."""

    individual: str
    at: datetime
    by: str
    stage: str
    number: int | None


_Two = tuple[_Call, _Call]


def agreement(log: CohortLog, history: EventHistory, within: timedelta = TOGETHER) -> Agreement:
    """Compare the calls of all observers: with each other, and with the settled stages."""
    rank, codes = log.cohort.species.rank, log.cohort.species.codes
    calls = [
        _Call(each.individual, each.at, each.by, each.stage, each.number)
        for checks in log.checks.values()
        for each in checks
        if each.stage is not None and each.fate is None and each.by is not None
    ]
    paired = _paired(calls, within)
    every = [two for pairs in paired.values() for two in pairs]
    return Agreement(
        cohort=log.cohort.name,
        within_minutes=within / timedelta(minutes=1),
        n=len(every),
        agreed=sum(one.stage == other.stage for one, other in every),
        pairs=tuple(_pair(names, pairs, codes) for names, pairs in paired.items()),
        stages=tuple(_of_stages(codes, every)),
        confused=_confused(every, rank),
        observers=tuple(_observers(log, history, calls)),
        differences=tuple(_differences(every)),
    )


def _paired(calls: Sequence[_Call], within: timedelta) -> dict[tuple[str, str], list[_Two]]:
    """The pairs of calls of each two observers; each call is in one pair with another observer."""
    by_observer: dict[str, dict[str, list[_Call]]] = defaultdict(lambda: defaultdict(list))
    for each in calls:
        by_observer[each.by][each.individual].append(each)
    found: dict[tuple[str, str], list[_Two]] = {}
    for names in combinations(sorted(by_observer, key=str.casefold), 2):
        first, second = (by_observer[name] for name in names)
        pairs = [
            two
            for individual, looks in first.items()
            for two in _matched(looks, second.get(individual, ()), within)
        ]
        if pairs:
            found[names] = pairs
    return found


def _matched(first: Sequence[_Call], second: Sequence[_Call], within: timedelta) -> Iterator[_Two]:
    """Calls in time order, each with the next of the other that is near enough."""
    here = there = 0
    while here < len(first) and there < len(second):
        apart = second[there].at - first[here].at
        if abs(apart) <= within:
            yield first[here], second[there]
        here, there = here + (apart >= -within), there + (apart <= within)


def _pair(names: tuple[str, str], pairs: Sequence[_Two], codes: Sequence[str]) -> PairAgreement:
    rank = {code: place for place, code in enumerate(codes)}
    table = np.zeros((len(codes), len(codes)), dtype=np.int64)
    for one, other in pairs:
        table[rank[one.stage], rank[other.stage]] += 1
    shown = np.flatnonzero((table.sum(axis=0) + table.sum(axis=1)) > 0).tolist()
    plain, by_steps, by_squares = (
        kappa(table, weights(len(codes))) for weights in (np.eye, linear, quadratic)
    )
    return PairAgreement(
        observers=names,
        n=len(pairs),
        agreed=int(table.trace()),
        kappa=plain,
        linear=by_steps,
        quadratic=by_squares,
        stages=tuple(codes[place] for place in shown),
        table=tuple(tuple(row) for row in table[np.ix_(shown, shown)].tolist()),
        confused=_confused(pairs, rank),
    )


def _of_stages(codes: Sequence[str], pairs: Sequence[_Two]) -> Iterator[StageAgreement]:
    for stage in codes:
        called = sum(stage in (one.stage, other.stage) for one, other in pairs)
        both = sum(one.stage == other.stage == stage for one, other in pairs)
        if called:
            yield StageAgreement(stage, called, both, 2 * both / (called + both))


def _confused(pairs: Sequence[_Two], rank: dict[str, int]) -> tuple[Confused, ...]:
    """The stages that were taken for each other, the most frequent first."""
    counts = Counter(
        tuple(sorted((one.stage, other.stage), key=rank.__getitem__))
        for one, other in pairs
        if one.stage != other.stage
    )
    found = [Confused((stages[0], stages[1]), n) for stages, n in counts.items()]
    return tuple(sorted(found, key=lambda each: (-each.n, *map(rank.__getitem__, each.stages))))


def _differences(pairs: Sequence[_Two]) -> Iterator[DifferingCalls]:
    for one, other in sorted(pairs, key=lambda two: max(two[0].at, two[1].at)):
        if one.stage != other.stage:
            yield DifferingCalls(
                one.individual,
                max(one.at, other.at),
                (one.by, other.by),
                (one.stage, other.stage),
                (one.number, other.number),
            )


def _observers(
    log: CohortLog, history: EventHistory, calls: Sequence[_Call]
) -> Iterator[ObserverAgreement]:
    """Each observer's calls against the stages that all looks together were settled as."""
    clock, codes = log.cohort.clock, history.stages
    row_of = {code: row for row, code in enumerate(history.codes)}
    rows = np.array([row_of[each.individual] for each in calls], dtype=np.int64)
    days = np.array([clock.days(each.at) for each in calls], dtype=float)
    low, _ = history.stages_at(rows, days)
    settled: list[str | None] = [codes[rank] for rank in low.tolist()]
    doubts = {(each.individual, each.day, each.said): each for each in history.doubts}
    unsure = set()
    for place, call in enumerate(calls):
        doubt = doubts.get((call.individual, float(days[place]), call.stage))
        if doubt is not None:
            settled[place] = _one_stage(doubt)
            if not doubt.certain:
                unsure.add(place)
    for name in sorted({each.by for each in calls}, key=str.casefold):
        own = [place for place, each in enumerate(calls) if each.by == name]
        known = [(calls[place].stage, settled[place]) for place in own if place not in unsure]
        yield _observer(name, len(own), known, log.cohort.species.rank)


def _one_stage(doubt: SettledDoubt) -> str | None:
    """The stage in which it was instead, where it is one."""
    low, high = doubt.stages or (None, None)
    return low if low == high and doubt.fate is None else None


def _observer(
    name: str, calls: int, known: Sequence[tuple[str, str | None]], rank: dict[str, int]
) -> ObserverAgreement:
    """One observer: what was said, and what it was settled as, of all calls that are not open."""
    table = np.zeros((len(rank), len(rank)), dtype=np.int64)
    for said, stage in known:
        if stage is not None:
            table[rank[said], rank[stage]] += 1
    taken = Counter((said, stage) for said, stage in known if said != stage)
    agreed = len(known) - taken.total()
    limits = wilson(agreed, len(known)) or (None, None)
    order = sorted(taken.items(), key=lambda item: (-item[1], rank[item[0][0]]))
    return ObserverAgreement(
        observer=name,
        calls=calls,
        open=calls - len(known),
        agreed=agreed,
        share=agreed / len(known) if known else None,
        low=limits[0],
        high=limits[1],
        kappa=kappa(table, np.eye(len(rank))),
        taken=tuple(Taken(said, stage, n) for (said, stage), n in order),
    )
