"""An identification together with what follows from the stage."""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import TYPE_CHECKING

from rearlog.analysis.growth.identify import Identification

if TYPE_CHECKING:
    from rearlog.analysis.forecasting.found_animal import FoundAnimal


@dataclass(frozen=True, slots=True)
class IdentifiedAnimal(Identification):
    """Which stage it is. `found_animal` is what follows from it, where enough is known."""

    found_animal: FoundAnimal | None


def identified(result: Identification, found: FoundAnimal | None) -> IdentifiedAnimal:
    """Both together."""
    facts = {each.name: getattr(result, each.name) for each in fields(result)}
    return IdentifiedAnimal(**facts, found_animal=found)
