"""The README and the documents: what they show is what the program prints, and all is reached."""

import re
from html.parser import HTMLParser
from pathlib import Path

import pytest
from click.testing import CliRunner

import rearlog
from rearlog.cli.main import main
from rearlog.present import documents
from rearlog.present.anchors import anchor
from rearlog.present.documents import NAMES, WRITTEN_HERE, as_html, as_page, document
from rearlog.present.methods_document import heading
from rearlog.sentences.meanings.methods import METHODS
from tests.consoles import DOCUMENTS, README, beside_the_samples, followed, pages

LINK = re.compile(r"\]\(([^)]+)\)")


@pytest.mark.parametrize("page", pages(), ids=lambda each: each.stem)
def test_every_command_prints_what_the_page_shows(page: Path, tmp_path: Path) -> None:
    text = page.read_text(encoding="utf-8")
    with beside_the_samples(tmp_path):
        now = followed(text)
    assert now == text


def test_a_block_that_shows_something_else_is_noticed(tmp_path: Path) -> None:
    with beside_the_samples(tmp_path):
        assert "1 checks" not in followed("```console\n$ rearlog --version\n1 checks\n```\n")
        with pytest.raises(AssertionError, match="no command"):
            followed("```sh\nrearlog durationz x\n```\n")
        with pytest.raises(AssertionError, match="false"):
            followed("```sh\nfor each in 1 2; do\n    false\ndone\n```\n")


def test_every_page_is_in_the_list_and_every_listed_page_is_there() -> None:
    written = {each.stem for each in DOCUMENTS.glob("*.md")}
    assert written == {*NAMES} - {WRITTEN_HERE}


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


def test_the_readme_leads_to_pages_that_are_there() -> None:
    links = LINK.findall(README.read_text(encoding="utf-8"))
    assert len(links) > 3
    package = Path(rearlog.__file__).parent  # which may lie elsewhere
    for each in links:
        inside = each.removeprefix("rearlog/")
        assert (README.parent / each if inside == each else package / inside).exists()


def test_markdown_is_shown_and_never_taken_as_html() -> None:
    made = as_html("Two <b>words</b> and [more](season.md#a-part).\n\n```sh\na < b\n```\n")
    assert "<b>" not in made
    assert 'href="season.html#a-part"' in made
    assert "a &lt; b" in made


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


def test_docs_opens_the_page_that_was_asked_for(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    opened: list[str] = []

    def browser(address: str) -> bool:
        opened.append(address)
        return True

    monkeypatch.setattr("webbrowser.open", browser)
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    monkeypatch.setattr("sys.platform", "linux")
    result = CliRunner().invoke(main, ["docs", "methods"])
    assert result.exit_code == 0
    assert result.output == ""
    assert opened == [(tmp_path / "rearlog" / "documents" / "methods.html").as_uri()]
    assert "Kaplan" in (tmp_path / "rearlog" / "documents" / "methods.html").read_text("utf-8")


def test_without_a_browser_docs_says_where_the_page_is(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("webbrowser.open", lambda address: False)
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    monkeypatch.setattr("sys.platform", "linux")
    result = CliRunner().invoke(main, ["docs"])
    page = tmp_path / "rearlog" / "documents" / "index.html"
    assert f"Open this in a browser: {page}" in result.output


def test_docs_prints_a_page_as_it_is_written_and_writes_all_where_it_is_told(
    tmp_path: Path,
) -> None:
    printed = CliRunner().invoke(main, ["docs", "species", "--print"]).output
    assert printed == (DOCUMENTS / "species.md").read_text(encoding="utf-8")
    result = CliRunner().invoke(main, ["docs", "-o", str(tmp_path / "pages")])
    assert result.exit_code == 0
    assert len([*(tmp_path / "pages").iterdir()]) == len(NAMES) + 1


def test_a_page_that_is_not_there_is_told_with_what_may_be_meant() -> None:
    result = CliRunner().invoke(main, ["docs", "specis"])
    assert result.exit_code == 2
    assert "did you mean species?" in result.output
