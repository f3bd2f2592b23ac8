"""Adults that mate and lay, from the terminal: pairs, cages, and what is counted of them."""

import json
import re
import shlex
from pathlib import Path

import pytest

from rearlog.store.cohort_file import CohortFile
from tests.cli.conftest import Run


@pytest.fixture
def flies(run: Run, folder: Path) -> Path:
    """Five adults: 1 and 2 a pair, 3 to 5 in the cage C1, of which 4 and 5 are females."""
    run("start", "flies", "--stages", "egg,L1,adult", "--eggs", "5", "--on", "2026-03-09",
        "--zone", "UTC")  # fmt: skip
    run("log", "flies", "all adult", "--on", "2026-03-12")
    run("log", "flies", "1 same sex=f mate=2; 2 same sex=m; 3 same mate=C1; 4-5 same mate=C1 sex=f",
        "--on", "2026-03-13")  # fmt: skip
    return folder / "flies.json"


def last_lines(run: Run, count: int) -> list[str]:
    """The last records: who, what, and what was counted."""
    found = json.loads(run("history", "flies", "--format", "json").stdout)["observations"][-count:]
    lines = []
    for each in found:
        state = each["fate"] or each["stage"] or "same"
        told = {name: each[name] for name in ("eggs", "hatched", "mate")}
        details = [f"{name}={value}" for name, value in told.items() if value is not None]
        lines.append(" ".join([each["individual"], state, *details]))
    return lines


def test_a_round_names_a_cage_in_place_of_a_code(run: Run, flies: Path) -> None:
    told = run("log", "flies", "1 same eggs=0; c1 same eggs=34; rest same", "--on", "2026-03-14")
    assert told.stderr.endswith("0 changed; 34 eggs\n")
    assert last_lines(run, 5) == ["1 same eggs=0", "2 same", "3 same", "4 same eggs=34", "5 same"]


def test_a_cage_alone_is_enough(run: Run, flies: Path) -> None:
    """Nothing in the line is a code, so that the checks of all have to be read."""
    told = run("log", "flies", "C1 same eggs=34", "--on", "2026-03-14")
    assert (
        "Recorded 3 checks at Sat 2026-03-14 09:00: 0 changed; 34 eggs; 2 of those" in told.stderr
    )
    assert last_lines(run, 3) == ["3 same", "4 same eggs=34", "5 same"]
    assert CohortFile(flies).read().all_observations[-2].eggs == 34


def test_who_is_in_no_cage_is_told_so(run: Run, flies: Path) -> None:
    assert "nobody alive is in cage-9" in run("log", "flies", "cage-9 same", fails=1).stderr
    told = run("log", "flies", "C9 same", fails=1).stderr
    assert "no individual C9" in told


def test_the_question_says_with_whom_one_is_kept(run: Run, flies: Path) -> None:
    text = "eggs=3\n\nC1 eggs=9\n\n"
    told = run("check", "flies", "--on", "2026-03-14", "--by", "KT", text=text).stdout
    assert "Of adults: eggs=34 (laid since the look before) hatched=30 mate=7" in told
    assert "A cage is told of once: C1 eggs=34" in told
    assert "1  adult, 2 to 5 days (nobody looked), with 2 > " in told
    assert "3  adult, 2 to 5 days (nobody looked), in C1 > " in told
    assert last_lines(run, 5) == ["1 same eggs=3", "2 same", "3 same", "4 same eggs=9", "5 same"]


def test_a_container_is_said_where_no_cage_is_known(run: Run, folder: Path) -> None:
    run("start", "cups", "--species", "painted-lady", "--eggs", "1", "--on", "2026-03-09")
    run("add", "cups", "2", "--container", "cup 7", "--on", "2026-03-10")
    told = run("check", "cups", "--on", "2026-03-11", "--by", "KT", text="\n\n\n").stdout
    assert "in cup 7" in told
    assert "Of adults" not in told


def test_a_sex_is_told_in_full_or_by_its_letter_at_every_door(run: Run, flies: Path) -> None:
    run("log", "flies", "1 same sex=Female; 2 same sex=MALE", "--on", "2026-03-14")
    Path("sexes.csv").write_text(
        "individual,at,same,sex\n3,2026-03-15,yes,Male\n4,2026-03-15,yes,F\n"
    )
    run("import", "flies", "sexes.csv")
    text = "5 sex=female\n\n"
    run("check", "flies", "--on", "2026-03-16", "--by", "KT", text=text)
    found = json.loads(run("history", "flies", "--format", "json").stdout)["observations"]
    told = [(each["individual"], each["sex"]) for each in found if each["at"] > "2026-03-14"]
    assert [each for each in told if each[1]] == [
        ("1", "f"), ("2", "m"), ("3", "m"), ("4", "f"), ("5", "f"),
    ]  # fmt: skip


def test_a_name_with_a_space_is_told_what_is_wrong_with_it(run: Run, flies: Path) -> None:
    told = run("log", "flies", "cage 1 same eggs=20", fails=1).stderr
    assert "names have no spaces, as “cage 1” has (write cage-1, or as it is called)" in told
    assert "is not a detail" not in told
    told = run("log", "flies", "1 same; cage 2 eggs=20", fails=1).stderr
    assert "write cage-2" in told
    told = run("log", "flies", "3 4 L1", fails=1).stderr
    assert "“L1” is not a detail" in told


def test_eggs_of_the_young_are_settled_alike_when_logged_and_later(run: Run, folder: Path) -> None:
    run("start", "oa", "--stages", "egg,L1,pupa,adult", "--eggs", "2", "--on", "2026-03-09",
        "--zone", "UTC")  # fmt: skip
    run("log", "oa", "1-2 pupa", "--on", "2026-03-12")
    remedy = "tell that it is adult, or whose eggs they are"
    assert remedy in run("log", "oa", "1 same eggs=20", "--on", "2026-03-13").stderr
    for words in (("today", "oa"), ("verify", "oa")):
        told = run(*words).stderr
        assert f"to settle it: {remedy}" in told
        assert "rearlog strike" not in told


def test_more_hatched_than_laid_is_settled_alike_when_logged_and_later(
    run: Run, flies: Path
) -> None:
    remedy = "tell the eggs as they are laid, or look at the counts again"
    assert remedy in run("log", "flies", "1 same hatched=5", "--on", "2026-03-14").stderr
    assert f"to settle it: {remedy}" in run("today", "flies").stderr


def test_a_wrong_count_is_not_corrected_but_struck_and_logged_anew(run: Run, flies: Path) -> None:
    run("log", "flies", "1 same eggs=34", "--on", "2026-03-14T10:30")
    told = run("correct", "flies", "1", "same eggs=30", "--from", "2026-03-14", "--because", "slip",
               fails=2).stderr  # fmt: skip
    assert "“same eggs=30” is no stage, and only stages are corrected" in told
    strike, anew = re.findall("“rearlog ([^”]*)”", told)
    assert strike.startswith("strike flies @11 ")
    assert anew == "log flies '1 same eggs=30' --on 2026-03-14T10:30"
    run(*shlex.split(strike))
    run(*shlex.split(anew))
    assert last_lines(run, 1) == ["1 same eggs=30"]
    told = run(
        "correct", "flies", "1", "eggs=3", "--from", "2026-03-09", "--dry-run", fails=2
    ).stderr
    assert "strike flies RECORD" in told
    assert "log flies '1 same eggs=3' --on 2026-03-09" in told
