"""The log from Python: what is offered, answers as frames, charts into axes, looks recorded."""

import copy
import os
import pickle
import subprocess
import sys
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import matplotlib.pyplot as plt
import numpy as np
import pandas
import polars
import pyarrow
import pytest
from matplotlib.figure import Figure

import rearlog
from rearlog.charts.style import INVENTED
from rearlog.interface.cohorts import OpenCohort
from rearlog.present.pictures import KINDS, OF_ALL, OF_SEASON
from rearlog.store.cohort_file import CohortFile
from tests.builders import seen, tiny_log

SAMPLES = Path(__file__).parents[2] / "sample_cohorts"
COOL, ROOM, WARM = (SAMPLES / f"{name}.json" for name in ("cool", "room", "warm"))


@pytest.fixture(scope="module")
def room() -> OpenCohort:
    return rearlog.open(ROOM)


@pytest.fixture(scope="module")
def warm() -> OpenCohort:
    return rearlog.open(WARM)


def test_dir_shows_what_is_offered_and_all_of_it_is_there() -> None:
    assert dir(rearlog) == sorted(rearlog.__all__)
    for name in rearlog.__all__:
        assert getattr(rearlog, name).__doc__, name
    with pytest.raises(AttributeError, match="'rearlog' has no attribute 'lizard'"):
        rearlog.lizard  # noqa: B018


def test_importing_it_loads_none_of_it() -> None:
    program = "import rearlog, sys; print(sorted(n for n in sys.modules if 'rearlog.' in n))"
    told = subprocess.run([sys.executable, "-c", program], capture_output=True, check=True)
    assert told.stdout.decode().strip() == "[]"


def test_answers_have_the_same_types_for_every_cohort(room: OpenCohort, warm: OpenCohort) -> None:
    for ask in (OpenCohort.durations, OpenCohort.heat, OpenCohort.survival, OpenCohort.progress):
        one, other = ask(room).tables(), ask(warm).tables()  # type: ignore[operator]
        assert one.keys() == other.keys()
        for name in one:
            frames = (one[name].to_frame(), other[name].to_frame())
            pandas.testing.assert_series_equal(frames[0].dtypes, frames[1].dtypes)
            assert frames[0].columns[0] == "cohort"
            assert set(frames[0]["cohort"]) <= {"room"}
            assert polars.DataFrame(one[name]).schema == polars.DataFrame(other[name]).schema


def test_no_cell_holds_several_values(room: OpenCohort, warm: OpenCohort) -> None:
    answers = [
        room.durations(),
        room.survival(),
        room.growth(),
        room.stage_counts(),
        room.agreement(),
        room.forecast_review(),
        rearlog.compare([room, warm]),
        rearlog.thermal([COOL, room, warm]),
    ]
    for answer in answers:
        for table in answer.tables().values():
            for values in table.values:
                assert not any(isinstance(each, list | tuple | dict) for each in values)
            table.to_arrow().validate(full=True)


def test_the_main_table_goes_to_every_library_as_it_is(room: OpenCohort) -> None:
    durations = room.durations()
    frame = durations.to_frame()
    assert list(frame["stage"]) == [each.stage for each in durations.stages]
    assert list(frame["stage"].cat.categories) == list(room.log.cohort.species.codes)
    assert frame["completed"].tolist() == [each.completed for each in durations.stages]
    assert frame["mean"].tolist() == [each.mean for each in durations.stages]
    assert pyarrow.table(durations)["completed"].to_pylist() == frame["completed"].tolist()
    assert polars.DataFrame(durations).equals(durations.to_frame("polars"))


def test_a_frame_of_individuals_gives_the_mean_of_the_answer(room: OpenCohort) -> None:
    days = room.durations().to_frame(table="individuals")
    pupae = days[(days["stage"] == "pupa") & (days["outcome"] == "completed")]
    pupa = next(each for each in room.durations().stages if each.stage == "pupa")
    assert pupae["days"].mean() == pytest.approx(pupa.mean)


def test_how_many_in_which_stage_is_a_row_a_day_and_stage(room: OpenCohort) -> None:
    counts = room.stage_counts()
    frame = counts.to_frame()
    last = counts.days[-1]
    of_last = frame[frame["date"] == pandas.Timestamp(last.date)]
    assert of_last["n"].tolist() == list(last.in_stage)
    assert of_last["stage"].tolist() == list(counts.stages)


def test_comparisons_are_a_row_a_stage_unit_and_cohort(room: OpenCohort, warm: OpenCohort) -> None:
    found = rearlog.compare([room, WARM])
    frame = found.to_frame()
    assert len(frame) == sum(len(each.groups) for each in found.stages)
    assert set(frame["cohort"]) == {"room", "warm"}
    assert found.to_frame(table="stages")["p"].tolist()[0] == found.stages[0].p


def test_columns_say_what_they_mean_and_in_which_unit(room: OpenCohort) -> None:
    schema = pyarrow.table(room.durations()).schema
    assert schema.field("died").metadata[b"meaning"] == b"found dead"  # of the glossary
    of_docstring = schema.field("mean_of").metadata[b"meaning"].decode()
    assert of_docstring.startswith("mean_of says for whom the mean stands")
    series = {each.name: each for each in room.growth().tables()["series"].columns}
    assert series["mass_mg"].unit == "mg"
    assert series["degree_days"].unit == "degree-days °C"
    by_day = {each.name: each.meaning for each in room.stage_counts().tables()["in_stage"].columns}
    assert by_day["cohort"] == schema.field("cohort").metadata[b"meaning"].decode()
    assert by_day["date"] == "the day by whose end it is"
    assert by_day["n"] == "how many of the living were in the stage"


def test_answers_say_briefly_what_they_are(room: OpenCohort, warm: OpenCohort) -> None:
    said = repr(room.durations())
    assert said == "<Durations of room: rows of stages 7, individuals 141, summary 1>"
    assert repr(room.survival()).startswith("<Survival of room, n = 24: rows of kaplan_meier 15, ")
    assert repr(rearlog.compare([room, warm])).startswith("<Comparison of room, warm: rows of ")
    assert repr(room) == "<Cohort room: 24 of Vanessa cardui, invented data>"
    shown = room.durations()._repr_html_()
    assert "<caption>" in shown
    assert shown.count("<tr>") == 8


def test_every_answer_opens_with_its_sentence_in_a_notebook(room: OpenCohort) -> None:
    early = room.at(datetime(2026, 3, 24, 12, tzinfo=UTC))
    for answer in (room.survival(), room.heat(), early.forecast(), early.due()):
        assert "<caption>" in answer._repr_html_()
    assert "<caption>" not in room.completeness()._repr_html_()


def test_an_answer_is_a_value_still(room: OpenCohort) -> None:
    answer = room.survival()
    for other in (copy.copy(answer), pickle.loads(pickle.dumps(answer))):
        assert other == answer
        assert [each.columns[0].name for each in other.tables().values()]


def test_records_are_tables_too(room: OpenCohort) -> None:
    looks = room.observations().to_frame()
    assert len(looks) == room.completeness().checks
    assert looks.loc[looks["stage"].isna(), "fate"].notna().all()
    assert len(room.individuals()) == 24
    assert set(room.temperatures().column("cohort")) == {"room"}
    assert polars.DataFrame(room.observations())["at"].dtype == polars.Datetime("us", "UTC")


@pytest.mark.parametrize("kind", KINDS)
def test_every_chart_is_drawn_into_given_axes_and_returns_them(
    kind: str, room: OpenCohort, warm: OpenCohort
) -> None:
    if kind == "reproduction":
        cohorts = [SAMPLES / "life_table" / f"dock-{n}.json" for n in (19, 22)]
    else:
        cohorts = [COOL, ROOM, WARM] if kind in (*OF_ALL, *OF_SEASON) else [ROOM]
    panels = {"growth": 3, "reproduction": 2, "pace": 2}.get(kind, 1)
    if kind == "growth":
        panels = len(rearlog.chart("growth", room).axes)
    every: Any
    figure, every = plt.subplots(1, panels, figsize=(6 * panels, 5), squeeze=False)
    given = every[0, 0] if panels == 1 else every
    assert rearlog.chart(kind, cohorts, given) is given
    assert figure.axes == list(every[0])
    assert figure.get_suptitle() == ""
    if kind == "agreement":
        assert "No two observers" in every[0, 0].texts[0].get_text()
    else:
        assert all(each.has_data() for each in every[0])
        assert every[0, 0].get_title(loc="right") == INVENTED
    figure.draw_without_rendering()
    plt.close(figure)


def test_a_second_panel_is_drawn_where_axes_are_given_for_it(room: OpenCohort) -> None:
    for kind, said in (("survival", "Number at risk"), ("heat", "of each day")):
        figure, axes = plt.subplots(2, 1, figsize=(6, 6))
        assert room.chart(kind, ax=axes) is axes
        assert said in axes[1].get_title(loc="left")
        assert axes[0].get_xlim() == axes[1].get_xlim()
        plt.close(figure)


def test_several_cohorts_in_given_axes_are_named_in_a_legend(
    room: OpenCohort, warm: OpenCohort
) -> None:
    figure, ax = plt.subplots()
    rearlog.chart("survival", [room, warm], ax)
    assert [each.get_text() for each in ax.get_legend().get_texts()] == ["room", "warm"]
    plt.close(figure)
    figure, ax = plt.subplots(figsize=(6, 6))
    room.chart("stages", ax)
    assert "pupa" in [each.get_text() for each in ax.get_legend().get_texts()]
    beside = ax.get_legend().get_window_extent().x0 - ax.get_window_extent().x1
    assert beside >= 0  # the fields fill the axes
    assert not [each for each in ax.findobj() if "expected" in str(each.get_gid())]
    plt.close(figure)


def test_axes_inside_a_part_of_a_figure_are_drawn_into(room: OpenCohort) -> None:
    figure: Any = plt.figure(figsize=(8, 4))
    left = figure.subfigures(1, 2)[0]
    ax = left.subplots()
    assert room.chart("durations", ax) is ax
    assert ax.has_data()
    plt.close(figure)


def test_without_axes_a_chart_is_a_figure_that_a_notebook_shows(room: OpenCohort) -> None:
    figure = room.chart("durations", size="column")
    assert isinstance(figure, Figure)
    assert figure.get_suptitle()
    assert figure._repr_png_().startswith(b"\x89PNG")  # type: ignore[attr-defined]


def test_a_chart_is_of_a_stage_a_span_or_groups_where_that_is_asked_for() -> None:
    _figure, ax = plt.subplots()
    rearlog.chart("rate", [COOL, WARM], ax, stage="pupa")
    assert "pupa" in ax.get_title(loc="left")
    since = rearlog.chart("survival", ROOM, first="L3")
    assert "L3" in since.get_suptitle() + since.axes[0].get_xlabel()
    both = rearlog.chart("pace", SAMPLES / "life_table" / "dock-19.json", by="sex")
    labels = [each.get_text() for each in both.axes[0].get_yticklabels()]
    assert len(labels) == 2
    plt.close("all")


def test_wrong_charts_are_refused(room: OpenCohort) -> None:
    figure, axes = plt.subplots(1, 2)
    with pytest.raises(rearlog.UsageError, match="has 1 panel, and 2 axes were given"):
        room.chart("durations", axes)
    with pytest.raises(rearlog.UsageError, match="has 2 panels, and 1 axes were given"):
        rearlog.chart("reproduction", SAMPLES / "life_table" / "dock-19.json", axes[0])
    plt.close(figure)
    with pytest.raises(rearlog.UsageError, match="no chart “pie”"):
        room.chart("pie")
    with pytest.raises(rearlog.UsageError, match="pace chart compares cohorts"):
        room.chart("pace")
    with pytest.raises(rearlog.UsageError, match="shows all stages"):
        room.chart("durations", stage="L1")
    with pytest.raises(rearlog.UsageError, match="from the start"):
        room.chart("heat", first="L1")


def test_doubts_are_told_and_keep_a_strict_round_out(small: OpenCohort) -> None:
    small.record("all L1", at="2026-03-10")
    with pytest.raises(rearlog.RecordError, match="egg comes before L1"):
        small.record("all egg", at="2026-03-11", strict=True)
    told = small.record(
        {"A01": "egg", "A02": "egg", "A03": {"stage": "L1", "note": "  "}},
        at=datetime(2026, 3, 11, 9, 30, 15, 999),
    )
    assert repr(told).endswith(": A01 egg; A02 egg; A03 L1, 2 doubts>")
    assert told.at == datetime(2026, 3, 11, 9, 30, 15, tzinfo=UTC)
    assert told.checks[2].note is None


LIVES = {"A01": "egg L1", "A02": "egg L1", "A03": "egg L1"}


@pytest.fixture
def small(tmp_path: Path) -> OpenCohort:
    log = tiny_log(LIVES)
    file = CohortFile(tmp_path / "small.json")
    file.create(log.cohort, log.individuals)
    return rearlog.open(file.path)


def test_a_line_of_the_notation_is_recorded(small: OpenCohort) -> None:
    assert len(small.log.all_observations) == 0
    told = rearlog.record(
        small, 'A01 L1 mass=12.5 "fat"; rest same', at="2026-03-10 10:00", by="KT"
    )
    assert repr(told) == (
        '<Recorded 3 looks in tiny at 2026-03-10 10:00: A01 L1 mass=12.5 "fat"; A02 same; A03 same>'
    )
    first = CohortFile(small.path).read().all_observations[0]
    assert (first.mass_mg, first.note, first.by) == (12.5, "fat", "KT")
    assert first.at == datetime(2026, 3, 10, 10, tzinfo=UTC)
    assert [each.individual for each in told.checks] == ["A01", "A02", "A03"]
    assert len(small.log.all_observations) == 3  # what was read before was forgotten


def test_who_looks_is_who_usually_does(small: OpenCohort, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("REARLOG_BY", "MB")
    assert small.record("all L1", at="2026-03-10").checks[0].by == "MB"
    assert small.record("all L1", at="2026-03-11", by="KT").checks[0].by == "KT"


def test_looks_are_recorded_by_the_names_of_fields(small: OpenCohort) -> None:
    told = small.record(
        {
            "A01": {"stage": "L1", "mass_mg": np.float64(12.25), "note": 'the "big"; one'},
            "A02": {"fate": "dead", "cause": "mould", "mass_mg": None, "eggs": float("nan")},
            "A03": "L1 len=3",
        },
        at=datetime(2026, 3, 10, 10),
    )
    assert [each.individual for each in told.checks] == ["A01", "A02", "A03"]
    first, second, third = CohortFile(small.path).read().all_observations
    assert (first.stage, first.mass_mg, first.note) == ("L1", 12.25, 'the "big"; one')
    assert (second.fate, second.cause, second.mass_mg, second.eggs) == ("dead", "mould", None, None)
    assert third.length_mm == 3.0
    small.record({"A01": {"same": True, "witnessed": False}}, at=datetime(2026, 3, 11, tzinfo=UTC))
    assert small.log.all_observations[-1].same


def test_counts_that_a_frame_made_floats_are_whole(small: OpenCohort) -> None:
    small.record("all adult", at="2026-03-20")
    small.record({"A01": {"same": True, "eggs": 34.0}}, at="2026-03-21")
    assert small.log.all_observations[-1].eggs == 34
    with pytest.raises(rearlog.EntryError, match=r"“2\.5” is not a whole number"):
        small.record({"A01": {"same": True, "eggs": 2.5}}, at="2026-03-22")


def test_mistakes_are_told_all_at_once_and_nothing_is_written(small: OpenCohort) -> None:
    wrong = {
        "A01": {"stage": "L1", "mass": 3},
        "A02": {"stage": "L1", "fate": "dead"},
        "A03": {"mass_mg": 3},
        "A04": None,
    }
    with pytest.raises(rearlog.EntryError) as caught:
        small.record(wrong)  # type: ignore[arg-type]
    told = str(caught.value)
    assert "A01: a look has no “mass” (did you mean mass_mg?)" in told
    assert "A02: stage and fate is said" in told
    assert "A03: neither stage nor fate is said" in told
    assert "A04: it is not said what was seen" in told
    with pytest.raises(rearlog.EntryError, match="no individual A09"):
        small.record({"A09": {"stage": "L1"}}, at="2026-03-10")
    with pytest.raises(rearlog.RecordError):
        small.record({"A01": {"stage": "L1", "mass_mg": -3}}, at="2026-03-10")
    for part in ("L1; A02 L1", "L1\nA02 L1"):
        with pytest.raises(rearlog.EntryError, match=r"“A01 L1;?\sA02 L1”: one look has one part"):
            small.record({"A01": part})
    assert CohortFile(small.path).read().all_observations == ()


@pytest.mark.parametrize("told", [3, None, ["A01 L1"], b"A01 L1"], ids=repr)
def test_a_round_that_is_no_text_and_names_nobody_is_refused(small: OpenCohort, told: Any) -> None:
    before = small.path.read_bytes()
    for ask in (small.record, lambda it: rearlog.record(small.path, it)):
        with pytest.raises(rearlog.UsageError, match="is no round of looks") as caught:
            ask(told)
        assert "give a line such as" in str(caught.value)
    assert small.path.read_bytes() == before


def test_when_and_by_whom_are_told_as_they_are_asked_for(small: OpenCohort) -> None:
    for wrong in ({"at": 5}, {"by": 5}):
        with pytest.raises(rearlog.UsageError, match="5 is no"):
            small.record("A01 L1", **wrong)  # type: ignore[arg-type]


def test_one_path_is_one_cohort_and_not_its_letters(room: OpenCohort) -> None:
    for one in (str(COOL), COOL, room):
        for ask in (rearlog.compare, rearlog.thermal):
            with pytest.raises(rearlog.UsageError, match="two"):
                ask(one)
    left = rearlog.thermal([COOL, ROOM, WARM], leave_out="cool")
    assert left == rearlog.thermal([COOL, ROOM, WARM], leave_out=["cool"])


@pytest.mark.parametrize("wrong", [3, None, [3, COOL], b"cool.json"], ids=repr)
def test_what_is_no_cohort_is_refused_alike_everywhere(wrong: Any) -> None:
    for ask in (
        rearlog.compare,
        rearlog.thermal,
        rearlog.season,
        lambda it: rearlog.chart("progress", it),
        lambda it: rearlog.record(it, "all L1"),
        rearlog.open,
    ):
        with pytest.raises(rearlog.UsageError, match=r"is no cohort|is no file or folder"):
            ask(wrong)


def test_a_season_is_of_files_and_not_of_open_cohorts(room: OpenCohort) -> None:
    for given in (room, [room]):
        with pytest.raises(rearlog.UsageError, match="is no file or folder"):
            rearlog.season(given)  # type: ignore[arg-type]


def test_a_round_is_tried_and_a_second_time_refused(small: OpenCohort) -> None:
    tried = small.record("all L1", at="2026-03-10", dry_run=True)
    assert repr(tried).startswith("<Only tried 3 looks in tiny")
    assert len(small.log.all_observations) == 0
    small.record("all L1", at="2026-03-10")
    with pytest.raises(rearlog.RecordError, match="in the log already"):
        small.record("all L1", at="2026-03-10")


def test_a_cohort_as_it_was_known_is_not_written_to(small: OpenCohort) -> None:
    small.record("all L1", at="2026-03-10")
    with pytest.raises(rearlog.UsageError, match="as it was known at"):
        small.at(datetime(2026, 3, 10, 12, tzinfo=UTC)).record("all L1")


def test_reload_reads_what_others_wrote(small: OpenCohort) -> None:
    other = rearlog.open(small.path)
    assert len(other.log.all_observations) == 0
    small.record("all L1", at="2026-03-10")
    assert len(other.observations()) == 0
    other.reload()
    assert len(other.observations()) == 3


def test_files_that_are_not_there_or_broken_are_told(tmp_path: Path, small: OpenCohort) -> None:
    with pytest.raises(rearlog.StoreError, match="no cohort file"):
        rearlog.open(tmp_path / "none.json")
    with pytest.raises(rearlog.StoreError, match="is not a file"):
        rearlog.open(tmp_path)
    with pytest.raises(rearlog.StoreError, match="no cohort file"):
        rearlog.compare([tmp_path / "none.json", small])
    with pytest.raises(rearlog.StoreError, match="no cohort file"):
        rearlog.record(tmp_path / "none.json", "all L1")
    content = small.path.read_bytes()
    small.path.write_bytes(content[: len(content) // 2])
    broken = rearlog.open(small.path)
    with pytest.raises(rearlog.StoreError):
        broken.survival()
    assert repr(broken).startswith(f"<Cohort file {small.path}: {small.path} is not JSON")
    small.path.rename(tmp_path / "away.json")
    assert "there is no cohort file" in repr(broken)
    (tmp_path / "away.json").rename(small.path)
    with pytest.raises(rearlog.StoreError):
        small.record("all L1", at="2026-03-10")
    assert os.path.getsize(small.path) == len(content) // 2


def test_what_looks_mean_in_frames_is_what_was_recorded(small: OpenCohort) -> None:
    small.record({"A01": {"stage": "L1", "mass_mg": 3.5}}, at="2026-03-10T10:00+01:00")
    looks = small.observations().to_frame()
    assert looks["at"].tolist() == [pandas.Timestamp("2026-03-10T09:00Z")]
    assert looks["mass_mg"].tolist() == [3.5]
    assert seen("A01", 1, "L1").stage == looks["stage"].iloc[0]


def test_a_season_is_asked_of_a_folder(tmp_path: Path) -> None:
    found = rearlog.season([ROOM, WARM], jobs=1, cache=tmp_path / "kept")
    assert repr(found).startswith("<Season of 2 cohorts: rows of species 1, ")
    frame = found.to_frame()
    assert list(frame["cohort"]) == ["room", "warm"]
    assert list(frame["reached"]) == [17, 17]
    assert (tmp_path / "kept").is_file()
    assert rearlog.season(ROOM.parent).species[1].cohorts == 3
    with pytest.raises(rearlog.UsageError, match="no such file"):
        rearlog.season(tmp_path / "gone")


def test_of_many_looks_the_first_three_are_shown(tmp_path: Path) -> None:
    log = tiny_log({str(n): "egg" for n in range(1, 6)})
    file = CohortFile(tmp_path / "five.json")
    file.create(log.cohort, log.individuals)
    said = repr(rearlog.record(file.path, "all L1", at="2026-03-10"))
    assert said == "<Recorded 5 looks in tiny at 2026-03-10 09:00: 1 L1; 2 L1; 3 L1 …>"
