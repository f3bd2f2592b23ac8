"""What all answers can do beside holding their facts: say briefly what they are, and become tables.

What is said of them in words stands above the analysis: whoever opens cohorts for people tells by
`speak_by` who says it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import TYPE_CHECKING, ClassVar, Literal, Protocol, TypeVar, overload

from msgspec import Struct

from rearlog.records.errors import UsageError

if TYPE_CHECKING:
    import pandas
    import polars

    from rearlog.frames.typed import FrameKind, TypedTable

    class Speaker(Protocol):
        """Says in words what an answer found, and what its fields mean."""

        def lead(self, answer: Answer) -> str:
            """The sentence that an answer opens with; empty where there is none."""

        def meaning(self, kind: type, key: str) -> str:
            """What a field of a kind of result means; empty where nobody says it."""


class Answer(Struct, frozen=True, dict=True):
    """An answer about one or more cohorts, whose fields are the facts.

    `tables()` are its facts as tables with types; `to_frame()` gives the main one to pandas or
    polars, and whatever reads Arrow's C stream takes it as it is: `polars.DataFrame(answer)`.
    """

    main: ClassVar[str] = ""
    """The name of the main table; the first, unless it is said."""

    @property
    def contradicted(self) -> Mapping[str, Sequence[str]]:
        """By cohort those individuals of which looks contradict each other: what is found of them
        rests on the looks that fit together best (see `stages/settling.py`)."""
        return getattr(self, "_contradicted", {})

    def tables(self) -> dict[str, TypedTable]:
        """All that it holds, as tables with types, by their names; `summary` is what is in none."""
        from rearlog.analysis.answer_tables import tables_of  # start-up time

        stages = getattr(self, "_stages", ())
        return (
            tables_of(self, stages)
            if _speaker is None
            else tables_of(self, stages, _speaker.meaning)
        )

    @overload
    def to_frame(
        self, kind: Literal["pandas"] = "pandas", *, table: str | None = None
    ) -> pandas.DataFrame: ...
    @overload
    def to_frame(
        self, kind: Literal["polars"], *, table: str | None = None
    ) -> polars.DataFrame: ...
    def to_frame(
        self, kind: FrameKind = "pandas", *, table: str | None = None
    ) -> pandas.DataFrame | polars.DataFrame:
        """Its main table, or the one that is named, as a data frame.

        Raises UsageError for another kind or table, and where the library is not installed.
        """
        return self._table(table).to_frame(kind)

    def __arrow_c_stream__(self, requested_schema: object | None = None) -> object:
        """Its main table as a stream of the Arrow C data interface."""
        return self._table().__arrow_c_stream__(requested_schema)

    def _table(self, name: str | None = None) -> TypedTable:
        every = self.tables()
        chosen = name or self.main or next(iter(every))
        if chosen not in every:
            raise UsageError(f"there is no table “{chosen}”", f"there are {', '.join(every)}")
        return every[chosen]

    def __repr__(self) -> str:
        every = self.tables()
        whom, n = self._of_whom(), getattr(self, "n", None)
        of = f" of {whom}" if whom else ""
        held = ", ".join(f"{name} {len(table)}" for name, table in every.items() if len(table))
        return f"<{type(self).__name__}{of}{'' if n is None else f', n = {n}'}: rows of {held}>"

    def _of_whom(self) -> str:
        """The cohorts that it is about, or the species; a few by name."""
        found = getattr(self, "cohort", None) or getattr(self, "cohorts", None)
        if not found:
            return str(getattr(self, "species", ""))
        names = [found] if isinstance(found, str) else [_name(each) for each in found]
        more = f" and {len(names) - MOST_NAMED} more" if len(names) > MOST_NAMED else ""
        return ", ".join(names[:MOST_NAMED]) + more

    def _repr_html_(self) -> str:
        from rearlog.frames.html import as_html

        return as_html(self._table(), _speaker.lead(self) if _speaker is not None else "")


MOST_NAMED = 4
"""So many cohorts are named in the line that says what an answer is."""

_speaker: Speaker | None = None
A = TypeVar("A", bound=Answer)


def speak_by(speaker: Speaker) -> None:
    """From now on answers are put into words by this one."""
    global _speaker
    _speaker = speaker


def in_order(answer: A, stages: Iterable[str]) -> A:
    """The answer, which from now on knows all stages in their order: columns of its tables that
    hold stages have all of them."""
    answer.__dict__["_stages"] = tuple(stages)
    return answer


def resting_on(answer: A, contradicted: Mapping[str, Sequence[str]]) -> A:
    """The answer, which from now on knows of whom looks contradict each other, by cohort."""
    answer.__dict__["_contradicted"] = contradicted
    return answer


def _name(cohort: object) -> str:
    return cohort if isinstance(cohort, str) else str(getattr(cohort, "cohort", cohort))
