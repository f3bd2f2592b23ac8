"""What it takes for the adults to be out by a day."""

from __future__ import annotations

from collections.abc import Iterator

from rearlog.analysis.forecasting.deadline import Aim, Deadline
from rearlog.sentences.future_temperature import basis
from rearlog.sentences.notices import noticed
from rearlog.sentences.phrases import long_date, percent
from rearlog.sentences.texts import Texts


def lead(result: Deadline) -> str:
    """What it takes for half of them, or for those that are asked for first."""
    if result.n == 0:
        return words(result)[0]
    (aim, *_), day = result.aims, long_date(result.by)
    share = _share(aim)
    if aim.celsius is None:
        return (
            f"{share} of the {result.n} to come in {result.cohort} cannot be out by {day} at any "
            "temperature that is known to be safe for them."
        )
    return (
        f"{share} of the {result.n} to come in {result.cohort} would be out by {day} if kept at "
        f"{aim.celsius:g} °C from now on."
    )


def _share(aim: Aim) -> str:
    return "Half" if aim.share == 0.5 else percent(aim.share)


def words(result: Deadline) -> tuple[str, ...]:
    """How warm it must be from now on, or when a new cohort must be laid."""
    return tuple(_words(result))


def _words(result: Deadline) -> Iterator[str]:
    if result.n == 0:
        yield "Nobody of this cohort is still to come to it."
    for aim in result.aims:
        share = _share(aim)
        if aim.celsius is not None:
            kept = f"{aim.celsius:g} °C from now on"
            yield f"{share} of the {result.n} to come would be out by {result.by} at {kept}."
        elif result.n:
            yield (
                f"{share} of the {result.n} to come would not be out by {result.by} at any "
                f"temperature up to {result.warmest:g} °C, and warmer is not known to be safe "
                "for them."
            )
        if aim.laid_by is None:
            yield f"{share} of a new cohort would not be out: development stands still."
        else:
            laid = f"laid by {aim.laid_by}{', which is over' if result.is_over(aim) else ''}"
            yield f"{share} of a new cohort would be out by {result.by} if {laid}."
    yield f"Temperature taken for a new cohort: {basis(result.temperature_basis)}."


def notices(result: Deadline) -> tuple[str, ...]:
    """What a reader should know of it."""
    return noticed(result.notices, result.cohort)


TEXTS: Texts = {Deadline: {"words": words, "notices": notices}}
