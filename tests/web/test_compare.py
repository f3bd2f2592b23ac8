"""Cohorts side by side in the browser: what the commands say of them."""

import re
from datetime import date
from html import unescape
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from msgspec.structs import replace

from rearlog.cli.main import main
from rearlog.records.log import DayExtremes
from rearlog.web.door import Role
from tests.builders import moment, small_profile, tiny_log
from tests.web.shelves import BASE, Classroom, put

HEAT = dict.fromkeys(("egg", "L1", "L2", "L3", "pupa"), 20.0)
SHELVES = {
    "cool": (16.0, "egg egg egg L1 L1 L1 L2 L2 L2 pupa pupa pupa pupa adult"),
    "mild": (20.0, "egg egg L1 L1 L2 L2 pupa pupa pupa adult"),
    "warm": (25.0, "egg L1 L2 L2 pupa pupa adult"),
}


@pytest.fixture
def room(tmp_path: Path) -> Classroom:
    for name, (celsius, life) in SHELVES.items():
        first, *later = life.split()
        lives = {"1": life, "2": f"{first} {life}", "3": f"{life} dead", "4": "egg egg dead:mould"}
        lives["5"] = " ".join([first, *later[1:]])
        log = tiny_log(lives, profile=small_profile(heat=HEAT), name=name)
        days = [DayExtremes(date(2026, 3, 9 + day), celsius - 2, celsius + 2) for day in range(20)]
        put(tmp_path, replace(log, all_temperatures=tuple(days)))
    return Classroom(tmp_path, moment(40))


def get(client: Any, address: str) -> Any:
    return client.get(address, base_url=BASE)


def by_command(folder: Path, command: str, *words: str) -> bytes:
    paths = [str(folder / f"{each}.json") if each in SHELVES else each for each in words]
    done = CliRunner().invoke(main, [command, *paths])
    assert done.exit_code == 0, done.output
    return done.stdout_bytes


TWO, ALL = "cohort=cool&cohort=warm", "cohort=cool&cohort=mild&cohort=warm"


def test_cohorts_are_chosen_first(room: Classroom) -> None:
    page = get(room.joined(Role.LOOKER), "/compare").text
    assert re.findall(r'name="cohort" value="(\w+)"', page) == ["cool", "mild", "warm"]
    assert "<svg" not in page.partition("<main")[2]


@pytest.mark.parametrize(
    ("address", "command"),
    [
        (f"/compare/compare.csv?{TWO}", ["compare", "cool", "warm"]),
        (f"/compare/compare.csv?{ALL}", ["compare", "cool", "mild", "warm"]),
        (f"/compare/compare.json?{TWO}", ["compare", "cool", "warm"]),
        (f"/compare/thermal.csv?{ALL}", ["thermal", "cool", "mild", "warm"]),
        (f"/compare/thermal.json?{ALL}", ["thermal", "cool", "mild", "warm"]),
        (f"/compare/compare.csv?{TWO}&from=L1&to=pupa",
         ["compare", "cool", "warm", "--from=L1", "--to=pupa"]),
        (f"/compare/compare.csv?{TWO}&from=adult", ["compare", "cool", "warm", "--from=adult"]),
        (f"/compare/compare.csv?{TWO}&lower=8&method=average",
         ["compare", "cool", "warm", "--lower=8", "--method=average"]),
    ],
)  # fmt: skip
def test_numbers_are_those_of_the_command(
    room: Classroom, tmp_path: Path, address: str, command: list[str]
) -> None:
    form = "json" if "json" in address else "csv"
    answer = get(room.joined(Role.LOOKER), address)
    assert answer.data == by_command(tmp_path, *command, "--format", form, "-q")
    assert answer.headers["Content-Disposition"].startswith("attachment; filename=")
    assert answer.content_type.startswith("text/csv" if form == "csv" else "application/json")


@pytest.mark.parametrize("kind", ["durations", "pace", "survival", "rate"])
def test_charts_are_those_of_the_command(room: Classroom, tmp_path: Path, kind: str) -> None:
    out = tmp_path / "chart.svg"
    by_command(tmp_path, "chart", kind, *SHELVES, "-o", str(out))
    answer = get(room.keeper(), f"/compare/{kind}.svg?{ALL}")
    assert answer.content_type == "image/svg+xml"
    assert answer.data == out.read_bytes()


def test_a_page_shows_what_can_be_said_of_two_and_of_three(room: Classroom) -> None:
    keeper = room.keeper()
    two, three = (get(keeper, f"/compare?{each}").text for each in (TWO, ALL))
    for page in (two, three):
        assert "Survival: " in page
        assert 'class="picture pace"' in page
        main_part = re.sub(r"<svg.*?</svg>|<[^>]*>", " ", page.partition("<main")[2], flags=re.S)
        assert not re.search(r"rearlog [a-z]|--[a-z]", main_part)
    assert 'class="picture rate"' not in two
    assert 'class="picture rate"' in three


def test_where_eggs_were_counted_their_number_is_compared(room: Classroom, tmp_path: Path) -> None:
    keeper = room.keeper()
    assert "From egg to egg" not in get(keeper, f"/compare?{TWO}").text
    for form in ("csv", "svg"):
        assert get(keeper, f"/compare/reproduction.{form}?{TWO}").status_code == 404
    looks = {"cool": "1 same eggs=8; 2 same eggs=4", "warm": "1 same eggs=20; 2 same eggs=9"}
    for name, line in looks.items():
        by_command(tmp_path, "log", name, line, "--on", "2026-03-25")
    page = get(keeper, f"/compare?{TWO}").text
    assert "From egg to egg" in page
    assert 'class="picture reproduction"' in page
    told = get(keeper, f"/compare/reproduction.csv?{TWO}").data
    assert told == by_command(tmp_path, "reproduction", "cool", "warm", "--format", "csv", "-q")
    out = tmp_path / "chart.svg"
    by_command(tmp_path, "chart", "reproduction", "cool", "warm", "-o", str(out))
    assert get(keeper, f"/compare/reproduction.svg?{TWO}").data == out.read_bytes()
    assert "From egg to egg" not in get(keeper, f"/compare?{ALL}").text  # not of each
    assert "From egg to egg" not in get(keeper, "/compare?cohort=cool").text


def test_how_long_adults_lived_is_compared_alone(room: Classroom) -> None:
    page = get(room.keeper(), f"/compare?{TWO}&from=adult").text
    assert re.findall(r'class="picture (\w+)"', page) == ["survival"]
    assert get(room.keeper(), f"/compare/pace.png?{TWO}&from=adult").status_code == 404


def test_the_links_of_a_page_lead_to_files(room: Classroom) -> None:
    keeper = room.keeper()
    page = get(keeper, f"/compare?{TWO}&from=L1").text
    links = [unescape(each) for each in re.findall(r'href="(/compare/[^"]*)"', page)]
    assert len(links) == 11
    for each in links:
        assert "from=L1" in each
        assert get(keeper, each).status_code == 200, each


@pytest.mark.parametrize(
    ("query", "message"),
    [
        ("cohort=cool", "a comparison needs two cohorts or more"),
        (f"{TWO}&from=moth", "moth"),
        (f"{TWO}&from=pupa&to=L1", "pupa"),
        (f"{TWO}&lower=low", "“low” is not a number"),
    ],
)
def test_what_cannot_be_compared_is_told(room: Classroom, query: str, message: str) -> None:
    for address in (f"/compare?{query}", f"/compare/compare.csv?{query}"):
        answer = get(room.keeper(), address)
        assert (answer.status_code, message in answer.text) == (400, True), answer.text


def test_other_species_stand_beside_without_a_line_of_temperatures(
    room: Classroom, tmp_path: Path
) -> None:
    other = replace(small_profile(heat=HEAT), scientific_name="Moth other")
    put(tmp_path, tiny_log({"1": SHELVES["warm"][1]}, profile=other, name="others"))
    page = get(room.keeper(), f"/compare?{TWO}&cohort=others")
    assert page.status_code == 200
    assert 'class="picture rate"' not in page.text


def test_cohorts_that_are_hardly_begun_do_not_break_it(tmp_path: Path) -> None:
    for name in ("one", "two", "three"):
        put(tmp_path, tiny_log({"1": "egg egg"}, name=name))
    room = Classroom(tmp_path, moment(3))
    page = get(room.keeper(), "/compare?cohort=one&cohort=two&cohort=three")
    assert page.status_code == 200, page.text


def test_what_is_no_file_is_not_found(room: Classroom) -> None:
    for what in ("pace.exe", "weather.csv", "weather.png", "pace.csv", f"rate.png?{TWO}"):
        joined = f"{what}{'&' if '?' in what else '?'}{TWO}"
        assert get(room.keeper(), f"/compare/{joined}").status_code == 404, what


def test_guests_compare_nothing(room: Classroom) -> None:
    guest = room.joined(Role.GUEST)
    assert get(guest, "/compare").status_code == 403
    assert get(guest, f"/compare/compare.csv?{TWO}").status_code == 403


@pytest.mark.parametrize("form", ["tex", "md", "html"])
@pytest.mark.parametrize("what", ["durations", "heat", "survival", "thermal"])
def test_tables_for_a_paper_are_those_of_the_command(
    room: Classroom, tmp_path: Path, what: str, form: str
) -> None:
    looker = room.joined(Role.LOOKER)
    address = f"/compare/{what}.{form}?{ALL}"
    assert f'href="{address.replace("&", "&amp;")}"' in get(looker, f"/compare?{ALL}").text
    answer = get(looker, address)
    name = {"tex": "latex", "md": "markdown", "html": "html"}[form]
    words = [what, "cool", "mild", "warm", "--format", name]
    assert answer.data == by_command(tmp_path, "table", *words)
    assert answer.headers["Content-Disposition"].startswith("attachment; filename=")


def test_tables_for_a_paper_are_of_all_stages_and_of_what_there_is(room: Classroom) -> None:
    looker = room.joined(Role.LOOKER)
    span = f"{ALL}&from=L1&to=pupa"
    assert "Tables for a paper" not in get(looker, f"/compare?{span}").text
    assert get(looker, f"/compare/durations.tex?{span}").status_code == 404
    assert get(looker, f"/compare/thermal.tex?{TWO}").status_code == 404
    assert get(looker, f"/compare/growth.tex?{ALL}").status_code == 404


def test_groups_are_compared_as_the_command_does(room: Classroom, tmp_path: Path) -> None:
    for name, line in (("cool", "a"), ("warm", "b")):
        done = CliRunner().invoke(
            main, ["describe", str(tmp_path / f"{name}.json"), "--factor", f"line={line}"]
        )
        assert done.exit_code == 0
    answer = get(room.keeper(), f"/compare/compare.csv?{TWO}&by=line")
    command = by_command(tmp_path, "compare", "cool", "warm", "--by=line", "--format=csv", "-q")
    assert answer.data == command
    page = get(room.keeper(), f"/compare?{ALL}&by=line")
    assert page.status_code == 200
    text = unescape(page.text)
    assert '<option value="line" selected>by line</option>' in text
    assert "line a" in text
    assert "The line of 5 more is not known: they are not compared." in text
    assert "Temperature and pace" not in text
    wrong = get(room.keeper(), f"/compare?{TWO}&by=colour")
    assert (wrong.status_code, "is no factor of these cohorts" in wrong.text) == (400, True)
