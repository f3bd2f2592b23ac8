"""Pictures kept with looks: taken in on their own, shown to those who look, and to nobody else."""

from __future__ import annotations

from flask import Response, abort, request
from flask.typing import ResponseReturnValue
from msgspec import Struct

from rearlog.exchange.photos import LARGEST_BYTES, without_traces
from rearlog.records.errors import UsageError
from rearlog.records.log import CohortLog
from rearlog.records.wording import day_stamp
from rearlog.store.photos import keep, photo
from rearlog.web.desk import Desk


class Shot(Struct, frozen=True):
    """A picture of one individual: its name, the stage that was known by then, and when and by whom
    it was seen so."""

    photo: str
    stage: str
    seen: str
    by: str


def take_in(desk: Desk, name: str) -> ResponseReturnValue:
    """Keep the picture that is sent, and say what it is called: a look then names it."""
    path = desk.shelf.path(name)
    if not desk.photos:
        raise UsageError("no pictures are kept on this shelf", "the keeper can switch that on")
    if (request.content_length or 0) > LARGEST_BYTES:
        abort(413, f"A picture of at most {LARGEST_BYTES // 2**20} MB can be kept.")
    return {"photo": keep(path, without_traces(request.get_data(cache=False)))}


def show(desk: Desk, name: str, which: str) -> ResponseReturnValue:
    """A picture that a look of the cohort names; one of a look that was struck out is not shown."""
    path = desk.shelf.path(name)
    log = desk.shelf.notebook(name).log
    named = desk.shelf.kept("photos", [name], lambda: _named(log))
    content = photo(path, which) if which in named else None
    if content is None:
        abort(404, "There is no such picture.")
    answer = Response(content, content_type="image/jpeg")
    answer.set_etag(which)
    answer.headers["Cache-Control"] = "private, no-cache"  # whoever is sent out sees it no more
    return answer.make_conditional(request)


def _named(log: CohortLog) -> frozenset[str]:
    return frozenset(
        look.photo for looks in log.checks.values() for look in looks if look.photo is not None
    )


def photos_of(log: CohortLog, code: str) -> list[Shot]:
    """The pictures of one individual, from egg to adult."""
    found, stage = [], log.by_code[code].stage
    for look in log.checks[code]:
        stage = look.stage or stage
        if look.photo is not None:
            found.append(Shot(look.photo, look.fate or stage, day_stamp(look.at), look.by or ""))
    return found
