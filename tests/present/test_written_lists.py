"""Tables of made-up results, with as many things as are named one by one and with one more, as they
are written down in `written/`.

After a change that is meant, `python -m tests.present.test_written_lists` writes them anew, and
what is different is looked at before it is kept.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import date, timedelta
from itertools import chain
from pathlib import Path

import pytest
from msgspec.structs import replace

from rearlog.analysis.agreement.agreement import agreement
from rearlog.analysis.comparing.strike_effect import Change, StrikeEffect
from rearlog.analysis.forecasting.due import Due, NotSeen
from rearlog.analysis.growth.evidence import Measured
from rearlog.analysis.growth.identify import identify
from rearlog.analysis.pooling.season import AdultsOnDay, season
from rearlog.analysis.simulation.sample_size import PowerAt, SampleSize
from rearlog.analysis.stages.events import event_history
from rearlog.notebook import History
from rearlog.present.agreement import agreement_tables
from rearlog.present.between import sample_size_tables
from rearlog.present.due import Today, due_tables
from rearlog.present.explaining import Explained, HowMade, Meaning, Names, NamesOf
from rearlog.present.explanations import explained_tables, name_rows, name_tables
from rearlog.present.history import (
    correction_lines,
    effect_tables,
    history_tables,
    rounds_table,
    struck_lines,
)
from rearlog.present.identify import identification_tables
from rearlog.present.imported import imported_words
from rearlog.present.personal import treated_table
from rearlog.present.profiles import profile_tables, species_table
from rearlog.present.safekeeping import (
    Verifications,
    backup_tables,
    size_words,
    verification_tables,
)
from rearlog.present.season import flat_season, flat_sites, season_tables
from rearlog.records.errors import Problem
from rearlog.records.fields import Mark
from rearlog.records.log import ConstantTemperature, DayExtremes, Individual, Readings
from rearlog.records.nameless import Treated, Treatment
from rearlog.records.profile import Profile, Quantity, Sign, Source
from rearlog.records.rounds import WrittenRound
from rearlog.species.catalogue import Listing, find
from rearlog.store.cohort_file import Recorded
from rearlog.store.redaction import Redaction
from rearlog.store.restoring import BackupContent, States
from rearlog.store.verification import Verification
from tests.builders import START, moment, seen, small_profile, tiny_log
from tests.made_summaries import stage, summary
from tests.written_lines import Written, differing, drawn_tables

FILES = Written(Path(__file__).with_name("written"))
DAY = START.date()
STRUCK = (Mark(moment(4), "misread", "KT"),)


def _records() -> list[str]:
    """Records of each kind, some of them struck out."""
    looks = [
        replace(seen("1", 1, "L1", head_width_mm=0.5), number=7, by="KT"),
        replace(seen("2", 1, "dead:mould"), number=8, marks=(Mark(moment(2), "was another"),)),
        replace(seen("3", 1.5, "L2!"), number=9),
    ]
    temperatures = (
        DayExtremes(DAY, 18.0, 24.5, number=1),
        ConstantTemperature(20.0, DAY, DAY + timedelta(days=3), number=2, marks=STRUCK),
        ConstantTemperature(22.0, DAY, number=4),
        Readings(START, (0, 600, 1200), (20.5, 19.0, 21.0), number=3),
    )
    mistaken = Individual("4", START, "egg", marks=STRUCK)
    redactions = (
        Redaction(moment(5), "note", {"observations": [*range(1, 13)], "individuals": [1]}, "KT"),
        Redaction(moment(6), "by", {"observations": [*range(1, 15)]}),
    )
    rounds = tuple(
        WrittenRound(moment(1), moment(day), by, records, struck, first, last, 2, "x" * letters)
        for day, by, records, struck, first, last, letters in (
            (1, "KT", 1, 0, 7, 7, 60),
            (2, None, 3, 1, 8, 10, 61),
        )
    )
    history = History(
        "room", tuple(looks), temperatures, rounds, (mistaken,), (seen("4", 1, "L1"),), redactions
    )
    changes = [Change("L1, cohort", "head_width", 2.5, None), Change("L1, 2", "days", 2.504, 2.496)]
    effects = [
        StrikeEffect("room", tuple(changes[:1]), 1),
        StrikeEffect("room", tuple(changes), 211),
        StrikeEffect("room", tuple(changes[1:]), 211),
    ]
    bare = History("room", tuple(looks), (), ())
    told = [*history_tables(history), *history_tables(bare), rounds_table(history)]
    later = [replace(looks[0], number=9), replace(looks[1], number=None)]
    many = looks * 3
    return [
        *drawn_tables([*told, *chain.from_iterable(map(effect_tables, effects))]),
        *struck_lines(looks, temperatures),
        "",
        *struck_lines(many, temperatures[:1]),
        "",
        *struck_lines(many, temperatures[:2]),
        "",
        *struck_lines(many, temperatures[:3]),
        "",
        *correction_lines(looks[:2], later),
    ]


def _files() -> list[str]:
    """What is told of files, of what came in, and of what may tell who somebody is."""
    sound = Verification("room", "room.json", True, 2, True, 900, 24, 310, 2, 31, (), 0, 0)
    pictures = replace(sound, photos=1, photos_unnamed=2)
    tables = verification_tables(
        Verifications((sound, pictures, replace(sound, photos=3), replace(pictures, photos=0)))
    )
    for problems in (50, 51):
        wrong = tuple(Problem(f"fault {n}", "a line") for n in range(problems))
        tables += verification_tables(Verifications((replace(sound, problems=wrong),)))[1:]
        tables[-1] = replace(tables[-1], rows=tables[-1].rows[-1:])
    states = States(
        "room",
        "room.json",
        (
            BackupContent(1, moment(1), 999_499, 4, 20, "before a redaction"),
            BackupContent(2, moment(2), 1_000_000, None, None, "x", "is no cohort file"),
            BackupContent(3, moment(3), 1_049_999, 4, 20),
        ),
    )
    treated = [
        Treated("place", Treatment.KEPT, tuple("abcdef")),
        Treated("note", Treatment.LEFT_OUT, tuple("abcdefg")),
    ]
    came = Recorded([seen("1", 1, "L1")], [], 0, [])
    more = Recorded([seen("1", 1, "L1")] * 2, [DayExtremes(DAY, 18.0, 24.5)], 3, [])
    return [
        *drawn_tables([*tables, *backup_tables(states), treated_table(treated)]),
        *(
            imported_words(each, ["a.csv", "b.csv"], dry_run=dry)
            for each in (came, more)
            for dry in (False, True)
        ),
        *map(size_words, (499, 999_999, 1_000_000)),
    ]  # fmt: skip


def _names() -> list[str]:
    """What is told of names: made in two ways and in three, with two notes and with three."""
    ways = tuple(
        HowMade(f"room.way{n}", f"Does {n}.", ("A 1990",)[: n % 2], f"a{n}", (f"tests/{n}.py",))
        for n in (1, 2, 3)
    )
    one = Meaning(
        "n", ("N", "count"), ("stages", "heat"), "How many.", "a + b", ways[:2], ("x", "y")
    )
    bare = Meaning("m", (), (), "How large.", None, (replace(ways[0], assumes=None),), ())
    many = replace(one, names=(), made=ways, notes=("x", "y", "z"))
    names = Names((NamesOf("heat", ("n", "mean")), NamesOf("chart heat", ("line",))))
    return drawn_tables(
        [
            *name_tables(names),
            name_rows(names),
            *explained_tables(Explained("n", False, (one, bare, many))),
            *explained_tables(Explained("n", False, (one, bare, many, one))),
            *explained_tables(Explained("heat", True, (one, bare))),
        ]
    )  # fmt: skip


def _profile() -> list[str]:
    found = small_profile(heat={"L1": 25.0})
    egg, *others = found.stages
    egg = replace(
        egg,
        days=Quantity("test", value=4.0, sd=0.5, at_celsius=(18.0, 24.0), spread_source="book"),
        head_width_mm=Quantity("book", low=0.25, high=0.5),
        signs=(Sign("It is round.", "book"),),
    )
    sources = {**found.sources, "book": Source("published", "A Book 1990")}
    full: Profile = replace(found, stages=(egg, *others), sources=sources, cautions=("It stings.",))
    listed = [Listing("moth", "test moth", "Moth test"), Listing("b", "bee", "B ee")]
    return drawn_tables([*profile_tables(full), *species_table(listed)])


def _seasons() -> list[str]:
    """Sixty cohorts and one more, of two species at two sites; of one something is to come."""
    some = [
        summary(
            f"c{n:02}", stage(20.0 + n % 3), site=("Hill", None)[n % 2],
            species=("A b", "C d")[n % 5 == 0],
        )
        for n in range(60)
    ]  # fmt: skip
    odd = summary("odd", stage(60.0), site="Hill", species="A b")
    tuesday = date(2026, 3, 17)
    coming = tuple(
        AdultsOnDay(species, tuesday + timedelta(days=days), adults)
        for species, days, adults in (
            ("C d", 0, 1.25), ("A b", 0, 1.0), ("A b", 5, 2.0), ("A b", 6, 0.5)
        )
    )  # fmt: skip
    told = []
    for found in (season(some), season([*some, odd])):
        found = replace(found, coming=coming, running=1)
        for tables in (season_tables(found), season_tables(found, full=True)):
            told += [f"{each.title}: {len(each.rows)} rows, full: {each.full}" for each in tables]
            told += [*tables[0].words, ""]
    running = replace(some[0], as_of=tuesday, waiting=2, due=30, missed=3)
    few = replace(season([running, *some[1:4]]), coming=coming)
    told += drawn_tables([*season_tables(few, by_site=True), *season_tables(few)[:1]])
    return told + drawn_tables([flat_sites(few), flat_season(few)])


def _planned() -> list[str]:
    sizes = tuple(PowerAt(n, n / 40, n / 50, n / 30) for n in (5, 10, 20))
    found = SampleSize(
        "egg", "adult", "days", 20.04, 22.0, 30.04, 27.5, 2.54, 1, 0.05, 0.8, 400, 20,
        sizes, PowerAt(20, 0.045, 0.025, 0.075), False, (),
    )  # fmt: skip
    rare = replace(found, every=3, n=None)
    return drawn_tables([*sample_size_tables(found), *sample_size_tables(rare)])


def _alone() -> list[str]:
    """One observer; nothing due in two cohorts, of which one was not seen; stages just shown."""
    log = tiny_log({"1": "egg L1 L2"})
    quiet = Due("quiet", "Moth test", DAY, 0, (), 0, None, (), (), (), (), (), ())
    waiting = replace(quiet, cohort="b", not_seen=(NotSeen("1", "L2", DAY, 3),))
    found = identify(find("monarch"), Measured(head_mm=(1.5,)), {})
    likely = zip(found.probabilities, (0.98, 0.0051, 0.005), strict=False)
    few = tuple(replace(each, probability=one) for each, one in likely)
    shown, *_ = identification_tables(replace(found, probabilities=few))
    return drawn_tables(
        [
            *agreement_tables(agreement(log, event_history(log))),
            *due_tables(Today((quiet, waiting)), [[], ["1"]]),
            replace(shown, words=()),
        ]
    )


WRITTEN: dict[str, Callable[[], Sequence[str]]] = {
    "lists-records": _records,
    "lists-files": _files,
    "lists-names": _names,
    "lists-profile": _profile,
    "lists-season": _seasons,
    "lists-planned": _planned,
    "lists-alone": _alone,
}


@pytest.mark.parametrize("name", WRITTEN)
def test_what_is_listed_is_what_was_written_down(name: str) -> None:
    assert differing(WRITTEN[name](), FILES.read(name)) == []


if __name__ == "__main__":
    for name, tell in WRITTEN.items():
        FILES.write(name, tell())
