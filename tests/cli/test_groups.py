"""Answers in groups, from the command to the table, the CSV, the JSON and the picture."""

import csv
import io
import json
import shutil
from pathlib import Path
from typing import Any

import pytest

from tests.cli.conftest import Run

NEW = ("--species", "painted-lady", "--larvae", "8", "--stage", "L5", "--on", "2026-03-09",
       "--zone", "UTC")  # fmt: skip


@pytest.fixture
def moths(run: Run, folder: Path) -> Path:
    """Eight pupae: females take 2, 2, 3, 3 days, males 5, 5, 6; one died and nobody knows what it
    was."""
    run("start", "moths", *NEW, "--food", "leek")
    days = [
        ("2026-03-10", "all pupa"),
        ("2026-03-11", "8 dead; rest same"),
        ("2026-03-12", "1-2 adult sex=f head=2; rest same"),
        ("2026-03-13", "3-4 adult sex=f; rest same"),
        ("2026-03-14", "all same"),
        ("2026-03-15", "5-6 adult sex=m; rest same"),
        ("2026-03-16", "7 adult sex=m; rest same"),
    ]
    for day, line in days:
        run("log", "moths", line, "--on", day)
    return folder / "moths.json"


def test_stages_of_both_sexes_are_compared(run: Run, moths: Path) -> None:
    result = run("compare", "moths", "--by", "sex", "--from", "pupa")
    assert "Note: The sex of 1 more is not known." in result.stderr
    assert "pupa to adult females took 2.8 days less than males: 2.5 and 5.3" in " ".join(
        result.stdout.split()
    )
    document = json.loads(
        run("compare", "moths", "--by", "sex", "--from", "pupa", "--format", "json").stdout
    )
    assert (document["by"], document["not_known"]) == ("sex", 1)
    assert document["cohorts"] == ["females", "males"]
    groups = document["stages"][0]["groups"]
    assert [(each["n"], each["mean"]) for each in groups] == [(4, 2.5), (3, pytest.approx(16 / 3))]
    assert document["survival"]["groups"][0]["died"] == 0


def test_durations_and_growth_of_each_group(run: Run, moths: Path) -> None:
    shown = run("durations", "moths", "--by", "sex").stdout
    for name in ("females", "males", "sex not known"):
        assert f"moths, {name}" in shown
    rows = [*csv.DictReader(io.StringIO(
        run("durations", "moths", "--by", "sex", "--format", "csv").stdout
    ))]  # fmt: skip
    pupae = {each["sex"]: each["mean"] for each in rows if each["stage"] == "pupa"}
    assert {name: mean and float(mean) for name, mean in pupae.items()} == {
        "moths, females": 2.5, "moths, males": pytest.approx(16 / 3), "moths, sex not known": "",
    }  # fmt: skip
    each = run("durations", "moths", "--by", "sex", "--individuals", "--format", "csv").stdout
    assert len(each.splitlines()) > 8
    found = json.loads(run("growth", "moths", "--by", "sex", "--format", "json").stdout)
    assert [len(one["series"]) for one in found["groups"]] == [2, 0, 0]
    assert "moths, females" in run("growth", "moths", "--by", "sex").stdout
    rows = [*csv.reader(io.StringIO(
        run("growth", "moths", "--by", "sex", "--format", "csv").stdout
    ))]  # fmt: skip
    assert rows[0][0] == "sex"
    assert [row[0] for row in rows[1:]] == ["moths, females"] * 2


def test_survival_by_a_factor_of_cohorts(run: Run, moths: Path) -> None:
    run("start", "other", *NEW, "--food", "nettle")
    run("log", "other", "1-4 dead; rest same", "--on", "2026-03-11")
    run("log", "other", "all same", "--on", "2026-03-12")
    shown = run("survival", "moths", "other", "--by", "food").stdout
    assert "1 of 8 on leek died and 4 of 8 on nettle died." in " ".join(shown.split())
    table = run("survival", "moths", "other", "--by", "food", "--format", "csv").stdout
    assert table.startswith("food,x,n,l")
    assert {row.split(",")[0] for row in table.splitlines()[1:]} == {"leek", "nettle"}
    by_sex = run("survival", "moths", "other", "--by", "sex", "--format", "csv").stdout
    assert {row[0] for row in csv.reader(io.StringIO(by_sex))} == {
        "sex", "moths, females", "moths, males", "moths, sex not known", "other, sex not known",
    }  # fmt: skip
    told = " ".join(run("survival", "moths", "--by", "sex").stdout.split())
    assert "The sex of 1 more is not known" in told
    assert "A sex is noted of those alone that lived to show it" in told
    later = " ".join(run("survival", "moths", "--by", "sex", "--from", "adult").stdout.split())
    assert "that lived to show it" not in later
    assert "without --by this is about one" in run("survival", "moths", "other", fails=2).stderr
    assert "without --by this is about one" in run("durations", "moths", "other", fails=2).stderr
    assert "without --by this is about one" in run("growth", "moths", "other", fails=2).stderr
    heat = run("heat", "moths", "other", fails=2).stderr
    assert "this is about one cohort (ask for one, or see “rearlog compare”)" in heat


def test_charts_of_groups(run: Run, moths: Path) -> None:
    run("chart", "durations", "moths", "--by", "sex", "-o", "one.svg")
    drawn = Path("one.svg").read_text(encoding="utf-8")
    assert "moths, females" in drawn
    assert "moths, males" in drawn
    run("chart", "survival", "moths", "--by", "sex", "-o", "two.svg")
    assert "moths, sex not known" in Path("two.svg").read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("compare", "moths", "--by", "colour"), "“colour” is no factor of these cohorts"),
        (("compare", "moths", "--by", "food"), "there is no other food than leek"),
        (("durations", "moths", "--by", "clutch"), "no clutch was noted of anybody in moths"),
    ],
)
def test_what_cannot_be_grouped_is_told(
    run: Run, moths: Path, words: tuple[str, ...], told: str
) -> None:
    assert told in run(*words, fails=2).stderr


def test_a_design_of_two_factors(run: Run, folder: Path) -> None:
    cohorts = [f"{line}{celsius}-{n}" for line in "ab" for celsius in (20, 25) for n in range(3)]
    for seed, name in enumerate(cohorts):
        run("simulate", name, "--species", "painted-lady", "--eggs", "4", "--temp", name[1:3],
            "--seed", str(seed), "--zone", "UTC")  # fmt: skip
        run("describe", name, "--factor", f"line={name[0]}")
    result = run("compare", *cohorts, "--by", "line, temperature")
    shown = " ".join(result.stdout.split())
    assert "From egg to adult temperature matters: 20 °C took 1." in shown
    assert "line × temperature" in shown
    assert "Stage by stage" not in shown
    assert "Note: Individuals shared cohorts: cohorts are what is counted" in result.stderr
    one_each = run("compare", *cohorts[::3], "--by", "line,temperature").stdout
    assert one_each.startswith("Whether line and temperature matter from egg to adult cannot be")
    assert "Stage by stage" in run("compare", *cohorts, "--by", "line,temperature", "--full").stdout
    form = ("compare", *cohorts, "--by", "line,temperature", "--from", "L1", "--format")
    document = json.loads(run(*form, "json").stdout)
    assert document["factors"] == ["line", "temperature"]
    assert document["lead"].startswith("From L1 to adult temperature matters")
    (row,) = document["stages"]
    assert [each["term"] for each in row["effects"]] == [
        "line", "temperature", "line × temperature",
    ]  # fmt: skip
    rows = [*csv.DictReader(io.StringIO(run(*form, "csv").stdout))]
    assert [each["term"] for each in rows] == [each["term"] for each in row["effects"]]
    assert float(rows[1]["p"]) == row["effects"][1]["p"]
    assert "a design has 2 to 3" in run("compare", *cohorts, "--by", "line,", fails=2).stderr


def test_who_comes_from_whom(run: Run, folder: Path, moths: Path) -> None:
    assert "Note" not in run("start", "next", *NEW, "--origin", "moths:1,2").stderr
    shown = " ".join(run("lineage", ".").stdout.split())
    assert shown.startswith("2 generations, from moths to next.")
    assert "└ next 1 moths (1, 2)" in shown
    assert run("lineage", "moths", "next").stdout == run("lineage", ".").stdout
    assert "Days in each stage" in run("lineage", ".", "--full").stdout
    rows = [*csv.DictReader(io.StringIO(run("lineage", ".", "--format", "csv").stdout))]
    assert [each["comes_from"] for each in rows] == ["", "moths (1, 2)"]
    run("describe", "moths", "--origin", "next")
    assert "that is a circle" in run("lineage", ".", fails=2).stderr
    (folder / "empty").mkdir()
    assert "there is no cohort in empty" in run("lineage", "empty", fails=2).stderr
    assert "no cohort file" in run("lineage", "nobody", fails=1).stderr


def test_origins_that_are_not_there(run: Run, folder: Path, moths: Path) -> None:
    told = run("start", "next", *NEW, "--origin", "moths:1,9,x", fails=2).stderr
    assert "moths has no individual 9, x" in told
    assert "it has 1, 2, 3, 4, 5, 6, 7, 8" in told
    assert not (folder / "next.json").exists()
    told = run("start", "next", *NEW, "--origin", "moths", "--origin", "zz:1").stderr
    assert "Note: there is no file of zz here; it is taken down as it was said" in told
    assert "moths here" not in told
    assert (
        "moths has no individual 99"
        in run("describe", "next", "--origin", "moths:99", fails=2).stderr
    )
    assert "no file of far here" in run("describe", "next", "--origin", "far").stderr
    run("start", "many", "--species", "painted-lady", "--eggs", "13", "--codes", "A")
    told = run("start", "last", *NEW, "--origin", "many:9", "--origin", "moths:9", fails=2).stderr
    assert "it has A01 to A13, 13 in all" in told
    assert "moths has no individual 9" in told


def test_one_factor_at_a_time_but_in_compare(run: Run, moths: Path) -> None:
    for command in ("survival", "durations", "growth", "reproduction"):
        told = run(command, "moths", "--by", "food,line", fails=2).stderr
        assert "one factor at a time here, not “food,line”" in told
        assert "“rearlog compare” takes two or three" in told


def test_of_adults_no_sex_is_missing_that_died_before(run: Run, moths: Path) -> None:
    told = run("compare", "moths", "--by", "sex", "--from", "adult").stderr
    assert "is not known" not in told
    run("log", "moths", "all dead", "--on", "2026-03-20")
    run("start", "more", *NEW)
    run("log", "more", "1-3 adult sex=f; 4-6 adult sex=m; 7-8 dead", "--on", "2026-03-12")
    run("log", "more", "1-2 dead; 3-6 same", "--on", "2026-03-13")
    shown = run("survival", "moths", "more", "--by", "sex", "--from", "adult").stdout
    assert "groups of sex and cohort together" in " ".join(shown.split())


def test_life_tables_of_groups(run: Run, folder: Path) -> None:
    samples = Path(__file__).parents[2] / "sample_cohorts" / "life_table"
    for celsius in (19, 22, 25):
        shutil.copy(samples / f"dock-{celsius}.json", folder / f"dock-{celsius}.json")
    cohorts = ("dock-19", "dock-22", "dock-25")
    for name, line in zip(cohorts, "aba", strict=True):
        run("describe", name, "--factor", f"line={line}")
    form = ("--format", "json")

    def r0(found: dict[str, Any]) -> float:
        return next(float(one["estimate"]) for one in found["estimates"] if one["measure"] == "R0")

    pooled = json.loads(run("reproduction", *cohorts, "--by", "line", *form).stdout)["cohorts"]
    cool, room, warm = (json.loads(run("reproduction", name, *form).stdout) for name in cohorts)
    assert [one["cohort"] for one in pooled] == ["line a", "line b"]
    assert [one["n"] for one in pooled] == [cool["n"] + warm["n"], room["n"]]
    assert [one["eggs"] for one in pooled] == [cool["eggs"] + warm["eggs"], room["eggs"]]
    assert r0(pooled[1]) == r0(room)
    assert cool["dead"] + warm["dead"] == pooled[0]["n"] == 80  # all lives are known to their ends
    assert r0(pooled[0]) == pytest.approx((r0(cool) + r0(warm)) / 2)
    told = run("reproduction", "dock-19", "--by", "sex", fails=2).stderr
    assert "a life table is of both sexes" in told
    told = run("chart", "reproduction", "dock-19", "--by", "sex", "-o", "x.svg", fails=2).stderr
    assert "a life table is of both sexes" in told
    run("chart", "reproduction", *cohorts, "--by", "line", "-o", "lines.svg")
    assert "line a" in Path("lines.svg").read_text(encoding="utf-8")
