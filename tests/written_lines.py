"""Lines of text that are kept in files, with remarks on top (`# …`) of how they were checked."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

from rearlog.present.cells import cell
from rearlog.present.tables import Table


@dataclass(frozen=True)
class Written:
    """The files of a folder, by their names without `.txt`."""

    folder: Path

    def read(self, name: str) -> list[str]:
        """What stands in a file, without its remarks."""
        return [line for line in self._lines(name) if not line.startswith("#")]

    def write(self, name: str, lines: Sequence[str]) -> None:
        """Put the lines into a file, below the remarks that it has."""
        remarks = [line for line in self._lines(name) if line.startswith("#")]
        self.folder.mkdir(exist_ok=True)
        self._file(name).write_text("\n".join([*remarks, *lines]) + "\n", encoding="utf-8")

    def _lines(self, name: str) -> list[str]:
        file = self._file(name)
        return file.read_text(encoding="utf-8").splitlines() if file.exists() else []

    def _file(self, name: str) -> Path:
        return self.folder / f"{name}.txt"


_DECIMALS = re.compile(r"-?\d+\.\d{5,}")


def differing(lines: Sequence[str], written: Sequence[str]) -> list[tuple[str, str]]:
    """The lines that are not those written down, beside these. Numbers of five decimals and more
    may differ in their sixth digit: in it the versions of numerical libraries do."""
    pairs = list(zip([*lines, *[""] * len(written)], [*written, *[""] * len(lines)], strict=False))
    return [(one, other) for one, other in pairs if one != other and not _alike(one, other)]


def _alike(one: str, other: str) -> bool:
    numbers, others = (list(map(float, _DECIMALS.findall(each))) for each in (one, other))
    return (
        _DECIMALS.sub("#", one) == _DECIMALS.sub("#", other)
        and len(numbers) == len(others)
        and all(math.isclose(a, b, rel_tol=1e-5) for a, b in zip(numbers, others, strict=True))
    )


def drawn_tables(tables: Iterable[Table]) -> list[str]:
    """The tables of an answer, cells with bars between them."""
    told = []
    for table in tables:
        told += ["", table.title + (" (full)" if table.full else "")]
        told += [" | ".join(table.columns)] if table.columns else []
        told += [" | ".join(map(cell, row)) for row in table.rows]
        told += list(table.words)
    return told
