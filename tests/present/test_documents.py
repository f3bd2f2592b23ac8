"""The documents as pages: what is on each, and where it leads."""

import re
from html.parser import HTMLParser

import pytest

from rearlog.present import documents
from rearlog.present.anchors import anchor
from rearlog.present.documents import NAMES, WRITTEN_HERE, as_html, as_page, document
from rearlog.present.methods_document import heading
from rearlog.records.errors import UsageError
from rearlog.sentences.meanings.methods import METHODS


@pytest.mark.parametrize("name", NAMES)
def test_a_page_begins_with_its_title_and_what_it_is_for(name: str) -> None:
    page = document(name)
    assert page.text.startswith(f"# {page.title}\n\n")
    assert 20 < len(page.purpose) < 200
    assert page.purpose.endswith((".", "?"))


class Anchors(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.ids: set[str] = set()
        self.links: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        told = dict(attrs)
        self.ids.add(told.get("id") or "")
        if tag == "a":
            self.links.append(told.get("href") or "")


def test_every_link_leads_somewhere() -> None:
    read = {}
    for shown in (documents.contents(), *map(document, NAMES)):
        read[f"{shown.name}.html"] = Anchors()
        read[f"{shown.name}.html"].feed(as_page(shown))
    for name, each in read.items():
        assert len(each.links) > len(NAMES)
        for link in each.links:
            page, _, part = link.partition("#")
            assert not part or part in read[page or name].ids, link
            assert not page or page in read, link


def test_markdown_is_shown_and_never_taken_as_html() -> None:
    made = as_html("Two <b>words</b> and [more](season.md#a-part).\n\n```sh\na < b\n```\n")
    assert "<b>" not in made
    assert 'href="season.html#a-part"' in made
    assert "a &lt; b" in made
    led = as_html("# One\n\n[a](season.md) [b](notes.txt#md) [c](#d)\n", "/docs/{}")
    assert led == (
        '<h1 id="one">One</h1>\n'
        '<p><a href="/docs/season">a</a> <a href="notes.txt#md">b</a> <a href="#d">c</a></p>\n'
    )
    table = as_html("| a |\n| --- |\n| b |\n\n~~~\nc\n~~~\n")
    assert "<td>b</td>" in table
    assert '<pre><code tabindex="0">c' in table


def test_the_list_of_pages_leads_to_each_and_says_what_it_is_for() -> None:
    listed = documents.contents()
    season = document("season")
    assert (listed.name, listed.title) == ("index", "rearlog: documents")
    lines = listed.text.splitlines()
    assert lines[:5] == ["# rearlog: documents", "", listed.purpose, "", lines[4]]
    assert f"- [{season.title}](season.md): {season.purpose}" in lines
    assert len(lines) == 4 + len(NAMES)
    page = as_page(season)
    assert page.count('aria-current="page"') == 1
    assert f'<a href="season.html" aria-current="page">{season.title}</a>' in page
    assert f"<title>{season.title} – rearlog</title>" in page


def test_a_page_that_nobody_wrote_is_refused() -> None:
    with pytest.raises(UsageError, match="there is no page “specis”") as told:
        document("specis")
    assert "did you mean species?" in str(told.value)
    with pytest.raises(UsageError) as told:
        document("zzzz")
    assert "known here: first-week, browser, which-stage, " in str(told.value)


def test_a_heading_is_found_by_its_words() -> None:
    assert anchor("What's “T0”, and why?") == "what-s-t0-and-why"


def test_the_page_of_methods_has_every_method_that_makes_a_number() -> None:
    text = document(WRITTEN_HERE).text
    missing = [
        name
        for name, method in METHODS.items()
        if not method.part_of and f"### {heading(name)}\n" not in text
    ]
    assert not missing
    assert "Kaplan, E. L. & Meier, P. 1958." in text
    assert "tests/published/test_honek_2003.py" in text


def test_the_page_of_methods_speaks_to_readers_and_not_to_callers() -> None:
    text = document(WRITTEN_HERE).text
    assert "Raises " not in text
    assert not re.search(r"\([a-z],\)", text)
    assert "[Temperatures and degree-days](#temperatures-and-degree-days): [" in text
    section = text.split("### K value\n")[1].split("\n###")[0]
    assert section.startswith("\nThe killing power k = −log10(1 − q) of a mortality q")
    assert "\n- k, −log10 of the part that survives a stage: `−log10(1 − q)`\n" in section
    assert "\n- Assumes: The mortality is known.\n- Source: Varley" in section
    assert "\n- Checked in `tests/analysis/statistics/test_life_table.py`\n" in section
    of_sites = text.split("### Site effects\n")[1].split("\n###")[0]
    assert "Σ" not in of_sites  # the formula of a mean is that of other means too
    rooms = re.findall(r"^## (.*)$", text, flags=re.M)
    assert (rooms[0], rooms[-1]) == ("Estimators, intervals and tests", "What is to come")
    of_heat = text.split("## Temperatures and degree-days\n")[1].split("\n## ")[0]
    named = re.findall(r"^### (.*)$", of_heat, flags=re.M)
    assert "Degree days" in named
    assert not {"K value", "Site effects", "Funnel"} & {*named}
    listed = ", ".join(f"[{name}](#{anchor(name)})" for name in named)
    assert f"- [Temperatures and degree-days](#temperatures-and-degree-days): {listed}\n" in text
