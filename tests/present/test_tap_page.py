"""The page to tap, as it is written."""

import json
from base64 import b64encode
from datetime import date
from hashlib import sha256
from html.parser import HTMLParser
from itertools import combinations
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from msgspec.structs import replace

from rearlog.cli.main import main
from rearlog.present.tap import TapRound, tap_page, tap_round
from rearlog.records.doubts import DoubtKind, doubts_with
from rearlog.records.errors import EntryError
from rearlog.records.fates import SUGGESTED_CAUSES, Fate
from rearlog.records.fields import MEASURES
from rearlog.records.log import CohortLog, Individual, Observation
from rearlog.records.profile import Profile, StageProfile
from rearlog.records.rules import problems_of
from rearlog.species.catalogue import bundled, find
from tests.builders import START, moment, seen, small_profile, tiny_log

SPECIES = [find(each.id) for each in bundled()]
HOSTILE = '</script><script>alert(1)</script><!-- &amp; <img src=x onerror="alert(2)">'


class Reader(HTMLParser):
    """The parts of a page that a browser might run or fetch."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.scripts: list[str] = []
        self.styles: list[str] = []
        self.tags: list[str] = []
        self.policy = ""
        self.addresses: list[str | None] = []
        self._into: list[str] | None = None
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        known = dict(attrs)
        self.tags.append(tag)
        self.addresses += [known[name] for name in ("src", "href") if name in known]
        self._into = {"script": self.scripts, "style": self.styles}.get(tag)
        if self._into is not None:
            self._into.append("")
        if known.get("http-equiv") == "Content-Security-Policy":
            self.policy = known["content"] or ""

    def handle_endtag(self, tag: str) -> None:
        self._into = None

    def handle_data(self, data: str) -> None:
        if self._into is not None:
            self._into[-1] += data


def round_of(lives: dict[str, str], day: float = 9, profile: Profile | None = None) -> TapRound:
    return tap_round(tiny_log(lives, profile=profile), moment(day))


def test_a_card_for_each_that_lives_with_its_stage_and_since_when() -> None:
    round_ = round_of({"A1": "egg egg L1 L1 - L2 same", "A2": "egg dead", "A3": "egg"}, day=5.5)
    assert [(each.individual, each.stage, each.since) for each in round_.cards] == [
        ("A1", "L2", date(2026, 3, 14)),
        ("A3", "egg", date(2026, 3, 9)),
    ]


def test_the_day_is_that_of_the_cohorts_zone() -> None:
    log = tiny_log({"A1": "egg"}, zone="Pacific/Auckland")
    checks = (seen("A1", 1.25, "L1"),)  # 15:00 UTC on 10 March is 04:00 on the 11th
    round_ = tap_round(replace(log, all_observations=checks), moment(3))
    assert round_.cards[0].since == date(2026, 3, 11)


def test_where_it_lives_and_what_was_last_noted_of_it() -> None:
    individual = Individual("A1", START, "egg", container="cup 5")
    checks = (
        Observation("A1", moment(1), "L1", note="pale"),
        Observation("A1", moment(9), "L2", note="still to come"),
    )
    log = replace(tiny_log({"A1": "egg"}), all_observations=checks)
    log = CohortLog(log.cohort, (individual,), checks)
    card = tap_round(log, moment(2)).cards[0]
    assert (card.container, card.note) == ("cup 5", "pale")


def test_with_whom_it_is_kept_and_what_is_counted_of_adults() -> None:
    log = tiny_log(dict.fromkeys("123", "pupa adult"))
    told = [
        seen("1", 2, "adult", mate="2"),
        seen("2", 2, "adult", sex="m"),
        seen("3", 2, "adult", mate="C1", sex="f"),
    ]
    round_ = tap_round(log.with_checks(told), moment(3))
    cards = {each.individual: (each.kept, each.cage, each.male) for each in round_.cards}
    assert cards == {
        "1": ("with 2", None, False),
        "2": (None, None, True),
        "3": ("in C1", "C1", False),
    }
    assert round_.counts == {
        "eggs": ("eggs", "eggs", 1_000_000),
        "hatched": ("eggs hatched", "eggs", 1_000_000),
    }
    assert round_.adults == ("adult",)


def test_nobody_lives() -> None:
    with pytest.raises(EntryError, match="nobody"):
        round_of({"A1": "egg dead"})


def test_the_causes_of_each_fate_the_usual_ones_first() -> None:
    lives = {"1": "dead:mould", "2": "dead:parasitoid", "3": "dead:mould", "4": "removed:released"}
    found = round_of({each: f"egg {end}" for each, end in lives.items()} | {"5": "egg"})
    assert found.causes["dead"][:3] == ("mould", "parasitoid", "shrivelled")  # then suggestions
    assert found.causes["lost"] == SUGGESTED_CAUSES[Fate.LOST]
    assert found.causes["removed"].count("released") == 1


def test_eight_causes_are_offered() -> None:
    """Those of the trade are nine; of a log that has nine of its own the commonest."""
    suggested = SUGGESTED_CAUSES[Fate.DEAD]
    assert round_of({"1": "egg"}).causes["dead"] == suggested[:8]
    own = {f"{cause}{n}": f"egg dead:{cause}" for cause in "abcdefghi" for n in (1, 2)}
    assert round_of({**own, "1": "egg"}).causes["dead"] == tuple("abcdefgh")
    own["more"] = "egg dead:i"
    assert round_of({**own, "1": "egg"}).causes["dead"] == tuple("iabcdefg")
    few = {each: f"egg dead:{each}" for each in "abc"}
    assert round_of({**few, "1": "egg"}).causes["dead"] == (*"abc", *suggested[:5])


def test_at_first_the_next_two_stages_and_the_next_that_cannot_be_passed_over() -> None:
    offered = {each.code: (each.offered, each.later) for each in round_of({"1": "egg"}).stages}
    earlier = {each.code: each.earlier for each in round_of({"1": "egg"}).stages}
    assert (earlier["egg"], earlier["L2"]) == ((), ("egg", "L1"))
    assert offered["egg"] == (("L1", "L2"), ("L3", "pupa", "adult"))
    assert offered["L2"] == (("L3", "pupa"), ("adult",))
    assert offered["pupa"] == (("adult",), ())
    assert offered["adult"] == ((), ())
    many = [StageProfile(f"L{number}", f"L{number}", optional=number > 1) for number in range(1, 9)]
    profile = replace(small_profile(), stages=(*many, StageProfile("pupa", "pupa")))
    first = round_of({"1": "L1"}, profile=profile).stages[0]
    assert first.offered == ("L2", "L3", "pupa")
    assert first.later == ("L4", "L5", "L6", "L7", "L8")
    assert first.direct == ("L2", "L3", "L4", "L5", "L6", "L7", "L8", "pupa")
    two = replace(profile, stages=(*many[:3], profile.stages[-1], StageProfile("adult", "adult")))
    first = round_of({"1": "L1"}, profile=two).stages[0]
    assert (first.offered, first.later) == (("L2", "L3", "pupa"), ("adult",))


def log_of(profile: Profile, stage: str) -> CohortLog:
    return tiny_log({"1": stage}, profile=profile)


@pytest.mark.parametrize("profile", SPECIES, ids=lambda each: each.id)
def test_only_a_passage_that_the_log_takes_as_seen_can_be_called_so(profile: Profile) -> None:
    stages = {each.code: each for each in tap_round(log_of(profile, "egg"), moment(1)).stages}
    for before, after in combinations(profile.codes, 2):
        check = Observation("1", moment(1), after, witnessed=True)
        kinds = {each.kind for each in doubts_with(log_of(profile, before), [check])}
        assert (after in stages[before].direct) == (DoubtKind.STAGE_LEFT_OUT not in kinds)
        assert before in stages[after].earlier
        assert (after in stages[before].offered) != (after in stages[before].later)


@pytest.mark.parametrize("profile", SPECIES, ids=lambda each: each.id)
@pytest.mark.parametrize("name", [each.name for each in MEASURES])
def test_the_largest_measure_is_that_which_the_log_takes(profile: Profile, name: str) -> None:
    limit = tap_round(log_of(profile, "egg"), moment(1)).measures[name][2]

    def is_taken(value: float) -> bool:
        check = seen("1", 1, "egg", **{name: value})
        return not problems_of(profile, Individual("1", START, "egg"), [check], moment(2))

    assert is_taken(limit)
    assert not is_taken(limit * 1.001)


def hostile_page() -> str:
    log = tiny_log({"1": "egg", "2": f"egg dead:{HOSTILE.replace(' ', '_')}"})
    header = replace(log.cohort, place=HOSTILE, name=HOSTILE, species=small_profile())
    noted = Observation("1", moment(2), "L1", note=HOSTILE)
    log = CohortLog(header, log.individuals, (*log.all_observations, noted))
    return tap_page(tap_round(log, moment(3)))


def test_text_of_the_log_is_data_and_nothing_else() -> None:
    plain, hostile = Reader(tap_page(round_of({"1": "egg"}))), Reader(hostile_page())
    assert hostile.tags == plain.tags
    assert hostile.scripts[1] == plain.scripts[1]
    data = json.loads(hostile.scripts[0])
    assert (data["cohort"], data["place"], data["cards"][0]["note"]) == (HOSTILE,) * 3
    assert data["causes"]["dead"][0] == HOSTILE.replace(" ", "_")


def test_the_page_runs_only_its_own_script_and_fetches_nothing() -> None:
    found = Reader(hostile_page())

    def source(text: str) -> str:
        return f"'sha256-{b64encode(sha256(text.encode()).digest()).decode()}'"

    rules = dict(each.strip().split(" ", 1) for each in found.policy.split(";"))
    assert rules["default-src"] == "'none'"
    assert rules["script-src"] == source(found.scripts[1])
    assert rules["style-src"] == source(found.styles[0])
    assert found.addresses == ["#cards"]
    assert "addEventListener" in found.scripts[1]
    assert "font-size" in found.styles[0]


def test_invented_data_say_so() -> None:
    round_ = round_of({"1": "egg"})
    assert "invented" not in tap_page(round_).split("<script")[0]
    assert "invented" in tap_page(replace(round_, invented=True)).split("<script")[0]


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("REARLOG_DIR", raising=False)
    return tmp_path


def rearlog(*words: str) -> Result:
    return CliRunner().invoke(main, words, catch_exceptions=False)


@pytest.fixture
def room(folder: Path) -> Path:
    words = ["--species", "painted-lady", "--eggs", "5", "--on", "2026-03-09", "--zone", "UTC"]
    assert rearlog("start", "room", *words).exit_code == 0
    return folder


def test_the_command_writes_the_page_and_says_how_its_file_comes_back(room: Path) -> None:
    result = rearlog("sheet", "room", "--tap", "-o", "round.html")
    assert result.exit_code == 0
    assert "5 individuals to tap: round.html" in result.stderr
    assert "rearlog import room FILE" in result.stderr
    data = json.loads(Reader((room / "round.html").read_text(encoding="utf-8")).scripts[0])
    assert [each["individual"] for each in data["cards"]] == ["1", "2", "3", "4", "5"]


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (["-o", "round.csv", "--tap"], "end its name in .html"),
        (["-o", "round.html"], ".html with --tap"),
        (["-o", "taken.html", "--tap"], "taken.html exists already"),
        (["-o", "nowhere/round.html", "--tap"], "no folder nowhere"),
        (["-o", "round.html", "--tap", "--days", "7"], "--days is for sheets on paper"),
        (["-o", "round.html", "--tap", "--from", "today"], "--from is for sheets on paper"),
    ],
)
def test_pages_that_cannot_be_made(room: Path, words: list[str], message: str) -> None:
    (room / "taken.html").write_text("")
    result = rearlog("sheet", "room", *words)
    assert result.exit_code == 2
    assert message in result.stderr
    assert sorted(path.name for path in room.glob("*.html")) == ["taken.html"]
    assert (room / "taken.html").read_text() == ""
