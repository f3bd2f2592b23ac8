"""Which stage is it: all stages at true scale, the questions of the key, and what was measured."""

from __future__ import annotations

import re
from collections.abc import Sequence

from flask import render_template, request
from flask.typing import ResponseReturnValue
from markupsafe import Markup
from msgspec import Struct

from rearlog.analysis.forecasting.found_animal import FoundAnimal, found_animal
from rearlog.analysis.growth.evidence import Measured
from rearlog.analysis.growth.growth import Growth
from rearlog.analysis.growth.identify import Identification, identify
from rearlog.analysis.growth.key import read_answers
from rearlog.exchange.typed_temperatures import celsius_of
from rearlog.notebook import Notebook
from rearlog.present.drawings import Drawing, drawing, side_by_side
from rearlog.present.identify import found_animal_tables, identification_tables
from rearlog.present.tables import Table
from rearlog.records import times
from rearlog.records.errors import Problem, RearlogError, UsageError
from rearlog.records.profile import Profile
from rearlog.sentences import identify as say
from rearlog.species.catalogue import bundled, find
from rearlog.web.answering import beside, query_of
from rearlog.web.desk import Desk
from rearlog.web.forms import present
from rearlog.web.troubles import told_of

MOST_READINGS = 20
LONGEST_MM = 1000.0
FINEST_MM, COARSEST_MM = 0.0001, 10.0
"""Bounds of a length, and of the error of a reading."""

_NUMBER = re.compile(r"[0-9]{1,6}(?:[.,][0-9]{1,6})?")
_QUESTION, _PART = "q-", "part-"
"""What the names of fields begin with: a question's key, or a part's name, is behind it."""


class _ShownEvidence(Struct, frozen=True):
    """What the page shows of an identification."""

    verdict: str
    words: Sequence[str]
    drawings: Sequence[tuple[str, Drawing]]
    tables: Sequence[Table]


def which(desk: Desk) -> ResponseReturnValue:
    """Whose stage is asked for first; then the form, and the answer once something is known."""
    name, species = (request.args.get(each, "") for each in ("cohort", "species"))
    if not name and species not in {each.id for each in bundled()}:
        return _whose(desk)
    notebook = desk.shelf.notebook(name) if name else None
    profile = notebook.log.cohort.species if notebook else find(species)
    growth = desk.shelf.kept("growth", [name], notebook.growth) if notebook else None
    shown, problems = None, []
    try:
        if _is_told():
            result = _identified(profile, growth)
            shown = _show(profile, result, _found(desk, profile, notebook, result.stage))
    except RearlogError as error:
        problems = told_of(error)
    page = render_template(
        "which.html.j2",
        profile=profile,
        cohort=name,
        whose=("cohort", name) if name else ("species", species),
        stages=_stages(desk, profile, name),
        parts=_parts(profile),
        heads=any(each.head_width_mm for each in profile.stages),
        lengths=any(each.length_mm for each in profile.stages),
        told=request.args,
        shown=shown,
        problems=problems,
        measured=_measured_before(),
        query_of=lambda **instead: query_of(request.args, measured="", **instead),
    )
    return page, 400 if problems else 200


def _whose(desk: Desk) -> str:
    return render_template(
        "whose.html.j2",
        names=desk.shelf.names(),
        species=bundled(),
        measured=_measured_before(),
        query_of=lambda **instead: query_of(request.args, **instead),
    )


def _measured_before() -> str:
    """A length that was measured in a picture, of what is still to be said."""
    text = request.args.get("measured", "")
    return text if _NUMBER.fullmatch(text) else ""


def _stages(desk: Desk, profile: Profile, name: str) -> Markup:
    names = [name] if name else []
    key = "stages", None if name else profile.id
    return desk.shelf.kept(key, names, lambda: Markup(side_by_side(profile)))


def _parts(profile: Profile) -> list[tuple[str, str]]:
    """Other parts that the profile knows: the names of their fields, and their own."""
    names = dict.fromkeys(name for stage in profile.stages for name in stage.measures_mm)
    return [(f"{_PART}{name}", name.replace("_", " ")) for name in names]


def _is_told() -> bool:
    """Whether anything is told of the animal."""
    own = ("head", "length")
    return any(
        value.strip() and (name in own or name.startswith((_QUESTION, _PART)))
        for name, value in request.args.items()
    )


def _identified(profile: Profile, growth: Growth | None) -> Identification:
    args = request.args
    answers = {
        name.removeprefix(_QUESTION): value
        for name, value in args.items()
        if name.startswith(_QUESTION) and value.strip()
    }
    problems: list[Problem] = []

    def read(name: str, place: str) -> tuple[float, ...]:
        try:
            return _readings(args.get(name, ""))
        except UsageError as error:
            problems.extend(Problem(each.message, place, each.remedy) for each in error.problems)
            return ()

    head = read("head", "width of the head")
    length = read("length", "length of the body")
    error = read("reading-error", "error of a reading")
    parts = {field.removeprefix(_PART): read(field, name) for field, name in _parts(profile)}
    if len(length) > 1:
        problems.append(Problem("one length is taken", "length of the body"))
    if any(not FINEST_MM <= each <= COARSEST_MM for each in error) or len(error) > 1:
        told = f"is a number from {FINEST_MM:g} to {COARSEST_MM:g} mm"
        problems.append(Problem(told, "error of a reading"))
    if problems:
        raise UsageError(problems)
    measured = Measured(
        head,
        {name: readings for name, readings in parts.items() if readings},
        length[0] if length else None,
        error[0] if error else None,
    )
    return identify(profile, measured, read_answers(profile, answers), growth)


def _readings(text: str) -> tuple[float, ...]:
    """Lengths in mm with blanks between them; raises UsageError for what is none."""
    words = text.replace(";", " ").split()
    if len(words) > MOST_READINGS:
        raise UsageError(f"up to {MOST_READINGS} readings are taken")
    for each in words:
        if not _NUMBER.fullmatch(each) or float(each.replace(",", ".")) > LONGEST_MM:
            raise UsageError(f"“{each[:40]}” is not a length in mm", "such as 1.52")
    return tuple(float(each.replace(",", ".")) for each in words)


def _found(
    desk: Desk, profile: Profile, notebook: Notebook | None, stage: str | None
) -> FoundAnimal | None:
    """What follows from the stage, where one is sure, still develops, and it is known how warm it
    is kept."""
    told = request.args.get("temp", "").strip()
    celsius = celsius_of(told, None) if told else None
    if stage not in profile.codes[:-1]:
        return None
    if notebook is not None:
        moment = present(desk, notebook.log.cohort.zone)
        return notebook.found_animal(stage, celsius, moment)
    today = present(desk, times.local_zone()).date()
    return None if celsius is None else found_animal(profile, stage, celsius, today)


def _show(profile: Profile, result: Identification, found: FoundAnimal | None) -> _ShownEvidence:
    verdict = say.verdict(result)
    words = [*say.warnings(result), *(f"Look for: {each}" for each in say.look_for(result))]
    stages = (result.stage,) if result.stage else result.possible
    said = [f"Verdict: {verdict}.", *words]
    follows = [] if found is None else found_animal_tables(found)
    words += [line for table in follows for line in table.words]
    said += words
    return _ShownEvidence(
        verdict,
        words,
        [(code, drawing(profile, code)) for code in stages if code in profile.codes],
        beside([*follows, *identification_tables(result)], said),
    )
