"""What pages with answers have in common: files to keep, and words that fit a browser."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import replace
from urllib.parse import urlencode

from flask import Response
from werkzeug.datastructures import MultiDict

from rearlog.present.tables import Table
from rearlog.records.errors import RearlogError
from rearlog.web.troubles import told_of

FORMS = {
    "png": "image/png",
    "svg": "image/svg+xml",
    "pdf": "application/pdf",
    "csv": "text/csv; charset=utf-8",
    "json": "application/json",
}
"""What can be kept as a file, by the ending of its name."""

PICTURES = ("png", "svg", "pdf")

_COMMAND = re.compile(r"“?rearlog [a-z]|--[a-z]")
_ON_COMMANDS = re.compile(r"; to [a-z ]+: rearlog [^;.]*")


def attachment(content: bytes, name: str, kind: str) -> Response:
    """A file that the browser keeps; `name` is ours or a cohort's, never a text of a request."""
    answer = Response(content, content_type=kind)
    answer.headers.set("Content-Disposition", "attachment", filename=name)
    return answer


def query_of(args: MultiDict[str, str], **instead: str) -> str:
    """What was asked, for a link that asks the same, with other values of some."""
    asked = [(name, value) for name, value in args.items(multi=True) if value]
    return urlencode([*(each for each in asked if each[0] not in instead), *instead.items()])


def told_here(error: RearlogError, instead: str = "") -> list[dict[str, str]]:
    """The problems of an error; a remedy that names a command gives way to `instead`."""
    return [
        each | {"remedy": instead} if _COMMAND.search(each["remedy"]) else each
        for each in told_of(error)
    ]


def without_commands(sentence: str) -> str:
    """A sentence of an answer without the command that it ends with."""
    return _ON_COMMANDS.sub("", sentence)


def beside(tables: Iterable[Table], said: Sequence[str]) -> list[Table]:
    """Tables whose notes do not say again what the page has said, and name no command."""
    return [
        replace(
            each,
            words=[without_commands(line) for line in each.words if line and line not in said],
        )
        for each in tables
    ]
