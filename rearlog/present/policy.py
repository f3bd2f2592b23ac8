"""What a page lets the browser do: show itself, run its own script, and nothing else.

A page holds texts that people wrote into a log. Should one of them ever get past the escaping, the
browser still neither runs it nor fetches anything for it: only the script and the style whose
hashes stand in the page's Content-Security-Policy (W3C, CSP Level 3) count.
"""

from __future__ import annotations

import json
from base64 import b64encode
from collections.abc import Sequence
from functools import cache
from hashlib import sha256
from importlib import resources

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from rearlog.present.cells import cell
from rearlog.records import command_text


@cache
def environment(*, in_browser: bool = False) -> Environment:
    """What pages are made with of the templates: all that is put into one is escaped, and none of
    it may be missing. Those made `in_browser` name no commands."""
    made = Environment(
        loader=PackageLoader("rearlog.present"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        finalize=command_text.in_browser if in_browser else None,
    )
    made.filters["cell"] = cell
    return made


def template(name: str) -> str:
    """The text of a style or a script among the templates."""
    return (resources.files("rearlog.present") / "templates" / name).read_text(encoding="utf-8")


def guarded(styles: Sequence[str], scripts: Sequence[str], fonts: str = "") -> dict[str, Markup]:
    """A page's `style`, `script` and `policy`, made of the templates of these names.

    `fonts` are style rules with fonts inside of them.
    """
    style, script = ("".join(map(template, names)) for names in (styles, scripts))
    style = f"{fonts}{style}"
    policy = (
        f"default-src 'none'; script-src '{_hash(script)}'; style-src '{_hash(style)}'; "
        f"{'font-src data:; ' if fonts else ''}base-uri 'none'; form-action 'none'"
    )
    return {"style": Markup(style), "script": Markup(script), "policy": Markup(policy)}


def rendered(name: str, styles: Sequence[str], scripts: Sequence[str], **parts: object) -> str:
    """The template of a name as the text of a page, with these styles and scripts."""
    return environment().get_template(name).render(**parts, **guarded(styles, scripts))


def _hash(text: str) -> str:
    return f"sha256-{b64encode(sha256(text.encode()).digest()).decode()}"


def inert_json(document: object) -> Markup:
    """JSON that cannot end the element that it stands in; moments and days as ISO 8601."""
    text = json.dumps(document, default=lambda moment: moment.isoformat())
    return Markup(text.replace("<", "\\u003c"))
