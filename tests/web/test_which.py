"""Which stage is it, asked in the browser: the same verdict and evidence as from the command."""

import re
from html import unescape
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from msgspec.structs import replace

from rearlog.cli.main import main
from rearlog.records.profile import Quantity
from rearlog.species.catalogue import bundled, find
from rearlog.web.door import Role
from tests.builders import moment, seen, small_profile, tiny_log
from tests.web.shelves import BASE, Classroom, put

WIDTHS = {"L1": 0.4, "L2": 0.7, "L3": 1.2}


@pytest.fixture
def room(tmp_path: Path) -> Classroom:
    return Classroom(tmp_path, moment(4))


def get(client: Any, address: str) -> Any:
    return client.get(address, base_url=BASE)


def said_in(page: str) -> str:
    """The text of a page's main part."""
    text = re.sub(r"<svg.*?</svg>|<[^>]*>", " ", page.partition("<main")[2], flags=re.S)
    return " ".join(unescape(text).split())


def by_command(*words: str) -> str:
    done = CliRunner().invoke(main, ["identify", *words, "--full"], env={"COLUMNS": "300"})
    assert done.exit_code == 0, done.output
    return done.output


@pytest.mark.parametrize(
    ("query", "command"),
    [
        ("head=1.5&length=12", ["--head=1.5", "--length=12"]),
        ("head=1%2C5+1.45", ["--head=1.5", "--head=1.45"]),
        ("head=1.82&reading-error=0.02", ["--head=1.82", "--reading-error=0.02"]),
        ("part-front_filament=1.7", ["--measure", "front-filament=1.7"]),
        ("q-form=3&q-bands=3", ["--answers", "form=3", "--answers", "bands=3"]),
        ("length=8", ["--length=8"]),
        ("head=9.5", ["--head=9.5"]),
        ("q-form=1&head=1.5", ["--answers", "form=1", "--head=1.5"]),
    ],
)
def test_the_answer_is_that_of_the_command(room: Classroom, query: str, command: list[str]) -> None:
    page = said_in(get(room.joined(Role.LOOKER), f"/which?species=monarch&{query}").text)
    told = by_command("--species", "monarch", *command)
    lead = told.splitlines()[0].removesuffix(".").lower()
    (verdict,) = re.findall(r"Verdict: (.*)\.", told) or [lead]
    assert verdict.lower() in page.lower()
    for line in re.findall(r"Look for: .*", told):
        assert line.strip() in page
    for cells in re.findall(r"^(head width|body length|front filament) .*?  +(.*)$", told, re.M):
        assert cells[0] in page
    for stage, share in re.findall(r"^ *(\w+) +(more than 99 %|\d+ %) *$", told, re.M):
        assert f"{stage} {share}" in page


def test_it_goes_on_to_the_age_and_to_what_is_to_come(room: Classroom) -> None:
    address = "/which?species=monarch&head=3.4"
    page = said_in(get(room.keeper(), f"{address}&temp=22").text)
    day = f"{moment(4):%Y-%m-%d}"
    told = by_command("--species", "monarch", "--head=3.4", "--temp=22", "--on", day)
    for line in re.findall(r"^(?:pupation|eclosion) .*", told, re.M):
        assert " ".join(line.split()) in page
    assert "pupation" in told
    assert "pupation" not in said_in(get(room.keeper(), address).text)
    assert get(room.keeper(), f"{address}&temp=warm").status_code == 400


def test_a_stage_is_shown_beside_its_verdict(room: Classroom) -> None:
    page = get(room.keeper(), "/which?species=monarch&head=1.5").text
    drawn = page.partition('class="likely"')[2].partition("</figure>")[0]
    assert 'data-stage="L3"' in drawn
    assert "<figcaption>L3</figcaption>" in drawn


@pytest.mark.parametrize("species", [each.id for each in bundled()])
def test_every_species_has_its_form_and_its_drawings(room: Classroom, species: str) -> None:
    profile = find(species)
    page = get(room.keeper(), f"/which?species={species}")
    assert page.status_code == 200
    drawn = " ".join(re.findall(r'data-stage="([^"]*)"', page.text))
    assert drawn.split() == list(profile.codes)
    for question in profile.questions:
        assert question.text in unescape(page.text)
    assert ('name="head"' in page.text) == any(each.head_width_mm for each in profile.stages)
    assert 'class="verdict"' not in page.text
    assert "style=" not in page.text


def test_whose_stage_is_asked_first(room: Classroom, tmp_path: Path) -> None:
    put(tmp_path, tiny_log({"1": "egg"}))
    page = get(room.joined(Role.LOOKER), "/which?measured=1.52").text
    assert 'href="/which?measured=1.52&amp;cohort=tiny"' in page
    assert 'href="/which?measured=1.52&amp;species=monarch"' in page
    asked = get(room.keeper(), "/which?measured=1.52&species=monarch").text
    (link,) = re.findall(r'href="([^"]*head=1.52)"', asked)
    assert 'class="verdict"' in get(room.keeper(), unescape(link)).text


def test_a_cohort_goes_by_its_own_widths(room: Classroom, tmp_path: Path) -> None:
    stages = tuple(
        replace(each, head_width_mm=Quantity("test", value=WIDTHS[each.code], sd=0.03))
        if each.code in WIDTHS
        else each
        for each in small_profile().stages
    )
    log = tiny_log(
        {str(number): "egg" for number in range(6)}, profile=replace(small_profile(), stages=stages)
    )
    checks = tuple(seen(str(number), 2, "L2", head_width_mm=0.8) for number in range(6))
    path = put(tmp_path, replace(log, all_observations=checks))
    page = said_in(get(room.keeper(), "/which?cohort=tiny&head=0.8").text)
    assert "L2 0.8 (own, n = 6)" in page
    assert "L2 0.8 (own, n = 6)" in by_command("--cohort", str(path), "--head=0.8")


@pytest.mark.parametrize(
    ("query", "message"),
    [
        ("head=wide", "width of the head: “wide” is not a length in mm"),
        ("head=-1", "“-1” is not a length in mm"),
        ("head=0", "0 mm is not above zero"),
        ("head=1e3", "“1e3” is not a length in mm"),
        ("head=" + "+".join(["1.5"] * 21), "up to 20 readings are taken"),
        ("length=8+9", "one length is taken"),
        ("head=1.5&reading-error=50", "is a number from 0.0001 to 10 mm"),
        ("length=8&reading-error=0.1", "a reading error without a reading (measure the head)"),
        ("q-form=9", "“9” is not an answer"),
        ("q-weather=1", "there is no question “weather”"),
    ],
)
def test_what_cannot_be_is_told_and_kept(room: Classroom, query: str, message: str) -> None:
    answer = get(room.keeper(), f"/which?species=monarch&{query}")
    said = said_in(answer.text)
    assert (answer.status_code, message in said) == (400, True), said
    assert not re.search(r"--[a-z]", said)
    if query == "head=wide":
        assert 'value="wide"' in answer.text


def test_a_form_left_empty_is_only_a_form(room: Classroom) -> None:
    page = get(room.keeper(), "/which?species=monarch&head=&length=&q-form=&part-front_filament=")
    assert (page.status_code, 'class="verdict"' in page.text) == (200, False)


def test_what_was_answered_stays_chosen(room: Classroom) -> None:
    page = get(room.keeper(), "/which?species=monarch&q-bands=2&head=1.5").text
    assert 'name="q-bands" value="2" checked' in page
    assert 'name="head" inputmode="decimal" maxlength="120" value="1.5"' in page


def test_texts_of_a_request_are_never_markup(room: Classroom) -> None:
    bad = "%22%3E%3Cb%3E"
    page = get(room.keeper(), f"/which?species=monarch&head={bad}&measured={bad}").text
    assert '"><b>' not in page
    assert get(room.keeper(), f"/which?cohort={bad}").status_code == 404


def test_guests_identify_nothing(room: Classroom) -> None:
    assert get(room.joined(Role.GUEST), "/which?species=monarch").status_code == 403
