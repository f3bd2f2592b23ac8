"""The asked round as it is used: the real program in a pseudo-terminal."""

import json
import signal
from pathlib import Path

import pytest

from tests.cli.conftest import Run
from tests.cli.terminal import Terminal

CHANGES = {"3": "L1", "7": "L1", "12": "L1", "21": "L1", "28": "dead"}
TYPED = ("3+", "7+", "12+", "21+", "28d")
ASKS = " > "
SUMS_UP = "q keeps it for later: "


@pytest.fixture
def thirty(run: Run, folder: Path) -> Path:
    run("start", "room", "--species", "painted-lady", "--eggs", "30", "--on", "2026-03-09",
        "--zone", "UTC")  # fmt: skip
    return folder


def states(run: Run) -> dict[str, str]:
    found = json.loads(run("history", "room", "--format", "json").stdout)["observations"]
    return {each["individual"]: each["fate"] or each["stage"] or "same" for each in found}


EXPECTED = {str(code): CHANGES.get(str(code), "same") for code in range(1, 31)}


@pytest.mark.parametrize("between", ["\n", " "], ids=["a line each", "in one line"])
def test_a_round_of_30_with_5_changes_takes_few_keys(run: Run, thirty: Path, between: str) -> None:
    screen = Terminal(thirty, "check", "room", "--on", "2026-03-12", "--by", "KT")
    screen.wait_for(ASKS)
    for change in TYPED:
        screen.type(change + between)
        if between == "\n":
            screen.wait_for(ASKS)
    screen.type(".\n")
    if between == " ":
        screen.wait_for("28 died of" + ASKS)
        screen.type("\n")
    screen.wait_for(SUMS_UP)
    screen.type("\n")
    screen.wait_for("Recorded 30 checks")
    assert screen.end() == 0
    assert screen.keys - len("".join(TYPED)) <= 12
    assert states(run) == EXPECTED


def test_a_death_is_asked_for_its_cause(run: Run, thirty: Path) -> None:
    screen = Terminal(thirty, "check", "room", "--on", "2026-03-12", "--by", "KT")
    screen.wait_for(ASKS)
    screen.type("3d len=2 9d 11d(crushed) .\n")
    screen.wait_for("3 died of" + ASKS)
    screen.type("99\n")
    screen.wait_for("“99” is no cause")
    screen.wait_for(ASKS)
    screen.type("1\n")
    screen.wait_for("9 died of" + ASKS)
    screen.type("fell off the lid\n")
    screen.wait_for(SUMS_UP)
    assert "  3 dead(mould) len=2 (was egg)" in screen.shown
    screen.type("\n")
    assert screen.end() == 0
    found = json.loads(run("history", "room", "--format", "json").stdout)["observations"]
    causes = {each["individual"]: each["cause"] for each in found if each["fate"]}
    assert causes == {"3": "mould", "9": "fell off the lid", "11": "crushed"}


def test_who_types_on_when_asked_for_a_cause_is_not_held_up(run: Run, thirty: Path) -> None:
    screen = Terminal(thirty, "check", "room", "--on", "2026-03-12", "--by", "KT")
    screen.wait_for(ASKS)
    screen.type("3d\n5+\n.\n\n")
    screen.wait_for("Recorded 30 checks")
    assert screen.end() == 0
    assert states(run) | {"3": "dead", "5": "L1"} == states(run)


def test_no_more_than_12_keys_even_where_only_the_stage_counts_as_the_change(
    run: Run, thirty: Path
) -> None:
    screen = Terminal(thirty, "check", "room", "--on", "2026-03-12", "--by", "KT")
    screen.wait_for(ASKS)
    screen.type("3+7+12+21+28+.\n")
    screen.wait_for(SUMS_UP)
    screen.type("\n")
    assert screen.end() == 0
    assert screen.keys - 5 <= 12
    assert states(run) == EXPECTED | {"28": "L1"}


def test_the_same_round_is_one_line_of_the_notation(run: Run, thirty: Path) -> None:
    run("log", "room", "3,7,12,21 L1; 28 dead; rest same", "--on", "2026-03-12")
    assert states(run) == EXPECTED


@pytest.mark.parametrize("answered", [1, 3, 5])
def test_a_killed_round_goes_on_with_every_answer(run: Run, thirty: Path, answered: int) -> None:
    screen = Terminal(thirty, "check", "room", "--on", "2026-03-12", "--by", "KT")
    screen.wait_for(ASKS)
    for change in TYPED[:answered]:
        screen.type(f"{change}\n")
        screen.wait_for(ASKS)
    screen.kill()
    assert states(run) == {}
    screen = Terminal(thirty, "check", "room")
    known = TYPED[answered - 1].rstrip("+d")
    screen.wait_for(f"A round of Thu 2026-03-12 09:00 by KT is not saved yet: {known} of 30")
    screen.type("\n")
    screen.wait_for(f"{int(known) + 1}  egg, 3 days")
    for change in (*TYPED[answered:], "."):
        screen.type(f"{change}\n")
    screen.wait_for(SUMS_UP)
    screen.type("\n")
    assert screen.end() == 0
    assert states(run) == EXPECTED


def test_a_round_killed_in_the_middle_of_typing_keeps_what_was_answered(
    run: Run, thirty: Path
) -> None:
    screen = Terminal(thirty, "check", "room", "--on", "2026-03-12", "--by", "KT")
    screen.wait_for(ASKS)
    screen.type("\n" * 20)
    screen.wait_for("8  egg")
    screen.type("9 L1 head=")
    screen.kill()
    again = Terminal(thirty, "check", "room")
    again.wait_for("not saved yet: ")
    again.wait_for(" of 30")
    answered = int(again.shown.split("not saved yet: ")[1].split()[0])
    assert answered >= 7
    again.process.send_signal(signal.SIGINT)
    again.wait_for("Kept for later")
    again.end()


def test_initials_are_asked_once_a_round(run: Run, thirty: Path) -> None:
    screen = Terminal(thirty, "check", "--on", "2026-03-12")
    screen.wait_for("Your initials (Enter for none): ")
    screen.type("MB\n")
    screen.wait_for("30 to check")
    screen.type(".\n")
    screen.wait_for(SUMS_UP)
    screen.type("\n")
    assert screen.end() == 0
    found = json.loads(run("history", "room", "--format", "json").stdout)["observations"]
    assert {each["by"] for each in found} == {"MB"}


def test_lines_alone_without_colour_or_cursor_within_80_columns(thirty: Path) -> None:
    screen = Terminal(thirty, "check", "room", "--on", "2026-03-12", "--by", "KT")
    for line in ("5+", "-", "?", "L9", "3 L1 len=3", "s", "30", "."):
        screen.wait_for(SUMS_UP if line == "30" else ASKS)
        screen.type(f"{line}\n")
    screen.wait_for(SUMS_UP)
    screen.type("q\n")
    screen.wait_for("Kept for later")
    assert screen.end() == 0
    assert "\x1b" not in screen.shown
    assert "\r" not in screen.shown
    assert max(map(len, screen.shown.splitlines())) <= 80


def test_the_end_of_input_and_an_interrupt_keep_the_round(thirty: Path) -> None:
    screen = Terminal(thirty, "check", "room", "--on", "2026-03-12", "--by", "KT")
    screen.wait_for(ASKS)
    screen.type("4+\n")
    screen.wait_for(" 5  egg")
    screen.type("\x04")
    screen.wait_for("Kept for later; it goes on with: rearlog check room")
    assert screen.end() == 0
    again = Terminal(thirty, "check", "room")
    again.wait_for("4 of 30")
    again.process.send_signal(signal.SIGINT)
    again.wait_for("Kept for later")
    assert again.end() == 0


def test_two_rounds_of_one_cohort_at_once_are_refused(thirty: Path) -> None:
    first = Terminal(thirty, "check", "room", "--on", "2026-03-12", "--by", "KT")
    first.wait_for(ASKS)
    second = Terminal(thirty, "check", "room")
    second.wait_for("somebody is in the middle of a round of room")
    assert second.end() == 1
    first.type("q\n")
    assert first.end() == 0
