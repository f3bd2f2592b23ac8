"""Words of one's own on a page: Markdown that is shown, whatever it tries."""

import os
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rearlog.present.own_words import LARGEST_BYTES, as_html, read
from rearlog.records.errors import ImportRefused, UsageError
from tests.linear_time import assert_linear

TAGS = {"p", "h2", "h3", "h4", "ul", "ol", "li", "blockquote", "hr", "br", "em", "strong", "a"}


class Elements(HTMLParser):
    """The elements of some HTML with their attributes, and its text."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.found: list[tuple[str, dict[str, Any]]] = []
        self.text = ""
        self.feed(str(html))
        self.close()

    def handle_starttag(self, tag: str, attrs: Any) -> None:
        self.found.append((tag, dict(attrs)))

    def handle_data(self, data: str) -> None:
        self.text += data


def assert_harmless(html: str) -> None:
    for tag, attributes in Elements(html).found:
        assert tag in TAGS
        if tag == "a":
            assert attributes.pop("href").lower().startswith("https://")
            assert attributes.pop("rel") == "noopener noreferrer"
        if tag == "ol":
            attributes.pop("start", None)
        assert attributes == {}


def test_what_is_written_is_set() -> None:
    html = as_html(
        "# Ours\n\nWe *saw* **them**.\n\n- one\n- two\n\n> said\n\n[more](https://example.org/a?b=c)"
    )
    assert "<h2>Ours</h2>" in html
    assert "<p>We <em>saw</em> <strong>them</strong>.</p>" in html
    assert "<li>one</li>" in html
    assert "<blockquote>" in html
    assert '<a href="https://example.org/a?b=c" rel="noopener noreferrer">more</a>' in html
    assert_harmless(html)


def test_headings_stand_beneath_the_page_s_title_and_leave_none_out() -> None:
    found = Elements(as_html("### a\n\n# b\n\n##### c\n\n###### d\n\n###### e\n\n## f")).found
    assert [tag for tag, _ in found] == ["h2", "h2", "h3", "h4", "h4", "h3"]


@pytest.mark.parametrize(
    "text",
    [
        "<script>alert(1)</script>",
        "<img src=x onerror=alert(1)>",
        "a <b onclick=x>b</b> <style>*{}</style> <!-- c --> <![CDATA[d]]> <?e?>",
        "[a](javascript:alert(1))",
        "[a](JaVaScRiPt&colon;alert(1))",
        "[a](<java\nscript:alert(1)>)",
        "[a](data:text/html;base64,PHNjcmlwdD4=)",
        "[a](http://example.org)",
        "[a](//example.org)",
        "<javascript:alert(1)>",
        "![a](data:image/svg+xml;base64,PHN2Zz4=)",
        "![a](https://example.org/x.png)",
        "[![a](https://example.org/x.png)](https://example.org)",
        '[a](https://example.org "x" onclick="y)',
        '[a](https://example.org/"onclick=alert(1))',
        '[a]: https://example.org "t"\n\n[a]',
        "a\0b\x1b[2J\u202ec",
        "&lt;script&gt;alert(1)&lt;/script&gt;",
        "```html\n<script>\n```",
        "    <script>",
    ],
)
def test_nothing_is_run_or_fetched(text: str) -> None:
    html = as_html(text)
    assert_harmless(html)
    assert not set(html) & set("\0\x1b\u202e")


def test_a_picture_is_told_in_its_words() -> None:
    told = Elements(as_html("See ![two <b>cups</b> & a lid](https://example.org/x.png)."))
    assert told.text.strip() == "See two <b>cups</b> & a lid."
    assert [tag for tag, _ in told.found] == ["p"]


@given(st.text(st.sampled_from("<>[]()!*_`#>-+\\ \n\t&;:/\"'=ajhtpsx1.\0\u202e"), max_size=200))
def test_whatever_is_typed_is_harmless(text: str) -> None:
    assert_harmless(as_html(text))


@pytest.mark.parametrize(
    "piece",
    ["*a **a ", "*", "_a", "*_", "[", "[a](", "![", "[a](<", "> ", "- ", "* a\n", "&", "<https://",
     "a\n===\n", "#\n", "](", "[a](https://b 'x ", "\\"],
)  # fmt: skip
def test_time_grows_with_the_length(piece: str) -> None:
    assert_linear(lambda size: as_html(piece * (size // len(piece))), LARGEST_BYTES // 8)


def test_what_is_too_large_or_no_text_is_refused(tmp_path: Path) -> None:
    file = tmp_path / "words.md"
    file.write_bytes(b"\xef\xbb\xbfgr\xc3\xbc\xc3\x9fe")
    assert read(file) == "grüße"
    file.write_bytes(b"a" * 2**20)
    with pytest.raises(ImportRefused, match="1,049 kB, and more than 40 are not taken"):
        read(file)
    file.write_bytes(b"one\ntwo \xff")
    with pytest.raises(ImportRefused, match=r"not UTF-8") as caught:
        read(file)
    assert "line 2" in str(caught.value.problems[0])
    with pytest.raises(ImportRefused, match="a folder"):
        read(tmp_path)
    if hasattr(os, "mkfifo"):
        os.mkfifo(tmp_path / "pipe")
        with pytest.raises(ImportRefused, match="a pipe"):
            read(tmp_path / "pipe")
    assert len(as_html("a" * 40_000)) > 40_000
    with pytest.raises(UsageError, match="more than 40 kB"):
        as_html("a" * 40_001)
    with pytest.raises(UsageError, match="more than 40 kB"):
        as_html("ü" * 20_001)
