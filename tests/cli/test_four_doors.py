"""Forty days of thirty individuals written down in four ways, which must come to the same."""

import csv
import json
import random
from collections.abc import Iterator
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest

from tests.cli.conftest import Run

START = date(2026, 3, 9)
DAYS = [START + timedelta(days=step) for step in range(1, 41)]
FORGOTTEN = {DAYS[12], DAYS[13]}
STAGES = ("egg", "L1", "L2", "L3", "L4", "L5", "pupa", "adult")
USUAL_DAYS = (4, 3, 3, 3, 3, 4, 9, 99)
CODES = [str(code) for code in range(1, 31)]
FATES = ("dead(mould)", "dead", "lost", "removed(released)")

Checks = dict[date, dict[str, str]]
"""What was seen on each day of each individual, as a state and its details in the notation."""


@pytest.fixture(scope="module")
def checks() -> Checks:
    """Thirty invented lives: delays, deaths, losses, measurements, notes, a molt that was seen."""
    chance = random.Random(20260309)
    found: Checks = {day: {} for day in DAYS if day not in FORGOTTEN}
    for code in CODES:
        for day, state in _life(chance):
            if day in found:
                found[day][code] = state
    return found


def _life(chance: random.Random) -> Iterator[tuple[date, str]]:
    ends = chance.choice(DAYS) if chance.random() < 0.3 else None
    day, before = START, "egg"
    for stage, usual in zip(STAGES, USUAL_DAYS, strict=True):
        for _ in range(max(1, usual + chance.choice((-1, 0, 0, 1)))):
            day += timedelta(days=1)
            if day > DAYS[-1]:
                return
            if day == ends:
                yield day, chance.choice(FATES)
                return
            yield day, stage + (_details(chance, stage) if stage != before else "")
            before = stage


def _details(chance: random.Random, stage: str) -> str:
    if stage == "pupa" and chance.random() < 0.3:
        return " seen \"hung up while we watched, 'upside down'\""
    if stage in ("L3", "L4"):
        return f" head={chance.uniform(0.9, 1.6):.2f} len={chance.uniform(6, 15):.1f}"
    return ""


def changes(checks: Checks) -> Iterator[tuple[date, dict[str, str], bool]]:
    """Of each day what differs from the day before, and whether all others are the same."""
    last = dict.fromkeys(CODES, "egg")
    for day, seen in checks.items():
        new = {code: state for code, state in seen.items() if state != last[code]}
        last |= {code: state.split()[0] for code, state in seen.items()}
        yield day, new, len(new) < len(seen)


def through_the_notation(run: Run, folder: Path, checks: Checks) -> None:
    for day, new, rest in changes(checks):
        parts = [f"{code} {state}" for code, state in new.items()] + ["rest same"] * rest
        run("log", "room", "; ".join(parts), "--on", str(day), "--by", "KT")


def through_the_asked_round(run: Run, folder: Path, checks: Checks) -> None:
    for day, new, rest in changes(checks):
        lines = [f"{code} {state}" for code, state in new.items()] + ["."] * rest
        run("check", "room", "--on", str(day), "--by", "KT", text="\n".join([*lines, "", ""]))


def through_sheets(run: Run, folder: Path, checks: Checks) -> None:
    for week in range(6):
        days = DAYS[week * 7 : week * 7 + 7]
        name = f"week{week}.csv"
        run("sheet", "room", "-o", name, "--from", str(days[0]), "--days", str(len(days)))
        path = folder / name
        rows = list(csv.reader(path.read_text(encoding="utf-8-sig").splitlines()))
        for row in rows:
            for place, day in enumerate(days, start=2):
                if row[0] in CODES:
                    row[place] = checks.get(day, {}).get(row[0], "")
                elif row[0] == "initials":
                    row[place] = "KT"
                elif row[0].startswith("temp"):
                    row[place] = str(temperature(day)["max" in row[0]])
        with path.open("w", encoding="utf-8", newline="") as file:
            csv.writer(file, delimiter=";").writerows(rows)
        run("import", "room", name)


def through_tidy_csv(run: Run, folder: Path, checks: Checks) -> None:
    columns = ["individual", "at", "stage", "fate", "cause", "witnessed", "head_width_mm",
               "length_mm", "note", "by"]  # fmt: skip
    with (folder / "checks.csv").open("w", newline="", encoding="utf-8") as file:
        writer = csv.DictWriter(file, columns)
        writer.writeheader()
        for day, seen in checks.items():
            writer.writerows(
                tidy(state) | {"individual": code, "at": str(day), "by": "KT"}
                for code, state in seen.items()
            )
    run("import", "room", "checks.csv")


def tidy(state: str) -> dict[str, str]:
    """A state of the notation as the cells of a line."""
    text, _, note = state.partition('"')
    word, *details = text.split()
    fate, _, cause = word.partition("(")
    cells = {"fate": fate, "cause": cause.rstrip(")")} if word in FATES else {"stage": word}
    for detail in details:
        name, _, value = detail.partition("=")
        titles = {"seen": "witnessed", "head": "head_width_mm", "len": "length_mm"}
        cells[titles[name]] = value or "yes"
    return cells | {"note": note.rstrip('"')}


def temperature(day: date) -> tuple[float, float]:
    """The invented lowest and highest temperature of a day."""
    return 18 + day.day % 4 * 0.5, 24 + day.day % 5 * 0.5


def results(run: Run) -> dict[str, Any]:
    return {
        command: json.loads(run(command, "room", "--format", "json").stdout)
        for command in ("durations", "survival", "heat", "growth")
    }


DOORS = (through_the_notation, through_the_asked_round, through_sheets, through_tidy_csv)


def test_four_ways_of_writing_down_come_to_the_same(
    run: Run, folder: Path, checks: Checks, monkeypatch: pytest.MonkeyPatch
) -> None:
    found = []
    for door in DOORS:
        place = folder / door.__name__
        place.mkdir()
        monkeypatch.chdir(place)
        run("start", "room", "--species", "painted-lady", "--eggs", "30", "--on", str(START),
            "--laid", "2026-03-08", "--zone", "Europe/London")  # fmt: skip
        door(run, place, checks)
        if door is not through_sheets:
            lines = [f"{day},{low},{high}" for day in DAYS for low, high in [temperature(day)]]
            (place / "days.csv").write_text("\n".join(["date,min_c,max_c", *lines]))
            run("temps", "room", "days.csv")
        found.append(results(run))
    assert found[0]["survival"]["deaths"] > 2
    assert found[0]["durations"]["stages"][6]["completed"] > 5
    assert found[0]["heat"]["coverage"]["recorded"] >= 40
    assert found[0]["growth"]["series"]
    for door, other in zip(DOORS[1:], found[1:], strict=True):
        assert other == found[0], door.__name__
