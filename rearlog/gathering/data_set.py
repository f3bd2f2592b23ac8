"""A data set that grows: Parquet files by site, species and year, for cohorts by the thousand.

Each table is a folder, and each cohort has one file in it, named by its identity:
`observations/site=…/species=…/year=…/ID.parquet`. Whatever reads folders of Parquet reads it as it
is. `rearlog-data-set.json` says what the columns hold.
"""

from __future__ import annotations

import contextlib
import os
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from datetime import datetime
from functools import partial
from pathlib import Path

import msgspec
from msgspec import Struct

from rearlog.disk.leftovers import beside
from rearlog.disk.outputs import unwritten, write_output
from rearlog.disk.writing import replace, write_new
from rearlog.exchange.publication import Publication
from rearlog.frames.missing import library
from rearlog.frames.typed import of_rows
from rearlog.gathering.data_set_format import (
    DESCRIPTOR,
    descriptor,
    is_data_set,
    refuse_other_versions,
)
from rearlog.gathering.data_set_tables import NO_SITE, TABLES, rows_of
from rearlog.gathering.summaries import summary_of
from rearlog.notebook.cohort import Notebook
from rearlog.processes import each_of
from rearlog.records.errors import UsageError

_ESCAPED = frozenset("\"#%'*/:=?\\{}[]^<>|") | {chr(code) for code in (*range(32), 127)}
"""What folders of such data sets write as %XX, by the custom of Hive and Spark, and what the names
of files cannot have on some systems."""

FEWEST_SHARED = 24
AT_ONCE = 4
"""From so many cohorts on other processes help, with so many at a time."""


class CohortFiles(Struct, frozen=True):
    """The files of one cohort: the folder in each table, and the content by the table's name."""

    id: str
    checks: int
    folder: str
    content: Mapping[str, bytes]


def extend(
    folder: Path,
    paths: Sequence[Path],
    now: datetime,
    *,
    names: bool = True,
    notes: bool = True,
    blur: float | None = None,
    jobs: int | None = None,
) -> Iterator[CohortFiles]:
    """Put cohorts into a data set, which is made if need be, each in the place of what it had of
    it, and tell each when it is there; what is to come counts from `now`.

    A cohort is written whole, or stays as it was. `names`, `notes` and `blur` are as in
    `Publication`, but that what is left out is empty. Raises UsageError for a folder that is
    something else, or of another version, and without pyarrow.
    """
    library("pyarrow")
    _begin(folder)
    there = _files_in(folder)
    made = partial(_made, now=now, names=names, notes=notes, blur=blur)
    for each in each_of(made, paths, fewest=FEWEST_SHARED, at_once=AT_ONCE, jobs=jobs):
        there[each.id] = _put(folder, each, there[each.id])
        yield each


def partition_folder(site: str | None, species: str, year: int) -> str:
    """The folder of a cohort within that of a table."""
    return f"site={_escaped(site)}/species={_escaped(species)}/year={year}"


def _escaped(value: str | None) -> str:
    return "".join(
        f"%{ord(each):02X}" if each in _ESCAPED else each
        for each in (NO_SITE if value is None else value)
    )


def _begin(folder: Path) -> None:
    if is_data_set(folder):
        refuse_other_versions(folder)
        return
    try:
        folder.mkdir(exist_ok=True)
        if any(folder.iterdir()):
            raise UsageError(f"{folder} has other files in it", "choose a new folder")
    except OSError as error:
        raise unwritten(folder, error) from error
    said = msgspec.json.format(msgspec.json.encode(descriptor()), indent=2)
    write_output(folder / DESCRIPTOR, said + b"\n")


def _files_in(folder: Path) -> defaultdict[str, list[Path]]:
    """The files that each cohort has, by its identity."""
    found: defaultdict[str, list[Path]] = defaultdict(list)
    for table in TABLES:
        for path in (folder / table).glob("*/*/*/*.parquet"):
            found[path.stem].append(path)
    return found


def _made(
    path: Path, *, now: datetime, names: bool, notes: bool, blur: float | None
) -> CohortFiles:
    """The files of a cohort, as bytes."""
    pa, parquet = library("pyarrow"), library("pyarrow.parquet")
    publication = Publication((Notebook(path).log,), names=names, notes=notes, blur=blur)
    (log,) = publication.logs
    notebook = Notebook(path).with_log(log)
    summary = summary_of(notebook, now)
    content = {}
    for name, rows in rows_of(notebook, summary, publication.left_out).items():
        table = of_rows(name, TABLES[name].columns, rows)
        target = pa.BufferOutputStream()
        parquet.write_table(table.to_arrow(), target)
        content[name] = target.getvalue().to_pybytes()
    folder = partition_folder(log.cohort.site, summary.species, summary.year)
    return CohortFiles(log.cohort.id, summary.looks, folder, content)


def _put(folder: Path, files: CohortFiles, before: Sequence[Path]) -> list[Path]:
    """Write all files beside where they belong, then give them their names, which are returned."""
    waiting: dict[Path, Path] = {}
    try:
        with contextlib.ExitStack() as undone:
            for table, content in files.content.items():
                target = folder / table / files.folder / f"{files.id}.parquet"
                target.parent.mkdir(parents=True, exist_ok=True)
                waiting[target] = beside(target)
                write_new(waiting[target], [content], like=target)
                undone.callback(waiting[target].unlink, missing_ok=True)
            for target, written in waiting.items():
                replace(written, target)
        for old in before:
            if old not in waiting:
                os.unlink(old)
    except OSError as error:
        raise unwritten(folder, error) from error
    return list(waiting)
