import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from rearlog.records.errors import StoreError
from rearlog.records.log import DayExtremes, Mark
from rearlog.species.loader import check
from rearlog.store.backups import backups_of
from rearlog.store.cohort_file import CohortFile
from rearlog.store.layout import decode, encode
from rearlog.store.verification import Verification, accept, verify
from tests.builders import START, seen
from tests.store.conftest import NOW, add, states


def look(room: CohortFile) -> Verification:
    return verify(room.path, NOW, check)


def told(room: CohortFile) -> str:
    return "\n".join(map(str, look(room).problems))


def by_hand(room: CohortFile, old: str, new: str) -> None:
    """Change the file's text as an editor would: the checksum no longer fits."""
    text = room.path.read_text()
    assert old in text
    room.path.write_text(text.replace(old, new, 1))


def behind(room: CohortFile, name: str, change: Callable[[dict[str, Any]], object]) -> None:
    """Change a table behind the back of the rules; the checksum fits."""
    tables = decode(room.path.read_bytes(), room.path).tables
    change(tables.setdefault(name, {}))
    room.path.write_bytes(encode(tables))


def test_a_sound_file_is_counted(room: CohortFile) -> None:
    room.add_temperatures([DayExtremes(START.date(), 18.0, 24.0)], NOW)
    room.strike([2], [], Mark(NOW, "wrong cup"))
    backups = backups_of(room.path)
    assert look(room) == Verification(
        cohort="room", file=str(room.path), sound=True, format=3, intact=True,
        bytes=room.path.stat().st_size, individuals=3, observations=2, struck=1,
        temperatures=1, problems=(), backups=3, backup_bytes=sum(each.bytes for each in backups),
    )  # fmt: skip


def test_what_a_log_would_not_be_opened_for_is_told_of_the_withdrawn_too(room: CohortFile) -> None:
    room.withdraw(["3"], Mark(NOW, "no egg"))
    behind(room, "individuals", lambda table: table["3"].update(stage="zz"))
    with pytest.raises(StoreError, match="stage zz is not in the profile"):
        room.read()
    assert "3: stage zz is not in the profile" in told(room)


@pytest.mark.parametrize(
    ("name", "change", "message"),
    [
        # which record, and of which individual
        ("observations", lambda t: t["2"].update(stage="L9"), "2 at 2026-03-10 09:00 (@2)"),
        ("observations", lambda t: t["2"].update(stage="L9"), "stage L9 is not in the profile"),
        ("observations", lambda t: t["2"].update(at="2026-03-08T09:00:00+00:00"), "before the ind"),
        ("observations", lambda t: t["2"].update(at="2027-03-08T09:00:00+00:00"), "in the future"),
        ("observations", lambda t: t["2"].update(individual="1"), "at that moment already"),
        ("observations", lambda t: t["2"].update(individual="8"), "there is no individual 8"),
        (
            "observations",
            lambda t: t["2"].update(mass_mg=-3),
            "record 2 of 2: mass_mg is not a number above zero: -3",
        ),
        ("observations", lambda t: t["2"].update(sex="x"), "sex x is not known"),
        ("observations", lambda t: t["2"].update(cause="mould"), "a cause but no fate"),
        ("observations", lambda t: t["2"].update(at=5), "record 2 of 2: at is not a time"),
        ("observations", lambda t: t.update({"3": 5}), "observations, record 3"),
        ("individuals", lambda t: t["2"].update(stage="L9"), "2: stage L9 is not in the profile"),
        ("individuals", lambda t: t["2"].update(code="1"), "the code 1 is used twice"),
        ("individuals", lambda t: t["2"].update(code="rest"), "a meaning of its own"),
        ("cohort", lambda t: t["1"].update(started="2027-03-09T09:00:00+00:00"), "in the future"),
        ("cohort", lambda t: t["1"].update(zone="Mars"), "zone is not a time zone"),
    ],
)
def test_whatever_breaks_a_rule_is_told(
    room: CohortFile, name: str, change: Callable[[dict[str, Any]], object], message: str
) -> None:
    behind(room, name, change)
    found = look(room)
    assert not found.sound
    assert found.intact
    assert message in told(room)


def test_temperatures_are_looked_at_too(room: CohortFile) -> None:
    day = {"kind": "day", "date": "2026-03-09", "min_c": 18.0, "max_c": 24.0}
    behind(room, "temperatures", lambda table: table.update({"1": day}))
    assert look(room).sound
    hot = day | {"max_c": 75.0}
    behind(room, "temperatures", lambda table: table.update({"1": day, "2": hot, "3": {}}))
    assert "temperature of 2026-03-09 (@T2): 75 °C cannot be" in told(room)
    assert "@T2): it says 18 to 75 °C, but temperature of 2026-03-09 (@T1)" in told(room)
    assert "temperatures, record 3: kind is not one of" in told(room)


def test_struck_records_need_keep_no_rule(room: CohortFile) -> None:
    mark = {"at": "2026-03-20T09:00:00+00:00", "because": "wrong cup"}
    behind(room, "observations", lambda table: table["2"].update(stage="L9", marks=[mark]))
    assert look(room).sound


def test_every_problem_is_told_not_the_first(room: CohortFile) -> None:
    behind(room, "observations", lambda table: [each.update(at=0) for each in table.values()])
    assert len(look(room).problems) == 2


def test_an_invented_cohort_may_lie_ahead(room: CohortFile) -> None:
    behind(room, "observations", lambda t: t["2"].update(at="2027-03-08T09:00:00+00:00"))
    assert not look(room).sound
    behind(room, "cohort", lambda table: table["1"].update(invented=True))
    assert look(room).sound


def test_the_copied_profile_is_checked_as_a_profile_file_is(room: CohortFile) -> None:
    guess = {"test": {"kind": "a guess", "citation": "made for a test"}}
    behind(room, "cohort", lambda table: table["1"]["species"].update(sources=guess))
    assert "species profile, source test, kind: “a guess” is not a kind of source" in told(room)


@pytest.mark.parametrize(
    ("content", "message"),
    [
        (b"", "ends too early"),
        (b"[]", "holds no tables"),
        (b'{"file": {"1": {"format": 7}}}', "install a newer one"),
        (b'{"file": {"1": {"format": 1}}}', "0 readable cohorts"),
    ],
)
def test_what_cannot_be_read_is_told(room: CohortFile, content: bytes, message: str) -> None:
    room.path.write_bytes(content)
    found = look(room)
    assert not found.sound
    assert found.bytes == len(content)
    assert message in told(room)


def test_a_file_that_is_not_there_is_told(path: Path) -> None:
    found = verify(path, NOW, check)
    assert (found.sound, found.bytes) == (False, 0)
    assert "there is no cohort file" in str(found.problems[0])


def test_a_file_cut_off_anywhere_is_never_sound(room: CohortFile) -> None:
    whole = room.path.read_bytes()
    for length in range(0, len(whole) - 1, 7):
        room.path.write_bytes(whole[:length])
        assert not look(room).sound


def test_a_change_by_hand_is_noticed_and_can_be_accepted(room: CohortFile) -> None:
    by_hand(room, '"stage":"L1"', '"stage":"L2"')
    edited = room.path.read_bytes()
    with pytest.raises(StoreError, match="checksum does not fit"):
        states(room)
    found = look(room)
    assert (found.sound, found.intact, len(found.problems)) == (False, False, 1)
    assert "--accept" in found.problems[0].remedy

    assert accept(room.path, NOW, check).sound
    assert states(room) == ["1 L2", "2 L1"]
    aside = backups_of(room.path)[-1]
    assert (aside.why, aside.path.read_bytes()) == ("before accepting", edited)
    add(room, seen("1", 2, "L2"))


def test_a_file_laid_out_for_reading_and_then_changed_can_be_accepted(room: CohortFile) -> None:
    tables = json.loads(room.path.read_bytes())
    del tables["observations"]["2"]
    room.path.write_text(json.dumps(tables, indent=2))
    assert accept(room.path, NOW, check).sound
    assert states(room) == ["1 L1"]


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ('"stage":"L1"', '"stage":"L9"'),
        ('"individual":"1"', '"individual":"7"'),
        ('"at":"2026-03-10T09:00:00+00:00"', '"at":0'),
        ('"2":{"individual"', '"1":{"individual"'),  # one number twice: a record would be lost
        ('"zone":"UTC"', '"zone":"UTC","zone":"Europe/London"'),
    ],
)
def test_a_change_by_hand_that_breaks_a_rule_is_not_accepted(
    room: CohortFile, old: str, new: str
) -> None:
    by_hand(room, old, new)
    before = room.path.read_bytes()
    with pytest.raises(StoreError) as refused:
        accept(room.path, NOW, check)
    assert len(refused.value.problems) == 2  # the checksum, and what is wrong
    assert room.path.read_bytes() == before


def test_what_cannot_be_read_is_not_accepted(room: CohortFile) -> None:
    room.path.write_bytes(room.path.read_bytes()[:-20])
    before = room.path.read_bytes()
    with pytest.raises(StoreError, match="ends too early"):
        accept(room.path, NOW, check)
    assert room.path.read_bytes() == before


def test_there_is_nothing_to_accept_in_a_sound_file(room: CohortFile) -> None:
    with pytest.raises(StoreError, match="nothing to accept"):
        accept(room.path, NOW, check)


def test_a_rule_broken_under_a_fitting_checksum_is_not_accepted(room: CohortFile) -> None:
    behind(room, "observations", lambda table: table["2"].update(stage="L9"))
    with pytest.raises(StoreError, match="L9"):
        accept(room.path, NOW, check)
