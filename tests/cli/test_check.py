"""The asked round with its lines piped in; `test_check_terminal` has the real terminal."""

import json
from pathlib import Path

import pytest

from rearlog.analysis.forecasting import next_events
from rearlog.records.errors import UsageError
from rearlog.store.cohort_file import CohortFile
from tests.cli.conftest import Run


def records(run: Run, cohort: str = "room") -> list[str]:
    """The records that count, as entries of the notation."""
    found = json.loads(run("history", cohort, "--format", "json").stdout)["observations"]
    return [f"{each['individual']} {each['fate'] or each['stage'] or 'same'}" for each in found]


def test_nothing_is_recorded_before_the_summary_is_confirmed(run: Run, room: Path) -> None:
    before = room.read_bytes()
    result = run("check", "room", "--on", "2026-03-12", text="\n+\nd(mould)\n.\n")
    assert "  2 L1 (was egg)\n  3 dead(mould) (was egg)\n" in result.stdout
    assert "5 looked at, 2 changed, 3 did not change." in result.stdout
    assert room.read_bytes() == before
    again = run("check", "room", text="\n\n")
    assert "5 of 5 have an answer" in again.stdout
    assert "Recorded 5 checks at Thu 2026-03-12 09:00" in again.stderr
    assert records(run) == ["1 same", "2 L1", "3 dead", "4 same", "5 same"]


def test_a_finished_round_leaves_no_draft(run: Run, room: Path) -> None:
    run("check", "room", "--on", "2026-03-12", "--by", "KT", text=".\n\n")
    assert list((room.parent / ".rearlog").glob("*.round")) == []
    assert "not saved yet" not in run("check", "room", "--on", "2026-03-13", text="q\n").stdout
    assert list((room.parent / ".rearlog").glob("*.round")) == []
    found = json.loads(run("history", "room", "--format", "json").stdout)["observations"]
    assert {(each["by"], each["at"]) for each in found} == {("KT", "2026-03-12T09:00:00+00:00")}


def test_a_draft_can_be_thrown_away(run: Run, room: Path) -> None:
    run("check", "room", "--on", "2026-03-12", text="+\n")
    result = run("check", "room", "--on", "2026-03-13", text="x\nd\n\nd\nyes\n.\n\n")
    assert result.stdout.count("d throws it away") == 3
    assert result.stdout.count("Throw 1 answer away for good?") == 2
    assert records(run) == ["1 same", "2 same", "3 same", "4 same", "5 same"]


def test_another_round_waits_for_the_one_before_it(run: Run, room: Path) -> None:
    run("check", "room", "--on", "2026-03-12", text="+\n")
    assert "can begin when" in run("check", "room", "--on", "2026-03-13", text="").stdout
    assert "can begin when" not in run("check", "room", text="").stdout


def test_a_round_is_recorded_even_where_nothing_can_be_foretold(
    run: Run, room: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(*_: object) -> None:
        raise UsageError("no forecast today")

    monkeypatch.setattr(next_events, "next_events", fail)
    result = run("check", "room", "--on", "2026-03-12", text=".\n\n")
    assert "cannot be told: no forecast today" in result.stdout
    assert len(records(run)) == 5


def test_a_round_stopped_between_saving_and_clearing_is_not_saved_twice(
    run: Run, room: Path
) -> None:
    run("check", "room", "--on", "2026-03-12", text="+\n.\n")
    (draft,) = (room.parent / ".rearlog").glob("*.round")
    kept = draft.read_bytes()
    run("check", "room", text="\n\n")
    draft.write_bytes(kept)
    assert "not saved yet" not in run("check", "room", "--on", "2026-03-13", text="q\n").stdout
    assert len(records(run)) == 5


def test_part_of_a_round_is_saved_and_said_to_be(run: Run, room: Path) -> None:
    result = run("check", "room", "--on", "2026-03-12", text="+\nn\n=\ns\n\n")
    assert "Not looked at: 2." in result.stdout
    assert "Not asked yet, will not be recorded: 4, 5." in result.stdout
    assert records(run) == ["1 L1", "3 same"]


def test_the_summary_is_no_end_a_mistake_can_be_put_right(run: Run, room: Path) -> None:
    run("check", "room", "--on", "2026-03-12", text="+\n.\n1 =\n5\n+\n\n")
    assert records(run) == ["1 same", "2 same", "3 same", "4 same", "5 L1"]


def test_some_are_asked_for_alone(run: Run, room: Path) -> None:
    run("check", "room", "4-5", "--on", "2026-03-12", text="+\n\n\n")
    assert records(run) == ["4 L1", "5 same"]


def test_a_wrong_answer_is_told_and_asked_again(run: Run, room: Path) -> None:
    result = run("check", "room", "--on", "2026-03-12", text="L9\n+ head=0.9\n.\n\n")
    assert "“L9” is no key" in result.stdout
    assert "Note: 1: a head width of 0.9 mm is that of L3 (100%), not of L1" in result.stdout
    assert records(run)[0] == "1 L1"


def test_what_the_log_does_not_take_is_told_and_can_be_mended(run: Run, room: Path) -> None:
    run("check", "room", "--on", "2026-03-12", text="2+\n.\n")
    run("log", "room", "1 L1", "--on", "2026-03-12")  # somebody else was faster
    result = run("check", "room", text="\n\n1 n\n\n")
    assert "there is a check of it at that moment already" in result.stdout
    assert records(run)[:2] == ["1 L1", "2 L1"]


def test_the_question_is_one_line_with_what_is_known(run: Run, room: Path) -> None:
    run("log", "room", "1 L1; rest same", "--on", "2026-03-12")
    result = run("check", "room", "--on", "2026-03-15", text="\nq\n")
    assert "1  L1, 3 to 6 days (nobody looked)" in result.stdout
    assert "2  egg, 6 days" in result.stdout
    assert all(len(line) <= 80 for line in result.stdout.splitlines())


def test_without_a_name_the_cohorts_of_the_folder_are_offered(run: Run, room: Path) -> None:
    assert "5 to check" in run("check", text="q\n").stdout
    run("start", "cool", "--species", "monarch", "--eggs", "3", "--zone", "UTC")
    result = run("check", text="hot\n2\nq\n")
    assert "  1  cool\n  2  room\n" in result.stdout
    assert "“hot” is not among them" in result.stdout
    assert "room, " in result.stdout
    assert "cool, " in run("check", text="cool\nq\n").stdout


def test_a_folder_without_cohorts_says_so(run: Run) -> None:
    assert "no cohort in this folder" in run("check", fails=2).stderr


@pytest.mark.parametrize(
    ("words", "code", "message"),
    [
        (["room", "--on", "2999-01-01"], 2, "in the future"),
        (["room", "9"], 1, "9: nobody to check"),
        (["room", "--on", "2026-03-01"], 1, "nobody in room is alive"),
        (["nowhere"], 1, "no cohort file"),
    ],
)
def test_a_round_that_cannot_begin(
    run: Run, room: Path, words: list[str], code: int, message: str
) -> None:
    assert message in run("check", *words, fails=code).stderr


def test_when_nobody_lives_there_is_nobody_to_check(run: Run, room: Path) -> None:
    run("log", "room", "all dead", "--on", "2026-03-12")
    assert "nobody in room is alive" in run("check", "room", fails=1).stderr


def test_what_contradicts_a_record_is_asked_again(run: Run, room: Path) -> None:
    run("log", "room", "1 L1; rest same", "--on", "2026-03-12")
    result = run("check", "room", "1", "--on", "2026-03-13", text="egg\n\negg\ny\n\n")
    assert result.stdout.count("egg comes before L1") == 2
    assert result.stdout.count("Sure?") == 2
    assert records(run)[-1] == "1 egg"


def test_a_strict_round_takes_nothing_that_is_in_doubt(run: Run, room: Path) -> None:
    run("log", "room", "1 L1; rest same", "--on", "2026-03-12")
    run("check", "room", "1", "--strict", "--on", "2026-03-13", text="egg\n=\n\n")
    assert records(run)[-1] == "1 same"


def test_a_second_observer_is_asked_at_the_same_moment(run: Run, room: Path) -> None:
    run("log", "room", "1 L1; 2 L1; 3 dead; rest same", "--on", "2026-03-12", "--by", "KT")
    words = ("check", "room", "--on", "2026-03-12", "--by")
    assert "checked at 2026-03-12 09:00 by KT already" in run(*words, "KT", fails=1).stderr
    asked = run(*words, "MB", text="L1\n\n\ny\n.\n\n")
    assert "1  egg, 3 days" in asked.stdout  # what the other one said is not shown
    assert "Recorded 5 checks" in asked.stderr
    log = CohortFile(room).read()
    told = [(each.by, each.stage or each.fate or "same") for each in log.checks["2"]]
    assert told == [("KT", "L1"), ("MB", "same")]
    assert [each.by for each in log.checks["3"]] == ["KT", "MB"]


def test_a_file_of_a_second_observer_is_kept_beside_the_first(run: Run, room: Path) -> None:
    run("log", "room", "1 L1; 2 L1", "--on", "2026-03-12", "--by", "KT")
    rows = ["individual,at,stage,by", "1,2026-03-12T09:00,L1,MB", "2,2026-03-12T09:00,L2,MB"]
    Path("second.csv").write_text("\n".join(rows))
    assert "2 checks" in run("import", "room", "second.csv").output
    log = CohortFile(room).read()
    for code, stages in (("1", ["L1", "L1"]), ("2", ["L1", "L2"])):
        assert [each.stage for each in log.checks[code]] == stages
        assert [each.by for each in log.checks[code]] == ["KT", "MB"]
    again = run("import", "room", "second.csv").output
    assert len(CohortFile(room).read().checks["1"]) == 2, again
    assert "KT and MB agreed on 1 of 2" in run("agreement", "room").stdout
