"""Summaries that are kept from one time to the next, so that only what changed is read again.

A file of lines: the first tells by which arithmetic the others were worked out, each of these what
was found in one place. Lines are put at the end as they are made; so a run that is stopped goes on
where it was, and of a line that was cut off only that is lost.
"""

from __future__ import annotations

import hashlib
import os
from datetime import date
from pathlib import Path

import msgspec
from msgspec import Struct

import rearlog
from rearlog.analysis.pooling.cohort_summary import CohortSummary
from rearlog.disk.cache import cache_folder
from rearlog.disk.outputs import unwritten, write_output
from rearlog.records.errors import UsageError

_BEGINNING = b'{"arithmetic":'
_LONGEST_FIRST = 200
"""How the first line begins, and how many bytes it has at most."""


class Stamp(Struct, frozen=True):
    """By what it is told that a place is as it was: its size and time, those of all files of a
    folder together."""

    size: int
    changed: int


class KeptPlace(Struct, frozen=True):
    """What was found in a place on a `day`."""

    path: str
    stamp: Stamp
    day: date
    summaries: tuple[CohortSummary, ...]


_PLACE = msgspec.json.Decoder(KeptPlace)


class KeptSummaries:
    """The file of them. What cannot be read of it counts as not kept.

    Raises UsageError for a path where something else is: nothing else is written over.
    """

    def __init__(self, path: Path) -> None:
        self.path = path
        self._arithmetic = msgspec.json.encode({"arithmetic": arithmetic()})
        self._places: dict[str, KeptPlace] = {}
        self._fits = False
        self._lines = 0
        if os.path.lexists(path) and not path.is_file():
            raise UsageError(f"{path} is not a file", "give another to --cache")
        try:
            with path.open("rb") as file:
                first = file.readline(_LONGEST_FIRST).rstrip(b"\n")
                if not (first.startswith(_BEGINNING) or _BEGINNING.startswith(first)):
                    raise UsageError(f"{path} holds something else", "give another to --cache")
                self._fits = first == self._arithmetic
                for line in file if self._fits else ():
                    self._take(line)
        except FileNotFoundError:
            pass
        except OSError as error:
            raise unwritten(path, error) from error

    def _take(self, line: bytes) -> None:
        self._lines += 1
        try:
            each = _PLACE.decode(line)
        except msgspec.MsgspecError:
            return  # it was being written when the run was stopped
        self._places[each.path] = each

    def of(self, path: Path, today: date) -> tuple[CohortSummary, ...] | None:
        """The summaries of a place, if it is as it was and nothing is to come that depends on the
        day; else None."""
        each = self._places.get(_key(path))
        if each is None or each.stamp != stamp_of(path):
            return None
        if each.day != today and any(one.as_of is not None for one in each.summaries):
            return None
        return each.summaries

    def keep(self, path: Path, stamp: Stamp, today: date, found: tuple[CohortSummary, ...]) -> None:
        """Put down what was found in a place that was as `stamp` says before it was read."""
        each = KeptPlace(_key(path), stamp, today, found)
        try:
            if not self._fits:
                self.path.parent.mkdir(parents=True, exist_ok=True)
                write_output(self.path, self._arithmetic + b"\n", force=True)
                self._fits = True
            with self.path.open("ab") as file:
                file.write(msgspec.json.encode(each) + b"\n")
        except OSError as error:
            raise unwritten(self.path, error) from error
        self._places[each.path] = each
        self._lines += 1

    def tidy(self, places: set[Path]) -> None:
        """Leave nothing but these places, where the file has lines of others or old ones."""
        wanted = {_key(path) for path in places}
        kept = [each for key, each in self._places.items() if key in wanted]
        if self._fits and self._lines > len(kept):
            lines = [self._arithmetic, *map(msgspec.json.encode, kept)]
            write_output(self.path, b"\n".join(lines) + b"\n", force=True)


def usual_cache(asked: list[Path]) -> Path:
    """Where summaries are kept of what was asked for, in the user's folder for what may be lost."""
    names = "\n".join(sorted(_key(path) for path in asked))
    return cache_folder() / f"season-{hashlib.sha256(names.encode()).hexdigest()[:16]}.jsonl"


def stamp_of(path: Path) -> Stamp:
    """Size and time of a file, or of all files in a folder; of one that is gone, nothing."""
    files = [each for each in path.rglob("*") if each.is_file()] if path.is_dir() else [path]
    try:
        found = [os.stat(each) for each in files]
    except OSError:
        return Stamp(-1, 0)
    return Stamp(
        sum(each.st_size for each in found), max((each.st_mtime_ns for each in found), default=0)
    )


def arithmetic() -> str:
    """A digest of the program that works summaries out: another one works out others."""
    root = Path(rearlog.__file__).parent
    digest = hashlib.sha256(rearlog.__version__.encode())
    for package in ("analysis", "records", "notebook"):
        for each in sorted((root / package).rglob("*.py")):
            digest.update(each.read_bytes())
    return digest.hexdigest()


def _key(path: Path) -> str:
    """A name that any encoding has, also of letters that are none."""
    return os.fsencode(os.path.abspath(path)).decode(errors="backslashreplace")
