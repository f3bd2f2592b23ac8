"""The pages that come with the package, as `rearlog docs` opens them."""

from __future__ import annotations

from flask import abort, render_template
from flask.typing import ResponseReturnValue

from rearlog.present.documents import NAMES, Document, as_html, contents, document
from rearlog.web.desk import Desk


def listed(_desk: Desk) -> ResponseReturnValue:
    """The list of all."""
    return _shown(contents())


def page(_desk: Desk, page: str) -> ResponseReturnValue:
    """One of them."""
    if page not in NAMES:
        abort(404)
    return _shown(document(page))


def _shown(page: Document) -> str:
    return render_template("document.html.j2", shown=page, body=as_html(page.text, "/read/{}"))
