"""Looks that devices tell: read strictly, recorded once, answered one by one."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta
from typing import Any

from msgspec import Struct
from msgspec.structs import replace

from rearlog.records.clock import in_zone
from rearlog.records.errors import RearlogError, RecordError, StoreError
from rearlog.records.incoming import telling
from rearlog.records.log import CohortLog, Mark, Observation
from rearlog.store import codec
from rearlog.store.cohort_file import CohortFile
from rearlog.store.photos import is_kept
from rearlog.web.troubles import told_of

MOST_AT_ONCE = 2000
"""More looks than this are not told in one request."""

LONGEST_TEXT = 2000
"""A note, or a cause, of more letters than the page lets anybody type is none of its own."""

Place = tuple[int, int]
"""Which of the devices, and which of its looks."""

UNDONE = "undone in the round"


class Receipt(Struct, frozen=True):
    """What became of one look. `number` is its record (None: it is not in the log), `problems` why
    it was not taken, `doubts` what is in doubt with it."""

    token: str
    number: int | None
    problems: Sequence[dict[str, str]] = ()
    doubts: Sequence[dict[str, str]] = ()


def observed(document: Any, by: str, behind: timedelta, now: datetime) -> Observation:
    """A look as a record; `behind` is how far the clock of its device is behind ours.

    Who looked is who is in, and no look is of the future. Raises RecordError for a document that
    is no record.
    """
    if not isinstance(document, dict):
        raise RecordError("this is not a look")
    try:
        found = codec.observation(document, 1)
    except codec.Misfit as error:
        raise RecordError(f"this cannot be recorded: {error}") from None
    if found.token is None:
        raise RecordError("this look has no token of its device")
    if any(len(each or "") > LONGEST_TEXT for each in (found.note, found.cause)):
        raise RecordError("this text is too long", f"say it in {LONGEST_TEXT:,} letters")
    at = min(found.at + behind, now).replace(microsecond=0)
    return replace(found, at=at, by=by or None, number=None, entered=None, marks=())


class Telling(Struct, frozen=True):
    """What a device tells at once: its looks, who is at it, how far its clock is `behind` ours, and
    when it came."""

    documents: Sequence[Any]
    by: str
    behind: timedelta
    now: datetime


def take(file: CohortFile, told: Sequence[Telling]) -> list[list[Receipt]]:
    """Record the looks of devices; answers are given for each when they are on the disk.

    Where some cannot be taken, the others are all the same.
    """
    answers: dict[Place, Receipt] = {}
    looks: dict[Place, Observation] = {}
    for of, device in enumerate(told):
        for place, document in enumerate(device.documents):
            try:
                look = observed(document, device.by, device.behind, device.now)
                _refuse_missing_photo(file, look)
                looks[of, place] = look
            except RecordError as error:
                token = document.get("token") if isinstance(document, dict) else ""
                answers[of, place] = Receipt(str(token)[:64], None, told_of(error))
    with file.held():
        zone = file.outline(()).cohort.zone
        present = in_zone(max(device.now for device in told), zone)
        looks = {place: replace(each, at=in_zone(each.at, zone)) for place, each in looks.items()}
        answers |= _recorded(file, looks, present)
    return [
        [answers[of, place] for place in range(len(device.documents))]
        for of, device in enumerate(told)
    ]


def _refuse_missing_photo(file: CohortFile, look: Observation) -> None:
    if look.photo is not None and not is_kept(file.path, look.photo):
        raise RecordError("its picture is not here", "record the look again, with the picture")


def _recorded(
    file: CohortFile, looks: dict[Place, Observation], now: datetime
) -> dict[Place, Receipt]:
    """An answer for each look; those that cannot be taken are found by halves.

    What the disk refuses is raised: it is no fault of the looks, and their device tries again.
    """
    if not looks:
        return {}
    codes = {each.individual for each in looks.values()}
    try:
        found = file.record([telling(looks.values())], now, codes)
    except StoreError:
        raise
    except RearlogError as error:
        if len(looks) == 1:
            ((place, look),) = looks.items()
            return {place: Receipt(look.token or "", None, told_of(error))}
        places = sorted(looks)
        first, other = places[: len(places) // 2], places[len(places) // 2 :]
        return _recorded(file, {place: looks[place] for place in first}, now) | _recorded(
            file, {place: looks[place] for place in other}, now
        )
    known = numbers_of(file.outline(codes))
    doubts: dict[int | None, list[dict[str, str]]] = {}
    for each in found.doubts:
        doubts.setdefault(each.record, []).append(
            {"message": each.message, "place": each.place, "remedy": each.remedy}
        )
    answers = {}
    for place, look in looks.items():
        number = known.get((look.individual, look.token))
        answers[place] = Receipt(look.token or "", number, (), doubts.get(number, ()))
    return answers


def numbers_of(log: CohortLog) -> dict[tuple[str, str | None], int]:
    """The record of each look that a device told: by its individual and token."""
    return {
        (each.individual, each.token): each.number
        for each in log.all_observations
        if each.token is not None and each.number is not None
    }


def undo(
    file: CohortFile, code: str, token: str, by: str, now: datetime, *, any_look: bool
) -> bool:
    """Strike out a look of today that was a slip; whether there was one that stood.

    Without `any_look` only one that is `by` the same person. Raises RecordError for others.
    """
    with file.held():
        log = file.outline([code])
        told = [each for each in log.checks.get(code, []) if each.token == token]
        if not told:
            return False
        (look,) = told
        present = in_zone(now, log.cohort.zone)
        own = look.by == (by or None) and look.entered is not None
        today = look.entered is not None and log.cohort.clock.day(look.entered) == (
            log.cohort.clock.day(present)
        )
        if not any_look and not (own and today):
            raise RecordError(
                "only your own looks of today can be undone here",
                "tell the keeper, who can strike any out",
            )
        assert look.number is not None
        file.strike([look.number], [], Mark(present, UNDONE, by or None))
    return True
