"""The pages of a cohort of which nothing is known but its stages."""

import re
from datetime import timedelta
from html.parser import HTMLParser
from pathlib import Path

import pytest

from rearlog.species.describing import profile_text
from rearlog.species.description import Description
from rearlog.store.cohort_file import CohortFile
from rearlog.web.answers import QUESTIONS
from tests.builders import START
from tests.unnamed_species import growing, moths
from tests.web.shelves import BASE, SAME_SITE, Classroom, put

REFUSED = {
    "/cohort/moths/sheets/tap": "nobody",
    "/cohort/growing/sheets/card": "gives no sizes",
}
"""What cannot be had of them, and why."""

NONSENSE = re.compile(r"\b(None|nan|NaN|inf)\b")
TOLD = {
    "species": "another", "stages": "egg,L1-L4,pupa,adult", "name": "brown moth", "count": "5",
    "stage": "", "laid": "", "on": "", "codes": "B", "celsius": "", "place": "", "food": "",
    "zone": "UTC",
}  # fmt: skip


@pytest.fixture(scope="module")
def room(tmp_path_factory: pytest.TempPathFactory) -> Classroom:
    folder = tmp_path_factory.mktemp("shelf")
    for log in (moths(), moths("slow", slow=True), growing()):
        put(folder, log)
    return Classroom(folder, START + timedelta(days=20))


class Words(HTMLParser):
    """The text of a page, without scripts."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.words: list[str] = []
        self.inside = ""
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: object) -> None:
        self.inside = tag

    def handle_data(self, data: str) -> None:
        if self.inside not in ("script", "style"):
            self.words.append(data)


@pytest.mark.parametrize(
    "path",
    [
        "/", "/which?cohort=moths&head=0.42", "/report/moths", "/report/all", "/practice",
        "/compare?cohort=moths&cohort=slow", "/share",
        *(f"/cohort/{name}/{page}" for name in ("moths", "growing")
          for page in ("round", "answers", "everyone", "everyone/1", "temperatures", "sheets",
                       "sheets/tap", "sheets/card")),
        *(f"/cohort/growing/answers/{each.key}" for each in QUESTIONS),
        *(f"/cohort/moths/answers/{each.key}" for each in QUESTIONS),
    ],
)  # fmt: skip
def test_every_page_shows_what_can_be_said(room: Classroom, path: str) -> None:
    answer = room.keeper().get(path, base_url=BASE)
    assert answer.status_code == (400 if path in REFUSED else 200)
    if answer.mimetype == "text/html":
        assert REFUSED.get(path, "") in answer.text
        assert not NONSENSE.search(" ".join(Words(answer.text).words))


def test_another_insect_is_started_by_its_stages(tmp_path: Path) -> None:
    keeper = Classroom(tmp_path, START).keeper()
    assert 'value="egg,L1-L5,pupa,adult"' in keeper.get("/start", base_url=BASE).text
    answer = keeper.post("/start", data=TOLD, headers=SAME_SITE, base_url=BASE)
    assert answer.status_code == 303
    log = CohortFile(tmp_path / "brown-moth.json").read()
    assert log.cohort.species.codes == ("egg", "L1", "L2", "L3", "L4", "pupa", "adult")
    assert len(log.individuals) == 5


def test_stages_that_cannot_be_are_shown_again(tmp_path: Path) -> None:
    keeper = Classroom(tmp_path, START).keeper()
    told = TOLD | {"stages": "egg,caterpillar,adult"}
    answer = keeper.post("/start", data=told, headers=SAME_SITE, base_url=BASE)
    assert answer.status_code == 400
    assert "“caterpillar” is not a stage code" in answer.text
    assert 'value="egg,caterpillar,adult"' in answer.text
    assert "--stages" not in answer.text


def test_a_profile_in_the_folder_is_offered_and_one_that_is_broken_is_not(tmp_path: Path) -> None:
    text = profile_text(Description(name="brown moth (Genus fuscus)", instars="4"))[1]
    (tmp_path / "brown-moth.toml").write_text(text, encoding="utf-8")
    (tmp_path / "broken.toml").write_text("id = 3", encoding="utf-8")
    keeper = Classroom(tmp_path, START).keeper()
    page = keeper.get("/start", base_url=BASE).text
    assert "brown moth (Genus fuscus)" in page
    assert "broken.toml" not in page
    told = TOLD | {"species": "brown-moth.toml"}
    answer = keeper.post("/start", data=told, headers=SAME_SITE, base_url=BASE)
    assert answer.status_code == 303
    log = CohortFile(tmp_path / "brown-moth.json").read()
    assert log.cohort.species.scientific_name == "Genus fuscus"
    for name in ("broken.toml", "../brown-moth.toml", "nobody.toml"):
        answer = keeper.post(
            "/start", data=told | {"species": name}, headers=SAME_SITE, base_url=BASE
        )
        assert answer.status_code == 400
        assert "Choose a species" in answer.text
