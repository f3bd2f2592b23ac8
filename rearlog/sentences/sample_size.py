"""How many individuals a comparison needs, in words."""

from __future__ import annotations

from rearlog.analysis.simulation.sample_size import SampleSize
from rearlog.sentences.heat_needs import assumed
from rearlog.sentences.texts import Texts


def lead(result: SampleSize) -> str:
    """How many it takes, or that none are enough."""
    return words(result)[0]


def words(result: SampleSize) -> tuple[str, ...]:
    """How many it takes, or that none are enough, and then what would help."""
    difference = abs(result.difference_days)
    days = f"{difference:.3g} day{'' if round(difference, 2) == 1 else 's'}"
    shows = f"show a difference of {days} in {result.wanted:.0%} of comparisons"
    if result.n is not None:
        return (f"{result.n} individuals that complete it in each cohort {shows}.",)
    help_ = ": too many pass between the same checks, so look more often" if result.in_step else ""
    return (f"Not even {result.table[-1].n} individuals in each cohort would {shows}{help_}.",)


TEXTS: Texts = {
    SampleSize: {
        "words": words,
        "lead": lead,
        "assumptions": lambda result: assumed(result.assumptions),
    }
}
