"""What is said of logs that are published; they are read one by one, and never all in memory."""

import weakref
from collections.abc import Iterator
from datetime import date
from pathlib import Path

import pytest
from msgspec.structs import asdict, replace

from rearlog.exchange.bundle import zipped
from rearlog.exchange.publication import Publication
from rearlog.notebook import LogsIn, open_data
from rearlog.records.errors import RearlogError, UsageError
from rearlog.records.incoming import telling
from rearlog.records.log import CohortLog, DayExtremes
from rearlog.records.nameless import Treated, Treatment
from rearlog.store.cohort_file import CohortFile
from rearlog.store.opening import read_log
from tests.builders import moment, seen, tiny_log
from tests.open_data import NOW, as_bytes, north, south

MANY = 12


class Changing:
    """Logs that are others when they are read a second time."""

    def __init__(self, first: CohortLog, second: CohortLog) -> None:
        self._next = iter([first, second])

    def __iter__(self) -> Iterator[CohortLog]:
        yield next(self._next)


@pytest.fixture
def paths(tmp_path: Path) -> list[Path]:
    """Files of some cohorts, each with two checks and a day's temperatures."""
    found = []
    for number in range(MANY):
        log = tiny_log({"1": "egg", "2": "egg"})
        file = CohortFile(tmp_path / f"c{number:02d}.json")
        file.create(replace(log.cohort, name=file.path.stem, id=""), log.individuals)
        file.record([telling([seen("1", 1, "L1"), seen("2", 2, "dead:mould")])], NOW)
        file.add_temperatures([DayExtremes(date(2026, 3, 9), 18.0, 22.0)], NOW)
        found.append(file.path)
    return found


class SeenLog(CohortLog, frozen=True, weakref=True):
    """A log of which it can be seen when it is gone."""


@pytest.mark.parametrize("darwin_core", [False, True])
@pytest.mark.parametrize("names", [False, True])
def test_few_logs_are_in_memory_at_once(
    paths: list[Path], monkeypatch: pytest.MonkeyPatch, darwin_core: bool, names: bool
) -> None:
    every = tuple(map(read_log, paths))
    whole = as_bytes(open_data(Publication(every, names=names), darwin_core=darwin_core))
    ever, most = list[weakref.ref[CohortLog]](), []

    def read(path: Path) -> CohortLog:
        log = SeenLog(**asdict(read_log(path)))
        ever.append(weakref.ref(log))
        most.append(sum(each() is not None for each in ever))
        return log

    monkeypatch.setattr("rearlog.notebook.publishing.read_log", read)
    files = open_data(Publication(LogsIn(paths), names=names), darwin_core=darwin_core)
    assert len(most) == 2 * MANY  # once for what is said of all, once for the tables
    assert max(most) <= 2  # the one before, and this
    assert as_bytes(files) == whole
    assert zipped(files) == zipped(whole)


def test_the_totals_are_those_of_all_logs() -> None:
    late = replace(south(), all_observations=(seen("1", 90, "adult"),))
    published = Publication((north(), late))
    checks = [*north().observations, *late.all_observations]
    assert (published.individuals, published.checks) == (4, len(checks)) == (4, 9)
    assert published.looks == (min(each.at for each in checks), max(each.at for each in checks))
    assert published.span == (date(2026, 3, 26), moment(90).date())
    told = " ".join(published.paragraphs)
    assert "Cohorts: north, south; individuals: 4; checks: 9, 2026-03-27 to 2026-06-07." in told
    assert "Records that were struck out are left out (2)." in told
    assert Publication((south(),)).looks is None


def test_values_are_told_once_in_the_order_of_the_cohorts() -> None:
    there = replace(south().cohort, latitude=1.5, longitude=0.0, food="nettles")
    values = Publication((north(), replace(south(), cohort=there))).values
    assert values["by"] == ("KT", "LM")
    assert values["cause"] == ("+escaped", "mould; wet", "released")
    assert values["food"] == ("nettles",)
    assert (values["latitude"], values["longitude"]) == (("1.5",), ("0.0",))
    assert values["code"] == ("A01", "A02", "ä_3", "1")
    assert "struck note" not in values["note"]
    treated = Publication((replace(south(), cohort=there),), names=False, blur=1.0).treated
    assert Treated("longitude", Treatment.REPLACED, ("0.0",)) in treated


@pytest.mark.parametrize(
    "changed",
    [
        replace(north(), all_observations=north().all_observations[:-1]),
        replace(north(), cohort=replace(north().cohort, food="leek")),
        replace(north(), individuals=north().individuals[:2], all_observations=()),
        replace(north(), all_temperatures=north().all_temperatures[:2]),
    ],
)
def test_a_log_that_changes_meanwhile_is_told(changed: CohortLog) -> None:
    published = Publication(Changing(north(), changed))
    with pytest.raises(RearlogError, match="north was changed while it was read"):
        list(published.logs)
    assert len(list(Publication(Changing(north(), north())).logs)) == 1


def test_copies_are_refused_before_anything_is_written(paths: list[Path]) -> None:
    copy = paths[0].with_name("copy.json")
    copy.write_bytes(paths[0].read_bytes())
    with pytest.raises(UsageError, match="copies of one cohort"):
        Publication(LogsIn([*paths, copy]))
    with pytest.raises(UsageError, match="given twice: c00"):
        Publication(LogsIn([*paths, paths[0]]))
