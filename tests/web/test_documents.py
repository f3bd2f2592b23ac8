"""The pages that come with the package, in the browser."""

from pathlib import Path

from rearlog.present.documents import NAMES, document
from tests.web.visiting import desk_over, looker


def test_every_page_is_read_from_the_list_and_leads_to_others(tmp_path: Path) -> None:
    visitor = looker(desk_over(tmp_path))
    listed = visitor.get("/read").text
    for name in NAMES:
        assert f'href="/read/{name}"' in listed
        assert "<h1 id=" in visitor.get(f"/read/{name}").text
    assert 'href="/read/browser"' in visitor.get("/read/first-week").text
    assert document("browser").purpose in listed


def test_a_page_that_is_not_there_is_not_found(tmp_path: Path) -> None:
    assert looker(desk_over(tmp_path)).get("/read/nothing").status_code == 404
