"""What is in doubt stands in every listing, until it is settled."""

import json
from pathlib import Path
from typing import Any

import pytest

from tests.cli.conftest import Run


@pytest.fixture
def slip(run: Run, room: Path) -> Path:
    """Individual 2 was taken for an L2 on 13 March; looks on the next two days say L1."""
    run("log", "room", "2 L1", "--on", "2026-03-12", "--by", "KT")
    run("log", "room", "2 L2", "--on", "2026-03-13", "--by", "KT")
    run("log", "room", "2 L1", "--on", "2026-03-14", "--by", "MB")
    run("log", "room", "2 L1", "--on", "2026-03-15", "--by", "MB")
    return room


def answer(run: Run, *words: str) -> Any:
    return json.loads(run(*words, "--format", "json").stdout)


def test_programs_get_both_records_and_the_mistake(run: Run, slip: Path) -> None:
    shown = [
        answer(run, "today", "room")["cohorts"][0]["in_doubt"],
        answer(run, "verify", "room")["in_doubt"],
        answer(run, "history", "room", "2")["in_doubt"],
    ]
    assert shown[0] == shown[1] == shown[2]
    assert [(each["look"]["record"], each["before"]["record"]) for each in shown[0]] == [
        (3, 2),
        (4, 2),
    ]
    for each in shown[0]:
        assert (each["look"]["blame"], each["before"]["blame"]) == (None, "mistake")
        assert each["kind"] == "an earlier stage than before"
        assert each["words"].endswith("rearlog correct room 2 L1 --from 2026-03-13 --because TEXT")
    assert answer(run, "history", "room", "1")["in_doubt"] == []
    assert [each["look"]["record"] for each in
            answer(run, "history", "room", "--on", "2026-03-14")["in_doubt"]] == [3]  # fmt: skip


def test_the_command_that_is_named_settles_it(run: Run, slip: Path) -> None:
    told = run("today", "room").stderr
    assert told.count("taken for the mistake: @2 (counted as L1)") == 2
    run("correct", "room", "2", "L1", "--from", "2026-03-13", "--because", "TEXT")
    for words in (("today", "room"), ("verify", "room"), ("history", "room")):
        assert "doubt" not in run(*words).stderr
    assert answer(run, "verify", "room")["in_doubt"] == []


@pytest.mark.parametrize(
    ("command", "whose"),
    [
        ("durations room", "room"),
        ("durations room --format csv", "room"),
        ("durations room other --by site", "B"),
        ("survival room", "room"),
        ("forecast room --as-of 2026-03-15", "room"),
        ("compare room other", "room"),
        ("chart durations room --force -o chart.svg", "room"),
    ],
)
def test_an_answer_says_on_whose_contradicting_looks_it_rests(
    run: Run, slip: Path, command: str, whose: str
) -> None:
    run("describe", slip.stem, "--site", "B")
    run("start", "other", "--species=painted-lady", "--eggs=3", "--on=2026-03-09", "--site=A")
    run("log", "other", "all L1", "--on", "2026-03-12")
    note = (
        f"Note: Looks at 2 in {whose} contradict each other; this rests on those that fit together "
        "best, and “rearlog verify” shows both\n"
    )
    assert run(*command.split()).stderr.count(note) == 1
    assert "contradict" not in run(*command.split(), "-q").stderr
    run("correct", "room", "2", "L1", "--from", "2026-03-13", "--because", "TEXT")
    assert "contradict" not in run(*command.split()).stderr


def test_only_what_was_known_by_then_is_in_doubt(run: Run, slip: Path) -> None:
    def as_of(when: str) -> list[int]:
        (found,) = answer(run, "today", "room", "--as-of", when)["cohorts"]
        return [each["look"]["record"] for each in found["in_doubt"]]

    assert as_of("2026-03-13T10:00") == []
    assert as_of("2026-03-14T10:00") == [3]
    assert as_of("2026-03-15T10:00") == [3, 4]
    assert "In doubt" not in run("today", "room", "--as-of", "2026-03-13T10:00").stderr


def test_the_page_has_a_section_of_doubts_and_one_of_agreement_where_there_are_some(
    run: Run, slip: Path
) -> None:
    told = run("report", "room", "-o", "doubts.html").stderr
    page = Path("doubts.html").read_text()
    assert "What is in doubt" in page
    assert "taken for the mistake: @2 (counted as L1); to settle it: rearlog correct room 2" in page
    assert "Whether those who look agree" not in page
    assert "no observers, notes" in told
    run("correct", "room", "2", "L1", "--from", "2026-03-13", "--because", "it was no L2")
    run("log", "room", "2 L1; 3 L1", "--on", "2026-03-15T09:10", "--by", "KT")
    run("log", "room", "2 L1; 3 L1", "--on", "2026-03-15T09:30", "--by", "MB")
    told = run("report", "room", "-o", "agreed.html").stderr
    page = Path("agreed.html").read_text()
    assert "What is in doubt" not in page
    assert "Whether those who look agree" in page
    assert "KT and MB agreed on 2 of 2." in page or "MB and KT agreed on" in page
    assert 'class="picture agreement"' in page
    assert "the observers who are compared; no notes" in told


def test_two_sexes_are_told_as_they_are_logged_and_in_every_listing(run: Run, room: Path) -> None:
    run("log", "room", "3 same sex=f", "--on", "2026-03-12")
    logged = run("log", "room", "3 same sex=m", "--on", "2026-03-13")
    assert "sex=m, and it was sex=f at 2026-03-12" in logged.stderr
    for words in (("today", "room"), ("verify", "room"), ("history", "room", "3")):
        told = run(*words).stderr
        assert "same at 2026-03-13 09:00 (@2) tells another sex than same at 2026-03-12" in told
        assert "its sex counts as not known; to settle it: rearlog strike room @1 or @2" in told
    assert answer(run, "history", "room", "1")["in_doubt"] == []
    run("strike", "room", "@1", "--because", "TEXT")
    assert answer(run, "verify", "room")["in_doubt"] == []
