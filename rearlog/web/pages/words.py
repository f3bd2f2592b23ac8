"""What the numbers of an answer are, as `rearlog explain` tells them."""

from __future__ import annotations

from flask import abort, render_template
from flask.typing import ResponseReturnValue

from rearlog.present.explaining import ANSWERS, explain
from rearlog.present.explanations import explained_tables
from rearlog.web.desk import Desk

PART_OF = {"deadline": "forecast", "review": "forecast"}
"""Questions whose results stand with those of another answer."""


def words(desk: Desk, answer: str) -> ResponseReturnValue:
    """Every name of an answer, with what it is and its formula."""
    name = PART_OF.get(answer, answer)
    if name not in ANSWERS:
        abort(404)
    return render_template("words.html.j2", tables=explained_tables(explain(name)))
