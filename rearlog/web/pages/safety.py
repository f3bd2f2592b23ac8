"""Safety: whether the files are sound, what can be brought back, and copies to take elsewhere."""

from __future__ import annotations

from collections.abc import Sequence

from flask import abort, render_template, request
from flask.typing import ResponseReturnValue
from msgspec import Struct

from rearlog.present.history import struck_lines
from rearlog.present.safekeeping import size_words
from rearlog.records.errors import Problem, StoreError
from rearlog.records.wording import counted
from rearlog.sentences.in_doubt import contradiction
from rearlog.species.loader import check
from rearlog.store.durable import read_bytes
from rearlog.store.restoring import BackupContent, Loss, loss_of, restore, states_of
from rearlog.store.verification import verify
from rearlog.web.answering import attachment
from rearlog.web.desk import Desk
from rearlog.web.forms import done, said, whole
from rearlog.web.troubles import as_data, one

MOST_SHOWN = 20
"""So many of what is wrong or in doubt are shown of a cohort."""


class ShownBackup(Struct, frozen=True):
    """One that can be brought back, unless it has a `problem`."""

    number: int
    moment: str
    words: str
    problem: str | None


class Kept(Struct, frozen=True):
    """One cohort's file: what was found in it, what is wrong and in doubt, its backups."""

    name: str
    sound: bool
    words: str
    problems: Sequence[dict[str, str]]
    more: int
    doubts: Sequence[str]
    backups: Sequence[ShownBackup]


def safety(desk: Desk) -> ResponseReturnValue:
    """All files of the shelf."""
    found = [_kept(desk, name) for name in desk.shelf.names()]
    return render_template("safety.html.j2", tab="safety.safety", files=found, said=said(desk))


def copy(desk: Desk, name: str) -> ResponseReturnValue:
    """The file of a cohort as it is, to be kept elsewhere."""
    content = read_bytes(desk.shelf.path(name))
    return attachment(content, f"{name}.json", "application/json")


def before_going_back(desk: Desk, name: str, number: str) -> ResponseReturnValue:
    """What going back to a backup would take away."""
    return _asked(desk, name, _number(number), [])


def go_back(desk: Desk, name: str, number: str) -> ResponseReturnValue:
    """A backup takes the place of the file, which becomes a backup itself."""
    wanted = _number(number)
    with desk.shelf.writing(name) as file:
        if request.form.get("seen") != desk.shelf.stamp(name):
            told = one("The file has changed meanwhile.", "read again what would be lost")
            return _asked(desk, name, wanted, told), 409
        state = restore(file.path, wanted)
    line = f"{name} is again as it was on {_moment(state)}, with {_held(state)}. "
    return done(desk, "/safety", [line + "The newer file is kept as a backup."])


def _asked(desk: Desk, name: str, number: int, problems: Sequence[dict[str, str]]) -> str:
    path, seen = desk.shelf.path(name), desk.shelf.stamp(name)
    loss = loss_of(path, number)
    (state,) = [each for each in states_of(path).backups if each.number == number]
    return render_template(
        "going_back.html.j2",
        tab="safety.safety",
        of=name,
        number=number,
        moment=_moment(state),
        held=_held(state),
        lost=None if loss is None else _lost(loss),
        lines=[] if loss is None else struck_lines(loss.observations, loss.temperatures),
        seen=seen,
        problems=problems,
    )


def _lost(loss: Loss) -> list[str]:
    """How much of each kind would be gone."""
    counts = (
        (len(loss.individuals), "individual"),
        (len(loss.observations), "check"),
        (len(loss.temperatures), "temperature"),
        (loss.marks, "correction"),
    )
    return [counted(count, word) for count, word in counts if count]


def _number(text: str) -> int:
    found = whole(text)
    if found is None:
        abort(404)
    return found


def _kept(desk: Desk, name: str) -> Kept:
    path = desk.shelf.path(name)
    found = verify(path, desk.now(), check)
    problems: Sequence[Problem] = found.problems
    backups: list[ShownBackup] = []
    try:
        backups = [_backup(each) for each in reversed(states_of(path).backups)]
    except StoreError as error:
        problems = (*problems, *error.problems)
    words = [
        counted(found.individuals, "individual"),
        counted(found.observations, "check"),
        f"{found.struck:,} struck out",
        counted(found.temperatures, "temperature"),
        size_words(found.bytes),
    ]
    doubts = desk.shelf.notebook(name).in_doubt if found.sound else ()
    return Kept(
        name,
        found.sound,
        ", ".join(words),
        [
            {part: text.replace(str(path), path.name) for part, text in as_data(each).items()}
            for each in problems[:MOST_SHOWN]
        ],
        max(0, len(problems) - MOST_SHOWN),
        [f"{each.individual}: {contradiction(each)}" for each in doubts[:MOST_SHOWN]],
        backups,
    )


def _backup(state: BackupContent) -> ShownBackup:
    words = f"{_held(state)}, {size_words(state.bytes)}"
    words += f" ({state.why})" if state.why else ""
    return ShownBackup(state.number, _moment(state), words, state.problem)


def _moment(state: BackupContent) -> str:
    return f"{state.written:%a %Y-%m-%d %H:%M:%S}"


def _held(state: BackupContent) -> str:
    if state.individuals is None or state.observations is None:
        return "what cannot be read"
    return f"{counted(state.individuals, 'individual')} and {counted(state.observations, 'check')}"
