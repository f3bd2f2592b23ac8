"""One individual: its life, and what the keeper puts right."""

import re
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest

from rearlog.web.door import Role
from tests.builders import START, seen, tiny_log
from tests.web.twins import Twins

NOW = START + timedelta(days=6, hours=2)


@pytest.fixture
def tiny(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Twins:
    log = tiny_log({"1": "egg egg L1 L1 L2", "2": "egg egg egg L1 L1", "3": "egg egg dead:mould"})
    return Twins(tmp_path, log, NOW, monkeypatch)


def record(twins: Twins, code: str, place: int) -> int:
    number = twins.log().checks[code][place].number
    assert number is not None
    return number


def corners(page: str) -> list[list[tuple[float, float]]]:
    return [
        [tuple(map(float, pair.split(","))) for pair in points.split()]  # type: ignore[misc]
        for points in re.findall(r'<polygon points="([^"]*)"', page)
    ]


def test_the_life_line_spans_what_lies_between_two_looks(tiny: Twins) -> None:
    page = tiny.get(tiny.room.joined(Role.LOOKER), "everyone/1").text
    egg, first, second = corners(page)
    # looks on days 0 to 4: egg, egg, L1, L1, L2; so L1 began in (1, 2] and L2 in (3, 4]
    assert (egg[1][0], egg[2][0]) == (1.0, 2.0)
    assert (first[0][0], first[3][0]) == (1.0, 2.0)
    assert (first[1][0], first[2][0]) == (3.0, 4.0)
    assert (second[0][0], second[3][0]) == (3.0, 4.0)
    assert page.count('class="look"') == 4
    assert ">today</text>" in page
    assert "L1 from Tue 10 to Wed 11 Mar; L2 from Thu 12 to Fri 13 Mar" in page


def test_an_end_has_its_mark_and_no_today(tiny: Twins) -> None:
    page = tiny.get(tiny.keeper(), "everyone/3").text
    assert 'class="ending"' in page
    assert "dead (mould) Tue 10 to Wed 11 Mar" in page
    assert ">today</text>" not in page


def test_every_record_is_there_with_who_struck_it(tiny: Twins) -> None:
    client, number = tiny.keeper(), record(tiny, "1", 2)
    tiny.post(client, "everyone/1/strike", record=number, because="<wrong cup>", do="strike")
    page = tiny.get(client, "everyone/1").text
    assert page.count('<tr class="struck">') == 1
    assert "2026-03-15 11:00: &lt;wrong cup&gt;" in page
    assert page.count('type="checkbox"') == 4
    assert page.index(f"@{number}<") < page.index("@1<")


def test_striking_and_taking_back_write_what_the_command_writes(tiny: Twins) -> None:
    client = tiny.keeper()
    chosen = [record(tiny, "1", 1), record(tiny, "1", 2)]
    told: dict[str, Any] = {"record": chosen, "because": "wrong cup"}
    page = tiny.followed(client, tiny.post(client, "everyone/1/strike", do="strike", **told))
    names = [f"@{each}" for each in chosen]
    tiny.command("strike", *names, "--because", "wrong cup")
    assert tiny.alike()
    assert f"Struck out: {names[0]}: 1 L1, Wed 2026-03-11 09:00" in page
    told = {"record": chosen[1], "because": "it was right"}
    page = tiny.followed(client, tiny.post(client, "everyone/1/strike", do="back", **told))
    tiny.command("strike", names[1], "--take-back", "--because", "it was right")
    assert tiny.alike()
    assert f"Counts again: {names[1]}" in page


def test_a_preview_of_striking_shows_the_figures_and_changes_nothing(tiny: Twins) -> None:
    client, before, number = tiny.keeper(), tiny.path.read_bytes(), record(tiny, "1", 1)
    answer = tiny.post(client, "everyone/1/strike", record=number, do="strike-preview")
    assert answer.status_code == 200
    assert "Nothing has been changed yet." in answer.text
    said = tiny.command("strike", f"@{number}", "--dry-run")
    assert "L1, 1" in said
    assert "L1, 1" in answer.text
    assert f'value="{number}" checked' in answer.text
    assert tiny.path.read_bytes() == before


def test_a_preview_lists_what_changes_and_counts_the_rest(tiny: Twins) -> None:
    number = record(tiny, "1", 3)
    page = tiny.post(tiny.keeper(), "everyone/1/strike", record=number, do="strike-preview").text
    preview = page[page.index('class="preview"') :]
    preview = preview[: preview.index("</section>")]
    rows = [re.findall(r"<t[hd][^>]*>([^<]*)</t[hd]>", row) for row in preview.split("<tr>")[2:]]
    assert ["L2, cohort", "entered", "1", "0"] in rows
    assert [row for row in rows if {*row[2:]} <= {"0", "–"} or row[2] == row[3]] == []
    (others,) = re.findall(r"(\d+) other figures stay as they are\.", preview)
    said = tiny.command("strike", f"@{number}", "--dry-run")
    assert f"{others} other figures stay as they are." in said


def test_correcting_writes_what_the_command_writes(tiny: Twins) -> None:
    client = tiny.keeper()
    told = {"stage": "egg", "first": "2026-03-11", "last": "2026-03-12", "because": "no L1 yet"}
    asked = tiny.post(client, "everyone/1/correct", do="correct-preview", **told)
    assert asked.status_code == 200
    assert "Wed 2026-03-11 09:00: 1 L1" in asked.text
    assert "→ 1 egg" in asked.text
    assert "L1, 1" in asked.text
    assert 'value="no L1 yet"' in asked.text
    assert tiny.alike()
    page = tiny.followed(client, tiny.post(client, "everyone/1/correct", do="correct", **told))
    span = ("--from", "2026-03-11", "--to", "2026-03-12")
    tiny.command("correct", "1", "egg", *span, "--because", "no L1 yet")
    assert tiny.alike()
    assert "Corrected: Wed 2026-03-11" in page


@pytest.mark.parametrize(
    ("part", "told", "why"),
    [
        ("strike", {"do": "strike", "because": "x"}, "choose a record"),
        ("strike", {"do": "strike", "because": "typed", "record": "one"}, "not the number"),
        ("strike", {"do": "strike", "because": "typed", "record": "99"}, "@99 is no record of 1"),
        ("strike", {"do": "strike", "record": "1"}, "say why"),
        ("strike", {"do": "back", "record": "1", "because": "typed"}, "@1 is not struck out"),
        ("correct", {"do": "correct", "stage": "egg", "because": "typed"}, "from which day"),
        ("correct", {"do": "correct", "stage": "egg", "first": "2026-03-11"}, "say why"),
        (
            "correct",
            {"do": "correct", "stage": "egg", "first": "2026-03-09", "because": "typed"},
            "nobody said of 1",
        ),
        (
            "correct",
            {"do": "correct", "stage": "ghost", "first": "2026-03-09", "because": "typed"},
            "ghost",
        ),
    ],
)
def test_what_cannot_be_is_told_kept_and_not_done(
    tiny: Twins, part: str, told: dict[str, str], why: str
) -> None:
    before = tiny.path.read_bytes()
    answer = tiny.post(tiny.keeper(), f"everyone/1/{part}", **told)
    assert answer.status_code == 400
    assert why in answer.text
    assert "rearlog history" not in answer.text
    if told.get("because") == "typed":
        assert 'value="typed"' in answer.text
    assert tiny.path.read_bytes() == before


def test_a_record_of_another_is_not_struck_here(tiny: Twins) -> None:
    before, other = tiny.path.read_bytes(), record(tiny, "2", 1)
    answer = tiny.post(
        tiny.keeper(), "everyone/1/strike", do="strike", because="x", record=[1, other]
    )
    assert answer.status_code == 400
    assert f"@{other} is no record of 1" in answer.text
    assert tiny.path.read_bytes() == before


def test_an_unknown_one_is_not_found(tiny: Twins) -> None:
    client = tiny.keeper()
    assert tiny.get(client, "everyone/99").status_code == 404
    for part in ("strike", "correct"):
        answer = tiny.post(client, f"everyone/99/{part}", do=part, because="x", record="1")
        assert answer.status_code == 404


def test_a_looker_looks_and_changes_nothing(tiny: Twins) -> None:
    looker, before = tiny.room.joined(Role.LOOKER), tiny.path.read_bytes()
    page = tiny.get(looker, "everyone/1").text
    assert "<form" not in page
    told = {"record": "1", "because": "x", "stage": "egg", "first": "2026-03-11"}
    for part in ("strike", "correct"):
        for do in (part, f"{part}-preview", "back"):
            assert tiny.post(looker, f"everyone/1/{part}", do=do, **told).status_code == 403
    assert tiny.path.read_bytes() == before


def test_what_was_counted_and_where_it_is_kept(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    log = tiny_log({"1": "pupa adult", "2": "pupa adult"})
    told = [seen("1", 2, "adult", mate="2", mass_mg=3.5), seen("1", 3, "adult", eggs=0)]
    twins = Twins(tmp_path, log.with_checks(told), NOW, monkeypatch)
    page = twins.get(twins.keeper(), "everyone/1").text
    assert "with 2 since Wed 2026-03-11 09:00" in page
    assert '<th scope="col">eggs</th>' in page or ">eggs</th>" in page
    assert ">mass, mg</th>" in page
    assert "adult eggs=0" in page
    assert "since" not in twins.get(twins.keeper(), "everyone/2").text.split("Came in")[1][:200]
