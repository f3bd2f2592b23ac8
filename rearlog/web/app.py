"""The application: routes behind their gates, the headers of every answer, and what went wrong."""

from __future__ import annotations

from typing import Any

from flask import Flask, Response, g, make_response, redirect, render_template, request
from flask.typing import ResponseReturnValue
from jinja2 import StrictUndefined
from werkzeug.exceptions import HTTPException

from rearlog.present.cells import cell
from rearlog.records.errors import RearlogError, StoreError
from rearlog.web.desk import Desk
from rearlog.web.door import Role, TooManyTries
from rearlog.web.gates import Refused, pass_host, pass_identity, pass_origin, pass_role
from rearlog.web.routes import BY_NAME, ROUTES, Route, may
from rearlog.web.shelf import NotOnTheShelf
from rearlog.web.troubles import one, told_of

LARGEST_REQUEST = 24 * 2**20
"""A logger's file of a year in bytes, and some; what is larger is refused unread."""

POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' blob:; "
    "font-src 'self'; connect-src 'self'; form-action 'self'; base-uri 'none'; "
    "frame-ancestors 'none'"
)
HEADERS = {
    "Content-Security-Policy": POLICY,
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "geolocation=(), microphone=()",
}


class _Application(Flask):
    """Flask, with no address in its log."""

    def log_exception(self, exc_info: Any) -> None:
        """Tell of an error under the rule of its address: the address may hold a secret."""
        self.logger.error("%s %s failed", request.method, request.url_rule, exc_info=exc_info)


def create_app(desk: Desk) -> Flask:
    """The application over a desk.

    Raises RuntimeError where it would answer an address that the table of routes does not name.
    """
    app = _Application("rearlog.web", static_folder=None)
    app.config["MAX_CONTENT_LENGTH"] = LARGEST_REQUEST
    app.config["MAX_FORM_MEMORY_SIZE"] = 2**20
    app.jinja_env.autoescape = True  # whatever a template's file is called
    app.jinja_env.undefined = StrictUndefined
    app.jinja_env.filters["cell"] = cell
    app.jinja_env.trim_blocks = app.jinja_env.lstrip_blocks = True
    for route in ROUTES:
        app.add_url_rule(
            route.rule,
            route.name,
            _answering(route, desk),
            methods=[route.method],
            provide_automatic_options=False,
        )
    refuse_unknown(app)

    @app.before_request
    def gates() -> None:
        g.visitor = None
        pass_host(request, desk.hosts)
        g.visitor = pass_identity(request, desk.door)
        pass_origin(request, desk.hosts)
        route = BY_NAME.get(request.endpoint or "")
        if route is not None:
            pass_role(g.visitor, route.least)

    @app.after_request
    def headers(response: Response) -> Response:
        for name, value in HEADERS.items():
            response.headers.setdefault(name, value)
        kept = "private, no-cache" if request.method == "POST" else "no-store"
        response.headers.setdefault("Cache-Control", kept)  # going back shows a form's answer
        return response

    @app.context_processor
    def shared() -> dict[str, Any]:
        visitor = g.get("visitor")
        role = visitor.role if visitor else None
        return {
            "visitor": visitor,
            "Role": Role,
            "may": lambda name: may(role, name),
            "keeps_photos": desk.photos,
            "tab": "",
        }

    app.register_error_handler(Refused, _refused)
    app.register_error_handler(NotOnTheShelf, _not_there)
    app.register_error_handler(TooManyTries, _too_many)
    app.register_error_handler(RearlogError, _mistake)
    app.register_error_handler(HTTPException, _other)
    return app


def refuse_unknown(app: Flask) -> None:
    """Raise RuntimeError unless the addresses of the application are those of the table."""
    known = {(each.rule, each.method) for each in ROUTES}
    served = {
        (rule.rule, method)
        for rule in app.url_map.iter_rules()
        for method in (rule.methods or set()) - {"HEAD", "OPTIONS"}
    }
    if served != known:
        raise RuntimeError(f"addresses without a route: {sorted(served ^ known)}")


def _answering(route: Route, desk: Desk) -> Any:
    def answer(**parts: str) -> ResponseReturnValue:
        return route.view(desk, **parts)

    return answer


def wants_json() -> bool:
    """Whether a script asks, which reads problems as data."""
    return request.headers.get("Accept", "").startswith("application/json")


def _told(status: int, title: str, problems: list[dict[str, str]]) -> Response:
    if wants_json():
        return make_response({"problems": problems}, status)
    page = render_template("trouble.html.j2", title=title, problems=problems)
    return make_response(page, status)


def _refused(error: Refused) -> ResponseReturnValue:
    if error.status == 401 and request.method == "GET" and not wants_json():
        return redirect("/join", 303)
    return _told(error.status, "Not here", one(error.why))


def _not_there(_error: NotOnTheShelf) -> ResponseReturnValue:
    return _told(404, "Not on this shelf", one("There is no cohort of that name in this folder."))


def _too_many(error: TooManyTries) -> ResponseReturnValue:
    wait = max(1, round(error.seconds))
    answer = _told(429, "Too many tries", one(f"Wait {wait} seconds, then type the code again."))
    answer.headers["Retry-After"] = str(wait)
    return answer


def _mistake(error: RearlogError) -> ResponseReturnValue:
    return _told(
        500 if isinstance(error, StoreError) else 400, "That cannot be done", told_of(error)
    )


def _other(error: HTTPException) -> ResponseReturnValue:
    return _told(error.code or 500, error.name, one(error.description or error.name))
