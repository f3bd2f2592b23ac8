import json
from datetime import date
from pathlib import Path

import pytest
from tinydb import TinyDB

from tests.cli.conftest import Run


def history(run: Run) -> list[str]:
    """The records as entries of the notation."""
    found = json.loads(run("history", "room", "--format", "json").stdout)["observations"]
    return [f"{each['individual']} {each['fate'] or each['stage'] or 'same'}" for each in found]


def test_a_started_cohort_is_readable_by_stock_tinydb(room: Path) -> None:
    with TinyDB(room) as database:
        assert database.table("cohort").all()[0]["name"] == "room"
        assert [each["code"] for each in database.table("individuals")] == list("12345")


def test_codes_with_a_prefix_are_padded(run: Run, folder: Path) -> None:
    run("start", "moths", "--species", "monarch", "--larvae", "12", "--stage", "l2",
        "--codes", "A", "--on", "2026-03-09")  # fmt: skip
    with TinyDB(folder / "moths.json") as database:
        entered = [(each["code"], each["stage"]) for each in database.table("individuals")]
    assert entered[0] == ("A01", "L2")
    assert entered[-1] == ("A12", "L2")


NEXT_YEAR = f"{date.today().year + 1}-06-01"


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (["--eggs", "5", "--larvae", "5"], "say how many"),
        ([], "say how many"),
        (["--larvae", "5"], "--stage"),
        (["--eggs", "5", "--stage", "L9"], "no stage L9"),
        (["--eggs", "5", "--on", "03/09/26"], "2026-03-09"),
        (["--eggs", "5", "--on", "2999-01-01"], "future"),
        (["--eggs", "5", "--laid-after", "2026-03-01"], "go together"),
        (["--eggs", "5", "--zone", "Mars/Phobos"], "time zone"),
        (["--eggs", "5", "--check-time", "25:00"], "HH:MM"),
        (["--eggs", "5", "--on", "2026-03-09", "--laid", "2026-03-12"], "laid after"),
    ],
)
def test_starts_that_are_wrong_write_nothing(
    run: Run, folder: Path, words: list[str], message: str
) -> None:
    result = run("start", "new", "--species", "painted-lady", *words, fails=2)
    assert message in result.stderr
    assert not (folder / "new.json").exists()


def test_an_unknown_species_gets_a_suggestion(run: Run) -> None:
    assert (
        "painted-lady"
        in run("start", "x", "--species", "painted-lad", "--eggs", "3", fails=2).stderr
    )


def test_a_cohort_is_not_started_twice(run: Run, room: Path) -> None:
    before = room.read_bytes()
    result = run("start", "room", "--species", "monarch", "--eggs", "3", fails=1)
    assert "exists already" in result.stderr
    assert room.read_bytes() == before


def test_a_round_in_one_line(run: Run, room: Path) -> None:
    run("log", "room", "all same", "--on", "2026-03-10")
    result = run(
        "log", "room", '1-2 L1 head=0.35; 3 dead(shrivelled) "under the lid"; rest same',
        "--on", "2026-03-12", "--by", "KT",
    )  # fmt: skip
    assert "5 checks" in result.stderr
    assert "3 changed" in result.stderr
    assert history(run)[5:] == ["1 L1", "2 L1", "3 dead", "4 same", "5 same"]
    found = json.loads(run("history", "room", "3", "--format", "json").stdout)["observations"][-1]
    assert (found["cause"], found["note"], found["by"]) == ("shrivelled", "under the lid", "KT")
    assert found["at"] == "2026-03-12T09:00:00+00:00"


def test_a_dry_run_shows_and_records_nothing(run: Run, room: Path) -> None:
    before = room.read_bytes()
    result = run("log", "room", "1 L1; rest same", "--on", "2026-03-12", "--dry-run")
    assert result.stdout.splitlines() == ["1 L1", "2 same", "3 same", "4 same", "5 same"]
    assert room.read_bytes() == before


def test_the_dead_are_not_among_all_or_rest(run: Run, room: Path) -> None:
    run("log", "room", "2 dead; rest same", "--on", "2026-03-10")
    run("log", "room", "all same", "--on", "2026-03-11")
    assert history(run)[5:] == ["1 same", "3 same", "4 same", "5 same"]


@pytest.mark.parametrize(
    ("line", "message"),
    [
        ("9 L1", "no individual 9"),
        ("1 L9", "“L9” is no stage or fate"),
        ("1 L1; 1-3 L2", "1 is named twice"),
        ("1", "no state given"),
        ("1 L1 len=long", "“long” is not a number"),
        ("1 L1 len=-3", "not above zero"),
        ("1 L1 head=99", "cannot be"),
        ("1 L1 wings=4", "not a detail"),
        ('1 L1 "open', "quotation mark"),
        ("1 L1 sex=x", "sex=f or sex=m"),
        ("1 L1(early)", "only dead, lost and removed have a cause"),
        ("5-1 L1", "backwards"),
        ("all same; 1 L1", "use rest"),
        ("1 same seen", "same cannot be seen"),
        (";;", "empty"),
        ("1 L1; 2 Lx; 9 L1", "2 problems"),
        ("3 dead(shrivelled", "is closed"),
    ],
)
def test_a_wrong_line_changes_nothing(run: Run, room: Path, line: str, message: str) -> None:
    before = room.read_bytes()
    assert message in run("log", "room", line, "--on", "2026-03-12", fails=1).stderr
    assert room.read_bytes() == before


@pytest.mark.parametrize(
    ("line", "on", "message"),
    [
        ("1 L2", "2026-03-01", "before the individual entered"),
        ("1 L2", "2026-03-12", "at that moment already"),
        ("all same", NEXT_YEAR, "in the future"),
    ],
)
def test_a_round_against_the_rules_changes_nothing(
    run: Run, room: Path, line: str, on: str, message: str
) -> None:
    run("log", "room", "1 L1; 2 dead; rest same", "--on", "2026-03-12")
    before = room.read_bytes()
    assert message in run("log", "room", line, "--on", on, fails=1).stderr
    assert room.read_bytes() == before


@pytest.mark.parametrize("line", ["all same", "rest same", "all dead"])
def test_a_round_of_a_day_on_which_nobody_lived_is_refused(run: Run, room: Path, line: str) -> None:
    run("add", "room", "6", "--on", "2026-03-10")
    before = room.read_bytes()
    told = run("log", "room", line, "--on", "2026-03-08", fails=1).stderr
    assert told == (
        "Error: nobody in room is alive at 2026-03-08 09:00 (1 to 5 entered at 2026-03-09 09:00)\n"
    )
    assert room.read_bytes() == before
    asked = run("check", "room", "--on", "2026-03-08", fails=1).stderr
    assert asked == told
    assert run("log", "room", line, "--on", "2026-03-08", "--dry-run", fails=1).stderr == told


def test_a_round_after_all_have_ended_is_refused(run: Run, room: Path) -> None:
    run("log", "room", "1-4 dead; rest removed", "--on", "2026-03-12")
    run("add", "room", "6", "--on", "2026-03-14")
    before = room.read_bytes()
    told = run("log", "room", "all same", "--on", "2026-03-13", fails=1).stderr
    assert told == (
        "Error: nobody in room is alive at 2026-03-13 09:00 "
        "(1 to 5 were dead, lost or removed by then; 6 entered at 2026-03-14 09:00)\n"
    )
    assert room.read_bytes() == before
    run("log", "room", "6 L1; rest same", "--on", "2026-03-15")  # all are told of


def test_a_round_after_the_only_one_ended_is_refused(run: Run, room: Path) -> None:
    run("withdraw", "room", *"1234", "--because", "another box")
    run("log", "room", "5 dead", "--on", "2026-03-12")
    told = run("log", "room", "all same", "--on", "2026-03-13", fails=1).stderr
    assert "(5 was dead, lost or removed by then)" in told


def test_a_round_of_a_cohort_with_nobody_in_it_is_refused(run: Run, room: Path) -> None:
    run("withdraw", "room", *"12345", "--because", "another box")
    told = run("log", "room", "all same", "--on", "2026-03-10", fails=1).stderr
    assert told == "Error: nobody in room is alive at 2026-03-10 09:00 (nobody has entered it)\n"


def test_a_round_of_a_day_to_come_is_told_once_beside_what_else_is_wrong(
    run: Run, room: Path
) -> None:
    told = run("log", "room", "1 L1 len=9999; rest L1", "--on", NEXT_YEAR, fails=1).stderr
    assert told.count("in the future") == 1
    assert "2 problems" in told
    assert "length 9999 cannot be" in told


@pytest.mark.parametrize("on", ["09.03.2026", "yesterweek", "2026-02-30", "2026-03-09T25:00"])
def test_an_unreadable_date_says_how_to_write_it(run: Run, room: Path, on: str) -> None:
    assert "write 2026-03-09" in run("log", "room", "1 L1", "--on", on, fails=2).stderr


def test_a_head_width_out_of_its_range_is_noted_but_recorded(run: Run, room: Path) -> None:
    result = run("log", "room", "1 L1 head=0.9; 2 L1 head=0.22", "--on", "2026-03-12")
    assert "is that of L3 (100%), not of L1" in result.stderr
    assert "2 at 2026-03-12 09:00 (@2): head width 0.22 is unusual for L1" in result.stderr
    assert history(run) == ["1 L1", "2 L1"]


def test_individuals_are_added_once(run: Run, room: Path) -> None:
    run("add", "room", "6-7", "B1", "--on", "2026-03-10", "--container", "tray 2")
    run("log", "room", "B1 L1; rest same", "--on", "2026-03-12")
    assert history(run)[-1] == "B1 L1"
    assert "6 is in this cohort already" in run("add", "room", "6", fails=1).stderr
    assert "cannot be a code" in run("add", "room", "all", fails=2).stderr


def test_striking_out_keeps_the_record_and_its_reason(run: Run, room: Path) -> None:
    run("log", "room", "1 L1; rest same", "--on", "2026-03-12")
    run("strike", "room", "@1", "--because", "wrong cup", "--by", "KT")
    found = json.loads(run("history", "room", "1", "--format", "json").stdout)["observations"]
    assert [(each["struck"]["because"], each["struck"]["by"]) for each in found] == [
        ("wrong cup", "KT")
    ]
    run("log", "room", "1 egg", "--on", "2026-03-12")  # the moment is free again


def test_a_strike_that_is_wrong_changes_nothing(run: Run, room: Path) -> None:
    run("log", "room", "1 L1; rest same", "--on", "2026-03-12")
    before = room.read_bytes()
    assert "no record @99" in run("strike", "room", "@99", "--because", "x", fails=1).stderr
    assert "record number" in run("strike", "room", "one", "--because", "x", fails=2).stderr
    assert "say why" in run("strike", "room", "@1", "--because", " ", fails=2).stderr
    assert room.read_bytes() == before


def test_a_mistyped_command_is_told_what_was_meant(run: Run) -> None:
    assert "durations" in run("duration", fails=2).stderr


def test_a_missing_cohort_is_told_how_to_start_one(run: Run) -> None:
    assert "rearlog start" in run("log", "nowhere", "1 L1", fails=1).stderr


@pytest.mark.parametrize("name", ["5b", "./5b.json"])
def test_the_name_of_a_cohort_is_told_that_was_meant(run: Run, folder: Path, name: str) -> None:
    for each in ("5B", "lab20", "b"):
        run("start", each, "--species", "painted-lady", "--eggs", "2", "--on", "2026-03-09")
    (folder / "labb2.json").write_text("{}")  # is none
    told = run("log", name, "1 L1", fails=1).stderr
    assert told == "Error: there is no cohort file 5b.json (did you mean 5B?)\n"
    assert "(did you mean lab20?)" in run("today", "labb20", fails=1).stderr
    assert "did you mean 5B?" in run("verify", "5b", fails=1).stdout
    assert "(did you mean 5B?)" in run("season", "5b", fails=2).stderr
    assert "rearlog start" in run("today", "quite", fails=1).stderr


def test_a_release_is_answered_with_a_caution(run: Run, room: Path) -> None:
    assert "Caution" not in run("log", "room", "1 removed(preserved)", "--on", "2026-03-12").stderr
    assert "permit" in run("log", "room", "2 removed(released)", "--on", "2026-03-12").stderr


def test_a_long_list_of_problems_is_cut(run: Run, folder: Path) -> None:
    run("start", "many", "--species", "painted-lady", "--eggs", "15", "--on", "2026-03-09")
    told = run("log", "many", "1-15 L1", "--on", "2025-03-10", fails=1).stderr.splitlines()
    assert len(told) == 12
    assert "15 problems" in told[0]
    assert "and 5 more" in told[-1]


def test_who_ended_is_passed_over_inside_a_range(run: Run, room: Path) -> None:
    run("log", "room", "2 dead; rest L1", "--on", "2026-03-12")
    told = run("log", "room", "1-3 L2; 4 L2", "--on", "2026-03-14").stderr
    assert "Passed over inside ranges, dead, lost or removed before: 2\n" in told
    assert "Recorded 3 checks at Sat 2026-03-14 09:00" in told
    assert "dead since" in run("log", "room", "1,2 L3", "--on", "2026-03-15").stderr
    assert "dead since" in run("log", "room", "2-2 L3", "--on", "2026-03-16").stderr
    assert "dead since" not in run("log", "room", "1-3 L1", "--on", "2026-03-11").stderr


def test_the_later_record_may_be_the_wrong_one(run: Run, room: Path) -> None:
    run("log", "room", "1 L1", "--on", "2026-03-15")
    told = run("log", "room", "1 L2", "--on", "2026-03-13").stderr
    assert "strike out @2 or @1, whichever was the mistake" in told


def test_what_to_write_when_the_shell_took_the_quotes(run: Run, room: Path) -> None:
    told = run("log", "room", "4", "L1", "it is fat", fails=1).stderr
    assert "the whole entry in single ones" in told


def test_a_path_needs_no_ending(run: Run, folder: Path) -> None:
    (folder / "usb").mkdir()
    run("start", "usb/t22", "--species", "painted-lady", "--eggs", "2", "--on", "2026-03-09")
    assert (folder / "usb" / "t22.json").exists()
    run("log", "usb/t22", "1 L1", "--on", "2026-03-12")
    run("log", "usb/t22.json", "2 L1", "--on", "2026-03-12")


def test_a_cause_in_a_note_is_no_cause(run: Run, room: Path) -> None:
    assert "dead(mould)" in run("log", "room", '1 dead "grey"', "--on", "2026-03-12").stderr
    assert (
        "dead(mould)" not in run("log", "room", '2 dead(grey) "wet"', "--on", "2026-03-12").stderr
    )


@pytest.mark.parametrize(("content", "kind"), [(b"%PDF-1.7 \xff", "PDF"), (b'{"file":{', "JSON")])
def test_a_file_of_another_kind_is_named(
    run: Run, room: Path, folder: Path, content: bytes, kind: str
) -> None:
    (folder / "week.csv").write_bytes(content)
    told = run("import", "room", "week.csv", fails=1).stderr
    assert f"this is a {kind} file (a CSV file is wanted" in told


def test_a_round_entered_twice_is_one_message(run: Run, room: Path) -> None:
    words = ("log", "room", "1-3 L1; rest same", "--on", "2026-03-12", "--by", "KT")
    run(*words)
    before = room.read_bytes()
    for more in ((), ("--dry-run",)):
        told = run(*words, *more, fails=1).stderr
        assert told.startswith("Error: this round is in the log already: @1–5")
        assert len(told.splitlines()) == 1
    assert room.read_bytes() == before


def test_a_round_that_is_known_in_part_tells_the_rest_by_name(run: Run, room: Path) -> None:
    run("log", "room", "1-3 L1; rest same", "--on", "2026-03-12")
    told = run("log", "room", "1-2 L1; 3 L2; rest same", "--on", "2026-03-12", fails=1).stderr
    assert "4 checks of this round are in the log already: @1–2, @4–5" in told
    assert "3 at 2026-03-12 09:00: there is a check of it at that moment already" in told


def test_words_that_people_type_have_one_form_in_the_log(run: Run, room: Path) -> None:
    run("log", "room", "1 to 3 hatched; 4 died(mould); 5 no change", "--on", "12 March 2026")
    run("log", "room", "1 escaped; 2 L 2; 3 released", "--on", "13 March 2026 08:40")
    found = json.loads(run("history", "room", "--format", "json").stdout)["observations"]
    assert [(each["individual"], each["stage"], each["fate"], each["cause"]) for each in found] == [
        ("1", "L1", None, None), ("2", "L1", None, None), ("3", "L1", None, None),
        ("4", None, "dead", "mould"), ("5", None, None, None),
        ("1", None, "lost", "escaped"), ("2", "L2", None, None), ("3", None, "removed", "released"),
    ]  # fmt: skip
    assert found[-1]["at"].startswith("2026-03-13T08:40")
