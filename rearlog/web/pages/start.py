"""Starting a cohort, asked in plain words."""

from __future__ import annotations

from collections import defaultdict

from flask import redirect, render_template
from flask.typing import ResponseReturnValue

from rearlog.exchange.typed_temperatures import celsius_of
from rearlog.records import times
from rearlog.records.errors import RearlogError, UsageError
from rearlog.records.factors import split
from rearlog.records.profile import Profile
from rearlog.records.starting import new_cohort
from rearlog.species.catalogue import bundled, find, in_folder
from rearlog.species.of_stages import EXAMPLE, profile_of_stages
from rearlog.store.cohort_file import CohortFile
from rearlog.store.origins import origins_without_file
from rearlog.web.desk import Desk
from rearlog.web.forms import typed, whole
from rearlog.web.troubles import told_of

ANOTHER = "another"
"""Chosen for an insect that has no profile here."""


def form(desk: Desk) -> ResponseReturnValue:
    """The questions."""
    return _asked(desk, defaultdict(str, zone=times.local_zone()), [])


def begin(desk: Desk) -> ResponseReturnValue:
    """The answers: a new cohort, or what is wrong with them, all of it kept."""
    told = typed()
    try:
        name = _begun(desk, told)
    except RearlogError as error:
        return _asked(desk, told, told_of(error)), 400
    return redirect(f"/cohort/{name}/round", 303)


def _begun(desk: Desk, told: defaultdict[str, str]) -> str:
    profile = _profile(desk, told)
    stage = told["stage"] or profile.codes[0]
    first = profile.codes[0]
    celsius = told["celsius"]
    header, individuals = new_cohort(
        told["name"].replace(" ", "-"),
        profile,
        _count(told["count"]),
        told["zone"] or times.local_zone(),
        stage=stage,
        codes=told["codes"],
        on=told["on"] or None,
        laid=(told["laid"] or None) if stage == first else None,
        site=told["site"] or None,
        place=told["place"] or None,
        food=told["food"] or None,
        planned_celsius=celsius_of(celsius, None) if celsius else None,
        factors=split(told["factors"]),
        origins=split(told["origins"]),
    )
    origins_without_file(desk.shelf.folder, header.origins)
    CohortFile(desk.shelf.folder / f"{header.name}.json").create(header, individuals)
    return header.name


def _profile(desk: Desk, told: defaultdict[str, str]) -> Profile:
    """What is known of the species that was chosen: for another insect, its stages alone."""
    species = told["species"]
    if species == ANOTHER:
        return profile_of_stages(told["stages"])
    own = in_folder(desk.shelf.folder) if species.endswith(".toml") else {}
    if species in own:
        return own[species]
    if species not in {each.id for each in bundled()}:
        raise UsageError("Choose a species")
    return find(species)


def _count(text: str) -> int:
    found = whole(text, 6)
    if found is None:
        raise UsageError("How many are they?", "a number such as 24")
    return found


def _asked(desk: Desk, told: defaultdict[str, str], problems: list[dict[str, str]]) -> str:
    profiles = [(each.id, find(each.id)) for each in bundled()]
    own = in_folder(desk.shelf.folder)
    return render_template(
        "start.html.j2",
        told=told,
        problems=problems,
        profiles=profiles,
        own=[*own.items()],
        another=ANOTHER,
        example=EXAMPLE,
    )
