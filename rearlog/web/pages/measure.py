"""Measuring in a picture, on the device alone."""

from __future__ import annotations

from flask import render_template
from flask.typing import ResponseReturnValue

from rearlog.web.desk import Desk


def measure(_desk: Desk) -> ResponseReturnValue:
    """The page; the picture never leaves the device."""
    return render_template("measure.html.j2")
