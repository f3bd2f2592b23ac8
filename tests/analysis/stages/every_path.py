"""All that an individual can have gone through, tried out one by one: slow, and sure.

Written from what the words mean, without arrays, as a check of the derivation.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from itertools import combinations_with_replacement
from math import inf

from rearlog.records.log import CohortLog, Observation
from tests.builders import START

# what each thing said weighs: the numbers of the rule, written down once more
CALL, LOST, SEEN, WIDTH = 2, 1, 4, 2


@dataclass
class Path:
    """Stages at the moments of life; `fate` ended it at the moment after them, in stage `final`."""

    stages: tuple[int, ...]
    fate: str | None
    final: int


@dataclass
class Answer:
    """What holds in all best paths, as `EventHistory` has it for one individual."""

    entry: int
    last: int
    into: dict[int, tuple[float, float]] = field(default_factory=dict)
    fate: str | None = None
    end: tuple[float, float] | None = None
    last_alive: float = 0.0
    cost: int = 0
    mistakes: tuple[set[Observation], ...] = ()


Moments = list[tuple[float, list[Observation]]]


def moments_of(log: CohortLog, code: str) -> Moments:
    """The looks of an individual by moment; its entry is the first, as a look of its own."""
    entry = log.by_code[code]
    found: Moments = [(0.0, [Observation(code, entry.entered_at, entry.stage)])]
    for look in log.checks[code]:
        day = (look.at - START).total_seconds() / 86_400
        if len(found) > 1 and found[-1][0] == day:
            found[-1][1].append(look)
        else:
            found.append((day, [look]))
    return found


def every_path(moments: Moments, stages: int) -> Iterator[Path]:
    for alive in range(1, len(moments) + 1):
        for course in combinations_with_replacement(range(stages), alive):
            if alive == len(moments):
                yield Path(course, None, course[-1])
                continue
            for fate in {look.fate for look in moments[alive][1] if look.fate}:
                named = any(look.fate == fate and look.stage for look in moments[alive][1])
                for final in range(course[-1], stages) if named else [course[-1]]:
                    yield Path(course, fate, final)


def mistakes(
    path: Path, moments: Moments, codes: Sequence[str], instars: dict[float, int]
) -> tuple[int, set[Observation]]:
    """What a path contradicts by weight, infinite where it cannot be, and which looks."""
    total = 0
    wrong: set[Observation] = set()
    for place, (_, looks) in enumerate(moments):
        alive = place < len(path.stages)
        ends = place == len(path.stages)
        quiet = all(look.same and look.head_width_mm is None for look in looks)
        if alive and place and quiet and path.stages[place] != path.stages[place - 1]:
            return 1 << 30, wrong
        for look in looks:
            weight = 0
            said = codes.index(look.stage) if look.stage else None
            instar = instars.get(look.head_width_mm) if look.head_width_mm else None
            if alive:
                stage = path.stages[place]
                if look.fate:
                    weight += LOST if look.fate == "lost" else CALL
                    weight += SEEN if look.witnessed else 0
                if said is not None and said != stage:
                    weight += CALL
                if look.witnessed and not look.fate and said is not None:
                    arrived = stage == said and (place == 0 or path.stages[place - 1] < stage)
                    weight += 0 if arrived else SEEN
                blame = weight
                weight += WIDTH if instar is not None and instar != stage else 0
            elif look.fate == path.fate:
                if ends and said is not None and said != path.final:
                    weight += CALL
                blame = weight
                if ends and instar is not None and instar != path.final:
                    weight += WIDTH
            else:
                if look.fate:
                    weight += LOST if look.fate == "lost" else CALL
                    weight += SEEN if look.witnessed else 0
                elif said is not None:
                    weight += CALL + (SEEN if look.witnessed else 0)
                blame = weight
                if not look.fate and instar is not None:
                    weight += WIDTH
            total += weight
            if blame:
                wrong.add(look)
    return total, wrong


def answer(log: CohortLog, code: str, instars: dict[float, int]) -> Answer:
    """Try out all paths, and put the best together."""
    profile = log.cohort.species
    moments = moments_of(log, code)
    tried = [
        (*mistakes(path, moments, profile.codes, instars), path)
        for path in every_path(moments, len(profile.codes))
    ]
    cost = min(weight for weight, _, _ in tried)
    best = [path for weight, _, path in tried if weight == cost]
    last = min(path.final for path in best)
    found = Answer(min(max(path.stages[0] for path in best), last), last, cost=cost)
    found.mistakes = tuple(wrong for weight, wrong, _ in tried if weight == cost)
    for stage in range(found.entry + 1, last + 1):
        if profile.stages[stage].optional and not any(
            _said(path, moments, stage, profile.codes) for path in best
        ):
            continue
        spans = [span for path in best if (span := _into(path, moments, stage, profile.codes))]
        found.into[stage] = min(low for low, _ in spans), max(high for _, high in spans)
    _end(found, best, moments)
    return found


def _said(path: Path, moments: Moments, stage: int, codes: Sequence[str]) -> bool:
    for place, (_, looks) in enumerate(moments[: len(path.stages) + 1]):
        for look in looks:
            if look.stage == codes[stage]:
                if place < len(path.stages) and not look.fate and path.stages[place] == stage:
                    return True
                if place == len(path.stages) and look.fate == path.fate and path.final == stage:
                    return True
    return False


def _into(
    path: Path, moments: Moments, stage: int, codes: Sequence[str]
) -> tuple[float, float] | None:
    course = [*path.stages, *([path.final] if path.fate else [])]
    place = next((place for place, each in enumerate(course) if each >= stage), None)
    if not place:
        return None
    day = moments[place][0]
    alive = place < len(path.stages)
    seen = any(
        look.witnessed and not look.fate and look.stage == codes[stage]
        for look in moments[place][1]
    )
    exact = alive and seen and course[place] == stage
    return (day if exact else moments[place - 1][0]), day


def _end(found: Answer, best: list[Path], moments: Moments) -> None:
    seen = [day for day, looks in moments if any(not look.fate for look in looks)]
    shortest = min(len(path.stages) for path in best)
    found.last_alive = max(
        day for day in seen if day < (moments[shortest][0] if shortest < len(moments) else inf)
    )
    fates = {path.fate for path in best}
    if None in fates:
        return
    found.fate = fates.pop() if len(fates) == 1 else "lost"
    lows, highs = [], []
    for path in best:
        day, looks = moments[len(path.stages)]
        exact = path.fate == "removed" or any(
            look.witnessed and look.fate == path.fate for look in looks
        )
        lows.append(day if exact else max(each for each in seen if each < day))
        highs.append(day)
    found.end = min(lows), max(highs)
