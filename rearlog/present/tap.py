"""The page for a tablet beside the cups: a card an individual, to be tapped. It works without a
network, keeps what was tapped in the browser, and saves it as tidy CSV."""

from __future__ import annotations

from collections import Counter
from datetime import date, datetime

from msgspec import Struct, to_builtins

from rearlog.present.policy import inert_json, rendered
from rearlog.records.asked_round import Round, begin
from rearlog.records.cages import sexes
from rearlog.records.cautions import RELEASE
from rearlog.records.fates import SUGGESTED_CAUSES, Fate
from rearlog.records.fields import COUNTS, FIELDS, MEASURES, Field
from rearlog.records.forms import StageKind, kind_of
from rearlog.records.log import CohortLog
from rearlog.records.profile import Profile
from rearlog.records.rules import REFUSED_BEYOND, largest_known

MOST_CAUSES = 8
STYLES = ("tokens.css", "page.css", "tap.css")
SCRIPTS = ("tap_kept.js", "tap_file.js", "tap_card.js", "tap.js")


class TapCard(Struct, frozen=True):
    """One individual: its last stage, the day on which it was first seen in it, and so many days
    before that on which nobody looked, its last note, with whom or in which `cage` it is `kept`,
    and whether it is known to be a male."""

    individual: str
    stage: str
    since: date
    unlooked: int
    container: str | None
    note: str | None
    kept: str | None
    cage: str | None
    male: bool


class TapStage(Struct, frozen=True):
    """A stage, and those after it: `offered` at once, the `later` ones behind a button, and with
    them the `earlier` ones, which contradict what was known and are asked about.

    `direct` are those that can be entered from it with no stage in between.
    """

    code: str
    offered: tuple[str, ...]
    later: tuple[str, ...]
    direct: tuple[str, ...]
    earlier: tuple[str, ...]


class TapRound(Struct, frozen=True):
    """What the page knows of a cohort. `written` is the moment of writing it.

    `causes` are the usual ones of each fate; `measures` the title and the unit of each, and the
    most that the log takes; `counts` the same of what is counted, of one in a stage of `adults`;
    `columns` those of the tidy CSV.
    """

    cohort: str
    species: str
    place: str | None
    invented: bool
    written: datetime
    cards: tuple[TapCard, ...]
    stages: tuple[TapStage, ...]
    causes: dict[str, tuple[str, ...]]
    measures: dict[str, tuple[str, str, float]]
    counts: dict[str, tuple[str, str, float]]
    adults: tuple[str, ...]
    columns: tuple[str, ...]


def tap_round(log: CohortLog, written: datetime) -> TapRound:
    """The round of all that live at a moment; raises EntryError where nobody does."""
    round_ = begin(log, written)
    cohort = log.cohort
    profile = cohort.species
    return TapRound(
        cohort.name,
        profile.name,
        cohort.place,
        cohort.invented,
        written,
        tuple(_card(round_, code) for code in round_.asked),
        tuple(stage_choices(profile, code) for code in profile.codes),
        {str(fate): causes_of(log, fate) for fate in Fate},
        {each.name: (each.title, each.unit, limit_of(profile, each)) for each in MEASURES},
        {each.name: (each.title, each.unit, each.most) for each in COUNTS},
        adult_stages(profile),
        tuple(each.name for each in FIELDS),
    )


def _card(round_: Round, code: str) -> TapCard:
    known = round_.question(code)
    checks = [check for check in round_.log.checks[code] if check.at <= round_.at]
    clock = round_.log.cohort.clock
    note = checks[-1].note if checks else None
    keeping = round_.kept.get(code)
    return TapCard(
        code,
        known.stage,
        clock.day(known.since),
        known.unlooked(clock),
        round_.log.by_code[code].container,
        note,
        keeping.words if keeping else None,
        keeping.by if keeping and keeping.cage else None,
        sexes(round_.log).get(code) == "m",
    )


def stage_choices(profile: Profile, code: str) -> TapStage:
    """The next two stages are offered at once, and the next one that cannot be passed over."""
    after = profile.stages[profile.rank[code] + 1 :]
    codes = tuple(stage.code for stage in after)
    passed = next((place for place, stage in enumerate(after) if not stage.optional), len(after))
    offered = codes[:2] + codes[max(passed, 2) : passed + 1]
    later = tuple(each for each in codes if each not in offered)
    earlier = profile.codes[: profile.rank[code]]
    return TapStage(code, offered, later, codes[: passed + 1], earlier)


def adult_stages(profile: Profile) -> tuple[str, ...]:
    """The stages that lay eggs."""
    return tuple(code for code in profile.codes if kind_of(code) is StageKind.ADULT)


def causes_of(log: CohortLog, fate: Fate) -> tuple[str, ...]:
    """The usual causes of a fate in a log, the commonest first, then those of the trade."""
    found = Counter(
        check.cause
        for checks in log.checks.values()
        for check in checks
        if check.fate == fate and check.cause
    )
    usual = [cause for cause, _ in found.most_common()]
    return tuple(dict.fromkeys([*usual, *SUGGESTED_CAUSES[fate]]))[:MOST_CAUSES]


def limit_of(profile: Profile, measure: Field) -> float:
    """The most of a measure that the log takes."""
    return REFUSED_BEYOND * largest_known(profile, measure)


def tap_page(round_: TapRound) -> str:
    """The page as HTML text. It needs no network and nothing beside it.

    Text of the log is in it as data only, and the browser is told to run and fetch nothing else.
    """
    data = inert_json(to_builtins(round_) | {"release": RELEASE})
    return rendered("tap.html.j2", STYLES, SCRIPTS, round=round_, data=data)
