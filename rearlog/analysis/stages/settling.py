"""How contradicting looks are settled: the events on which the fewest mistakes agree, and doubts.

Where the best paths differ (see `paths`), the bounds of an event span them all; a passage, or an
end, that only some of them have is not claimed to have happened.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from rearlog.analysis.arrays import Booleans, Floats, Integers
from rearlog.analysis.stages.ordered_looks import ALIVE, FATE_NAMES, LOST, REMOVED, OrderedLooks
from rearlog.analysis.stages.paths import (
    CALL,
    HEAD_WIDTH,
    NOT_FOUND,
    PASSAGE_SEEN,
    BestPaths,
    Statements,
    best_paths,
)
from rearlog.analysis.statistics.distinct import distinct
from rearlog.records.head_widths import identified
from rearlog.records.profile import Profile

_FATES = len(FATE_NAMES) - 1


class SettledDoubt(Struct, frozen=True):
    """A look that contradicts what its individual's looks were settled to mean.

    `number` is that of the record, None for what was said when the individual entered; `day` days
    since the cohort's zero; `said` the stage or fate. `stages` are the lowest and the highest stage
    in which it may have been instead, None where it had certainly ended; `fate` how it had ended
    by then, or may have. `certain`: every best explanation calls this a mistake; else others that
    call another look a mistake are as good.
    """

    individual: str
    number: int | None
    day: float
    said: str
    stages: tuple[str, str] | None
    fate: str | None
    certain: bool


class Settled(Struct, frozen=True, eq=False):
    """Events of k individuals as in `EventHistory`; `rows` (k,) says which.

    `doubtful` (d,) are the places of looks among `OrderedLooks` that contradict a best path, in
    order; `certain` (d,) says whether every best path. `low` and `high` (d,) bound the stage in
    which each was at that moment; -1 where it had ended; `over` (d,) is the fate by then, or 0.
    """

    rows: Integers
    entry_rank: Integers
    last_rank: Integers
    into_low: Floats
    into_high: Floats
    fate: Integers
    end_low: Floats
    end_high: Floats
    last_alive: Floats
    last_in_stage: Floats
    causes: tuple[str | None, ...]
    doubtful: Integers
    certain: Booleans
    low: Integers
    high: Integers
    over: Integers


class _Looks(Struct, frozen=True, eq=False):
    """The looks of the k individuals alone, (l,): whose, in which moment, and what they say.

    `width` is the instar that a head width surely is of, -1 for none; `at` the place among all.
    """

    who: Integers
    moment: Integers
    day: Floats
    rank: Integers
    fate: Integers
    witnessed: Booleans
    width: Integers
    cause: Integers
    at: Integers
    entry: Booleans


def of_like_length(looks: OrderedLooks, rows: Integers) -> Iterator[Integers]:
    """The individuals in groups, none of which has twice as many looks as another of its group.

    What is laid out as a table of individuals by looks then takes no more room than twice the
    looks, however they are divided.
    """
    counts = np.bincount(looks.row)[rows]
    doublings = np.frexp(counts)[1]
    for each in distinct(doublings.astype(np.int64)):
        yield rows[doublings == each]


def settle(looks: OrderedLooks, rows: Integers, profile: Profile, optional: Booleans) -> Settled:
    """The events of some individuals, contradicting as little as possible of what was said."""
    own = _looks_of(looks, rows, profile)
    said = _said(own, len(rows), len(optional))
    best = best_paths(said)
    stages = np.arange(len(optional))
    at_first = _highest(best.in_stage[:, 0])
    ends = best.ended.any(axis=(1, 2))
    last = _lowest(best.in_stage[:, -1] | ends)
    entry = np.minimum(at_first, last)
    passed = (stages > entry[:, None]) & (stages <= last[:, None])
    passed &= ~optional | _believed(own, best)
    fate, end_low, end_high = _fates(said, best)
    alive = said.seen_alive & ~best.over.any(axis=2)
    in_last = alive & (_highest(best.in_stage) <= last[:, None])
    agrees, differs = _compared(own, best)
    at = own.who[differs], own.moment[differs]
    over = best.over[at]
    return Settled(
        rows=rows,
        entry_rank=entry,
        last_rank=last,
        into_low=np.where(passed, best.into_low, np.nan),
        into_high=np.where(passed, best.into_high, np.nan),
        fate=fate,
        end_low=end_low,
        end_high=end_high,
        last_alive=_latest(said, alive),
        last_in_stage=_latest(said, in_last),
        causes=_causes(own, looks, best, fate),
        doubtful=own.at[differs],
        certain=~agrees[differs],
        low=np.where(best.maybe_alive[at], _lowest(best.in_stage[at]), -1),
        high=_highest(best.in_stage[at]),
        over=np.where(over.any(axis=1), over.argmax(axis=1) + 1, 0),
    )


def _looks_of(looks: OrderedLooks, rows: Integers, profile: Profile) -> _Looks:
    chosen = np.zeros(int(looks.row.max()) + 1, dtype=bool)
    chosen[rows] = True
    at = np.flatnonzero(chosen[looks.row])
    widths = looks.columns["head_width_mm"]
    sure = [-1 if width is None else _rank_of(profile, width) for width in widths.distinct]
    entry = looks.place[at] < 0
    width = np.array(sure)[[widths.places[place] for place in looks.place[at].clip(0)]]
    own = _Looks(
        who=np.searchsorted(rows, looks.row[at]),
        moment=at,
        day=looks.day[at],
        rank=looks.rank[at],
        fate=looks.fate[at],
        witnessed=looks.witnessed[at],
        width=np.where(entry, -1, width),
        cause=looks.cause[at],
        at=at,
        entry=entry,
    )
    return replace(own, moment=_moments(own))


def _moments(own: _Looks) -> Integers:
    """The number of each look's moment among those of its individual, (l,).

    Looks at one time are one moment; so are those one after the other that say the same, or “no
    change”. Such calls are all right or all wrong in a best path; and where they are all wrong, a
    passage among them does as well before or after them, which the bounds of it span.
    """
    first = np.concatenate(([True], own.who[1:] != own.who[:-1]))
    together = np.concatenate(([False], (own.day[1:] == own.day[:-1]) & ~own.entry[:-1])) & ~first
    single = ~together & ~np.concatenate((together[1:], [False]))
    plain = single & (own.fate == ALIVE) & (own.width < 0)
    said_again = plain & ~own.witnessed & (own.rank == np.roll(own.rank, 1))
    again = said_again | (plain & (own.rank < 0))
    again[1:] &= plain[:-1]
    number = np.cumsum(first | ~(together | again)) - 1
    return np.asarray(number - number[first][own.who])


def _rank_of(profile: Profile, width_mm: float) -> int:
    found = identified(profile, width_mm)
    return -1 if found is None or found.instar is None else profile.rank[found.instar]


def _said(own: _Looks, n: int, stages: int) -> Statements:
    """What the looks weigh, by moment."""
    moments = int(own.moment.max()) + 1
    shape = (n, moments)
    at = own.who, own.moment
    alive, calls, wide = own.fate == ALIVE, own.rank >= 0, own.width >= 0
    seen = np.where(own.witnessed, PASSAGE_SEEN, 0)
    of_fate = np.where(own.fate == LOST, NOT_FOUND, CALL) + seen
    of_call = np.where(calls, CALL, 0) + np.where(alive & calls, seen, 0)
    other = np.arange(stages) != own.rank[:, None], np.arange(stages) != own.width[:, None]
    of_stage = np.where(other[0], of_call[:, None], 0)
    of_stage += np.where(other[1] & wide[:, None], HEAD_WIDTH, 0)
    fate = np.arange(1, _FATES + 1)
    ending = own.fate[:, None] == fate
    of_alive = of_call + np.where(wide, HEAD_WIDTH, 0)
    against_end = np.where(alive, of_alive, of_fate)[:, None] * ~ending
    tells = ~(alive & ~calls & ~wide)
    into = own.witnessed & alive & calls
    passages = own.who[into], own.moment[into], own.rank[into]
    ends = np.flatnonzero(~alive)
    end = own.who[ends], own.moment[ends], own.fate[ends] - 1
    at_end = _sums((*shape, _FATES, stages), end, of_stage[ends])
    first_day, last_day = np.full(shape, np.inf), np.full(shape, -np.inf)
    np.minimum.at(first_day, at, own.day)
    np.maximum.at(last_day, at, own.day)
    return Statements(
        first_day=first_day,
        last_day=last_day,
        stage=_sums((*shape, stages), at, of_stage),
        alive=_sums(shape, at, np.where(alive, 0, of_fate)),
        over=_sums((*shape, _FATES), at, against_end),
        ends=_any((*shape, _FATES), end, np.ones(len(ends), dtype=bool)),
        stage_at_end=at_end,
        names_stage=_any((*shape, _FATES), end, calls[ends]),
        passage=_sums((*shape, stages), passages, seen[into]),
        follows=~_any(shape, at, tells),
        seen_alive=_any(shape, at, alive),
        exact_end=_any((*shape, _FATES), end, (own.witnessed | (own.fate == REMOVED))[ends]),
    )


def _sums(shape: tuple[int, ...], at: tuple[Integers, ...], weights: Integers) -> Integers:
    found = np.zeros(shape, dtype=np.int64)
    np.add.at(found, at, weights)
    return found


def _any(shape: tuple[int, ...], at: tuple[Integers, ...], true: Booleans) -> Booleans:
    found = np.zeros(shape, dtype=bool)
    np.logical_or.at(found, at, true)
    return found


def _lowest(stages: Booleans) -> Integers:
    """The first of the stages that may be, along the last axis."""
    return np.asarray(stages.argmax(axis=-1))


def _highest(stages: Booleans) -> Integers:
    """The last of the stages that may be, along the last axis; -1 for none."""
    place = stages.shape[-1] - 1 - stages[..., ::-1].argmax(axis=-1)
    return np.where(stages.any(axis=-1), place, -1)


def _latest(said: Statements, which: Booleans) -> Floats:
    """The last day of some moments of each individual, its entry if there is none, (n,)."""
    place = _highest(which)
    day = said.last_day[np.arange(len(place)), place]
    return np.where(place < 0, said.first_day[:, 0], day)


def _believed(own: _Looks, best: BestPaths) -> Booleans:
    """Which stages somebody said, with whom a best path agrees, (n, S)."""
    n, _, stages = best.in_stage.shape
    calls = (own.rank >= 0) & (own.fate == ALIVE)
    at = own.who[calls], own.moment[calls], own.rank[calls]
    found = _any((n, stages), (at[0], at[2]), best.in_stage[at])
    deaths = (own.rank >= 0) & (own.fate != ALIVE)
    at = own.who[deaths], own.moment[deaths], own.rank[deaths]
    ended = np.asarray(best.ended.any(axis=2))
    return found | _any((n, stages), (at[0], at[2]), ended[at])


def _fates(said: Statements, best: BestPaths) -> tuple[Integers, Floats, Floats]:
    """The fate of each, and its bounds, (n,): alive if it may be; lost if nobody knows how."""
    ended = np.asarray(best.ended.any(axis=3))
    kinds = ended.any(axis=1)
    fate = np.where(kinds.sum(axis=1) > 1, LOST, kinds.argmax(axis=1) + 1)
    fate = np.where(best.maybe_alive[:, -1], ALIVE, fate)
    place = np.arange(said.last_day.shape[1])
    before = np.maximum.accumulate(np.where(said.seen_alive, place, 0), axis=1)
    before = np.concatenate((before[:, :1], before[:, :-1]), axis=1)
    last_seen = np.take_along_axis(said.last_day, before, axis=1)[:, :, None]
    day = said.first_day[:, :, None]
    low = np.where(ended, np.where(said.exact_end, day, last_seen), np.inf).min(axis=(1, 2))
    high = np.where(ended, day, -np.inf).max(axis=(1, 2))
    alive = fate == ALIVE
    return fate, np.where(alive, np.nan, low), np.where(alive, np.nan, high)


def _causes(
    own: _Looks, looks: OrderedLooks, best: BestPaths, fate: Integers
) -> tuple[str | None, ...]:
    """The cause of each end, where those who said one said the same."""
    found: list[set[str]] = [set() for _ in fate]
    for look in np.flatnonzero(own.fate != ALIVE).tolist():
        who, cause = own.who[look], looks.causes[own.cause[look]]
        if cause is not None and best.over[who, own.moment[look], own.fate[look] - 1]:
            found[who].add(cause)
    return tuple(
        each.pop() if len(each) == 1 and fate[who] != ALIVE else None
        for who, each in enumerate(found)
    )


def _compared(own: _Looks, best: BestPaths) -> tuple[Booleans, Booleans]:
    """Whether a best path agrees with each look, and whether one contradicts it, both (l,)."""
    at = own.who, own.moment
    look = np.arange(len(own.who))
    stage, over = best.in_stage[at], best.over[at]
    agrees, differs = np.ones(len(look), dtype=bool), np.zeros(len(look), dtype=bool)
    call = (own.fate == ALIVE) & (own.rank >= 0)
    such, seen = stage[call, own.rank[call]], own.witnessed[call]
    agrees[call] = such & (~seen | best.arrived[at][call, own.rank[call]])
    differs[call] = (seen & best.stayed[at][call, own.rank[call]]) | over[call].any(axis=1)
    differs[call] |= stage[call].sum(axis=1) > such
    end = np.flatnonzero(own.fate != ALIVE)
    fate, named = own.fate[end] - 1, own.rank[end] >= 0
    now = np.asarray(best.ended[own.who[end], own.moment[end], fate])
    such = np.where(named, now[np.arange(len(end)), own.rank[end]], now.any(axis=1))
    before = best.over[own.who[end], np.maximum(0, own.moment[end] - 1), fate]
    agrees[end] = such | before
    differs[end] = stage[end].any(axis=1) | (over[end].sum(axis=1) > over[end, fate])
    differs[end] |= named & (now.sum(axis=1) > such)
    return agrees, differs
