"""What cohorts at different temperatures tell."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rearlog.notebook.apart import told_apart
from rearlog.notebook.cohort import told_of

if TYPE_CHECKING:
    from collections.abc import Collection, Sequence

    from rearlog.analysis.comparing.growth_by_heat import GrowthByHeat
    from rearlog.analysis.comparing.thermal import Thermal
    from rearlog.analysis.reproduction.reproduction import Reproduction
    from rearlog.notebook.cohort import Notebook


def thermal(notebooks: Sequence[Notebook], leave_out: Collection[str] = ()) -> Thermal:
    """Thermal constants from cohorts at different temperatures; see `comparing.thermal`."""
    from rearlog.analysis.comparing.thermal import thermal

    apart = told_apart(notebooks)
    found = thermal([each.compared(each.warmth_curve) for each in apart], leave_out)
    return told_of(found, notebooks)


def growth_by_heat(notebooks: Sequence[Notebook], leave_out: Collection[str] = ()) -> GrowthByHeat:
    """How fast populations grow by temperature; see `comparing.growth_by_heat`."""
    from rearlog.analysis.comparing.growth_by_heat import growth_by_heat

    notebooks = told_apart(notebooks)

    def life_table(place: int) -> Reproduction | None:
        each = notebooks[place]
        return each.reproduction() if each.has_life_table else None

    compared = [each.compared(each.warmth_curve) for each in notebooks]
    return told_of(growth_by_heat(compared, life_table, leave_out), notebooks)
