"""Who is connected, and how others come in."""

from __future__ import annotations

import io

import segno
from flask import abort, redirect, render_template, request
from flask.typing import ResponseReturnValue
from markupsafe import Markup

from rearlog.web.desk import Desk
from rearlog.web.door import Role
from rearlog.web.forms import whole


def people(desk: Desk) -> ResponseReturnValue:
    """The codes to scan and to type, and everybody who is in."""
    address = desk.addresses[0] if desk.addresses else None
    ways = [
        (role.name.lower(), code, _to_scan(f"{address}/join#{code}"))
        for role, code in desk.door.codes.items()
        if address
    ]
    return render_template(
        "people.html.j2",
        ways=ways,
        addresses=desk.addresses,
        visitors=desk.door.visitors(),
        role_name=lambda role: Role(role).name.lower(),
    )


def end(desk: Desk) -> ResponseReturnValue:
    """Somebody, or everybody but keepers, is to go."""
    who = request.form.get("who", "")
    if who == "all":
        desk.door.end_all()
    elif (number := whole(who)) is not None:
        desk.door.end(number)
    else:
        abort(400)
    return redirect("/people", 303)


def _to_scan(text: str) -> Markup:
    """A code to scan (ISO/IEC 18004) as SVG without styles."""
    out = io.BytesIO()
    segno.make(text, error="m").save(
        out, kind="svg", xmldecl=False, svgns=True, omitsize=True, svgclass="scan", lineclass=None
    )
    return Markup(out.getvalue().decode())
