"""Folders of invented classes, packages, copies and damage: what is read, and read again."""

import os
import threading
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from rearlog.analysis.pooling.cohort_summary import CohortSummary
from rearlog.exchange import bundle
from rearlog.exchange.publication import Publication
from rearlog.gathering import kept as kept_module
from rearlog.gathering import season as season_module
from rearlog.gathering.kept import KeptSummaries, arithmetic, stamp_of, usual_cache
from rearlog.gathering.places import places_in
from rearlog.gathering.season import season
from rearlog.gathering.summaries import summaries_in, summary_of
from rearlog.notebook import LogsIn, Notebook, open_data
from rearlog.records.errors import UsageError
from tests.made_seasons import START, write_season

NOW = START + timedelta(days=90)
SAMPLES = Path(__file__).parents[2] / "sample_cohorts"


@pytest.fixture(scope="module")
def classes(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("classes")
    write_season(folder, 6, 8, sites=2, days=50)
    return folder


def counted(monkeypatch: pytest.MonkeyPatch) -> list[Path]:
    """The places that are read from now on."""
    read: list[Path] = []

    def told(path: Path, now: datetime) -> tuple[CohortSummary, ...]:
        read.append(path)
        return summaries_in(path, now)

    monkeypatch.setattr(season_module, "told", told)
    return read


def test_a_summary_has_the_numbers_of_the_answers() -> None:
    """Of the sample cohort warm: those of its durations, its survival and its completeness."""
    notebook = Notebook(SAMPLES / "warm.json")
    found = summary_of(notebook, NOW)
    durations = {each.stage: each for each in notebook.durations().stages}
    whole = notebook.durations("egg", "adult").stages[0]
    for each in found.stages:
        other = durations.get(each.stage, whole)
        assert (each.entered, each.completed, each.died, each.lost, each.removed) == (
            other.entered, other.completed, other.died, other.lost, other.removed
        )  # fmt: skip
        assert each.in_stage == other.in_stage
        assert (each.mean, each.sd, each.se) == (
            pytest.approx(other.mean),
            pytest.approx(other.sd),
            pytest.approx(other.se),
        )
        assert each.celsius == pytest.approx(27.0, abs=0.6)
        assert each.interval == pytest.approx((other.mean_low, other.mean_high))
    assert found.whole is found.stages[-1]
    assert found.whole is not None
    assert found.whole.stage == "egg to adult"
    reached, fates = notebook.survival().reached, notebook.survival().fates
    assert (found.known, found.reached) == (reached.n, reached.reached) == (24, 17)
    assert fates is not None
    assert (found.dead, found.lost, found.removed, found.alive) == (
        fates.dead, fates.lost, fates.removed, fates.alive
    )  # fmt: skip
    complete = notebook.completeness()
    assert (found.looks, found.due, found.missed) == (
        complete.checks, complete.due, complete.missed
    )  # fmt: skip
    assert found.doubtful == len({each.individual for each in notebook.in_doubt})
    assert found.celsius == notebook.celsius
    assert (found.id, found.name) == (notebook.log.cohort.id, "warm")
    assert found.year == 2026
    assert (found.as_of, found.coming) == (None, ())


def test_what_is_to_come_is_that_of_the_forecast() -> None:
    then = datetime(2026, 3, 27, 12, tzinfo=UTC)
    notebook = Notebook(SAMPLES / "room.json").at(then)
    found, forecast = summary_of(notebook, then), notebook.forecast(as_of=then)
    assert found.as_of == then.date()
    last = forecast.last_event
    assert last is not None
    assert (found.earliest, found.likely, found.latest) == (
        last.earliest, last.likely, last.latest
    )  # fmt: skip
    expected = forecast.emergence[-1].expected
    assert expected is not None
    so_far = max(each.came or 0 for each in forecast.emergence)
    assert sum(each.adults for each in found.coming) == pytest.approx(expected - so_far, abs=0.2)
    assert all(each.adults > 0 for each in found.coming)
    assert {each.date for each in found.coming} <= {each.date for each in forecast.emergence}
    late = summary_of(notebook, then + timedelta(days=200))
    assert (late.as_of, late.coming) == (None, ())


def test_all_below_a_folder_is_found_once(classes: Path, tmp_path: Path) -> None:
    files = sorted(classes.rglob("*.json"))
    assert len(files) == 6
    assert places_in([classes]) == files
    assert places_in([classes, files[2], classes / "school-1"]) == files
    hidden = tmp_path / "all" / ".rearlog"
    hidden.mkdir(parents=True)
    (hidden / "old.json").write_bytes(files[0].read_bytes())
    (tmp_path / "all" / "other.json").write_text('{"name": "no cohort"}')
    (tmp_path / "all" / "a.json").write_bytes(files[0].read_bytes())
    assert places_in([tmp_path]) == [tmp_path / "all" / "a.json"]
    with pytest.raises(UsageError, match="no such file or folder"):
        places_in([tmp_path / "gone"])
    (tmp_path / "empty").mkdir()
    with pytest.raises(UsageError, match="no cohorts"):
        season([tmp_path / "empty"])


def test_exported_packages_say_what_their_files_say(classes: Path, tmp_path: Path) -> None:
    files = sorted(classes.rglob("*.json"))[:2]
    publication = Publication(LogsIn(files))
    for darwin_core in (False, True):
        made = open_data(publication, darwin_core=darwin_core)
        bundle.write(tmp_path / f"data-{darwin_core}.zip", made)
        bundle.write(tmp_path / f"data-{darwin_core}", made)
    direct = season(files, now=NOW)
    for place in ("data-False.zip", "data-False", "data-True.zip"):
        packed = season([tmp_path / place], now=NOW)
        assert [each.id for each in packed.cohorts] == [each.id for each in direct.cohorts], place
        assert packed.species[0].whole == direct.species[0].whole
    both = season([tmp_path, *files], now=NOW)
    assert len(both.cohorts) == 2
    assert len(both.copies) == 2


def test_classes_of_one_label_are_told_apart(classes: Path) -> None:
    result = season([classes], now=NOW)
    names = [each.name for each in result.cohorts]
    assert len(set(names)) == 6
    rooms = sorted(each for each in names if each.startswith("room"))
    assert rooms[0] == "room (School 1)"
    assert rooms[1].startswith("room (School 2, ")
    assert "window" in names
    assert (result.sites, len(result.cohorts), result.individuals) == (2, 6, 48)
    assert result.invented


def test_a_copy_counts_once_and_damage_is_passed_over(classes: Path, tmp_path: Path) -> None:
    files = sorted(classes.rglob("*.json"))
    copy = tmp_path / "copy.json"
    copy.write_bytes(files[0].read_bytes())
    cut_off = tmp_path / "cut-off.json"
    cut_off.write_bytes(files[1].read_bytes()[:-200])
    (tmp_path / "no.zip").write_bytes(b"no archive")
    result = season([classes, tmp_path], now=NOW)
    assert len(result.cohorts) == 6
    (found,) = result.copies
    assert {found.used, *found.passed_over} == {str(copy), str(files[0])}
    assert found.cohort in {each.name for each in result.cohorts}
    assert [each.file for each in result.passed_over] == [str(cut_off), str(tmp_path / "no.zip")]
    assert "is not JSON" in result.passed_over[0].why


def test_only_what_changed_is_read_again(
    classes: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder, cache = tmp_path / "all", tmp_path / "kept" / "season.jsonl"
    folder.mkdir()
    for each in sorted(classes.rglob("*.json"))[:4]:
        (folder / each.name).write_bytes(each.read_bytes())
    read = counted(monkeypatch)
    first = season([folder], cache=cache, now=NOW)
    assert len(read) == 4
    read.clear()
    assert season([folder], cache=cache, now=NOW + timedelta(days=3)) == first
    assert read == []
    changed = sorted(folder.iterdir())[1]
    content = changed.read_bytes()
    changed.unlink()
    changed.write_bytes(content)
    assert season([folder], cache=cache, now=NOW) == first
    assert read == [changed]
    read.clear()
    with cache.open("ab") as file:
        file.write(b'{"path":"cut o')
    sorted(folder.iterdir())[0].unlink()
    assert len(season([folder], cache=cache, now=NOW).cohorts) == 3
    assert read == []
    assert len(cache.read_bytes().splitlines()) == 4  # how it was worked out, and three places
    monkeypatch.setattr(kept_module, "arithmetic", lambda: "another")
    season([folder], cache=cache, now=NOW)
    assert len(read) == 3


def test_what_is_to_come_is_worked_out_anew_each_day(
    classes: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (file, *_) = write_season(tmp_path / "young", 1, 6, days=9)
    cache, read = tmp_path / "kept.jsonl", counted(monkeypatch)
    then = START + timedelta(days=10)
    result = season([file], cache=cache, now=then)
    assert result.running == 1
    assert sum(each.adults for each in result.coming) == pytest.approx(
        result.cohorts[0].alive, abs=0.1
    )
    season([file], cache=cache, now=then + timedelta(minutes=5))
    assert len(read) == 1
    season([file], cache=cache, now=then + timedelta(days=1))
    assert len(read) == 2


def test_a_run_that_is_stopped_goes_on_where_it_was(
    classes: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    cache = tmp_path / "kept.jsonl"

    def stop(done: int, of: int) -> None:
        assert of == 6
        if done == 4:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        season([classes], cache=cache, now=NOW, jobs=1, progress=stop)
    read = counted(monkeypatch)
    done: list[tuple[int, int]] = []
    result = season(
        [classes], cache=cache, now=NOW, jobs=1, progress=lambda *told: done.append(told)
    )
    assert len(result.cohorts) == 6
    assert len(read) == 2
    assert done == [(5, 6), (6, 6)]


def test_several_processes_give_the_same(tmp_path: Path) -> None:
    folder = tmp_path / "many"
    write_season(folder, 18, 3, bodies=3, days=45)
    broken = folder / "all" / "broken.json"
    broken.write_bytes(b'{"file":{')
    assert season([folder], jobs=2, now=NOW) == season([folder], jobs=1, now=NOW)


def test_a_run_of_several_processes_that_is_stopped_ends_them_and_goes_on(tmp_path: Path) -> None:
    folder, cache = tmp_path / "many", tmp_path / "kept.jsonl"
    write_season(folder, 18, 3, bodies=3, days=45)

    def stop(done: int, of: int) -> None:
        if done == 9:
            raise KeyboardInterrupt

    before = threading.active_count()
    with pytest.raises(KeyboardInterrupt):
        season([folder], cache=cache, now=NOW, jobs=2, progress=stop)
    assert threading.active_count() == before
    done: list[int] = []
    again = season([folder], cache=cache, now=NOW, progress=lambda read, _: done.append(read))
    assert done == list(range(10, 19))
    assert again == season([folder], jobs=1, now=NOW)


def test_places_of_the_cache(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    one, other = usual_cache([Path("a"), Path("b")]), usual_cache([Path("b"), Path("a")])
    assert one == other
    assert one != usual_cache([Path("a")])
    assert one.name.startswith("season-")
    assert len(arithmetic()) == 64


def test_a_place_that_is_gone_or_changed_is_not_kept(tmp_path: Path) -> None:
    place = tmp_path / "a.json"
    place.write_bytes(b"1")
    kept = KeptSummaries(tmp_path / "kept")
    kept.keep(place, stamp_of(place), NOW.date(), ())
    assert kept.of(place, NOW.date()) == ()
    place.write_bytes(b"12")
    assert kept.of(place, NOW.date()) is None
    place.unlink()
    assert kept.of(place, NOW.date()) is None
    again = KeptSummaries(tmp_path / "kept")
    assert again.of(place, NOW.date()) is None


def test_nothing_else_is_written_over(classes: Path, tmp_path: Path) -> None:
    """What is no file of kept summaries, such as a cohort, stays as it is; a device is not read."""
    cohort = sorted(classes.rglob("*.json"))[0]
    before = cohort.read_bytes()
    with pytest.raises(UsageError, match="holds something else"):
        season([classes], cache=cohort, now=NOW)
    assert cohort.read_bytes() == before
    for place in (tmp_path, Path(os.devnull)):
        with pytest.raises(UsageError, match="is not a file"):
            season([classes], cache=place, now=NOW)
    with pytest.raises(UsageError, match="no such file"):
        season([os.devnull])
