"""The tables of a season. Nothing is computed here, only laid out."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from datetime import date, timedelta
from typing import TYPE_CHECKING, Any

from rearlog.analysis.pooling.cohort_summary import CohortSummary
from rearlog.analysis.pooling.random_effects import FEWEST_FOR_PREDICTION, SiteEffects
from rearlog.analysis.pooling.season import SiteSeason
from rearlog.present.flat import flat
from rearlog.present.tables import Table, between, p_cell, reach, tenth
from rearlog.sentences import season as season_words
from rearlog.sentences.phrases import LIMITS, percent

if TYPE_CHECKING:
    from rearlog.analysis.pooling.season import (
        PooledStage,
        Season,
        SeasonThermal,
        SpeciesSeason,
    )

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
        yield Table(
            _titled("Days of those that came through, over all cohorts", each, several),
            ["stage", "cohorts", "animals", "days on average", "possible", "another cohort"],
            [_stage(one) for one in each.stages],
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
    sites, kinds = result.sites > 0, len(result.species) > 1
    yield Table(
        title,
        [
            "cohort",
            *(["site"] if sites else []),
            *(["species"] if kinds else []),
            *("°C", "animals", "came through", "days", "looks missed", ""),
        ],
        [
            [
                _without_site(each),
                *([each.site or ""] if sites else []),
                *([each.species] if kinds else []),
                tenth(each.celsius),
                each.individuals,
                _came(each),
                None if each.whole is None else tenth(each.whole.mean),
                percent(each.missed / each.due) if each.due else None,
                _state(each, out),
            ]
            for each in shown
        ],
        words,
    )


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
        yield Table(
            _titled("Sites", each, len(result.species) > 1),
            ["site", "cohorts", "animals", "days", "possible", "came through", "p"],
            [
                [
                    site.site or "not told",
                    site.cohorts,
                    site.individuals,
                    site.days and tenth(site.days.mean),
                    site.days and _range(site.days.low, site.days.high),
                    f"{site.reached} of {site.n}",
                    p_cell(site.p_holm),
                ]
                for site in each.by_site
            ],
            [
                "Days: the whole development, on average over the cohorts of the site. p: how "
                "often chance would take the part that came through so far from all sites (Holm)."
            ],
        )


def _stage(each: PooledStage) -> list[Any]:
    best = each.best
    return [
        each.stage,
        each.cohorts,
        each.individuals,
        tenth(best.mean),
        _range(best.low, best.high),
        _range(best.predicted_low, best.predicted_high),
    ]


def _range(low: float | None, high: float | None, digits: int = 1) -> str | None:
    return None if low is None or high is None else between((max(0.0, low), high), digits)


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
        yield Table(
            _titled("Mean days, over cohorts or over sites", each, several),
            ["stage", "mean", "SE", LIMITS, "k", "left out", "sites", "τ sites", "τ cohorts"],
            [_mean(one) for one in each.stages],
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
        yield Table(
            _titled("How far cohorts differ (days)", each, several),
            ["stage", "τ", LIMITS, "τ (DL)", "I²", "Q", "p"],
            [_spread(one) for one in each.stages],
            [
                "τ: SD between cohorts (Paule & Mandel 1982), its limits by the Q profile "
                "(Viechtbauer 2007); DL: in one step (DerSimonian & Laird 1986). I²: the part of "
                "the variance that lies between cohorts. Q, p: whether they differ at all."
            ],
            full=True,
        )
        if each.thermal:
            yield Table(
                _titled("Threshold T0 (°C) and thermal constant K (degree-days)", each, several),
                ["stage", "k", "T0", LIMITS, "K", LIMITS, "sites", "T0 of sites", "τ sites", ""],
                [_thermal(one) for one in each.thermal],
                [
                    "A line through the rates of k cohorts. Of sites: the mean over those with "
                    "three temperatures or more. ?: not to be used."
                ],
                full=True,
            )
        if each.stand_out:
            yield Table(
                _titled("What stands out", each, several),
                ["cohort", "stage", "value", "others", "p", "at its °C", "p of the line"],
                [
                    [
                        one.cohort,
                        one.stage or "came through",
                        one.value,
                        one.centre,
                        p_cell(one.p_holm),
                        one.at_temperature,
                        p_cell(one.p_line_holm),
                    ]
                    for one in each.stand_out
                ],
                [
                    "p: how often chance would take it so far from all others, and from the line "
                    "of the rates on the temperature; corrected for all cohorts and stages (Holm)."
                ],
                full=True,
            )
        if each.by_site:
            yield Table(at_sites.title, at_sites.columns, at_sites.rows, at_sites.words, full=True)


def _mean(each: PooledStage) -> list[Any]:
    best = each.best
    at_sites = best if isinstance(best, SiteEffects) else None
    return [
        each.stage,
        best.mean,
        best.se,
        reach(best.low, best.high, 2),
        each.cohorts,
        each.left_out,
        each.sites,
        at_sites and at_sites.tau_sites,
        at_sites and at_sites.tau_cohorts,
    ]


def _spread(each: PooledStage) -> list[Any]:
    found = each.over_cohorts
    return [
        each.stage,
        found.tau,
        reach(found.tau_low, found.tau_high, 2),
        each.tau_one_step,
        None if found.i2 is None else percent(found.i2),
        None if found.q is None else f"{found.q:.1f}",
        p_cell(found.p),
    ]


def _thermal(each: SeasonThermal) -> list[Any]:
    line, sites = each.all_cohorts, each.threshold
    return [
        each.stage,
        line.n,
        line.threshold,
        reach(line.threshold_low, line.threshold_high, 2),
        line.constant,
        reach(line.constant_low, line.constant_high, 1),
        len(each.by_site),
        sites and sites.mean,
        sites and sites.tau,
        "?" if each.objections else "",
    ]


def flat_season(result: Season) -> Table:
    """A row a cohort, its stages apart."""
    return flat(CohortSummary, result.cohorts)


def flat_sites(result: Season) -> Table:
    """A row a site, species after species."""
    rows: list[Sequence[Any]] = []
    columns: Sequence[str] = flat(SiteSeason, []).columns
    for each in result.species:
        rows += [[each.species, *row] for row in flat(SiteSeason, each.by_site).rows]
    return Table("", ["species", *columns], rows)
