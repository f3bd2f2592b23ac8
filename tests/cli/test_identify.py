import csv
import io
import json
from pathlib import Path

import pytest

from rearlog.species.catalogue import find
from tests.cli.conftest import Run
from tests.cli.terminal import Terminal


def test_an_instar_from_its_head_with_the_evidence(run: Run) -> None:
    words = ("identify", "--species", "silkworm", "--head", "1.6", "--head", "1.7")
    assert run(*words).stdout.startswith("This is L3 of Bombyx mori, more than 99 % sure.")
    result = run(*words, "--full")
    assert "Verdict: L3 (more than 99 %)." in result.stdout
    assert "L3 1.65" in result.stdout
    assert result.stderr == ""


def test_between_two_instars_it_says_so(run: Run) -> None:
    shown = run("identify", "--species", "silkworm", "--head", "2.04").stdout
    assert shown.startswith("Between L3 and L4, measure again.")


def test_what_fits_no_stage_is_given_no_probabilities(run: Run) -> None:
    shown = run("identify", "--species", "monarch", "--head", "9").stdout
    assert "of no stage of this species" in shown
    assert "robabilit" not in shown


def test_a_decimal_comma_is_read(run: Run) -> None:
    point, comma = (
        run("identify", "--species", "monarch", "--head", f"1{mark}5", "--length", f"11{mark}5",
            "--measure", f"front-filament=1{mark}7", "--full").stdout
        for mark in ".,"
    )  # fmt: skip
    assert "1.5 mm" in point
    assert comma == point


def test_length_alone_is_warned_of(run: Run) -> None:
    words = ["identify", "--species", "monarch", "--length", "12"]
    assert "poor guide" in run(*words).stdout
    as_json = run(*words, "--format", "json")
    assert json.loads(as_json.stdout)["stage"] is None
    assert "poor guide" in as_json.stderr


def test_other_parts_by_the_name_in_the_profile(run: Run) -> None:
    shown = run("identify", "--species", "monarch", "--measure", "front-filament=1.7",
                "--measure", "Back filament=0.9").stdout  # fmt: skip
    assert shown.startswith("This is L3 of Danaus plexippus, ")


def test_the_error_of_the_instrument_is_taken_into_the_evidence(run: Run) -> None:
    """1.72 mm: with a microscope an L3 for sure, where a lens leaves it open."""
    words = ("identify", "--species", "monarch", "--head", "1.72")
    assert "Between L3 and L4" in run(*words).stdout
    fine = run(*words, "--reading-error", "0.02", "--full").stdout
    assert "1.72 ± 0.02 mm" in fine
    assert "This is L3 of Danaus plexippus, " in fine
    assert "without a reading" in run(
        "identify", "--species", "monarch", "--length", "9", "--reading-error", "0.1", fails=2
    ).stderr  # fmt: skip


def test_csv_has_a_row_a_stage(run: Run) -> None:
    out = run("identify", "--species", "silkworm", "--head", "2.04", "--format", "csv").stdout
    rows = list(csv.DictReader(io.StringIO(out)))
    assert {"L3", "L4"} < {row["stage"] for row in rows}
    assert sum(float(row["probability"]) for row in rows) == pytest.approx(1, abs=0.001)


def test_answers_for_scripts(run: Run) -> None:
    words = ("identify", "--species", "monarch", "--format", "json")
    found = json.loads(run(*words, "--answers", "form=a pale drop").stdout)
    assert found["stage"] == "none"
    unsure = run(*words, "--answers", "form=3", "--answers", "bands=not sure").stdout
    assert json.loads(unsure)["stage"] is None


def test_a_cohort_lends_its_profile_and_its_widths(run: Run, room: Path) -> None:
    """Painted ladies of which five L1 were measured: heads of 0.45 mm instead of 0.36."""
    run("log", "room", "1-5 L1 head=0.45", "--on", "2026-03-13", "--quiet")
    usual = run("identify", "--species", "painted-lady", "--head", "0.45", "--full").stdout
    assert "Between L1 and L2" in usual
    own = run("identify", "--cohort", "room", "--head", "0.4", "--full").stdout
    assert own.startswith("This is L1 of room, ")
    assert "L1 0.45 (own, n = 5)" in " ".join(own.split())


def test_questions_are_asked_on_a_terminal_until_it_is_sure(folder: Path) -> None:
    screen = Terminal(folder, "identify", "--species", "monarch")
    screen.wait_for("3  a caterpillar")
    screen.wait_for("not sure): ")
    screen.type("a whale\n")
    screen.wait_for("“a whale” is not an answer")
    screen.wait_for("not sure): ")
    screen.type("3\n")
    for question, answer in (
        ("How far do the two filaments", "3"),
        ("eaten of the leaf", "not sure"),
        ("How long are the two black filaments", "5"),  # the first that needs a ruler
    ):
        screen.wait_for(question)
        screen.wait_for("not sure): ")
        screen.type(f"{answer}\n")
    screen.wait_for("How warm is it kept")
    screen.type("\n")
    screen.wait_for("This is L5 of Danaus plexippus, ")
    assert screen.end() == 0


def test_not_sure_of_anything_is_said_to_be(folder: Path) -> None:
    screen = Terminal(folder, "identify", "--species", "monarch")
    for _ in find("monarch").questions:
        screen.wait_for("not sure): ")
        screen.type("\n")
    screen.wait_for("nothing is known of it")
    assert screen.end() == 2


@pytest.mark.parametrize(
    ("words", "message"),
    [
        ([], "--species"),
        (["--species", "monarch", "--cohort", "room"], "--species"),
        (["--species", "monarch"], "form=1 to 5"),
        (["--species", "vinegar-fly"], "no questions"),
        (["--species", "vinegar-fly", "--head", "0.3"], "no head widths"),
        (["--species", "monarch", "--head", "-1"], "-1 mm is not above zero"),
        (["--species", "monarch", "--head", "wide"], "wide"),
        (["--species", "monarch", "--measure", "horn=2"], "no measure “horn”"),
        (["--species", "monarch", "--measure", "horn"], "such as front-filament=1.7"),
        (["--species", "monarch", "--answers", "form"], "has no ="),
        (["--species", "monarch", "--answers", "form=1", "--answers", "form=2"], "given twice"),
        (["--species", "monarch", "--answers", "form=9"], "3 a caterpillar"),
        (["--species", "monarch", "--answers", "colour=1"], "no question “colour”"),
    ],
)
def test_calls_that_make_no_sense(run: Run, room: Path, words: list[str], message: str) -> None:
    assert message in run("identify", *words, fails=2).stderr


WHEN = ("--temp", "24", "--on", "2026-03-09")


def test_the_answer_goes_on_to_its_age_and_what_is_to_come(run: Run) -> None:
    """Published days of the silkworm at 24 °C: 24.63 have gone, 34.77 are to come."""
    shown = run("identify", "--species", "silkworm", "--head", "1.65", *WHEN).stdout
    assert "About 24.6 days old" in shown
    assert "laid about 2026-02-12" in shown
    assert ["eclosion", "34.7"] in [line.split()[:2] for line in shown.splitlines()]
    found = json.loads(
        run("identify", "--species", "silkworm", "--head", "1.65", *WHEN, "--format", "json").stdout
    )
    assert found["stage"] == "L3"
    told = found["found_animal"]
    assert [each["words"] for each in told["coming"]] == [
        "molt to L4", "molt to L5", "pupation", "eclosion"
    ]  # fmt: skip
    assert told["age"]["likely"] == pytest.approx(24.63, abs=0.1)
    assert told["laid"]["likely"] == "2026-02-12"


def test_a_cohort_lends_its_temperature(run: Run, room: Path) -> None:
    run("temps", "room", "--constant", "23", "--from", "2026-03-09", "--to", "2026-03-14", "-q")
    shown = run("identify", "--cohort", "room", "--head", "0.93", "--on", "2026-03-15").stdout
    assert "L3 found on 2026-03-15, at 23 °C" in shown
    warmer = run("identify", "--cohort", "room", "--head", "0.93", *WHEN).stdout
    assert "L3 found on 2026-03-09, at 24 °C" in warmer


@pytest.mark.parametrize(
    "words",
    [
        ["--head", "1.65"],  # no temperature
        ["--head", "2.04", *WHEN],  # between two stages
        ["--answers", "form=a white", *WHEN],  # an adult
        ["--answers", "form=a round", "--temp", "24"],  # not the animal
    ],
)
def test_it_ends_with_the_stage_where_nothing_follows(run: Run, words: list[str]) -> None:
    shown = run("identify", "--species", "silkworm", *words).stdout
    assert shown.startswith(("This is ", "Between L3 and L4"))
    assert "found on" not in shown
    as_json = run("identify", "--species", "silkworm", *words, "--format", "json").stdout
    assert json.loads(as_json)["found_animal"] is None


def test_the_temperature_is_asked_for_after_the_questions(folder: Path) -> None:
    screen = Terminal(folder, "identify", "--species", "monarch", "--on", "2026-03-09")
    screen.wait_for("not sure): ")
    screen.type("1\n")
    screen.wait_for("How warm is it kept")
    screen.type("warm\n")
    screen.wait_for("Error")
    screen.type("21,5\n")
    screen.wait_for("egg found on 2026-03-09, at 21.5")
    assert screen.end() == 0


def test_a_day_that_is_none_is_refused_whatever_the_stage(run: Run) -> None:
    words = ("identify", "--species", "silkworm", "--head", "2.04")
    assert "03/09/26" in run(*words, "--on", "03/09/26", fails=2).stderr
