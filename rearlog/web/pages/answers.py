"""What a cohort answers: the questions, and an answer each, in words, as a picture, as tables."""

from __future__ import annotations

from flask import abort, render_template, request
from flask.typing import ResponseReturnValue
from msgspec import Struct

from rearlog.analysis.heat.methods import CUTOFFS, METHODS
from rearlog.present.csv import to_csv
from rearlog.present.json import to_json
from rearlog.present.pictures import ChartOnPage
from rearlog.records.errors import RearlogError
from rearlog.records.factors import OF_INDIVIDUALS
from rearlog.sentences.phrases import sentence_case
from rearlog.web.answering import (
    FORMS,
    PICTURES,
    Asked,
    Divided,
    as_said_here,
    attachment,
    divided,
    doubts_about,
    picture,
    query_of,
    read_options,
)
from rearlog.web.answers import BY_KEY, QUESTIONS, Found, Question, alt_text, drawn, notebook_of
from rearlog.web.desk import Desk
from rearlog.web.forms import present
from rearlog.web.troubles import told_of

MOST_OPEN = 30
"""Tables of more rows than these are folded."""

_NO_OPTIONS = Asked()


def answers(desk: Desk, name: str) -> ResponseReturnValue:
    """All questions, each with its answer in a sentence where there is one."""
    cohort = desk.shelf.notebook(name).log.cohort
    lines = [(each, _in_short(desk, name, each)) for each in QUESTIONS]
    return render_template("answers.html.j2", name=name, cohort=cohort, lines=lines, tab="answers")


def answer(desk: Desk, name: str, kind: str) -> ResponseReturnValue:
    """One answer as a page; or with an ending such as `.png` or `.csv` as a file."""
    key, _, form = kind.partition(".")
    question = BY_KEY.get(key)
    if question is None or (form and form not in FORMS):
        abort(404)
    if form in PICTURES and not question.chart:
        abort(404)
    return _file(desk, name, question, form) if form else _page(desk, name, question)


def _in_short(desk: Desk, name: str, question: Question) -> str:
    if question.key == "deadline":  # it is about a day that is not chosen yet
        return ""
    try:
        return question.lead(_found(desk, name, question, _NO_OPTIONS).result)
    except RearlogError as error:
        return sentence_case(as_said_here(error.problems[0].message))


def _asked(desk: Desk, name: str, question: Question) -> Asked:
    cohort = desk.shelf.notebook(name).log.cohort
    return read_options(
        question.options, request.args, cohort, present(desk, cohort.zone), desk.shelf
    )


def _key(desk: Desk, question: Question, asked: Asked) -> tuple[object, ...]:
    """What an answer rests on beside the files."""
    now = question.of_now and asked.as_of is None
    return question.key, asked, int(desk.now().timestamp() // 60) if now else None


def _files(name: str, asked: Asked) -> list[str]:
    return [name, *(each.stem for each in asked.past)]


def _found(desk: Desk, name: str, question: Question, asked: Asked) -> Found:
    """The answer, found once until a file changes."""

    def find() -> Found:
        notebook = notebook_of(desk.shelf.notebook(name), asked)
        moment = asked.as_of or present(desk, notebook.log.cohort.zone)
        return Found(notebook, asked, question.find(notebook, asked, moment))

    key = ("answer", *_key(desk, question, asked))
    return desk.shelf.kept(key, _files(name, asked), find)


def _file(desk: Desk, name: str, question: Question, form: str) -> ResponseReturnValue:
    from rearlog.charts.output import render  # start-up time: matplotlib

    asked = _asked(desk, name, question)

    def make() -> bytes:
        found = _found(desk, name, question, asked)
        if form in PICTURES:
            return render(drawn(question, found), form)
        if form == "json":
            return f"{to_json(found.result)}\n".encode()
        return to_csv(question.lists[rows](found)).encode()

    (usual, *_) = question.lists
    rows = request.args.get("rows", usual)
    if rows not in question.lists:
        abort(404)
    key = ("file", form, rows, *_key(desk, question, asked))
    content = desk.shelf.kept(key, _files(name, asked), make)
    what = question.key if form != "csv" or rows == usual else f"{question.key}-{rows}"
    return attachment(content, f"{name}-{what.replace(' ', '-')}.{form}", FORMS[form])


class _Shown(Struct, frozen=True):
    """What a page shows of an answer: the sentence first."""

    lead: str
    doubts: tuple[str, ...]
    to_do: str
    picture: ChartOnPage | None
    below: Divided


def _page(desk: Desk, name: str, question: Question) -> ResponseReturnValue:
    notebook = desk.shelf.notebook(name)
    cohort = notebook.log.cohort
    shown, problems, status = None, [], 200
    if question.key == "deadline" and not request.args.get("day"):
        pass  # the day is asked for first
    else:
        asked = _NO_OPTIONS
        try:
            asked = _asked(desk, name, question)
            key = ("shown", *_key(desk, question, asked))
            shown = desk.shelf.kept(
                key, _files(name, asked), lambda: _show(desk, name, question, asked)
            )
        except RearlogError as error:
            problems = told_of(error)
            status = 400 if any(request.args.values()) else 200
    page = render_template(
        "answer.html.j2",
        name=name,
        cohort=cohort,
        question=question,
        factors=OF_INDIVIDUALS,
        told=request.args,
        shown=shown,
        problems=problems,
        stages=cohort.species.codes,
        methods=METHODS,
        cutoffs=CUTOFFS,
        others=_of_the_species(desk, name),
        pictures=PICTURES,
        most_open=MOST_OPEN,
        query=query_of(request.args, rows=""),
        query_of=lambda rows: query_of(request.args, rows=rows),
        tab="answers",
    )
    return page, status


def _show(desk: Desk, name: str, question: Question, asked: Asked) -> _Shown:
    found = _found(desk, name, question, asked)
    lead = as_said_here(question.lead(found.result))
    below = divided(lead, question.told(found.result), question.tables(found))
    to_do = question.to_do(found.result)
    draws = question.chart and not to_do
    return _Shown(
        lead,
        doubts_about(found.result.contradicted),
        to_do,
        picture(
            question.key, lambda look: drawn(question, found, look=look), alt_text(question, found)
        )
        if draws
        else None,
        below,
    )


def _of_the_species(desk: Desk, name: str) -> list[str]:
    """Other cohorts of the same species, which may tell what to expect of this one."""
    own = desk.shelf.notebook(name).log.cohort.species
    cohorts = {other: each.log.cohort for other, each in desk.shelf.readable().items()}
    return [
        other
        for other, each in cohorts.items()
        if other != name and each.species.codes == own.codes
    ]
