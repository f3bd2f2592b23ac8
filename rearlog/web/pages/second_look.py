"""A second person says which stage a picture shows, without knowing what the first one said."""

from __future__ import annotations

from collections.abc import Sequence

from flask import g, render_template, request
from flask.typing import ResponseReturnValue
from msgspec import Struct

from rearlog.records.errors import RearlogError, UsageError
from rearlog.records.incoming import telling
from rearlog.records.log import CohortLog, Observation
from rearlog.records.profile import Profile
from rearlog.records.wording import counted, day_stamp
from rearlog.web.desk import Desk
from rearlog.web.door import Role
from rearlog.web.forms import done, numbers, present, said, typed, whole
from rearlog.web.second_looks import PictureAsked
from rearlog.web.troubles import told_of

NOTE = "second look, at a picture"
"""What a look that came in this way says of itself."""


class BlindPicture(Struct, frozen=True):
    """What is shown of a picture that is asked about: nothing that tells its stage."""

    number: int
    cohort: str
    photo: str
    profile: Profile


class Askable(Struct, frozen=True):
    """A picture about which the keeper may ask: its record, and in words whose it is."""

    record: int
    words: str
    photo: str


def second_look(desk: Desk) -> ResponseReturnValue:
    """The next picture that somebody else took and named; for the keeper, what may be asked."""
    return _page(desk)


def answer(desk: Desk) -> ResponseReturnValue:
    """What somebody sees in a picture becomes a look of theirs, at the moment of the picture."""
    told = typed()
    try:
        asked = _question(desk, told["question"])
        if told["do"] == "pass":
            desk.second_looks.passed(g.visitor.number, asked.number)
            return done(desk, "/second-look", ["Somebody else is asked about that one."])
        _write_down(desk, asked, told["stage"])
    except RearlogError as error:
        return _page(desk, told_of(error), told["stage"]), 400
    return done(desk, "/second-look", ["Written down as a look of yours. Thank you."])


def ask(desk: Desk) -> ResponseReturnValue:
    """The keeper asks for a second look at some pictures of a cohort."""
    name = typed()["cohort"]
    log = desk.shelf.notebook(name).log
    try:
        wanted = numbers("record")
        known = {each.record for each in _askable(log)}
        if not known.issuperset(wanted):
            raise UsageError("one of them has no picture any more, or no stage", "choose anew")
        new = desk.second_looks.ask(name, wanted)
    except RearlogError as error:
        return _page(desk, told_of(error)), 400
    return done(desk, "/second-look", [f"{counted(new, 'picture')} more to be looked at."])


def _question(desk: Desk, number: str) -> PictureAsked:
    wanted = whole(number)
    found = None if wanted is None else desk.second_looks.question(wanted)
    if found is None:
        raise UsageError("somebody has answered that one already", "here is the next")
    return found


def _write_down(desk: Desk, asked: PictureAsked, stage: str) -> None:
    """Raises UsageError for a stage that is none, and for whoever may not answer."""
    by = g.visitor.initials
    if not by:
        raise UsageError("say your initials first", "at the top of a round")
    with desk.shelf.writing(asked.cohort) as file:
        log = file.read()
        look = _look(log, asked)
        if desk.second_looks.question(asked.number) is None or look is None:
            raise UsageError("somebody has answered that one already", "here is the next")
        if look.by == by:
            raise UsageError("you said yourself what it is", "somebody else has to look")
        if stage not in log.cohort.species.codes:
            raise UsageError("choose a stage")
        seen = Observation(look.individual, look.at, stage, by=by, note=NOTE)
        now = present(desk, log.cohort.zone)
        file.record([telling([seen])], now, [look.individual])
        desk.second_looks.answered(asked.number)


def _look(log: CohortLog, asked: PictureAsked) -> Observation | None:
    """The look whose picture is asked about, if it still counts."""
    looks = (look for checks in log.checks.values() for look in checks)
    return next((look for look in looks if look.number == asked.record and look.photo), None)


def _page(desk: Desk, problems: Sequence[dict[str, str]] = (), stage: str = "") -> str:
    keeper = g.visitor.role is Role.KEEPER and desk.photos
    logs = {name: each.log for name, each in desk.shelf.readable().items()}
    questions = _questions(desk, logs)
    return render_template(
        "second_look.html.j2",
        keeps=desk.photos,
        question=questions[0] if questions else None,
        left=len(questions),
        waiting=len(desk.second_looks.waiting()),
        askable={
            name: [each for each in _askable(log) if not _asked(desk, name, each.record)]
            for name, log in logs.items()
        }
        if keeper
        else {},
        keeper=keeper,
        initials=g.visitor.initials,
        stage=stage,
        problems=problems,
        said=said(desk) if request.method == "GET" else (),
    )


def _questions(desk: Desk, logs: dict[str, CohortLog]) -> list[BlindPicture]:
    """What this visitor is asked, in an order that says nothing of who is older."""
    found = []
    for asked in desk.second_looks.waiting(g.visitor.number):
        log = logs.get(asked.cohort)
        look = _look(log, asked) if log is not None else None
        if log is None or look is None or look.photo is None:
            continue
        if look.by != (g.visitor.initials or None):
            question = BlindPicture(asked.number, asked.cohort, look.photo, log.cohort.species)
            found.append(question)
    return sorted(found, key=lambda each: each.photo)


def _askable(log: CohortLog) -> list[Askable]:
    """The pictures of which one person alone said which stage they show."""
    found = []
    for checks in log.checks.values():
        by_moment: dict[object, set[str | None]] = {}
        for look in checks:
            by_moment.setdefault(look.at, set()).add(look.by)
        for look in checks:
            named = look.stage is not None and look.fate is None and look.by is not None
            if look.photo and named and look.number and len(by_moment[look.at]) == 1:
                words = f"{look.individual}, {day_stamp(look.at)}, {look.by}"
                found.append(Askable(look.number, words, look.photo))
    return found


def _asked(desk: Desk, name: str, record: int) -> bool:
    return any((each.cohort, each.record) == (name, record) for each in desk.second_looks.waiting())
