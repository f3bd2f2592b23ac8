"""The pages that ship with the package: what they are, and how they look in a browser.

Each is a Markdown file in `rearlog/documents/`: its first heading is its title, the paragraph after
it says what it is for. The page of methods is written here, from what `explain` knows.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from importlib import resources

from markdown_it import MarkdownIt
from markdown_it.token import Token
from markupsafe import Markup
from msgspec import Struct

from rearlog import __version__
from rearlog.present.anchors import anchor
from rearlog.present.policy import rendered
from rearlog.records.errors import UsageError
from rearlog.records.suggestions import suggestion

NAMES = (
    "first-week",
    "browser",
    "which-stage",
    "species",
    "five-temperatures",
    "egg-to-egg",
    "season",
    "command-line",
    "formats",
    "python",
    "questions-in-sql",
    "methods",
    "adding",
)
"""The pages, in the order in which they are read."""

WRITTEN_HERE = "methods"


class Document(Struct, frozen=True):
    """A page: the name to ask for it by, its title, what it is for, and the text as Markdown."""

    name: str
    title: str
    purpose: str
    text: str


@cache
def document(name: str) -> Document:
    """The page of a name; raises UsageError where there is none."""
    if name not in NAMES:
        raise UsageError(f"there is no page “{name}”", suggestion(name, NAMES))
    if name == WRITTEN_HERE:
        from rearlog.present.methods_document import methods_document  # start-up time

        text = methods_document()
    else:
        text = (resources.files("rearlog") / "documents" / f"{name}.md").read_text(encoding="utf-8")
    title, purpose, _ = text.split("\n\n", 2)
    return Document(name, title.removeprefix("# "), " ".join(purpose.split()), text)


def documents() -> tuple[Document, ...]:
    """All pages, in the order of reading."""
    return tuple(document(each) for each in NAMES)


def contents() -> Document:
    """The page that lists the others."""
    lines = [f"- [{each.title}]({each.name}.md): {each.purpose}" for each in documents()]
    purpose = "Everything that comes with this version, to read on."
    text = "\n".join(["# rearlog: documents", "", purpose, "", *lines, ""])
    return Document("index", "rearlog: documents", purpose, text)


def as_page(shown: Document) -> str:
    """A page as HTML text: it needs no network, and leads to the others beside it."""
    return rendered(
        "document.html.j2",
        ("tokens.css", "page.css", "document.css"),
        (),
        shown=shown,
        body=as_html(shown.text),
        all=documents(),
        version=__version__,
    )


def as_html(text: str, others: str = "{}.html") -> Markup:
    """Markdown of a page as HTML; `others` makes the address of another page of its name."""
    reader = MarkdownIt("commonmark", {"html": False}).enable("table")
    tokens = reader.parse(text)
    for each in tokens:
        for inline in each.children or ():
            _lead_on(inline, others)
    return Markup(reader.renderer.render(_reachable(tokens), reader.options, {}))


def _lead_on(token: Token, others: str) -> None:
    address = token.attrGet("href")
    if isinstance(address, str):
        page, _, part = address.partition("#")
        if page.endswith(".md"):
            address = others.format(page.removesuffix(".md")) + (f"#{part}" if part else "")
            token.attrSet("href", address)


def _reachable(tokens: Sequence[Token]) -> list[Token]:
    """Give headings an anchor; what may be wider than a screen is reached by the keyboard."""
    for place, each in enumerate(tokens):
        if each.type == "heading_open":
            each.attrSet("id", anchor(tokens[place + 1].content))
        if each.type == "fence":
            each.attrSet("tabindex", "0")
    return list(tokens)
