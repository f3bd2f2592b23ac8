"""Which faults a sample has."""

import hashlib
from collections import Counter
from collections.abc import Sequence

from tests.mutation.operators import Mutant


def picked(found: Sequence[Mutant], number: int, seed: int) -> list[Mutant]:
    """So many of the faults, in their order: those whose names, with the seed, have the lowest
    SHA-256. Code that is written elsewhere leaves the others of the sample where they are."""
    lots = []
    times: Counter[str] = Counter()
    for place, each in enumerate(found):
        times[each.name] += 1
        told = f"{seed} {times[each.name]} {each.name}"
        lots.append((hashlib.sha256(told.encode()).hexdigest(), place))
    return [found[place] for _, place in sorted(sorted(lots)[:number], key=lambda lot: lot[1])]
