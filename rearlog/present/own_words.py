"""Words of one's own for a page: plain Markdown, of which nothing is run, fetched or taken as HTML.

What people type is shown, never obeyed. Of CommonMark there are paragraphs, headings, lists,
quotations, rules, emphasis and links; HTML stays the text that it is. A link leads to an `https`
address and is followed by whoever chooses to; an address of another kind stays text. A picture
would have to come from elsewhere: the words that describe it stand in its place.
"""

from __future__ import annotations

import re
from collections.abc import MutableMapping, Sequence
from functools import cache
from html import escape
from pathlib import Path
from typing import Any

from markdown_it import MarkdownIt
from markdown_it.renderer import RendererHTML
from markdown_it.token import Token
from markupsafe import Markup

from rearlog.exchange.bounded import content
from rearlog.records.errors import ImportRefused, Problem, UsageError

LARGEST_BYTES = 40_000
"""Some six thousand words; a page that is read before its pictures has far fewer."""

_RULES = ("paragraph", "heading", "lheading", "list", "blockquote", "hr", "newline", "escape",
          "entity", "emphasis", "link", "image", "autolink")  # fmt: skip
_NOT_TEXT = re.compile(
    "[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069\ufffe\uffff]"
)
"""What shows nothing by itself: control characters, and those that turn the text around them."""
_FIRST_LEVEL, _LAST_LEVEL = 2, 4
"""Headings stand beneath the page's title."""


def read(path: Path) -> str:
    """The text of a file; raises ImportRefused for one that is too large, or no UTF-8."""
    found = content(path, LARGEST_BYTES)
    try:
        return found.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = found.count(b"\n", 0, error.start) + 1
        where = f"{path}, line {line}"
        raise ImportRefused(Problem("the text is not UTF-8", where, "save it as UTF-8")) from None


def as_html(text: str) -> Markup:
    """Markdown as HTML that a page can hold; raises UsageError for more than LARGEST_BYTES."""
    if len(text.encode("utf-8", "replace")) > LARGEST_BYTES:
        raise UsageError(f"your own words have more than {LARGEST_BYTES // 1000} kB", "say less")
    reader = _reader()
    tokens = reader.parse(_NOT_TEXT.sub("\ufffd", text))
    _set_levels(tokens)
    return Markup(reader.renderer.render(tokens, reader.options, {}))


class _Reader(MarkdownIt):
    def validateLink(self, url: str) -> bool:
        """Whether an address may be led to."""
        return url.lower().startswith("https://")


class _Writer(RendererHTML):
    def link_open(
        self, tokens: Sequence[Token], place: int, options: Any, env: MutableMapping[str, Any]
    ) -> str:
        """A link that tells the other side nothing of the page that it stands on."""
        address = escape(str(tokens[place].attrGet("href")))
        return f'<a href="{address}" rel="noopener noreferrer">'

    def image(
        self, tokens: Sequence[Token], place: int, options: Any, env: MutableMapping[str, Any]
    ) -> str:
        """What a picture shows, in the words that describe it."""
        return escape(self.renderInlineAsText(tokens[place].children, options, env))


@cache
def _reader() -> _Reader:
    reader = _Reader("zero", renderer_cls=_Writer)
    reader.enable(list(_RULES))
    return reader


def _set_levels(tokens: Sequence[Token]) -> None:
    """Let headings begin beneath the page's title and leave none out on their way down."""
    level = _FIRST_LEVEL - 1
    for each in tokens:
        if each.type == "heading_open":
            asked = int(each.tag[1]) + _FIRST_LEVEL - 1
            level = min(asked, level + 1, _LAST_LEVEL)
        if each.type in ("heading_open", "heading_close"):
            each.tag = f"h{level}"
