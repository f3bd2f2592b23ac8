"""Styles, scripts and drawings of our own: a fixed list, read once."""

from __future__ import annotations

from functools import cache
from hashlib import sha256
from importlib import resources

from flask import Response, abort, request
from flask.typing import ResponseReturnValue

from rearlog.web.desk import Desk

_KINDS = {
    ".css": "text/css; charset=utf-8",
    ".js": "text/javascript; charset=utf-8",
    ".svg": "image/svg+xml",
    ".woff": "font/woff",
}


SHARED = ("tokens.css", "charts.css", "document.css", "practice.css", "practice.js")
"""What pages that need no server are made of too."""


@cache
def _assets() -> dict[str, tuple[bytes, str, str]]:
    """The content, the kind and the version of each, by name."""
    found = {}
    own = [*(resources.files("rearlog.web") / "static").iterdir()]
    shared = resources.files("rearlog.present") / "templates"
    fonts = resources.files("rearlog.charts.fonts").iterdir()
    for each in (*own, *(shared / name for name in SHARED), *fonts):
        kind = _KINDS.get(f".{each.name.rpartition('.')[2]}")
        if kind:
            content = each.read_bytes()
            found[each.name] = content, kind, sha256(content).hexdigest()[:16]
    return found


def asset(_desk: Desk, name: str) -> ResponseReturnValue:
    """One of them; the browser asks again whether it is still the same."""
    if name not in _assets():
        abort(404)
    content, kind, version = _assets()[name]
    answer = Response(content, content_type=kind)
    answer.set_etag(version)
    answer.headers["Cache-Control"] = "no-cache"
    return answer.make_conditional(request)
