"""Every address of the server: what answers it, and who may ask. There are no others."""

from __future__ import annotations

from collections.abc import Callable

from flask.typing import ResponseReturnValue
from msgspec import Struct

from rearlog.web.door import Role
from rearlog.web.pages import (
    answers,
    compare,
    documents,
    entrance,
    everyone,
    individual,
    measure,
    people,
    photos,
    practice,
    report,
    round_page,
    safety,
    second_look,
    sheets,
    shelf_page,
    start,
    static_files,
    temperatures,
    which,
    words,
)

View = Callable[..., ResponseReturnValue]


class Route(Struct, frozen=True):
    """An address, the view that answers it (by whose name links are made), and the least role.

    None: strangers too.
    """

    rule: str
    view: View
    least: Role | None
    method: str = "GET"

    @property
    def name(self) -> str:
        """What links call it: module and view."""
        return f"{self.view.__module__.rpartition('.')[2]}.{self.view.__name__}"


ROUTES = (
    Route("/static/<name>", static_files.asset, None),
    Route("/enter/<secret>", entrance.enter, None),
    Route("/again", entrance.again, None, "POST"),
    Route("/join", entrance.join, None),
    Route("/join", entrance.take_code, None, "POST"),
    Route("/leave", entrance.leave, Role.GUEST, "POST"),
    Route("/", shelf_page.shelf, Role.GUEST),
    Route("/initials", entrance.initials, Role.LOOKER, "POST"),
    Route("/people", people.people, Role.KEEPER),
    Route("/people/end", people.end, Role.KEEPER, "POST"),
    Route("/measure", measure.measure, Role.LOOKER),
    Route("/practice", practice.practice, Role.LOOKER),
    Route("/practice/<species>", practice.animals_of, Role.LOOKER),
    Route("/cohort/<name>/practice", practice.pictures_of, Role.LOOKER),
    Route("/practice/<species>/answers", practice.answers, Role.LOOKER, "POST"),
    Route("/start", start.form, Role.KEEPER),
    Route("/start", start.begin, Role.KEEPER, "POST"),
    Route("/which", which.which, Role.LOOKER),
    Route("/words/<answer>", words.words, Role.GUEST),
    Route("/read", documents.listed, Role.LOOKER),
    Route("/read/<page>", documents.page, Role.LOOKER),
    Route("/compare", compare.side_by_side, Role.LOOKER),
    Route("/compare/<what>", compare.kept_file, Role.LOOKER),
    Route("/second-look", second_look.second_look, Role.LOOKER),
    Route("/second-look", second_look.answer, Role.LOOKER, "POST"),
    Route("/second-look/ask", second_look.ask, Role.KEEPER, "POST"),
    Route("/report", report.choose, Role.GUEST),
    Route("/report", report.tell, Role.LOOKER, "POST"),
    Route("/report/all", report.report_of_all, Role.GUEST),
    Route("/report/<which>", report.report, Role.GUEST),
    Route("/share", report.share, Role.KEEPER),
    Route("/share.zip", report.open_data_archive, Role.KEEPER),
    Route("/cohort/<name>/round", round_page.round_page, Role.LOOKER),
    Route("/cohort/<name>/round/state", round_page.state, Role.LOOKER),
    Route("/cohort/<name>/looks", round_page.take_looks, Role.LOOKER, "POST"),
    Route("/cohort/<name>/looks/undo", round_page.undo, Role.LOOKER, "POST"),
    Route("/cohort/<name>/photo", photos.take_in, Role.LOOKER, "POST"),
    Route("/cohort/<name>/photo/<which>.jpg", photos.show, Role.LOOKER),
    Route("/cohort/<name>/answers", answers.answers, Role.LOOKER),
    Route("/cohort/<name>/answers/<kind>", answers.answer, Role.LOOKER),
    Route("/cohort/<name>/everyone", everyone.everyone, Role.LOOKER),
    Route("/cohort/<name>/everyone", everyone.change, Role.KEEPER, "POST"),
    Route("/cohort/<name>/everyone/<code>", individual.individual, Role.LOOKER),
    Route("/cohort/<name>/everyone/<code>/strike", individual.strike, Role.KEEPER, "POST"),
    Route("/cohort/<name>/everyone/<code>/correct", individual.correct, Role.KEEPER, "POST"),
    Route("/cohort/<name>/temperatures", temperatures.temperatures, Role.LOOKER),
    Route("/cohort/<name>/temperatures", temperatures.record, Role.LOOKER, "POST"),
    Route("/cohort/<name>/temperatures/strike", temperatures.strike, Role.KEEPER, "POST"),
    Route("/safety", safety.safety, Role.KEEPER),
    Route("/safety/<name>/copy", safety.copy, Role.KEEPER),
    Route("/safety/<name>/backups/<number>", safety.before_going_back, Role.KEEPER),
    Route("/safety/<name>/backups/<number>", safety.go_back, Role.KEEPER, "POST"),
    Route("/cohort/<name>/sheets", sheets.sheets, Role.LOOKER),
    Route("/cohort/<name>/sheets", sheets.take_in, Role.KEEPER, "POST"),
    Route("/cohort/<name>/sheets/<kind>", sheets.sheet, Role.LOOKER),
)


BY_NAME = {each.name: each for each in ROUTES}


def may(role: Role | None, name: str) -> bool:
    """Whether a role reaches the route of that name: links to others are not shown."""
    least = BY_NAME[name].least
    return least is None or (role is not None and role >= least)
