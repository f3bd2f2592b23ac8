"""Whole lives of a cohort through all doors, beside a simple model of it in memory.

`REARLOG_LIVES` is how many; each has some fifty steps. A step may be killed at any of its system
calls: from then on nothing of it reaches the disk, as if the process were gone.
"""

import hashlib
import json
import os
import shutil
import tempfile
import warnings
from collections import Counter
from collections.abc import Callable
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from filelock import FileLock
from hypothesis import HealthCheck, Phase, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, rule, run_state_machine_as_test

from rearlog.disk.notices import DiskWarning
from rearlog.exchange import check_files
from rearlog.exchange.data_package import data_package, read_data_package
from rearlog.exchange.publication import Publication
from rearlog.records.asked_round import answer, begin
from rearlog.records.entries import parse
from rearlog.records.errors import RearlogError
from rearlog.records.incoming import telling
from rearlog.records.log import CohortLog, DayExtremes, Individual, Mark, Observation
from rearlog.species.loader import check as check_profile
from rearlog.species.loader import read as read_profile
from rearlog.store.backups import backups_of
from rearlog.store.cohort_file import CohortFile
from rearlog.store.correcting import correct
from rearlog.store.draft import DraftFile
from rearlog.store.new_cohorts import create_cohorts
from rearlog.store.recording import record_round
from rearlog.store.redacting import redact
from rearlog.store.redaction import Wanted
from rearlog.store.restoring import restore
from rearlog.store.verification import verify
from tests.builders import START
from tests.lives.model import Check, Heat, Model, Refused
from tests.open_data import as_bytes
from tests.store.conftest import header
from tests.store.disk import Call, Disk

LIVES = int(os.environ.get("REARLOG_LIVES", "100"))
STEPS = 50
FIRST_NOW = 20 * 1440

CODES = st.sampled_from([*map(str, range(1, 7)), *map(str, range(1, 7)), "x1", "x2", "x3"])
MOMENTS = st.integers(0, 30).map(lambda step: FIRST_NOW * 9 if step == 30 else step * 720)
PEOPLE = st.sampled_from([None, None, "KT", "LM", "AB"])
STAGES = st.sampled_from(["egg", "L1", "L2", "L3", "pupa", "adult"])
NOTES = st.sampled_from([None, None, "wet leaf", "Anna was here", "=1+1", "“ä” – 窓"])
CAUSES = st.sampled_from([None, "mould", "Anna dropped it"])
LENGTHS = st.sampled_from([None, None, 1.5, 12.0])
KILLS = st.none() | st.none() | st.none() | st.integers(1, 60)
CHOICES = st.lists(st.integers(0, 999), min_size=1, max_size=3)

FIGURES: Counter[str] = Counter()


class Killed(BaseException):
    """The process is gone."""


def moment(minute: int) -> datetime:
    return START + timedelta(minutes=minute)


def minutes(at: datetime) -> int:
    return round((at - START).total_seconds() / 60)


@st.composite
def looks(draw: st.DrawFn, *, most: int = 3) -> list[Check]:
    found = []
    for code in draw(st.lists(CODES, min_size=1, max_size=most, unique=True)):
        check = Check(code, draw(MOMENTS), by=draw(PEOPLE), note=draw(NOTES))
        what = draw(st.sampled_from(["stage", "stage", "stage", "same", "fate"]))
        if what == "stage":
            check.stage, check.witnessed = draw(STAGES), draw(st.booleans())
            check.length = draw(LENGTHS)
        elif what == "fate":
            check.fate = draw(st.sampled_from(["dead", "lost", "removed"]))
            check.cause = draw(CAUSES)
        else:
            check.same = True
        found.append(check)
    return found


def entry(check: Check) -> str:
    """A look in the notation."""
    words = [check.code, check.stage or check.fate or "same"]
    if check.cause:
        words[-1] += f"({check.cause})"
    words += ["seen"] * check.witnessed
    words += [f"len={check.length}"] * (check.length is not None)
    words += [f'"{check.note}"'] * (check.note is not None)
    return " ".join(words)


class Lives(RuleBasedStateMachine):
    def __init__(self) -> None:
        super().__init__()
        self.folder = Path(tempfile.mkdtemp(prefix="lives-"))
        self.path = self.folder / "room.json"
        self.now = FIRST_NOW
        self.model = Model(6)
        self.forked: Model | None = None
        self.states: dict[str, Model] = {}
        FIGURES["lives"] += 1

    @initialize(kill=KILLS)
    def start(self, kill: int | None) -> None:
        eggs = [Individual(each.code, START, "egg") for each in self.model.animals]
        try:
            self._killed_at(kill, lambda: CohortFile(self.path).create(header(), eggs))
        except Killed:
            if not self.path.exists():
                CohortFile(self.path).create(header(), eggs)
        self._compare(self.model)

    # taking steps

    def _killed_at(self, at: int | None, act: Callable[[], object]) -> None:
        if at is None:
            act()
            return

        def before(count: int, _call: Call) -> None:
            if count >= at:  # a process that is gone does nothing more
                raise Killed

        with Disk(self.folder, before).watched():
            act()

    def _step(
        self,
        name: str,
        act: Callable[[], object],
        expect: Callable[[Model], object],
        kill: int | None = None,
    ) -> None:
        """Do it to the file and to the model; both take it, or both refuse."""
        FIGURES["steps"] += 1
        FIGURES[name] += 1
        after = self.model.copy()
        refused, killed, told = False, False, ""
        try:
            expect(after)
        except Refused:
            refused = True
        try:
            self._killed_at(kill, act)
        except Killed:
            killed = True
        except RearlogError as error:
            told = str(error)
            FIGURES["refused"] += 1
        assert killed or bool(told) == refused, f"{name}: {told or 'not refused'}"
        if killed:
            FIGURES["killed"] += 1
            if not refused and self._held() == after:
                FIGURES["killed when it was done"] += 1
                self.model = after
        elif not refused:
            self.model = after
        self._compare(self.model)
        self.now += 1

    def _held(self) -> "Shown":
        return Shown(CohortFile(self.path).read())

    def _compare(self, model: Model) -> None:
        found = self._held()
        assert found == model, f"\n{found.told}\n{told_of(model)}"
        lock = FileLock(self.folder / ".rearlog" / "room.json.lock", timeout=0)
        lock.acquire()
        lock.release()
        looked = verify(self.path, moment(self.now), check_profile)
        assert looked.sound, looked.problems
        self.states[_digest(self.path)] = model.copy()

    # the doors

    @rule(checks=looks(), at=MOMENTS, by=PEOPLE, rest=st.booleans(), kill=KILLS)
    def log(
        self, checks: list[Check], at: int, by: str | None, rest: bool, kill: int | None
    ) -> None:
        for each in checks:
            each.at, each.by = at, by
        line = "; ".join([*map(entry, checks), *(["rest same"] if rest else [])])
        entries = parse(line)

        def expect(model: Model) -> None:
            named = {each.code for each in checks}
            others = [code for code in model.alive(at) if code not in named] if rest else []
            model.log([*checks, *(Check(code, at, same=True, by=by) for code in others)], self.now)
            order = [each.code for each in model.animals]
            new = len(checks) + len(others)
            written = sorted(model.checks[-new:], key=lambda each: order.index(each.code))
            for place, each in enumerate(written):
                each.born = (self.now, place)
            model.checks[-new:] = written

        file = CohortFile(self.path)
        self._step(
            "log", lambda: record_round(file, entries, moment(at), by, moment(self.now)),
            expect, kill,
        )  # fmt: skip

    @rule(at=MOMENTS, by=PEOPLE, said=st.lists(STAGES | st.just("same"), max_size=3), kill=KILLS)
    def check(self, at: int, by: str | None, said: list[str], kill: int | None) -> None:
        """A round that is asked; a kill may come while it is kept, and then it goes on."""
        log = CohortFile(self.path).read()
        asked = self.model.asked(at, by)
        drafts = DraftFile(self.path)
        if not asked or at > self.now:
            if not asked:
                with pytest.raises(RearlogError):
                    begin(log, moment(at), by)
            return
        round_ = begin(log, moment(at), by)
        assert list(round_.asked) == asked
        checks = []
        with drafts.held():
            for code, word in zip(asked, said, strict=False):
                round_ = answer(round_, word).round
                drafts.write(round_)
                same = word == "same"
                checks.append(Check(code, at, None if same else word, by=by, same=same))
            draft = drafts.read()
            if draft is not None:
                round_ = draft.resumed(CohortFile(self.path).read())
            assert [each.individual for each in round_.checks] == [each.code for each in checks]
            told = list(round_.checks)
            self._step(
                "check",
                lambda: CohortFile(self.path).record([telling(told)],
                                                     moment(self.now)),
                lambda model: model.log(checks, self.now), kill,
            )  # fmt: skip
            drafts.clear()

    @rule(checks=looks(most=5), tap=st.booleans(), kill=KILLS)
    def bring(self, checks: list[Check], tap: bool, kill: int | None) -> None:
        """A file of tidy CSV, or one that a tapped round saved."""
        if tap:
            names = ["individual", "at", "stage", "fate", "cause", "witnessed", "length_mm", "by",
                     "note", "same"]  # fmt: skip
        else:
            names = ["same", "note", "at", "individual", "by", "cause", "fate", "length_mm",
                     "stage", "witnessed"]  # fmt: skip
        out = [",".join(names)]
        for each in checks:
            cells = {
                "individual": each.code, "at": moment(each.at).isoformat(), "stage": each.stage,
                "fate": each.fate, "cause": each.cause, "by": each.by, "note": each.note,
                "length_mm": each.length, "witnessed": "yes" if each.witnessed else "",
                "same": "yes" if each.same else "",
            }  # fmt: skip
            out.append(",".join("" if cells[name] is None else str(cells[name]) for name in names))
        source = self.folder / "brought.csv"
        source.write_text("\n".join(out) + "\n", "utf-8")

        def act() -> None:
            CohortFile(self.path).record(
                [lambda log: check_files.read(source, log, moment(self.now))],
                moment(self.now),
                pass_known=True,
            )

        self._step("import", act, lambda model: model.bring(checks, self.now), kill)

    @rule(
        days=st.dictionaries(
            st.integers(0, 6), st.sampled_from([(18.0, 24.0), (17.5, 23.0)]), min_size=1, max_size=3
        ),
        kill=KILLS,
    )
    def temps(self, days: dict[int, tuple[float, float]], kill: int | None) -> None:
        records = [
            DayExtremes((START + timedelta(days=day)).date(), *found) for day, found in days.items()
        ]

        def expect(model: Model) -> None:
            for day, found in days.items():
                model.measure(day, *found, self.now)

        self._step(
            "temps",
            lambda: CohortFile(self.path).add_temperatures(records, moment(self.now)),
            expect,
            kill,
        )

    @rule(code=st.sampled_from(["1", "x1", "x2", "x3", "x4"]), at=MOMENTS, stage=STAGES, kill=KILLS)
    def add(self, code: str, at: int, stage: str, kill: int | None) -> None:
        new = [Individual(code, moment(at), stage)]
        self._step(
            "add", lambda: CohortFile(self.path).add_individuals(new),
            lambda model: model.enter(code, at, stage), kill,
        )  # fmt: skip

    @rule(chosen=CHOICES, heat=st.booleans(), back=st.booleans(), kill=KILLS)
    def strike(self, chosen: list[int], heat: bool, back: bool, kill: int | None) -> None:
        known: list[Any] = list(self.model.heat if heat else self.model.checks)
        fit = [place for place, each in enumerate(known) if each.stands != back]
        if not known:
            return
        among = fit or list(range(len(known)))
        places = sorted({among[each % len(among)] for each in chosen})
        numbers = [place + 1 for place in places]
        of_checks, of_heat = ([], numbers) if heat else (numbers, [])
        mark = Mark(moment(self.now), "wrong cup", "LM")
        file = CohortFile(self.path)
        deed = file.take_back if back else file.strike

        def expect(model: Model) -> None:
            told = ([], places) if heat else (places, [])
            (model.take_back if back else model.strike)(*told, self.now, "wrong cup", "LM")

        name = "take back" if back else "strike"
        self._step(name, lambda: deed(of_checks, of_heat, mark), expect, kill)

    @rule(
        code=CODES, stage=STAGES, days=st.tuples(st.integers(0, 8), st.integers(0, 8)),
        by=PEOPLE, kill=KILLS,
    )  # fmt: skip
    def correct(
        self, code: str, stage: str, days: tuple[int, int], by: str | None, kill: int | None
    ) -> None:
        first, last = sorted(days)
        span = (START + timedelta(days=first)).date(), (START + timedelta(days=last)).date()
        mark = Mark(moment(self.now), "misread", by)
        self._step(
            "correct",
            lambda: correct(CohortFile(self.path), code, stage, span, mark, moment(self.now)),
            lambda model: model.correct(code, stage, (first, last), self.now, "misread", by), kill,
        )  # fmt: skip

    @rule(code=CODES, back=st.booleans(), kill=KILLS)
    def withdraw(self, code: str, back: bool, kill: int | None) -> None:
        mark = Mark(moment(self.now), "entered twice", "KT", back)
        self._step(
            "withdraw", lambda: CohortFile(self.path).withdraw([code], mark),
            lambda model: model.withdraw(code, self.now, back, "entered twice", "KT"), kill,
        )  # fmt: skip

    @rule(
        wanted=st.sampled_from(
            [("note", "Anna"), ("cause", "Anna"), ("by", "KT"), ("by", "LM"), ("note", "wet")]
        ),
        rare=st.integers(0, 2),
        kill=KILLS,
    )
    def redact(self, wanted: tuple[str, str], rare: int, kill: int | None) -> None:
        if rare:
            return
        what, word = wanted
        copies = {
            each.number: self.states[_digest(each.path)].copy() for each in backups_of(self.path)
        }

        def act() -> None:
            redact(self.path, Wanted((what,), word), moment(self.now), "PQ")

        def expect(model: Model) -> None:
            model.redact(what, word, self.now)

        before, said = self.model.copy(), self._saying(what, word)
        self._step("redact", act, expect, kill)
        if kill is not None:  # whatever was begun and stopped is finished by the next
            again, told = self.now - 1, self.model
            with CohortFile(self.path).held():
                pass
            done = before.copy()
            done.redact(what, word, again)
            assert self._held() in (told, done)
            self.model = done if self._held() == done else told
            self._compare(self.model)
            if left := self._saying(what, word):
                assert left == said, "it was begun, and not finished"
                return
        for each in backups_of(self.path):
            if each.number in copies:
                copies[each.number].redact(what, word, self.now - 1)
                self.states[_digest(each.path)] = copies[each.number]
        assert not self._saying(what, word)

    def _saying(self, what: str, word: str) -> set[int]:
        """The numbers of the copies, 0 for the file, in which the field says it, of a record or of
        one of its marks."""
        copies = {each.number: each.path for each in backups_of(self.path)} | {0: self.path}
        return {
            number
            for number, path in copies.items()
            for table in ("individuals", "observations", "temperatures")
            for record in json.loads(path.read_bytes()).get(table, {}).values()
            for each in (record, *record.get("marks", ()))
            if word.lower() in str(each.get(what, "")).lower()
        }

    @rule()
    def fork(self) -> None:
        """A copy of the file goes its own way."""
        if self.forked is None:
            shutil.copyfile(self.path, self.folder / "other.json")
            self.forked = self.model.copy()

    @rule(checks=looks(), chosen=CHOICES, act=st.sampled_from(["log", "log", "strike"]))
    def apart(self, checks: list[Check], chosen: list[int], act: str) -> None:
        """What somebody else does to the copy."""
        if self.forked is None:
            return
        file, after = CohortFile(self.folder / "other.json"), self.forked.copy()
        refused = False
        places = [
            place
            for place, each in enumerate(after.checks)
            if each.stands and after.animal(each.code)
        ]
        try:
            if act == "log":
                after.bring(checks, self.now)
            elif places:
                places = sorted({places[each % len(places)] for each in chosen})
                after.strike(places, [], self.now, "in the copy", "AB")
            else:
                return
        except Refused:
            refused = True
        try:
            if act == "log":
                told = [_observation(each) for each in checks]
                file.record([telling(told)], moment(self.now), pass_known=True)
            else:
                mark = Mark(moment(self.now), "in the copy", "AB")
                file.strike([place + 1 for place in places], [], mark)
        except RearlogError:
            assert refused
        else:
            assert not refused
            self.forked = after
        self.now += 1

    @rule(kill=KILLS)
    def merge(self, kill: int | None) -> None:
        if self.forked is None:
            return
        other, copy = self.forked.copy(), self.folder / "other.json"
        self._step(
            "merge", lambda: CohortFile(self.path).merge(copy, moment(self.now)),
            lambda model: model.merge(other), kill,
        )  # fmt: skip
        if kill is None:
            self.forked = None

    @rule(rare=st.integers(0, 3))
    def export_and_unpack(self, rare: int) -> None:
        if rare:
            return
        FIGURES["export, unpack"] += 1
        log = CohortFile(self.path).read()
        files = as_bytes(data_package(Publication((log,))))
        with tempfile.TemporaryDirectory(dir=self.folder) as scratch:
            package = Path(scratch) / "package"
            for name, content in files.items():
                (package / name).parent.mkdir(parents=True, exist_ok=True)
                (package / name).write_bytes(content)
            logs = read_data_package(package, read_profile, moment(self.now))
            (path,) = create_cohorts(Path(scratch), logs, moment(self.now))
            again = CohortFile(path).read()
            assert verify(path, moment(self.now), check_profile).sound
            standing = [each.said for each in self.model.visible() if each.stands]
            assert [Shown.of(each) for each in again.all_observations] == standing
            assert [each.code for each in again.individuals] == [
                each.code for each in self.model.animals if each.counts
            ]
            heat = [(each.day, each.low, each.high) for each in self.model.heat if each.stands]
            # a day that was struck out, told again and taken back stands twice, and comes in once
            assert [Shown.heat_of(each) for each in again.all_temperatures] == [
                *dict.fromkeys(heat)
            ]

    @rule(chosen=st.integers(0, 99), kill=KILLS)
    def restore(self, chosen: int, kill: int | None) -> None:
        backups = backups_of(self.path)
        if not backups or chosen % 3:
            return
        backup = backups[chosen % len(backups)]
        was = self.states[_digest(backup.path)]

        def expect(model: Model) -> None:
            model.__dict__.update(was.copy().__dict__)

        self._step("restore", lambda: restore(self.path, backup.number), expect, kill)

    def teardown(self) -> None:
        if self.path.exists():
            hidden = [each.name for each in (self.folder / ".rearlog").iterdir()]
            assert len(hidden) < 40, hidden
        shutil.rmtree(self.folder)


def _marks(record: Any) -> list[tuple[int, bool, str, str | None]]:
    return [(minutes(each.at), each.back, each.because, each.by) for each in record.marks]


class Shown:
    """What a log says, in the words of the model."""

    def __init__(self, log: CohortLog) -> None:
        self.animals = sorted(
            (each.code, minutes(each.entered_at), each.stage, _marks(each))
            for each in (*log.individuals, *log.withdrawn)
        )
        every = sorted(
            (*log.all_observations, *log.of_withdrawn), key=lambda each: each.number or 0
        )
        self.checks = [(each.number, self.of(each), _marks(each)) for each in every]
        self.heat = [
            (each.number, self.heat_of(each),
             _marks(each))
            for each in log.all_temperatures
        ]  # fmt: skip

    @staticmethod
    def of(each: Any) -> tuple[object, ...]:
        return (
            each.individual, minutes(each.at), each.stage, each.fate, each.cause, each.by,
            each.note, each.length_mm, each.witnessed, each.same,
        )  # fmt: skip

    @staticmethod
    def heat_of(each: Any) -> tuple[object, ...]:
        return ((each.date - START.date()).days, each.min_c, each.max_c)

    @property
    def told(self) -> tuple[object, ...]:
        return self.animals, self.checks, self.heat

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Model) and self.told == told_of(other)

    __hash__ = None  # type: ignore[assignment]


def told_of(model: Model) -> tuple[object, ...]:
    def numbered(records: list[Any], said: Callable[[Any], tuple[object, ...]]) -> list[object]:
        return [(no, said(each), each.marks) for no, each in enumerate(records, start=1)]

    def extremes(each: Heat) -> tuple[object, ...]:
        return (each.day, each.low, each.high)

    animals = sorted((each.code, each.entered, each.stage, each.marks) for each in model.animals)
    return animals, numbered(model.checks, lambda c: c.said), numbered(model.heat, extremes)


def _digest(path: Path) -> str:
    return hashlib.sha256(path.read_bytes()).hexdigest()


def _observation(check: Check) -> Observation:
    return Observation(
        check.code, moment(check.at), check.stage, check.fate, check.cause, check.witnessed,
        length_mm=check.length, by=check.by, note=check.note, same=check.same,
    )  # fmt: skip


@pytest.mark.slow
def test_whole_lives_are_kept_as_a_simple_model_keeps_them(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(os, "fsync", lambda _descriptor: None)  # the power is not cut here
    FIGURES.clear()
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", DiskWarning)  # that a redaction was stopped
        run_state_machine_as_test(
            Lives,
            settings=settings(
                max_examples=LIVES,
                stateful_step_count=STEPS,
                derandomize=True,
                database=None,
                deadline=None,
                suppress_health_check=list(HealthCheck),
                phases=[Phase.generate],
            ),
        )
    print(dict(FIGURES))
    assert FIGURES["steps"] >= LIVES * 12
    assert FIGURES["killed"] >= LIVES
    assert FIGURES["killed when it was done"] > 0
    assert FIGURES["merge"] > 0
