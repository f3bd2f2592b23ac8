"""A cohort opened in Python, with what needs more than its answers: charts, tables, recording."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import TYPE_CHECKING, TypeVar, overload

from rearlog.analysis.answer import speak_by
from rearlog.frames.typed import TypedTable
from rearlog.interface.speaker import Interpreter
from rearlog.notebook.cohort import Notebook
from rearlog.records.errors import StoreError

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from rearlog.interface.recording import Told, WrittenDown

A = TypeVar("A", bound="Axes | Sequence[Axes]")
speak_by(Interpreter())


class OpenCohort(Notebook):
    """A cohort opened from its file: ask it for answers, tables and charts, tell it what was seen.

    Its file is read when the first answer is asked for, and kept; see `reload`.
    """

    def observations(self) -> TypedTable:
        """The looks that stand, as written: a row for one look at one individual."""
        from rearlog.analysis.stages.settled_stages import settled_stages
        from rearlog.exchange.typed_layouts import typed_observations

        return typed_observations([self.log], settled_stages)

    def individuals(self) -> TypedTable:
        """The individuals, in the order in which they were entered."""
        from rearlog.exchange.typed_layouts import typed_individuals

        return typed_individuals([self.log])

    def temperatures(self) -> TypedTable:
        """The temperatures, as written: of a day, kept over days, or read at a moment."""
        from rearlog.exchange.typed_layouts import typed_temperatures

        return typed_temperatures([self.log])

    @overload
    def chart(
        self,
        kind: str,
        ax: None = None,
        *,
        size: str = "page",
        stage: str | None = None,
        first: str | None = None,
        by: str | None = None,
    ) -> Figure: ...
    @overload
    def chart(
        self,
        kind: str,
        ax: A,
        *,
        stage: str | None = None,
        first: str | None = None,
        by: str | None = None,
    ) -> A: ...
    def chart(
        self,
        kind: str,
        ax: Axes | Sequence[Axes] | None = None,
        *,
        size: str = "page",
        stage: str | None = None,
        first: str | None = None,
        by: str | None = None,
    ) -> Figure | Axes | Sequence[Axes]:
        """A chart of this cohort; see `rearlog.chart`."""
        from rearlog.interface.charts import draw_chart

        return draw_chart(kind, [self], ax, size, stage, first, by)

    def record(
        self,
        told: Told,
        *,
        at: datetime | str | None = None,
        by: str | None = None,
        dry_run: bool = False,
        strict: bool = False,
    ) -> WrittenDown:
        """Write down a round of looks; see `rearlog.record`. Answers asked for from now on count
        it."""
        from rearlog.interface.recording import record_in

        return record_in(self, told, at, by, dry_run=dry_run, strict=strict)

    def __repr__(self) -> str:
        try:
            cohort, n = self.log.cohort, len(self.log.individuals)
        except StoreError as error:
            return f"<Cohort file {self.path}: {error.problems[0].message}>"
        invented = ", invented data" if cohort.invented else ""
        return f"<Cohort {self.name}: {n} of {cohort.species.scientific_name}{invented}>"
