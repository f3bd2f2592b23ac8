"""The pages that come with the package, as `rearlog docs` opens them."""

from __future__ import annotations

from flask import abort, render_template
from flask.typing import ResponseReturnValue

from rearlog.present.documents import NAMES, as_html, contents, document
from rearlog.web.desk import Desk


def listed(_desk: Desk) -> ResponseReturnValue:
    """The list of all."""
    shown = contents()
    return render_template("document.html.j2", shown=shown, body=as_html(shown.text, "/read/{}"))


def page(_desk: Desk, page: str) -> ResponseReturnValue:
    """One of them."""
    if page not in NAMES:
        abort(404)
    shown = document(page)
    return render_template("document.html.j2", shown=shown, body=as_html(shown.text, "/read/{}"))
