"""The report for everybody, and the data for whoever wants to work with them."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from flask import Response, g, render_template, request
from flask.typing import ResponseReturnValue

from rearlog.exchange.bundle import zipped
from rearlog.exchange.publication import LICENCES, Publication
from rearlog.notebook import Notebook, open_data, refuse_copies
from rearlog.present.framing import LONGEST_TITLE, Framing, Readers, own_title, short_enough
from rearlog.present.personal import shown_on_the_page, treated_table
from rearlog.records.errors import RearlogError, UsageError
from rearlog.settings import usual
from rearlog.web.answering import attachment, query_of
from rearlog.web.desk import Desk
from rearlog.web.door import Role
from rearlog.web.forms import typed
from rearlog.web.troubles import told_of

if TYPE_CHECKING:
    from rearlog.present.page import Drawn

COARSE = 0.1
"""Degrees to which coordinates are rounded: exact ones leave by the command alone."""
ALL = "all"
"""What stands for all cohorts in a form."""

READERS = {
    Readers.PARENTS: "parents: all but what became of everyone is folded",
    Readers.CLASS: "the class: all pictures are open",
    Readers.LAB: "a lab: everything is open",
}


def choose(desk: Desk) -> ResponseReturnValue:
    """Which report: a cohort's, or that of all of them; for whom, and with what words."""
    return _choice(desk)


def _choice(
    desk: Desk, told: Mapping[str, str] | None = None, problems: Sequence[dict[str, str]] = ()
) -> ResponseReturnValue:
    names = desk.shelf.names()
    page = render_template(
        "report.html.j2",
        names=names,
        called=desk.shelf.called(),
        readers=[(each.value, READERS[each]) for each in Readers],
        told=told or defaultdict(str, {"for": Readers.CLASS}),
        shown=_shown(desk) if g.visitor.role >= Role.KEEPER else "",
        longest_title=LONGEST_TITLE,
        problems=problems,
    )
    return page, 400 if problems else 200


def tell(desk: Desk) -> ResponseReturnValue:
    """The report that was chosen, with a title and words of one's own. Nothing of it is kept."""
    told = typed()
    try:
        names = desk.shelf.names()
        which = told["which"]
        if which != ALL and which not in names:
            raise UsageError("choose a cohort")
        framing = Framing(own_title(told["title"]), told["words"], _readers(told["for"]))
        answer = _page(desk, names if which == ALL else [which], framing)
    except RearlogError as error:
        return _choice(desk, told, told_of(error))
    if told["keep"]:
        name = "report.html" if which == ALL else f"{which}.html"
        answer.headers.set("Content-Disposition", "attachment", filename=name)
    return answer


def report(desk: Desk, which: str) -> ResponseReturnValue:
    """The self-contained page of one cohort, or of all that are on the shelf."""
    return _page(desk, [which], _asked_for())


def report_of_all(desk: Desk) -> ResponseReturnValue:
    """The self-contained page of all cohorts."""
    names = desk.shelf.names()
    if not names:
        raise UsageError("there is no cohort to report of")
    return _page(desk, names, _asked_for())


def _asked_for() -> Framing:
    return Framing(readers=_readers(request.args.get("for", Readers.CLASS)))


def _readers(text: str) -> Readers:
    if text not in list(Readers):
        raise UsageError("say who is meant", f"choose {', '.join(Readers)}")
    return Readers(text)


def _page(desk: Desk, names: Sequence[str], framing: Framing) -> Response:
    """A page rests on the hour too: it says what is to come from now on."""
    from rearlog.present.page import policy, told  # start-up time: matplotlib

    hour = int(desk.now().timestamp() // 3600)
    drawn = desk.shelf.kept(("report", hour), names, lambda: _drawn(desk, names))
    answer = Response(
        told(drawn, framing, in_browser=True), content_type="text/html; charset=utf-8"
    )
    answer.headers["Content-Security-Policy"] = policy()
    return answer


def _drawn(desk: Desk, names: Sequence[str]) -> Drawn:
    from rearlog.present.contents import contents
    from rearlog.present.page import drawn

    return drawn(contents([desk.shelf.notebook(name) for name in names], desk.now()))


def _shown(desk: Desk) -> str:
    """What of the log that may tell who somebody is stands in the reports."""
    found = desk.shelf.readable()
    agreements = [desk.shelf.kept("agreement", [name], found[name].agreement) for name in found]
    compared = any(each.pairs for each in agreements)
    logs = [each.log for each in found.values()]
    return shown_on_the_page(logs, observers=compared) if logs else ""


def share(desk: Desk) -> ResponseReturnValue:
    """Open data: which cohorts, on which terms, and what would be kept of what names people."""
    names = desk.shelf.names()
    chosen = request.args.getlist("cohort")
    problems, tables = [], []
    if chosen:
        try:
            _, publication = _asked(desk)
            tables = [treated_table(publication.treated)]
        except RearlogError as error:
            problems = told_of(error)
    page = render_template(
        "share.html.j2",
        names=names,
        called=desk.shelf.called(),
        chosen=chosen,
        told=request.args,
        licences=LICENCES.values(),
        tables=tables,
        problems=problems,
        query=query_of(request.args),
    )
    return page, 400 if problems else 200


def open_data_archive(desk: Desk) -> ResponseReturnValue:
    """The same files as those of the command, as a ZIP archive."""
    notebooks, publication = _asked(desk)
    darwin_core = request.args.get("kind") == "darwin-core"
    files = open_data(publication, darwin_core=darwin_core)
    names = [each.name for each in notebooks]
    what = names[0] if len(names) == 1 else "cohorts"
    kind = "darwin-core" if darwin_core else "data"
    return attachment(zipped(files), f"{what}-{kind}.zip", "application/zip")


def _asked(desk: Desk) -> tuple[list[Notebook], Publication]:
    """The cohorts that were chosen, and the terms; raises UsageError for what cannot be."""
    chosen = [name for name in desk.shelf.names() if name in request.args.getlist("cohort")]
    if not chosen:
        raise UsageError("choose at least one cohort")
    licence = request.args.get("licence", "")
    if licence and licence not in LICENCES:
        raise UsageError("that licence is not known here", f"choose {', '.join(LICENCES)}")
    title = short_enough(request.args.get("title", "").strip())
    notebooks = [desk.shelf.notebook(name) for name in chosen]
    refuse_copies(notebooks)
    publication = Publication(
        tuple(each.log for each in notebooks),
        title or None,
        LICENCES[licence] if licence else None,
        names="names" in request.args,
        notes="notes" in request.args,
        blur=COARSE if {"place", "names"} & request.args.keys() else None,
        publisher=usual.publisher(),
        on=desk.now().date(),
    )
    return notebooks, publication
