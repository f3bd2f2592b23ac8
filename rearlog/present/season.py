"""The tables of a season. Nothing is computed here, only laid out."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterator
from datetime import date, timedelta
from typing import TYPE_CHECKING, Any

from msgspec.structs import replace

from rearlog.analysis.pooling.cohort_summary import CohortSummary
from rearlog.analysis.pooling.random_effects import FEWEST_FOR_PREDICTION, SiteEffects
from rearlog.analysis.pooling.season import SiteSeason
from rearlog.present.flat import flat, grouped_rows
from rearlog.present.tables import Table, between, constants_reach, p_cell, reach, tenth
from rearlog.sentences import season as season_words
from rearlog.sentences.phrases import LIMITS, percent

if TYPE_CHECKING:
    from rearlog.analysis.pooling.pooled_stages import PooledStage
    from rearlog.analysis.pooling.season import Season, SpeciesSeason

MOST_LINES = 60
"""More cohorts than this are a line each only where all is asked for."""


def season_tables(result: Season, by_site: bool = False, full: bool = False) -> list[Table]:
    """A line for each cohort (or site); what all say together; then, in full, how sure it is."""
    words = Table("", [], [], season_words.words(result))
    lines = _sites(result) if by_site else _cohorts(result, full)
    return [*lines, *_pooled(result), words, *_coming(result), *_full(result)]


def pooled_tables(result: Season) -> list[Table]:
    """The tables of a page: what all say together, how sure it is, and a line for each cohort."""
    return [*_pooled(result), *_coming(result), *_full(result), *_cohorts(result, full=True)]


def _pooled(result: Season) -> Iterator[Table]:
    several = len(result.species) > 1
    for each in result.species:
        yield Table.of(
            _titled("Days of those that came through, over all cohorts", each, several),
            each.stages,
            [
                ("stage", lambda one: one.stage),
                ("cohorts", lambda one: one.cohorts),
                ("animals", lambda one: one.individuals),
                ("days on average", lambda one: tenth(one.best.mean)),
                ("possible", lambda one: _range(one.best.low, one.best.high)),
                (
                    "another cohort",
                    lambda one: _range(one.best.predicted_low, one.best.predicted_high),
                ),
            ],
            full=each.cohorts < FEWEST_FOR_PREDICTION,  # few are better compared
        )


def _titled(text: str, each: SpeciesSeason, several: bool) -> str:
    return f"{each.species}: {text[0].lower()}{text[1:]}" if several else text


def _cohorts(result: Season, full: bool) -> Iterator[Table]:
    out = {each.id for one in result.species for each in one.stand_out}
    shown, title = result.cohorts, "Cohorts"
    words: tuple[str, ...] = ()
    if len(shown) > MOST_LINES and not full:
        shown = tuple(each for each in shown if each.id in out)[:MOST_LINES]
        title = "Cohorts that stand out"
        words = (
            f"{len(result.cohorts) - len(shown)} more cohorts: all of them with --full or --format "
            "csv; the sites with --by site.",
        )
    if not shown:
        yield Table("", [], [], words)
        return
    columns: list[tuple[str, Callable[[CohortSummary], Any]]] = [
        ("cohort", _without_site),
        ("°C", lambda each: tenth(each.celsius)),
        ("animals", lambda each: each.individuals),
        ("came through", _came),
        ("days", lambda each: each.whole and tenth(each.whole.mean)),
        ("looks missed", lambda each: percent(each.missed / each.due) if each.due else None),
        ("", lambda each: _state(each, out)),
    ]
    if len(result.species) > 1:
        columns.insert(1, ("species", lambda each: each.species))
    if result.sites > 0:
        columns.insert(1, ("site", lambda each: each.site or ""))
    yield Table.of(title, shown, columns, words)


def _without_site(each: CohortSummary) -> str:
    """What a cohort is called where its site stands beside it."""
    return each.name.replace(f" ({each.site})", "").replace(f" ({each.site}, ", " (")


def _came(each: CohortSummary) -> str:
    return f"{each.reached} of {each.known}" + (f", {each.waiting} to come" if each.waiting else "")


def _state(each: CohortSummary, out: set[str]) -> str:
    told = ["stands out"] if each.id in out else []
    return ", ".join([*told, *(["running"] if each.as_of else [])])


def _sites(result: Season) -> Iterator[Table]:
    for each in result.species:
        yield Table.of(
            _titled("Sites", each, len(result.species) > 1),
            each.by_site,
            [
                ("site", lambda site: site.site or "not told"),
                ("cohorts", lambda site: site.cohorts),
                ("animals", lambda site: site.individuals),
                ("days", lambda site: site.days and tenth(site.days.mean)),
                ("possible", lambda site: site.days and _range(site.days.low, site.days.high)),
                ("came through", lambda site: f"{site.reached} of {site.n}"),
                ("p", lambda site: p_cell(site.p_holm)),
            ],
            [
                "Days: the whole development, on average over the cohorts of the site. p: how "
                "often chance would take the part that came through so far from all sites (Holm)."
            ],
        )


def _range(low: float | None, high: float | None) -> str | None:
    return None if low is None or high is None else between((max(0.0, low), high))


def _coming(result: Season) -> Iterator[Table]:
    weeks: defaultdict[tuple[str, date], float] = defaultdict(float)
    for each in result.coming:
        weeks[each.species, each.date - timedelta(days=each.date.weekday())] += each.adults
    if weeks:
        yield Table(
            "Adults to come, week by week, if all live",
            ["species", "week from", "adults"],
            [[species, week, tenth(count)] for (species, week), count in sorted(weeks.items())],
            [season_words.going_on(result.running)],
        )


def _full(result: Season) -> Iterator[Table]:
    several = len(result.species) > 1
    sites = [*_sites(result)]
    for each, at_sites in zip(result.species, sites, strict=True):
        yield Table.of(
            _titled("Mean days, over cohorts or over sites", each, several),
            each.stages,
            [
                ("stage", lambda one: one.stage),
                ("mean", lambda one: one.best.mean),
                ("SE", lambda one: one.best.se),
                (LIMITS, lambda one: reach(one.best.low, one.best.high, 2)),
                ("k", lambda one: one.cohorts),
                ("left out", lambda one: one.left_out),
                ("sites", lambda one: one.sites),
                ("τ sites", lambda one: (found := _at_sites(one)) and found.tau_sites),
                ("τ cohorts", lambda one: (found := _at_sites(one)) and found.tau_cohorts),
            ],
            [
                "Mean, SE and limits: Hartung & Knapp 2001, the SE no less than the variances make "
                "it (Röver et al. 2015). Where there are three sites or more, some with several "
                "cohorts, they count sites; τ sites is the SD between these, τ cohorts that "
                "between cohorts of one site. k: cohorts. Left out: fewer than three came through, "
                "or too many are still in it. Another cohort: where one more is expected, 19 times "
                "in 20."
            ],
            full=True,
        )
        yield Table.of(
            _titled("How far cohorts differ (days)", each, several),
            each.stages,
            [
                ("stage", lambda one: one.stage),
                ("τ", lambda one: one.over_cohorts.tau),
                (LIMITS, lambda one: reach(one.over_cohorts.tau_low, one.over_cohorts.tau_high, 2)),
                ("τ (DL)", lambda one: one.tau_one_step),
                ("I²", lambda one: _known(one.over_cohorts.i2, percent)),
                ("Q", lambda one: _known(one.over_cohorts.q, "{:.1f}".format)),
                ("p", lambda one: p_cell(one.over_cohorts.p)),
            ],
            [
                "τ: SD between cohorts (Paule & Mandel 1982), its limits by the Q profile "
                "(Viechtbauer 2007); DL: in one step (DerSimonian & Laird 1986). I²: the part of "
                "the variance that lies between cohorts. Q, p: whether they differ at all."
            ],
            full=True,
        )
        if each.thermal:
            yield Table.of(
                _titled("Threshold T0 (°C) and thermal constant K (degree-days)", each, several),
                each.thermal,
                [
                    ("stage", lambda one: one.stage),
                    ("k", lambda one: one.all_cohorts.n),
                    ("T0", lambda one: one.all_cohorts.threshold),
                    (LIMITS, lambda one: constants_reach(one.all_cohorts, 2)[0]),
                    ("K", lambda one: one.all_cohorts.constant),
                    (LIMITS, lambda one: constants_reach(one.all_cohorts, 2)[1]),
                    ("sites", lambda one: len(one.by_site)),
                    ("T0 of sites", lambda one: one.threshold and one.threshold.mean),
                    ("τ sites", lambda one: one.threshold and one.threshold.tau),
                    ("", lambda one: "?" if one.objections else ""),
                ],
                [
                    "A line through the rates of k cohorts. Of sites: the mean over those with "
                    "three temperatures or more. ?: not to be used."
                ],
                full=True,
            )
        if each.stand_out:
            yield Table.of(
                _titled("What stands out", each, several),
                each.stand_out,
                [
                    ("cohort", lambda one: one.cohort),
                    ("stage", lambda one: one.stage or "came through"),
                    ("value", lambda one: one.value),
                    ("others", lambda one: one.centre),
                    ("p", lambda one: p_cell(one.p_holm)),
                    ("at its °C", lambda one: one.at_temperature),
                    ("p of the line", lambda one: p_cell(one.p_line_holm)),
                ],
                [
                    "p: how often chance would take it so far from all others, and from the line "
                    "of the rates on the temperature; corrected for all cohorts and stages (Holm)."
                ],
                full=True,
            )
        if each.by_site:
            yield replace(at_sites, full=True)


def _known(value: float | None, written: Callable[[float], str]) -> str | None:
    return None if value is None else written(value)


def _at_sites(each: PooledStage) -> SiteEffects | None:
    return each.best if isinstance(each.best, SiteEffects) else None


def flat_season(result: Season) -> Table:
    """A row a cohort, its stages apart."""
    return flat(CohortSummary, result.cohorts)


def flat_sites(result: Season) -> Table:
    """A row a site, species after species."""
    names = [each.species for each in result.species]
    return grouped_rows(
        "species", names, [flat(SiteSeason, each.by_site) for each in result.species]
    )
