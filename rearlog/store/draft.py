"""A round that is being asked, kept beside the cohort file until it is saved or thrown away.

Each answer is on the disk before the next question is asked, so that a round goes on where it was
stopped, however it was stopped. Observations of a draft are in the log only when they are saved.
"""

from __future__ import annotations

import contextlib
from collections.abc import Iterator
from datetime import datetime
from pathlib import Path
from typing import Any

import msgspec
from filelock import FileLock, Timeout
from msgspec import Struct
from msgspec.structs import replace

from rearlog.disk.writing import put, reason
from rearlog.records.asked_round import Answers, Round
from rearlog.records.errors import StoreError
from rearlog.records.fates import FATES
from rearlog.records.log import CohortLog, Observation
from rearlog.records.values import Moment
from rearlog.store import codec
from rearlog.store.durable import (
    HIDDEN,
    hidden_folder,
    read_bytes,
    target_of,
)
from rearlog.store.locking import give_back


class Draft(Struct, frozen=True):
    """What is kept of a round: its moment, who looked, who was asked for, and the answers."""

    at: datetime
    by: str | None
    asked: tuple[str, ...]
    answers: Answers

    def resumed(self, log: CohortLog) -> Round:
        """The round as it stood, over the log as it is now (which may have been restored)."""
        states = {None, *log.cohort.species.codes, *FATES}
        asked = tuple(code for code in self.asked if code in log.by_code)
        answers = {
            code: check
            for code in asked
            if code in self.answers
            and ((check := self.answers[code]) is None or {check.stage, check.fate} <= states)
        }
        return Round(log, self.at, self.by, asked, answers)

    def saved_in(self, log: CohortLog) -> bool:
        """Whether its answers are in the log: it was stopped between saving and clearing."""
        checks = [each for each in self.answers.values() if each is not None]
        return bool(checks) and all(
            any(known.at == each.at for known in log.checks.get(each.individual, ()))
            for each in checks
        )


class DraftFile:
    """The draft of one cohort's round; there is one at a time."""

    def __init__(self, cohort: Path) -> None:
        self._cohort = target_of(cohort)
        self.path = self._cohort.parent / HIDDEN / f"{self._cohort.name}.round"

    @contextlib.contextmanager
    def held(self) -> Iterator[None]:
        """Keep the round to oneself; raises StoreError where somebody is in the middle of it.

        The system frees it when the process ends, however it ends.
        """
        try:
            hidden_folder(self._cohort)
            lock = FileLock(f"{self.path}.lock", timeout=0)
            lock.acquire()
        except Timeout:
            message = f"somebody is in the middle of a round of {self._cohort.stem}"
            raise StoreError(message, "finish it there first") from None
        except (OSError, NotImplementedError) as error:
            raise StoreError(f"a round of {self._cohort} cannot begin: {reason(error)}") from error
        try:
            yield
        finally:
            give_back(lock)

    def read(self) -> Draft | None:
        """The draft that is there, if any; raises StoreError where it cannot be read."""
        if not self.path.exists():
            return None
        try:
            return _draft(_KEPT.decode(read_bytes(self.path)))
        except (msgspec.MsgspecError, ValueError) as error:
            message = f"the round in {self.path} cannot be read: {error!r}"
            raise StoreError(message, "move that file away to begin a new one") from None

    def write(self, round_: Round) -> None:
        """Keep a round as it stands; raises StoreError where that fails."""
        content = {
            "at": round_.at.isoformat(),
            "by": round_.by,
            "asked": round_.asked,
            "answers": {
                code: None if check is None else codec.to_document(check)
                for code, check in round_.answers.items()
            },
        }
        temporary = self.path.with_name(f"{self.path.name}.new")
        try:
            put(msgspec.json.encode(content), self.path, temporary, like=self._cohort)
        except OSError as error:
            raise StoreError(f"{self.path} cannot be written: {reason(error)}") from error

    def clear(self) -> None:
        """Throw the draft away."""
        try:
            self.path.unlink(missing_ok=True)
        except OSError as error:
            raise StoreError(f"{self.path} cannot be removed: {reason(error)}") from error


class _Kept(msgspec.Struct, forbid_unknown_fields=True):
    """What stands in the file of a draft."""

    at: Moment
    by: str | None
    asked: list[str]
    answers: dict[str, dict[str, Any] | None]


_KEPT = msgspec.json.Decoder(_Kept)


def _draft(found: _Kept) -> Draft:
    """The draft in a document; raises ValueError where it is damaged."""
    at = found.at
    codec.refuse_years([at.year])
    answers: dict[str, Observation | None] = {}
    for code, told in found.answers.items():
        answers[code] = None if told is None else replace(codec.observation(told, 1), number=None)
        check = answers[code]
        if check is not None and (check.individual, check.at) != (code, at):
            raise ValueError(f"the answer for {code[:24]} is of another look")
    return Draft(at, found.by, tuple(dict.fromkeys(found.asked)), answers)
