"""Each field of an observation is said once: what that means for one that was never heard of."""

import csv
import io
import json
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from msgspec.structs import replace

from rearlog.exchange.darwin_core import darwin_core
from rearlog.exchange.publication import Publication
from rearlog.records import fields
from rearlog.records.fates import FATES, SUGGESTED_CAUSES, Fate
from rearlog.records.fields import BY_NAME, FIELDS, Field, Kind, checked, detail_examples
from rearlog.records.nameless import nameless, values_of
from rearlog.store import redaction
from tests.builders import seen, tiny_log
from tests.open_data import as_bytes

DEVELOPERS = Path(__file__).parents[2] / "DEVELOPERS.md"
LENGTH = BY_NAME["length_mm"]
EGGS = BY_NAME["eggs"]
WING = replace(LENGTH, name="wing_mm", term="wing", word="wing")


def test_the_columns_that_others_rely_on_stay_as_they_are() -> None:
    assert ",".join(each.name for each in FIELDS) == (
        "individual,at,stage,fate,cause,witnessed,length_mm,head_width_mm,mass_mg,sex,by,note,same,"
        "eggs,hatched,mate"
    )
    assert detail_examples() == "seen len=12.5 head=0.9 mass=34 sex=f eggs=34 hatched=30 mate=7"


@pytest.mark.parametrize(
    ("other", "message"),
    [
        (LENGTH, "two fields have the name length_mm"),
        (replace(WING, word="len"), "two fields have the word len"),
        (replace(WING, term="body length"), "two fields have the term body length"),
        (replace(WING, word="Wing!"), "is no word of the notation"),
        (replace(WING, title=""), "has a word, a title"),
        (replace(WING, most=0.01), "its bounds"),
        (replace(WING, name="wing_mg"), "ends in its unit"),
        (replace(EGGS, unit=""), "has a word, a title"),
        (replace(EGGS, on_paper=""), "nothing explains it"),
        (replace(EGGS, least=1.0), "a count begins at 0"),
        (replace(EGGS, most=9.5), "a count begins at 0"),
    ],
)
def test_a_field_that_is_not_whole_is_refused_at_once(other: Field, message: str) -> None:
    with pytest.raises(ValueError, match=message):
        checked([LENGTH, other])


def test_causes_are_suggested_for_every_fate_and_each_of_them_can_be_typed() -> None:
    assert set(SUGGESTED_CAUSES) == set(Fate) == set(FATES)
    for causes in SUGGESTED_CAUSES.values():
        assert causes
        assert not any(set("()") & set(cause) for cause in causes)


def measure_of_the_recipe() -> str:
    """The lines that DEVELOPERS.md tells to write for a new measure."""
    text = DEVELOPERS.read_text(encoding="utf-8")
    recipe = text.split("**A measure.**")[1].split("```")[1]
    return recipe.removeprefix("python\n")


THROUGH_ALL_DOORS = """
import io, json, sys
from msgspec.structs import replace
from datetime import datetime, timedelta
from pathlib import Path
from types import ModuleType

# the module of fields as it would be with one entry more, for all that draw from it
name = "rearlog.records.fields"
module = sys.modules[name] = ModuleType(name)
module.__file__ = name
exec(compile(Path("fields.py").read_text(encoding="utf-8"), name, "exec"), module.__dict__)

from tests.builders import START, moment, seen, tiny_log
from rearlog.exchange import bundle, observations_csv, sheet_csv
from rearlog.exchange.darwin_core import darwin_core
from rearlog.exchange.data_package import data_package, read_data_package
from rearlog.exchange.publication import Publication
from rearlog.exchange.sheet import check_sheet
from rearlog.present.tap import tap_page, tap_round
from rearlog.records.entries import parse, resolve
from rearlog.records.incoming import telling
from rearlog.records.rules import problems_with
from rearlog.records.wording import line_of
from rearlog.species.loader import read as read_profile
from rearlog.store.cohort_file import CohortFile
from rearlog.store.recording import record_round

folder = Path.cwd()
log = tiny_log({"1": "egg", "2": "egg"})
file = CohortFile(folder / "tiny.json")
file.create(log.cohort, log.individuals)
[check] = record_round(file, parse("1 L1 wing=12,5 head=0.3"), moment(1), "KT", moment(9)).checks
assert check.wing_mm == 12.5
assert line_of(check) == "1 L1 head=0.3 wing=12.5", line_of(check)
[stored] = file.read().all_observations  # as columns
assert stored == check, (stored, check)
assert CohortFile(file.path).outline(["1"]).all_observations[0] == check

for wrong, told in ((0.0, "wing length 0 is not above zero"), (999.0, "the largest known is 200")):
    [problem] = problems_with(log, [replace(seen("1", 1, "L1"), wing_mm=wrong)], moment(2))
    assert told in problem.message, problem

text = io.StringIO(newline="")
observations_csv.write([check], text)
(folder / "tidy.csv").write_text(text.getvalue(), newline="")
[placed] = observations_csv.read(folder / "tidy.csv", log, moment(9)).checks
assert placed.check == replace(check, number=None, entered=None)

whole = file.read()
sheet = io.StringIO(newline="")
sheet_csv.write(check_sheet(whole, moment(2).date(), moment(2), 1), sheet)
assert "wing=12.5" in sheet.getvalue()
filled = sheet.getvalue().replace("2,egg,", "2,egg,L1 wing=9")
(folder / "sheet.csv").write_text(filled, newline="")
[placed] = sheet_csv.read(folder / "sheet.csv", whole, moment(9)).checks
assert placed.check.wing_mm == 9

page = tap_page(tap_round(whole, moment(3)))
assert '"wing_mm": ["wing length", "mm", 600.0]' in page

for write, name in (
    (data_package, "package"),
    (darwin_core, "archive"),
):
    bundle.write(folder / name, write(Publication((whole,))))
    [again] = read_data_package(folder / name, read_profile, moment(9))
    assert again.all_observations[0].wing_mm == 12.5

described = json.loads((folder / "package/datapackage.json").read_text())
[told] = [field for table in described["resources"] if "schema" in table
          for field in table["schema"]["fields"] if field["name"] == "wing_mm"]
assert told["unit"] == "mm" and told["description"] == "Length of a fore wing.", told
measured = (folder / "archive/extendedmeasurementorfact.csv").read_text()
assert "fore wing length,http://purl.obolibrary.org/obo/PATO_0000122,12.5,mm" in measured
"""


def test_a_new_measure_is_one_entry_as_the_recipe_says(tmp_path: Path) -> None:
    source = Path(fields.__file__).read_text(encoding="utf-8")
    place = source.index("    sex: Annotated[")
    new = source[:place] + measure_of_the_recipe() + source[place:]
    (tmp_path / "fields.py").write_text(new, encoding="utf-8")
    done = subprocess.run(
        [sys.executable, "-c", THROUGH_ALL_DOORS],
        cwd=tmp_path,
        env={"PYTHONPATH": str(Path(__file__).parents[2])},
        capture_output=True,
        text=True,
    )
    assert done.returncode == 0, done.stderr


def test_what_anybody_may_write_can_be_left_out_shown_before_and_redacted() -> None:
    said: dict[str, Any] = dict.fromkeys(fields.TEXTS, "Anna")
    told = replace(seen("1", 1, "dead"), **said)
    log = replace(tiny_log({"1": "egg"}), all_observations=(told,))
    assert fields.TEXTS == ("cause", "by", "note")
    assert {name: values_of(log)[name] for name in fields.TEXTS} == dict.fromkeys(
        fields.TEXTS, ("Anna",)
    )
    assert set(fields.TEXTS) <= set(redaction.FIELDS)
    [left] = nameless(log).all_observations
    assert left == replace(told, **dict.fromkeys(said))  # type: ignore[arg-type]


def test_what_has_no_term_stands_among_the_other_properties_of_an_archive() -> None:
    more: dict[str, Any] = {"fate": "dead", "cause": "mould", "witnessed": True, "mate": "2"}
    check = replace(seen("1", 1, "L1"), number=7, **more)
    log = replace(tiny_log({"1": "egg"}), all_observations=(check,))
    table = as_bytes(darwin_core(Publication((log,))))["occurrence.csv"].decode()
    [*_, row] = csv.DictReader(io.StringIO(table, newline=""))
    properties = json.loads(row["dynamicProperties"])
    assert properties == {"stage": "L1", **more}
    assert {*properties, "same"} == {each.name for each in FIELDS if not each.term}


def test_measures_and_counts_are_those_with_a_unit() -> None:
    assert {each.name for each in FIELDS if each.unit} == {each.name for each in fields.NUMBERS}
    assert all(each.kind is Kind.MEASURE for each in fields.MEASURES)
    assert [each.name for each in fields.COUNTS] == ["eggs", "hatched"]
