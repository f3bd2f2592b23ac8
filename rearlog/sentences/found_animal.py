"""How old a found animal is, when it was laid, and what is to come of it."""

from __future__ import annotations

from collections.abc import Iterator

from rearlog.analysis.forecasting.found_animal import Coming, FoundAnimal
from rearlog.sentences.phrases import celsius_range, listed, percent, there
from rearlog.sentences.texts import Texts


def words(result: FoundAnimal) -> tuple[str, ...]:
    """Its age, what it rests on, and how far that can be trusted."""
    return tuple(_words(result))


def _words(result: FoundAnimal) -> Iterator[str]:
    if not result.grows:
        yield (
            f"At {_at(result)} nothing develops: the lower threshold is "
            f"{result.lower:g} °C. How old it is cannot be told."
        )
        return
    if result.age is not None:
        age, laid = result.age, there(result.laid)
        yield (
            f"About {age.likely:.1f} days old ({age.low:.1f} to {age.high:.1f}), laid about "
            f"{laid.likely} ({laid.earliest} to {laid.latest})."
        )
    elif result.coming:
        yield "How old it is, the profile does not tell."
    if result.untold:
        yield f"How long {listed(list(result.untold))} last, the profile does not say."
    if not result.coming and result.age is None:
        return
    yield _basis(result)
    for beyond in result.beyond:
        yield (
            f"Extrapolated: the values of {listed(list(beyond.stages))} hold for "
            f"{celsius_range(beyond.measured_celsius)}."
        )


def _basis(result: FoundAnimal) -> str:
    by = "the profile's days, whatever the temperature"
    if result.lower is not None:
        most = "" if result.upper is None else f", {result.upper:g} °C at most"
        by = f"the profile's degree-days above {result.lower:g} °C{most}"
    where = result.stage if result.known == result.stage else f"{result.known} (known together)"
    return (
        f"Reckoned at {_at(result)} all its life, by {by} ({', '.join(result.kinds)}). "
        f"It may be anywhere within {where}. Ranges hold {percent(result.window)} of animals, "
        "if they live."
    )


def _at(result: FoundAnimal) -> str:
    return f"{round(result.celsius, 1):g} °C"


def passage(coming: Coming) -> str:
    """What comes: a molt with the stage that it leads to."""
    return f"molt to {coming.into}" if coming.event == "molt" else coming.event


TEXTS: Texts = {FoundAnimal: {"words": words}, Coming: {"words": passage}}
