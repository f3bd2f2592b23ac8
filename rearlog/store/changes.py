"""What was written to cohort files: what stood there before, beside what stands there now."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime
from pathlib import Path
from typing import Any, Literal

from msgspec import Struct
from msgspec.structs import replace

from rearlog.records.errors import StoreError
from rearlog.records.log import (
    CohortLog,
    DayExtremes,
    Individual,
    Mark,
    Observation,
    Readings,
    Temperature,
)
from rearlog.store.layout import decode
from rearlog.store.reading import log_in

Table = Literal["individuals", "checks", "temperatures"]


class AddedTemperatures(Struct, frozen=True):
    """A record of temperatures that was added: that of a `day`, a `constant` one, or `readings`.

    `n` is how many temperatures it has.
    """

    number: int | None
    kind: Literal["day", "constant", "readings"]
    n: int
    source: str | None
    entered: datetime | None


class MarkedAnew(Struct, frozen=True):
    """A record, by its number, or an individual, by its code, that was struck out or withdrawn,
    or of which that was taken back: the `mark` says which, when, why and by whom."""

    among: Table
    number: int | None
    individual: str | None
    mark: Mark


class FileChange(Struct, frozen=True):
    """What one command wrote to one cohort.

    `created`: there was no file before. `individuals`, `checks` and `temperatures` are those added.
    `marks` are those set. `described` names what is said of the cohort itself and was changed.
    `altered` are numbers of records that say something else than before, and `gone` of those that
    are there no more, as after a redaction, or going back to a backup.
    """

    cohort: str
    id: str
    created: bool
    individuals: tuple[Individual, ...]
    checks: tuple[Observation, ...]
    temperatures: tuple[AddedTemperatures, ...]
    marks: tuple[MarkedAnew, ...]
    described: tuple[str, ...]
    altered: tuple[int, ...]
    gone: tuple[int, ...]


def change_of(path: Path, before: bytes | None, after: bytes) -> FileChange:
    """What the content of a file has that it had not; `before` is None where there was none."""
    now = _log(after, path)
    then = _before(before, path) or CohortLog(now.cohort, ())
    checks = _both(_checks(then), _checks(now))
    temperatures = _both(then.all_temperatures, now.all_temperatures)
    old = {each.code: each for each in then.everybody}
    marks = [
        *(MarkedAnew("individuals", None, each.code, mark)
          for each in now.everybody for mark in _new_marks(old.get(each.code), each)),
        *(MarkedAnew("checks", each.number, each.individual, mark)
          for was, each in checks if each for mark in _new_marks(was, each)),
        *(MarkedAnew("temperatures", each.number, None, mark)
          for was, each in temperatures if each for mark in _new_marks(was, each)),
    ]  # fmt: skip
    return FileChange(
        cohort=now.cohort.name,
        id=now.cohort.id,
        created=before is None,
        individuals=tuple(each for each in now.everybody if each.code not in old),
        checks=tuple(each for was, each in checks if was is None and each is not None),
        temperatures=tuple(
            _added(each) for was, each in temperatures if was is None and each is not None
        ),
        marks=tuple(marks),
        described=() if before is None else _described(then, now),
        altered=tuple(_numbers(checks, lambda was, each: _bare(was) != _bare(each))),
        gone=tuple(was.number or 0 for was, each in checks if was is not None and each is None),
    )


def _before(content: bytes | None, path: Path) -> CohortLog | None:
    """The log as it was; None where there was none, or where it was damaged beyond reading."""
    try:
        return None if content is None else _log(content, path)
    except StoreError:
        return None


def _log(content: bytes, path: Path) -> CohortLog:
    return log_in(decode(content, path).tables, path)


def _checks(log: CohortLog) -> list[Observation]:
    return sorted(log.every_observation, key=lambda each: each.number or 0)


def _both(old: Sequence[Any], new: Sequence[Any]) -> list[tuple[Any, Any]]:
    """The records of one number as they were and as they are; None where there is none."""
    was: Mapping[int, Any] = {each.number: each for each in old}
    known = {each.number for each in new}
    lost = [(each, None) for each in old if each.number not in known]
    return [*((was.get(each.number), each) for each in new), *lost]


def _new_marks(was: Any, now: Any) -> tuple[Mark, ...]:
    marks: tuple[Mark, ...] = now.marks
    return marks[len(was.marks) :] if was is not None else marks


def _bare(record: Any) -> Any:
    return replace(record, marks=())


def _numbers(pairs: Sequence[tuple[Any, Any]], differ: Any) -> list[int]:
    return [each.number for was, each in pairs if was and each and differ(was, each)]


def _described(then: CohortLog, now: CohortLog) -> tuple[str, ...]:
    names = now.cohort.__struct_fields__
    return tuple(each for each in names if getattr(then.cohort, each) != getattr(now.cohort, each))


def _added(record: Temperature) -> AddedTemperatures:
    if isinstance(record, Readings):
        kind: Literal["day", "constant", "readings"] = "readings"
        n = len(record.celsius)
    else:
        kind, n = ("day", 2) if isinstance(record, DayExtremes) else ("constant", 1)
    return AddedTemperatures(record.number, kind, n, record.source, record.entered)
