"""An identification together with what follows from the stage."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec.structs import asdict

from rearlog.analysis.growth.identify import Identification

if TYPE_CHECKING:
    from rearlog.analysis.forecasting.found_animal import FoundAnimal


class IdentifiedAnimal(Identification, frozen=True):
    """Which stage it is. `found_animal` is what follows from it, where enough is known."""

    found_animal: FoundAnimal | None


def identified(result: Identification, found: FoundAnimal | None) -> IdentifiedAnimal:
    """Both together."""
    return IdentifiedAnimal(**asdict(result), found_animal=found)
