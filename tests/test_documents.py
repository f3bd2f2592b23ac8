"""The README and the documents: what they show is what the program prints, and they are opened."""

import re
from pathlib import Path

import pytest
from click.testing import CliRunner

import rearlog
from rearlog.cli.main import main
from rearlog.present.documents import NAMES, WRITTEN_HERE
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


def test_the_readme_leads_to_pages_that_are_there() -> None:
    links = LINK.findall(README.read_text(encoding="utf-8"))
    assert len(links) > 3
    package = Path(rearlog.__file__).parent  # which may lie elsewhere
    for each in links:
        inside = each.removeprefix("rearlog/")
        assert (README.parent / each if inside == each else package / inside).exists()


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
