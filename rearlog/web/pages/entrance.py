"""Coming in, being called, going out."""

from __future__ import annotations

from flask import Response, abort, g, make_response, redirect, render_template, request
from flask.typing import ResponseReturnValue

from rearlog.records.errors import UsageError
from rearlog.web import running
from rearlog.web.desk import Desk
from rearlog.web.door import Role
from rearlog.web.gates import COOKIE, is_here


def enter(desk: Desk, secret: str) -> ResponseReturnValue:
    """The keeper comes in with the address that was opened first, which works once.

    Whoever only asks what is there (HEAD) does not use it up.
    """
    if not is_here(request.remote_addr):
        abort(404)
    if request.method == "HEAD":
        return ""
    made = desk.door.enter(secret, request.remote_addr or "")
    if made is None and g.visitor is not None and g.visitor.role is Role.KEEPER:
        return redirect("/", 303)  # a link that was opened twice
    if made is None:
        return render_template("used_up.html.j2"), 403
    return _with_pass("/", made)


def again(desk: Desk) -> ResponseReturnValue:
    """Another start by the same user, which proves to be that, is told a new first address."""
    nonce, told = (request.form.get(name, "") for name in ("nonce", "proof"))
    if not desk.own or not is_here(request.remote_addr):
        abort(404)
    if not running.asks_rightly(desk.own, nonce, told):
        abort(404)
    return running.answer_to(desk.own, nonce, desk.door.secret(), bool(desk.door.codes))


def join(desk: Desk) -> ResponseReturnValue:
    """Where a code is typed."""
    return _asked(desk)


def take_code(desk: Desk) -> ResponseReturnValue:
    """A code was typed: whoever knows it is in."""
    code, initials = (request.form.get(name, "").strip() for name in ("code", "initials"))
    try:
        made = desk.door.join(code, initials, request.remote_addr or "")
    except UsageError as error:
        problem = str(error.problems[0])
        return _asked(desk, problem, initials), 400
    if made is None:
        problem = "That is not the code. Look at the board again."
        return _asked(desk, problem, initials), 403
    if g.visitor is not None and g.visitor.role is not Role.KEEPER:
        desk.door.end(g.visitor.number)  # the same browser once more: it has one pass
    return _with_pass("/", made)


def initials(desk: Desk) -> ResponseReturnValue:
    """Somebody says how they are called from now on."""
    desk.door.call(g.visitor.number, request.form.get("initials", "").strip())
    return {"initials": request.form["initials"].strip()}


def leave(desk: Desk) -> ResponseReturnValue:
    """Somebody goes."""
    desk.door.end(g.visitor.number)
    answer = make_response(redirect("/join", 303))
    answer.delete_cookie(COOKIE, httponly=True, samesite="Strict")
    return answer


def _asked(desk: Desk, problem: str = "", initials: str = "") -> str:
    return render_template(
        "join.html.j2",
        shared=bool(desk.door.codes),
        here=is_here(request.remote_addr),
        problem=problem,
        initials=initials,
    )


def _with_pass(target: str, made: str) -> Response:
    answer = make_response(redirect(target, 303))
    answer.set_cookie(COOKIE, made, httponly=True, samesite="Strict", path="/")
    answer.headers["Referrer-Policy"] = "no-referrer"
    return answer
