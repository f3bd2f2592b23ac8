"""All that is said of three small cohorts, as it is written down in `written/`, each answer with
how it was checked.

After a change that is meant, `python -m tests.present.test_written_out` writes them anew, and what
is different is looked at before it is kept.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Sequence
from datetime import date, timedelta
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from msgspec.structs import replace

from rearlog.analysis.forecasting.found_animal import found_animal
from rearlog.analysis.growth.evidence import Measured
from rearlog.analysis.growth.identify import identify
from rearlog.analysis.stages.durations import IndividualDuration
from rearlog.notebook import (
    Notebook,
    compare,
    compare_reproduction,
    factorial,
    survival_by,
    thermal,
)
from rearlog.present.agreement import agreement_tables, flat_differences
from rearlog.present.answers import (
    by_group_tables,
    durations_tables,
    growth_tables,
    heat_tables,
    individuals_table,
    stage_count_tables,
    survival_tables,
)
from rearlog.present.between import comparison_tables, factorial_tables, thermal_tables
from rearlog.present.csv import to_csv
from rearlog.present.due import Today, TodayRow, due_rows, due_tables
from rearlog.present.flat import (
    flat,
    flat_by_group,
    flat_comparison,
    flat_durations,
    flat_factorial,
    flat_thermal,
)
from rearlog.present.forecast import (
    deadline_tables,
    forecast_tables,
    individual_forecast_table,
    review_tables,
)
from rearlog.present.identify import found_animal_tables, identification_tables
from rearlog.present.reproduction import compared_tables, flat_reproduction, reproduction_tables
from rearlog.present.tables import Table
from rearlog.records.log import ConstantTemperature
from rearlog.records.profile import Quantity
from rearlog.sentences import (
    agreement,
    due,
    durations,
    everyone,
    forecast,
    growth,
    progress,
    reproduction,
    stage_counts,
    stage_heat,
    survival,
)
from rearlog.sentences import compare as comparison
from rearlog.sentences import found_animal as found_words
from rearlog.sentences import thermal as constants
from rearlog.sentences.texts import texts_of
from rearlog.species.catalogue import find
from tests.analysis.invented_calls import a_round
from tests.analysis.reproduction.laying_cohort import log_of
from tests.builders import START, notebook_of, seen, small_profile, tiny_log
from tests.written_lines import Written, differing, drawn_tables

FILES = Written(Path(__file__).with_name("written"))
HEAT = {"egg": 30.0, "L1": 25.0, "L2": 25.0, "pupa": 45.0}


def life(egg: int, first: int, second: int, pupa: int) -> str:
    """One that took so many days for each stage and was adult for a day."""
    words = ["egg"] * egg + ["L1"] * first + ["L2"] * second + ["pupa"] * pupa
    return " ".join([*words, "adult", "adult"])


COOL = [life(6, 5, 5, 9), life(5, 5, 6, 8), life(6, 4, 5, 9), life(7, 5, 6, 10)]
ROOM = [life(3, 2, 3, 4), life(2, 3, 2, 4), life(3, 2, 2, 5), life(3, 3, 3, 4)]
WARM = [life(2, 2, 1, 3), life(2, 1, 2, 3), life(1, 2, 2, 2), life(2, 2, 2, 3)]
COOL += ["egg egg egg egg egg egg L1 L1 dead"]
ROOM += ["egg egg egg L1 dead:mould", "egg egg lost", "egg egg dead"]
WARM += ["egg egg L1 removed:released", "egg dead"]


@cache
def cohort(name: str) -> Notebook:
    """Each at a steady temperature, laid in the day before it starts."""
    lives, celsius = {"cool": (COOL, 15.0), "room": (ROOM, 20.0), "warm": (WARM, 25.0)}[name]
    log = tiny_log(
        {f"{name[0]}{place}": each for place, each in enumerate(lives, start=1)},
        profile=small_profile(heat=HEAT),
        laid=(-1, 0),
        temperatures=(ConstantTemperature(celsius, START.date() - timedelta(days=1)),),
        name=name,
    )
    return notebook_of(log)


@cache
def three() -> tuple[Notebook, ...]:
    return tuple(map(cohort, ("cool", "room", "warm")))


@cache
def measured() -> Notebook:
    """Widths of a constant ratio of 1.5, lengths, and masses doubled a day; two are larger."""
    checks = [
        seen(
            code, day, stage,
            head_width_mm=round(width * larger, 3), length_mm=2.0 * day * larger, mass_mg=mass,
        )
        for code, larger in (("1", 1.0), ("2", 1.1), ("3", 0.9))
        for day, stage, width, mass in (
            (1, "L1", 0.5, 2.0), (3, "L2", 0.75, 8.0), (5, "L3", 1.125, 32.0)
        )
    ]  # fmt: skip
    log = tiny_log({"1": "egg", "2": "egg", "3": "egg"}, name="grown")
    return notebook_of(replace(log, all_observations=tuple(checks)))


THEN = START + timedelta(days=6)


@cache
def young() -> Notebook:
    """The room as it was known on Sunday 15 March."""
    found = cohort("room")
    return found.with_log(found.log.as_of(THEN))


@cache
def twice_seen() -> Notebook:
    """A round of two observers, of which every fourth look has no number."""
    log = a_round()
    looks = tuple(
        replace(each, number=n if n % 4 else None)
        for n, each in enumerate(log.all_observations, start=1)
    )
    return notebook_of(replace(log, all_observations=looks))


def of(result: Any, tables: Iterable[Table], *more: str | Sequence[str]) -> list[str]:
    """The sentences of a result, its tables in full, and more sentences about it."""
    told, tables = [], list(tables)
    below = {line for table in tables for line in table.words}
    for key, value in texts_of(result).items():
        values = value if isinstance(value, tuple | list) else [value]
        told += [f"{key}: {each}" for each in values if each is not None and each not in below]
    for each in more:
        told += [each] if isinstance(each, str) else list(each)
    return told + drawn_tables(tables)


def rows_of(table: Table) -> list[str]:
    """The CSV of a table, numbers to six digits."""
    return ["", *(LONG.sub(lambda found: f"{float(found[0]):.6g}", to_csv(table)).splitlines())]


def ends(table: Table, last: int = 2) -> Table:
    """The first two rows of a long table, and the last."""
    return replace(table, rows=[*table.rows[:2], *table.rows[len(table.rows) - last :]])


LONG = re.compile(r"\d+\.\d{6,}(e-?\d+)?")


def drawn(module: Any, results: Sequence[Any], **how: bool) -> list[str]:
    """The words of a chart."""
    return [module.title(results), *module.notes(results, **how), module.alt_text(results)]


def _durations() -> list[str]:
    found = cohort("room").durations()
    span = cohort("room").durations("L1", "pupa")
    whole = cohort("room").durations("egg", "adult")
    told = of(found, durations_tables(found), durations.plainly(whole))
    told += of(found, individuals_table(found), drawn(durations, [found]))
    told += of(span, durations_tables(span))
    told += drawn(durations, [each.durations() for each in three()])
    told += rows_of(flat(IndividualDuration, found.individuals))
    return told + rows_of(flat_durations(found.stages))


def _heat() -> list[str]:
    found = cohort("room").heat()
    told = of(found, heat_tables(found), drawn(stage_heat, [found], stages_marked=True))
    return told + drawn(stage_heat, [each.heat() for each in three()], stages_marked=False)


def _survival() -> list[str]:
    found = cohort("room").survival()
    told = of(found, survival_tables(found), drawn(survival, [found]), survival.plainly(found))
    told += [everyone.others(found, "moths"), *survival.told(found)]
    log = cohort("room").log
    later = tuple(replace(each, at=each.at + timedelta(hours=1)) for each in log.all_observations)
    hours = cohort("room").with_log(replace(log, all_observations=later)).survival()
    told += drawn_tables(each for each in survival_tables(hours) if "Turnbull" in each.title)
    return told + drawn(survival, [each.survival() for each in three()])


def _growth() -> list[str]:
    found = measured().growth()
    log = measured().log
    bare = tuple(replace(each, head_width_mm=None) for each in log.all_observations)
    headless = measured().with_log(replace(log, all_observations=bare)).growth()
    told = of(found, growth_tables(found), drawn(growth, [found]))
    return told + of(headless, growth_tables(headless), drawn(growth, [headless]))


def _agreement() -> list[str]:
    found = twice_seen().agreement()
    told = of(found, agreement_tables(found), drawn(agreement, [found]))
    return told + rows_of(flat_differences(found))


def _forecast() -> list[str]:
    found, review = young().forecast(as_of=THEN), cohort("room").forecast_review(THEN)
    told = of(found, forecast_tables(found), drawn(forecast, [found]))
    told += of(young().due(THEN), individual_forecast_table(found))
    unknown = young().with_log(tiny_log({"1": "egg L1"}, name="unknown")).forecast(as_of=THEN)
    told += of(unknown, forecast_tables(unknown))
    return told + of(review, review_tables(review))


def _compare() -> list[str]:
    found = compare(three())
    said = [comparison.title(found), comparison.alt_text(found), *comparison.plainly(found)]
    said += [*comparison.notes(found.overall), comparison.made_tests(found)]
    two = compare(three()[1:])
    told = of(found, comparison_tables(found), said) + of(two, comparison_tables(two))
    return told + rows_of(flat_comparison(found))


def _thermal() -> list[str]:
    found = thermal(three())
    shown = found.shown(None)
    assert shown is not None
    said = [constants.title(found), constants.alt_text(found), *constants.notes(found, shown)]
    for stage in found.stages:
        said += [f"{stage.stage}: {each}" for each in constants.words(stage)]
    return of(found, thermal_tables(found), said) + rows_of(flat_thermal(found))


def _stages() -> list[str]:
    counts = [each.stage_counts() for each in three()]
    told = of(counts[1], stage_count_tables(counts[1]), drawn(stage_counts, counts[1:2]))
    told += drawn(stage_counts, counts)
    courses = [each.progress() for each in three()]
    told += drawn(progress, courses[1:2]) + drawn(progress, courses)
    told += [everyone.of_one(courses[1], each) for each in courses[1].individuals]
    coming = [young().forecast(as_of=THEN)]
    told += [everyone.lead([young().progress()], coming, "moths")]
    return [*told, everyone.lead(courses, [], "moths"), everyone.when(courses[1])]


def _identify() -> list[str]:
    found = identify(find("monarch"), Measured(head_mm=(1.5,), length_mm=9.0), {})
    return of(found, identification_tables(found))


def _due() -> list[str]:
    """What is due on three days; on the last two days nobody looked."""
    told = []
    for day in (5, 6, 8):
        now = START + timedelta(days=day, hours=3)
        found = young().due(now)
        today = Today((found,))
        told += [due.lead([found]), *drawn_tables(due_tables(today, [list(young().log.by_code)]))]
        told += rows_of(flat(TodayRow, list(due_rows(today))))
    late = young().deadline(date(2026, 3, 24), as_of=THEN)
    return told + of(late, deadline_tables(late))


def _found_animal() -> list[str]:
    """An L2 as the cohort is kept, and others at other temperatures, of which less is known."""
    found = young().found_animal("L2", 20.0, THEN)
    assert found is not None
    told = of(found, found_animal_tables(found))
    day = THEN.date()
    some = {code: HEAT[code] for code in ("L2", "pupa")}
    bounded = replace(small_profile(heat=HEAT), upper=Quantity("test", value=30.0))
    for profile, stage, celsius in (
        (bounded, "egg", 24.96),
        (bounded, "adult", 20.0),
        (small_profile(heat=HEAT), "L2", 9.0),
        (small_profile(heat=some), "L2", 20.0),
        (small_profile(heat=some), "egg", 20.0),
        (small_profile(), "L1", 20.0),
    ):
        animal = found_animal(profile, stage, celsius, day)
        told += ["", f"{stage} at {celsius} °C:", *of(animal, ())]
        told += [f"{found_words.passage(each)} {each.on.likely}" for each in animal.coming]
    return told


def _by_sex() -> list[str]:
    """The room, of which r1 and r2 are females and r3, r4 and the dead r5 males."""
    log = cohort("room").log
    sexes = {"r1": "f", "r2": "f", "r3": "m", "r4": "m", "r5": "m"}
    looks = [replace(each, sex=sexes.get(each.individual)) for each in log.all_observations]
    sexed = cohort("room").with_log(replace(log, all_observations=tuple(looks)))
    found = survival_by([sexed], "sex")
    beside, *others = by_group_tables(found)
    told = of(found, [beside])
    told += [f"{each.title}: {len(each.rows)} rows, full: {each.full}" for each in others]
    asked = by_group_tables(found, kaplan_meier=True)
    told += [f"asked for: {each.title}" for each in asked if not each.full]
    told += rows_of(flat_by_group(found, kaplan_meier=True))
    return told + rows_of(flat_by_group(found, kaplan_meier=False))


def _reproduction() -> list[str]:
    one, other = (laying(name, eggs) for name, eggs in (("tiny", 12), ("rich", 16)))
    found, both = one.reproduction(), compare_reproduction([one, other])
    told = of(
        found, reproduction_tables(found, ages=True, stages=True), drawn(reproduction, [found])
    )
    told += of(both, compared_tables(both))
    for asked in ({}, {"ages": True}, {"stages": True}):
        told += rows_of(ends(flat_reproduction(both.cohorts, **asked)))
    return told


def _factorial() -> list[str]:
    """Females take twice as long as males, and those of clutch B twice as long as those of A."""
    lives, known = {}, {}
    for (sex, clutch), mean in {
        ("f", "A"): 16,
        ("m", "A"): 8,
        ("f", "B"): 32,
        ("m", "B"): 16,
    }.items():
        for n, part in enumerate((7, 8, 8, 9)):
            code = f"{sex}{clutch}{n}"
            lives[code] = " ".join(["egg"] * (mean * part // 8) + ["L1"])
            known[code] = (sex, clutch)
    log = tiny_log(lives, laid=(-1, 0), name="two")
    individuals = (replace(each, clutch=known[each.code][1]) for each in log.individuals)
    looks = (replace(each, sex=known[each.individual][0]) for each in log.all_observations)
    log = replace(log, individuals=tuple(individuals), all_observations=tuple(looks))
    found = factorial([notebook_of(log)], ["sex", "clutch"])
    return of(found, factorial_tables(found)) + rows_of(ends(flat_factorial(found), last=0))


def laying(name: str, eggs: int) -> Notebook:
    return notebook_of(log_of(name, eggs))


WRITTEN: dict[str, Callable[[], list[str]]] = {
    "agreement": _agreement,
    "compare": _compare,
    "by-sex": _by_sex,
    "due": _due,
    "durations": _durations,
    "factorial": _factorial,
    "forecast": _forecast,
    "found-animal": _found_animal,
    "growth": _growth,
    "heat": _heat,
    "identify": _identify,
    "reproduction": _reproduction,
    "stages": _stages,
    "survival": _survival,
    "thermal": _thermal,
}


@pytest.mark.parametrize("name", WRITTEN)
def test_what_is_said_is_what_was_written_down(name: str) -> None:
    assert differing(WRITTEN[name](), FILES.read(name)) == []


if __name__ == "__main__":
    for name, tell in WRITTEN.items():
        FILES.write(name, tell())
