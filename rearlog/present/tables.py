"""What a table is: shown by the terminal and by the page, written as CSV."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from decimal import Decimal
from typing import TYPE_CHECKING, Any, TypeVar

from msgspec import Struct

if TYPE_CHECKING:
    from rearlog.analysis.comparing.rate_models import LinearRate
    from rearlog.analysis.pooling.season_thermal import ThermalConstants

T = TypeVar("T")


class Table(Struct, frozen=True):
    """Rows under headings, with plain `words` beneath; shown by the terminal and by the page.

    A `full` one is for those who judge how sure an answer is: it is shown where all is asked for.
    """

    title: str
    columns: Sequence[str]
    rows: Sequence[Sequence[Any]]
    words: Sequence[str] = ()
    full: bool = False

    @staticmethod
    def of(
        title: str,
        what: Iterable[T],
        columns: Sequence[tuple[str, Callable[[T], Any]]],
        words: Sequence[str] = (),
        *,
        full: bool = False,
    ) -> Table:
        """A row for each thing; a column is its heading, and what stands there of a thing."""
        headings = [heading for heading, _ in columns]
        rows = [[cell(each) for _, cell in columns] for each in what]
        return Table(title, headings, rows, words, full)


def between(interval: Sequence[float | None] | None, digits: int = 1) -> str | None:
    """A range as people read it; an upper end that is not known stays open."""
    if interval is None:
        return None
    low, high = interval
    return f">{low:.{digits}f}" if high is None else f"{low:.{digits}f}–{high:.{digits}f}"


def limits(low: float | None, high: float | None, digits: int = 2) -> str | None:
    """Limits of an estimate, where both are known."""
    return None if low is None or high is None else between((low, high), digits)


def reach(low: float | None, high: float | None, digits: int) -> str | None:
    """How far a value may reach, in a cell that may be long: 8.0 to 12.0."""
    return None if low is None or high is None else f"{low:.{digits}f} to {high:.{digits}f}"


def constants_reach(
    line: LinearRate | ThermalConstants, digits: int
) -> tuple[str | None, str | None]:
    """How far a threshold (°C) may reach, and a thermal constant (degree-days), which is ten times
    as large and more, and told to a digit less."""
    threshold = reach(line.threshold_low, line.threshold_high, digits)
    return threshold, reach(line.constant_low, line.constant_high, digits - 1)


def p_cell(p: float | None) -> str | None:
    """A p value as it stands in a cell: never zero."""
    return None if p is None else "<0.001" if p < 0.001 else f"{p:.3f}"


def tenth(value: float | None) -> Decimal | None:
    """A value to one decimal, which is as much as daily looks are worth."""
    return None if value is None else Decimal(f"{value:.1f}")
