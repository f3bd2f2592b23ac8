"""A profile that is accepted can be used: a cohort starts with it, and is read again."""

import copy
import tomllib
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from rearlog.records.log import Cohort
from rearlog.species.loader import check, read
from rearlog.store import codec
from tests.cli.conftest import folder as folder
from tests.cli.conftest import run as run
from tests.species.invented_profile import SOUND

QUESTION = '[[questions]]\nkey = "horn"\ntext = "Has it a horn?"\nsource = "own"\nanswers = '

WHOLE = f"""
cautions = ["wash hands"]
{SOUND}
[[spans]]
name = "larva"
first = "L1"
until = "adult"
days = {{ value = 9, low = 8, high = 10, spread_source = "own", note = "n", source = "own" }}
[[notes]]
text = "it hides"
source = "own"
[[measure_relations]]
text = "heads grow by half"
source = "own"
{QUESTION}[
    {{ text = "yes", likelihood = {{ L1 = 0.6, none = 1 }} }},
    {{ text = "no", likelihood = {{ L1 = 0.4, L2 = 1 }} }},
]
""".replace(
    'code = "L2"\n',
    """code = "L2"
optional = true
mass_mg = { value = 30, sd = 3, source = "own" }
measures_mm = { horn = { value = 3, source = "own" } }
signs = [{ text = "pale", source = "own" }]
confusions = [{ taken_for = "a drop", tell = "it moves", source = "own" }]
""",
)
NOW = datetime(2026, 3, 9, 9, tzinfo=UTC)
ODD: list[Any] = ["", " ", "own", "\x00", "none", "L1", "same", "source", 0, 1, 1e-3, 1e308, -1.0]
ODD += [True, False, [], {}, [20], [20, 20], ["own"], {"own": 1.0}, {"source": "own"}]


def leaves(thing: Any, way: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    """The ways to all that stands in a document."""
    inside = thing.items() if isinstance(thing, dict) else enumerate(thing)
    found = []
    for key, value in inside:
        found.append((*way, key))
        if isinstance(value, dict | list):
            found += leaves(value, (*way, key))
    return found


DOCUMENT = tomllib.loads(WHOLE)
CHANGES = st.lists(
    st.tuples(st.sampled_from(leaves(DOCUMENT)), st.sampled_from([*ODD, None])),
    min_size=1,
    max_size=3,
)


def changed(changes: list[tuple[tuple[Any, ...], Any]]) -> dict[str, Any]:
    """The document with other values; None takes a value out. Ways that are gone are passed."""
    document = copy.deepcopy(DOCUMENT)
    for way, value in changes:
        place: Any = document
        try:
            for key in way[:-1]:
                place = place[key]
            if value is None:
                del place[way[-1]]
            else:
                place[way[-1]] = value
        except (KeyError, IndexError, TypeError):
            continue
    return document


def test_the_document_to_be_changed_is_sound() -> None:
    assert check(DOCUMENT) == []


@settings(derandomize=True, max_examples=400)
@given(CHANGES)
def test_what_is_accepted_is_written_down_and_read_again(
    changes: list[tuple[tuple[Any, ...], Any]],
) -> None:
    document = changed(changes)
    if check(document):
        return
    profile = read(document)
    kept = codec.to_document(Cohort("moths", profile, "UTC", NOW, NOW))
    assert codec.cohort(kept, 1).species == profile


def test_a_text_that_may_be_left_out_is_not_empty() -> None:
    document = copy.deepcopy(DOCUMENT)
    document["spans"][0]["days"]["spread_source"] = ""
    (problem,) = check(document)
    assert problem.message == "is empty"


def test_a_file_of_any_name_that_is_accepted_starts(run: Any, folder: Path) -> None:
    for number, name in enumerate(("moth.toml", "MOTH.TOML", "moth.txt", "moth")):
        (folder / name).write_text(SOUND, encoding="utf-8")
        run("species", "check", name)
        run("start", f"cups{number}", "--species", name, "--eggs", "3")


def test_a_cohort_shows_the_profile_that_it_was_started_with(run: Any, folder: Path) -> None:
    (folder / "moth.toml").write_text(SOUND, encoding="utf-8")
    run("start", "cups", "--species", "moth.toml", "--eggs", "3")
    (folder / "moth.toml").unlink()
    told = run("identify", "--cohort", "cups", "--length", "4", fails=2).stderr
    assert "has no body lengths" in told
    for name in ("test-moth", "cups"):
        assert "Exemplum inventum" in run("species", "show", name).stdout
    assert "no profile" in run("species", "show", "test-mot", fails=2).stderr
