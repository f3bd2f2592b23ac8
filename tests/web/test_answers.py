"""What a cohort answers in the browser: the results of the commands, in words that fit there."""

import re
from collections.abc import Callable
from datetime import date, timedelta
from html import unescape
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from msgspec.structs import replace

from rearlog.cli.main import main
from rearlog.records.log import CohortLog, DayExtremes
from rearlog.web.answers import QUESTIONS
from rearlog.web.door import Role
from tests.builders import moment, small_profile, tiny_log
from tests.web.shelves import BASE, Classroom, put

HEAT = dict.fromkeys(("egg", "L1", "L2", "L3", "pupa"), 20.0)
LIVES = {
    "1": "egg egg L1 L1 L2 L2 pupa pupa adult",
    "2": "egg egg egg L1 L1 L2 pupa pupa pupa",
    "3": "egg egg dead:mould",
    "4": "egg egg L1 L1 L2 L2 L2 pupa adult",
}
DRAWN = [each.key for each in QUESTIONS if each.chart]
NOW = moment(30)


def warm(log: CohortLog) -> CohortLog:
    """The log with a day's extremes for each of its first ten days."""
    days = tuple(DayExtremes(date(2026, 3, 9 + day), 18.0, 24.0) for day in range(10))
    return replace(log, all_temperatures=days)


def lived(**options: Any) -> CohortLog:
    """A cohort of four with temperatures, two of whom came out, and one had laid eggs by then."""
    log = warm(tiny_log(LIVES, profile=small_profile(heat=HEAT), **options))
    *others, last = log.all_observations
    return replace(log, all_observations=(*others, replace(last, eggs=12)))


@pytest.fixture
def room(tmp_path: Path) -> Classroom:
    put(tmp_path, lived())
    return Classroom(tmp_path, NOW)


def get(client: Any, address: str) -> Any:
    return client.get(address, base_url=BASE)


def at(kind: str, query: str = "") -> str:
    return f"/cohort/tiny/answers/{kind}{'?' if query else ''}{query}"


def by_command(folder: Path, *words: str) -> bytes:
    done = CliRunner().invoke(main, [words[0], str(folder / "tiny.json"), *words[1:]])
    assert done.exit_code == 0, done.output
    return done.stdout_bytes


def test_the_questions_stand_in_plain_words_with_an_answer_each(room: Classroom) -> None:
    page = get(room.joined(Role.LOOKER), "/cohort/tiny/answers").text
    for each in QUESTIONS:
        assert f'href="/cohort/tiny/answers/{each.key}"' in page
        assert each.words in page
    assert "2 of 4 reached adulthood, the first by 17 Mar;" in page


@pytest.mark.parametrize(
    ("kind", "command"),
    [
        ("durations", ["durations"]),
        ("heat", ["heat"]),
        ("survival", ["survival"]),
        ("growth", ["growth"]),
        ("reproduction", ["reproduction"]),
        ("agreement", ["agreement"]),
        ("forecast", ["forecast", "--as-of", "2026-03-14"]),
        ("deadline", ["forecast", "--by", "2026-04-10", "--as-of", "2026-03-14"]),
        ("review", ["forecast", "--review", "--as-of", "2026-03-17"]),
    ],
)
@pytest.mark.parametrize("form", ["csv", "json"])
def test_the_file_is_what_the_command_writes(
    room: Classroom, tmp_path: Path, kind: str, command: list[str], form: str
) -> None:
    query = {
        "forecast": "as-of=2026-03-14",
        "deadline": "as-of=2026-03-14&day=2026-04-10",
        "review": "as-of=2026-03-17",
    }.get(kind, "")
    answer = get(room.keeper(), at(f"{kind}.{form}", query))
    assert answer.data == by_command(tmp_path, *command, "--format", form)


@pytest.mark.parametrize(
    ("kind", "query", "command"),
    [
        ("durations", "from=L1&to=pupa", ["durations", "--from", "L1", "--to", "pupa"]),
        ("durations", "rows=individuals", ["durations", "--individuals"]),
        ("durations", "lower=12&method=average",
         ["durations", "--lower", "12", "--method=average"]),
        ("progress", "", ["durations", "--individuals"]),
        ("heat", "lower=5&upper=22,5&cutoff=vertical&method=double-sine",
         ["heat", "--lower=5", "--upper=22.5", "--cutoff=vertical", "--method=double-sine"]),
        ("survival", "rows=survival+by+day", ["survival", "--kaplan-meier"]),
        ("survival", "from=L1", ["survival", "--from", "L1"]),
        ("reproduction", "rows=by+age", ["reproduction", "--ages"]),
        ("reproduction", "rows=by+age+and+stage", ["reproduction", "--stages"]),
        ("agreement", "within=15", ["agreement", "--within", "15"]),
        ("forecast", "as-of=2026-03-14&temp=25&interval=80&rows=individuals",
         ["forecast", "--as-of=2026-03-14", "--temp=25", "--interval=80", "--individuals"]),
    ],
)  # fmt: skip
def test_options_are_those_of_the_command(
    room: Classroom, tmp_path: Path, kind: str, query: str, command: list[str]
) -> None:
    answer = get(room.keeper(), at(f"{kind}.csv", query))
    assert answer.data == by_command(tmp_path, *command, "--format", "csv", "-q")


def test_each_sex_by_itself(tmp_path: Path) -> None:
    log = lived()
    sexes = {"1": "m", "4": "f"}
    checks = tuple(
        replace(each, sex=sexes[each.individual]) if each.stage == "adult" else each
        for each in log.all_observations
    )
    put(tmp_path, replace(log, all_observations=checks))
    keeper = Classroom(tmp_path, NOW).keeper()
    answer = get(keeper, at("survival.csv", "by=sex"))
    assert answer.data == by_command(tmp_path, "survival", "--by", "sex", "--format", "csv")
    page = get(keeper, at("survival", "by=sex"))
    assert (page.status_code, "survival by sex" in page.text) == (200, True)


def test_where_no_eggs_were_counted_it_is_said_where_they_are_told(tmp_path: Path) -> None:
    put(tmp_path, warm(tiny_log(LIVES, profile=small_profile(heat=HEAT))))
    keeper = Classroom(tmp_path, NOW).keeper()
    page = get(keeper, at("reproduction"))
    assert page.status_code == 200
    assert "no eggs were counted in tiny" in unescape(page.text)
    assert "tell them in the round, on the cards of adults" in unescape(page.text)
    assert "eggs=34" not in page.text
    assert "<p>No eggs were counted in tiny.</p>" in unescape(get(keeper, at("")[:-1]).text)


def test_where_males_laid_the_eggs_it_is_said_where_that_is_settled(tmp_path: Path) -> None:
    log = warm(tiny_log(LIVES, profile=small_profile(heat=HEAT)))
    *others, last = log.all_observations
    later = replace(last, number=None, at=last.at + timedelta(1), eggs=5)
    put(tmp_path, replace(log, all_observations=(*others, replace(last, sex="m"), later)))
    page = unescape(get(Classroom(tmp_path, NOW).keeper(), at("reproduction")).text)
    assert "all eggs that were counted in tiny are told of males" in page
    assert "their own pages show what contradicts it" in page
    assert "rearlog verify" not in page


def test_an_answer_says_on_whose_contradicting_looks_it_rests(tmp_path: Path) -> None:
    put(
        tmp_path, warm(tiny_log(LIVES | {"5": "egg L1 L2 L1 L1"}, profile=small_profile(heat=HEAT)))
    )
    client = Classroom(tmp_path, NOW).joined(Role.LOOKER)
    told = "Looks at 5 in tiny contradict each other; this rests on those that fit together best"
    for question in ("durations", "survival", "forecast"):
        page = unescape(get(client, at(question)).text)
        assert f"{told}, and their own pages show both." in page, question
    assert "contradict each other" not in get(client, at("agreement")).text
    shelf = unescape(get(client, "/").text)
    assert re.search('5: L1[^"<]*, in doubt', shelf)
    assert not re.search('4: [^"<]*in doubt', shelf)


def test_past_cohorts_teach_a_forecast(room: Classroom, tmp_path: Path) -> None:
    put(tmp_path, lived(name="past"))
    answer = get(room.keeper(), at("forecast.json", "as-of=2026-03-14&past=past"))
    command = ["forecast", "--as-of=2026-03-14", "--past", str(tmp_path / "past.json")]
    assert answer.data == by_command(tmp_path, *command, "--format", "json", "-q")
    assert answer.data != get(room.keeper(), at("forecast.json", "as-of=2026-03-14")).data


@pytest.mark.parametrize("kind", DRAWN)
@pytest.mark.parametrize(
    ("form", "kind_of_content", "begins"),
    [
        ("png", "image/png", b"\x89PNG"),
        ("svg", "image/svg+xml", b"<?xml"),
        ("pdf", "application/pdf", b"%PDF"),
    ],
)
def test_charts_are_kept_as_files(
    room: Classroom, kind: str, form: str, kind_of_content: str, begins: bytes
) -> None:
    answer = get(room.joined(Role.LOOKER), at(f"{kind}.{form}"))
    assert answer.content_type == kind_of_content
    assert answer.headers["Content-Disposition"] == f"attachment; filename=tiny-{kind}.{form}"
    assert answer.data.startswith(begins)


@pytest.mark.parametrize("query", ["", "from=L1&to=pupa", "by="])
def test_the_links_of_a_page_keep_what_it_shows(room: Classroom, query: str) -> None:
    client = room.joined(Role.LOOKER)
    page = get(client, at("survival", query)).text
    links = [unescape(each) for each in re.findall(r'href="([^"]*survival\.[^"]*)"', page)]
    assert [re.findall(r"\.(\w+)", each)[0] for each in links] == [
        *("png", "svg", "pdf", "csv", "csv", "json")
    ]
    for each in links:
        answer = get(client, each)
        assert answer.status_code == 200, each
        assert ("from=L1" in each) == ("from" in query)
    assert get(client, links[3]).data != get(client, links[4]).data


def test_a_chart_is_that_of_the_command(room: Classroom, tmp_path: Path) -> None:
    out = tmp_path / "chart.png"
    CliRunner().invoke(main, ["chart", "heat", str(tmp_path / "tiny.json"), "-o", str(out)])
    assert get(room.keeper(), at("heat.png")).data == out.read_bytes()


SHELVES: dict[str, Callable[[], CohortLog]] = {
    "nobody": lambda: tiny_log({}),
    "one that nobody looked at": lambda: tiny_log({"1": "egg"}),
    "one": lambda: tiny_log({"1": "egg egg L1"}),
    "all dead": lambda: warm(tiny_log({"1": "egg dead", "2": "egg L1 dead:mould"})),
    "in the middle": lambda: warm(
        tiny_log({"1": "egg egg L1", "2": "egg egg"}, profile=small_profile(heat=HEAT))
    ),
    "all out": lived,
    "no threshold": lambda: warm(tiny_log({"1": "egg L1"}, profile=small_profile(lower=None))),
}


@pytest.mark.parametrize("shelf", SHELVES)
def test_every_question_has_an_answer_whatever_the_cohort(tmp_path: Path, shelf: str) -> None:
    put(tmp_path, SHELVES[shelf]())
    client = Classroom(tmp_path, moment(4)).joined(Role.LOOKER)
    assert get(client, "/cohort/tiny/answers").status_code == 200
    for question in QUESTIONS:
        page = get(client, at(question.key))
        assert page.status_code == 200, (shelf, question.key)
        main_part = page.text.partition("<main")[2]
        said = re.sub(r"<svg.*?</svg>|<[^>]*>", " ", main_part, flags=re.S)
        assert "rearlog " not in said, (shelf, question.key)
        assert not re.search(r"--[a-z]", said), (shelf, question.key)
        assert len(said.split()) > 10


def test_without_temperatures_the_page_says_what_to_do(tmp_path: Path) -> None:
    put(tmp_path, tiny_log({"1": "egg egg L1"}))
    page = get(Classroom(tmp_path, moment(4)).keeper(), at("heat")).text
    assert "no temperature of tiny is on record" in page
    assert "write them down under “Temperatures”" in page
    short = get(Classroom(tmp_path, moment(4)).keeper(), at("")[:-1]).text
    assert "<p>No temperature of tiny is on record.</p>" in short


def test_without_a_threshold_the_page_asks_for_it(tmp_path: Path) -> None:
    put(tmp_path, SHELVES["no threshold"]())
    keeper = Classroom(tmp_path, moment(4)).keeper()
    assert "give the lower threshold under “Options”" in get(keeper, at("heat")).text
    assert get(keeper, at("heat", "lower=8")).text.count('class="picture heat"') == 1


def test_where_nobody_was_measured_the_page_says_where_to_write_it(room: Classroom) -> None:
    page = get(room.keeper(), at("growth")).text
    assert "Nobody was measured yet: a card of the round" in page
    assert 'class="picture' not in page


def test_a_chart_stands_in_the_page_with_its_words(room: Classroom) -> None:
    page = get(room.keeper(), at("survival")).text
    (alt,) = re.findall(r'role="img" aria-label="([^"]*)"', page.partition("<main")[2])
    assert alt.startswith("Survival by age in tiny. So far 50 % reached adulthood")
    chart = page.partition('role="img"')[2].partition("</svg>")[0]
    assert "<svg" in chart
    assert "style=" not in chart


@pytest.mark.parametrize(
    ("kind", "first", "folded"),
    [
        ("durations", "tiny (Moth test): days in each stage", "Days in the stage, of those who"),
        ("heat", "tiny: degree-days (heat above", "Day by day"),
        ("survival", "tiny: survival by stage", "Life table by age in days"),
        ("forecast", "tiny (Moth test): what is to come", "Degree-days that the stages take"),
    ],
)
def test_a_sentence_comes_first_and_what_few_need_is_folded(
    room: Classroom, tmp_path: Path, kind: str, first: str, folded: str
) -> None:
    """Sentence, picture, the table for everybody, and the rest in one part that is closed."""
    query = "as-of=2026-03-14" if kind == "forecast" else ""
    page = unescape(get(room.keeper(), at(kind, query)).text).partition("<main")[2]
    sentence, picture, table, closed = (
        page.index(each)
        for each in ('<p class="say">', 'role="img"', f"<caption>{first}", '<details class="full">')
    )
    assert sentence < picture < table < closed
    open_part, _, rest = page.partition('<details class="full">')
    assert folded not in open_part
    assert folded in rest
    when = ("--as-of", "2026-03-14") if kind == "forecast" else ()
    lead = by_command(tmp_path, kind, *when).decode().partition("\n\n")[0]
    assert " ".join(lead.split()) in page


@pytest.mark.parametrize(
    ("kind", "query", "message"),
    [
        ("durations", "from=moth", "moth"),
        ("durations", "from=pupa&to=L1", "pupa"),
        ("survival", "by=colour", "“colour” is none of sex, clutch, container"),
        ("heat", "lower=warm", "“warm” is not a number"),
        ("heat", "lower=20&upper=10", "is not above the lower"),
        ("heat", "method=guess", "“guess” is none of"),
        ("forecast", "interval=100", "“100” is not a number from 50 to 99"),
        ("forecast", "interval=٨٠", "is not a number from 50 to 99"),
        ("forecast", "temp=nan", "“nan” is not a number"),
        ("forecast", "as-of=2031-01-01", "is in the future"),
        ("forecast", "as-of=2020-01-01", "before the cohort"),
        ("deadline", "day=soon", "“soon” is not a day to come"),
        ("deadline", "day=2026-03-10", "is not a day to come"),
        ("agreement", "within=9999", "is not a number from 0 to 1440"),
    ],
)
def test_options_that_cannot_be_are_told_and_kept(
    room: Classroom, kind: str, query: str, message: str
) -> None:
    for address in (at(kind, query), at(f"{kind}.csv", query)):
        answer = get(room.keeper(), address)
        assert (answer.status_code, message in answer.text) == (400, True), answer.text
    value = query.rpartition("=")[2]
    page = get(room.keeper(), at(kind, query)).text
    assert value in page or kind == "survival"


def test_all_that_is_wrong_is_told_at_once(room: Classroom) -> None:
    page = get(room.keeper(), at("heat", "lower=warm&upper=hot")).text
    assert "2 things are to be mended" in page


def test_what_is_no_answer_is_not_found(room: Classroom) -> None:
    keeper = room.keeper()
    for kind in ("weather", "heat.exe", "heat.", "review.png", "durations.csv?rows=all"):
        expected = 200 if kind == "heat." else 404
        assert get(keeper, at(kind)).status_code == expected, kind
    assert get(keeper, "/cohort/nobody/answers").status_code == 404
    assert get(room.joined(Role.GUEST), at("heat")).status_code == 403


def test_an_answer_is_worked_out_once_until_the_log_changes(
    room: Classroom, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from rearlog.analysis.survival import survival as analysis

    calls = []
    original = analysis.survival

    def counting(*args: Any, **kwargs: Any) -> Any:
        calls.append(args)
        return original(*args, **kwargs)

    monkeypatch.setattr(analysis, "survival", counting)
    keeper = room.keeper()
    for kind in ("survival", "survival.csv", "survival.json", "survival.png", "survival"):
        get(keeper, at(kind))
    assert len(calls) == 1
    (tmp_path / "tiny.json").unlink()
    put(tmp_path, lived(zone="Europe/London"))
    get(keeper, at("survival"))
    assert len(calls) == 2


def test_a_forecast_follows_the_clock(tmp_path: Path) -> None:
    put(tmp_path, SHELVES["in the middle"]())
    room = Classroom(tmp_path, moment(4))
    keeper = room.keeper()
    early = get(keeper, at("forecast.json")).json["as_of"]
    room.now = moment(6)
    assert get(keeper, at("forecast.json")).json["as_of"] != early
