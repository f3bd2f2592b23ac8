"""Everybody on one page: who is how, what is in doubt, who is added and who is withdrawn."""

import re
from datetime import timedelta
from pathlib import Path

import pytest

from rearlog.web.door import Role
from tests.builders import START, notebook_of, tiny_log
from tests.web.shelves import BASE
from tests.web.twins import Twins

NOW = START + timedelta(days=4, hours=2)


@pytest.fixture
def tiny(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Twins:
    log = tiny_log({"1": "egg egg L1 L1", "2": "egg egg egg L1", "3": "egg egg dead:mould"})
    return Twins(tmp_path, log, NOW, monkeypatch)


def test_each_has_its_stage_and_since_when_or_how_it_ended(tiny: Twins) -> None:
    page = tiny.get(tiny.room.joined(Role.LOOKER), "everyone").text.replace("\xa0", " ")
    assert 'href="/cohort/tiny/everyone/1"' in page
    assert "L1 since Wed 11 Mar" in page
    assert "L1 since Thu 12 Mar" in page
    assert "dead (mould) as egg, Wed 11 Mar" in page
    assert "2 alive, 1 ended" in page


def test_a_code_of_any_letters_is_led_to(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    twins = Twins(tmp_path, tiny_log({"Ö_1": "egg L1"}), NOW, monkeypatch)
    client = twins.keeper()
    assert 'href="/cohort/tiny/everyone/%C3%96_1"' in twins.get(client, "everyone").text
    assert "<h1>Ö_1" in twins.get(client, "everyone/%C3%96_1").text


def test_what_is_in_doubt_names_both_looks_and_the_mistake_and_no_command(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    log = tiny_log({"1": "egg L1 L1 egg L1 L2", "2": "egg egg L1 L1 L1 L1"})
    twins = Twins(tmp_path, log, START + timedelta(days=7), monkeypatch)
    page = twins.get(twins.keeper(), "everyone").text
    assert "egg at 2026-03-12" in page
    assert "is an earlier stage than L1 at 2026-03-11" in page
    assert "taken for the mistake: @" in page
    assert "rearlog correct" not in page
    assert "--because" not in page
    assert page.count("<em>in doubt</em>") == 1


@pytest.mark.parametrize(
    ("life", "egg", "words"),
    [
        ("egg L1 L1 L1 egg", "L1", "L1 since Tue 10 Mar"),
        ("egg L1 L2 L1 L1", "L1", "L1 since Tue 10 Mar"),
        ("egg L1 L2 L2 L1", "L2", "L2 since Wed 11 Mar"),
        ("egg L1 dead:mould L1 L1", "L1", "L1 since Tue 10 Mar"),
        ("egg L1 dead:mould dead:mould L1", "L1", "dead (mould) as L1, Wed 11 Mar"),
    ],
)
def test_whose_looks_contradict_each_other_is_drawn_as_the_counts_have_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, life: str, egg: str, words: str
) -> None:
    twins = Twins(tmp_path, tiny_log({"1": life}), NOW, monkeypatch)
    client = twins.keeper()
    everyone, own = (twins.get(client, at).text for at in ("everyone", "everyone/1"))
    assert words in everyone.replace("\xa0", " ")
    dead = "dead" in words
    assert ("0 alive, 1 ended" if dead else "1 alive") in everyone
    for page in (everyone, own, twins.room.keeper().get("/", base_url=BASE).text):
        (drawn,) = re.findall(r'<svg class="egg (\w*)".*?<text [^>]*>(\w+)</text>', page)
        assert drawn == ("dead" if dead else drawn[0], egg)
        assert "in doubt" in page.lower()
    due = notebook_of(twins.log()).due(NOW)
    assert [(each.stage, each.n) for each in due.stages] == ([] if dead else [(egg, 1)])


def test_adding_writes_what_the_command_writes(tiny: Twins) -> None:
    client = tiny.keeper()
    told = {"codes": "B01-B03, 9", "stage": "L1", "on": "yesterday", "container": "tray 2"}
    page = tiny.followed(client, tiny.post(client, "everyone", do="add", **told))
    tiny.command(
        "add", "B01-B03", "9", "--stage", "L1", "--on", "yesterday", "--container", "tray 2"
    )
    assert tiny.alike()
    assert "Added 4 × L1: B01, B02, B03, 9" in page


def test_what_cannot_be_added_is_told_and_kept(tiny: Twins) -> None:
    client, before = tiny.keeper(), tiny.path.read_bytes()
    for told, why in (
        ({"codes": "2"}, "2"),
        ({"codes": "rest"}, "cannot be a code"),
        ({"codes": "77", "on": "tomorrowish"}, "is not a date"),
        ({"codes": "77", "on": "2027-01-01"}, "is in the future"),
        ({"codes": "77", "on": "2020-01-01"}, "the cohort started only at"),
    ):
        answer = tiny.post(client, "everyone", do="add", note="a <b>", **told)
        assert answer.status_code == 400
        assert why in answer.text
        assert f'value="{told["codes"]}"' in answer.text
        assert 'value="a &lt;b&gt;"' in answer.text
        assert tiny.path.read_bytes() == before


def test_withdrawing_and_taking_back_write_what_the_command_writes(tiny: Twins) -> None:
    client = tiny.keeper()
    answer = tiny.post(client, "everyone", do="withdraw", code="3", because="no such cup")
    page = tiny.followed(client, answer)
    tiny.command("withdraw", "3", "--because", "no such cup")
    assert tiny.alike()
    assert "Withdrawn: 3, with 2 records." in page
    assert ": no such cup" in page
    assert tiny.get(client, "everyone/3").status_code == 404
    answer = tiny.post(client, "everyone", do="back", code="3", because="behind the box")
    assert "Taken back: 3 counts again." in tiny.followed(client, answer)
    tiny.command("withdraw", "3", "--take-back", "--because", "behind the box")
    assert tiny.alike()


@pytest.mark.parametrize("told", [{"code": "3"}, {"code": "99", "because": "why not"}])
def test_nobody_is_withdrawn_without_a_reason_or_who_is_not_there(
    tiny: Twins, told: dict[str, str]
) -> None:
    before = tiny.path.read_bytes()
    answer = tiny.post(tiny.keeper(), "everyone", do="withdraw", **told)
    assert answer.status_code == 400
    assert ("say why" in answer.text) or ("there is no individual 99" in answer.text)
    assert tiny.path.read_bytes() == before


def test_a_looker_sees_all_and_changes_nothing(tiny: Twins) -> None:
    looker, before = tiny.room.joined(Role.LOOKER), tiny.path.read_bytes()
    page = tiny.get(looker, "everyone").text
    assert "Withdraw" not in page
    assert "<form" not in page
    for told in ({"do": "add", "codes": "9"}, {"do": "withdraw", "code": "1", "because": "x"}):
        assert tiny.post(looker, "everyone", **told).status_code == 403
    assert tiny.path.read_bytes() == before
