"""Practice in the browser; a class's mistakes, without names, are the keeper's to see."""

from __future__ import annotations

import random
from typing import Any

from flask import abort, g, render_template, request
from flask.typing import ResponseReturnValue
from markupsafe import Markup

from rearlog.present import practice as animals
from rearlog.present.policy import inert_json, template
from rearlog.present.tables import Table
from rearlog.records.errors import RearlogError, UsageError
from rearlog.records.profile import NOT_THE_ANIMAL, Profile
from rearlog.records.settled_pictures import settled_pictures
from rearlog.species.catalogue import bundled, find
from rearlog.web.desk import Desk
from rearlog.web.door import Role
from rearlog.web.tally import Pair

MOST_AT_ONCE = 50
LEAST_PICTURES = 3
"""A cohort's own pictures are practised on from so many."""


def practice(desk: Desk) -> ResponseReturnValue:
    """Which species; and for the keeper what the class has mistaken since the server began."""
    told = []
    if g.visitor.role is Role.KEEPER:
        told = [table_of(desk, each.id) for each in bundled() if desk.practised.of(each.id)]
    pictured = [each for each in desk.shelf.names() if _settled(desk, each) >= LEAST_PICTURES]
    return render_template("practice.html.j2", species=bundled(), pictured=pictured, told=told)


def _settled(desk: Desk, name: str) -> int:
    try:
        log = desk.shelf.notebook(name).log
    except RearlogError:  # a file that cannot be read is told on the shelf
        return 0
    return sum(1 for _ in settled_pictures(log))


def animals_of(_desk: Desk, species: str) -> ResponseReturnValue:
    """Rounds of ten of a species."""
    profile = _profile(species)
    asked = animals.practice(profile, random.SystemRandom().randrange(2**31))
    return _practising(profile, asked)


def _practising(profile: Profile, asked: dict[str, Any]) -> ResponseReturnValue:
    return render_template(
        "practising.html.j2",
        profile=profile,
        body=Markup(template("practice_body.html.j2")),
        data=inert_json(asked),
    )


def pictures_of(desk: Desk, name: str) -> ResponseReturnValue:
    """Rounds of a cohort's own pictures, once two people have said the same of them."""
    log = desk.shelf.notebook(name).log
    profile = log.cohort.species
    settled = [
        (f"/cohort/{name}/photo/{each.photo}.jpg", each.stage) for each in settled_pictures(log)
    ]
    if len(settled) < LEAST_PICTURES:
        message = f"too few pictures of {name} are settled to practise on"
        remedy = f"two people are to say the same of {LEAST_PICTURES}, under Second look"
        raise UsageError(message, remedy)
    random.SystemRandom().shuffle(settled)
    asked = animals.practice_on_pictures(profile, name, settled)
    return _practising(profile, asked)


def answers(desk: Desk, species: str) -> ResponseReturnValue:
    """A round that somebody finished: what was shown and what was said."""
    profile = _profile(species)
    told = request.get_json(silent=True)
    found = told.get("answers") if isinstance(told, dict) else None
    if not isinstance(found, list) or len(found) > MOST_AT_ONCE:
        abort(400)
    known = {*profile.codes, NOT_THE_ANIMAL}
    desk.practised.add(species, [_pair(each, known) for each in found])
    return "", 204


def _pair(told: object, known: set[str]) -> Pair:
    if not isinstance(told, dict):
        abort(400)
    shown, said = told.get("shown"), told.get("said")
    if not isinstance(shown, str) or not isinstance(said, str) or not {shown, said} <= known:
        abort(400)
    return shown, said


def table_of(desk: Desk, species: str) -> Table:
    """How often each stage was called which, by all together."""
    profile = find(species)
    counts = desk.practised.of(species)
    codes = [
        code for code in (*profile.codes, NOT_THE_ANIMAL) if any(code in pair for pair in counts)
    ]
    rows = [[shown, *(counts[shown, said] for said in codes)] for shown in codes]
    right = sum(n for (shown, said), n in counts.items() if shown == said)
    words = [f"{right} of {sum(counts.values())} were told right."]
    return Table(f"{profile.name}: shown, and called", ["shown", *codes], rows, words)


def _profile(species: str) -> Profile:
    if species not in {each.id for each in bundled()}:
        abort(404)
    return find(species)
