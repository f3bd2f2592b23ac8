"""What many cohorts say together: for a teacher first, then how sure it is."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date

from rearlog.analysis.pooling.cohort_summary import MOST_WAITING
from rearlog.analysis.pooling.pooled_stages import PooledStage
from rearlog.analysis.pooling.random_effects import FEWEST_SITES, RandomEffects, SiteEffects
from rearlog.analysis.pooling.season import AdultsOnDay, Copy, Season, SpeciesSeason
from rearlog.analysis.pooling.season_survival import SeasonSurvival
from rearlog.analysis.pooling.season_thermal import SeasonThermal
from rearlog.analysis.statistics.levels import DIFFERENT
from rearlog.records.command_text import CommandText
from rearlog.sentences.phrases import (
    LIMITS,
    cohorts_named,
    during,
    long_date,
    p_text,
    percent,
    plural,
    reached_word,
    sentence_case,
    there,
)
from rearlog.sentences.standing_out import stand_out_words
from rearlog.sentences.texts import Texts
from rearlog.sentences.thermal import OBJECTIONS

MOST_FILES = 5
"""More files that count once, or were passed over, than this are counted, not named."""


def lead(result: Season) -> str:
    """How long it took on average, and how many lived, of the species with the most cohorts."""
    first, *others = result.species
    kinds = len(others)
    return _lead(first, result, f" ({kinds} other species below)" if kinds else "")


def leads(result: Season) -> list[str]:
    """The same of each species, those with the most cohorts first."""
    return [_lead(each, result, "") for each in result.species]


def _lead(first: SpeciesSeason, result: Season, more: str) -> str:
    sites = len([each for each in first.by_site if each.site is not None])
    where = _cohorts(first.cohorts) + (f" at {sites} sites" if sites > 1 else "")
    where += _celsius(first, result)
    whole, survival = first.whole, first.survival
    told = []
    if whole is not None:
        told.append(f"it took {_days(whole.best)} {during(whole.stage)} on average{_limits(whole)}")
    if survival.n:
        share = percent(survival.reached / survival.n)
        of = f"{survival.n}" + (" whose end is known" if survival.n < first.individuals else "")
        without = f", {_cohorts(survival.left_out)} left out" if survival.left_out else ""
        told.append(f"{share} of {of} came to {reached_word(survival.stage)}{without}")
    if not told:
        theirs = [each for each in result.cohorts if each.species == first.species]
        if reached := sum(each.reached for each in theirs):
            return (
                f"{first.species}, {where}: {reached} came to {reached_word(survival.stage)} so "
                f"far, {sum(each.waiting for each in theirs)} may yet; how long it takes on "
                f"average cannot be told yet{more}."
            )
        return f"No animal of {first.species} is known to have come through yet, in {where}{more}."
    return f"{first.species}, {where}: {' and '.join(told)}{more}."


def words(result: Season) -> tuple[str, ...]:
    """What is said of all species, and of what is to come."""
    return (
        *(text for each in result.species for text in _of_species(each, len(result.species) > 1)),
        *coming_words(result),
    )


def of_species(result: SpeciesSeason) -> tuple[str, ...]:
    """What the cohorts of one species say together."""
    return tuple(_of_species(result, named=False))


def _of_species(result: SpeciesSeason, named: bool) -> Iterator[str]:
    before = f"{result.species}: " if named else ""
    said = [
        *_unlike(result.stage()),
        *_spread(result.whole),
        *_survival(result.survival),
        *_out_of_survival(result.survival),
        *_sites_out(result),
        *_thermal(result.thermal),
        *stand_out_words(result.stand_out, [each.stage for each in result.stages]),
    ]
    yield from (before + each for each in said)


def _unlike(stage: PooledStage | None) -> Iterator[str]:
    """That the mean is over cohorts of which it holds for none, and what is asked instead."""
    if stage is None or not stage.unlike:
        return
    yield (
        f"These cohorts were at {there(stage.coldest):.1f} to {there(stage.warmest):.1f} °C: their "
        "mean in days is of unlike things, and holds for no one temperature; "
        + CommandText(
            "“rearlog thermal” says how the pace depends on warmth, and “rearlog compare” holds "
            "cohorts beside each other in degree-days.",
            "compare them in degree-days, or those of one temperature with each other.",
        )
    )


def _spread(whole: PooledStage | None) -> Iterator[str]:
    if whole is None:
        return
    best = whole.best
    if best.predicted_low is not None:
        another = "of another site" if isinstance(best, SiteEffects) else "more"
        yield (
            f"One cohort {another} is expected to take {max(0.0, best.predicted_low):.1f} to "
            f"{best.predicted_high:.1f} days {during(whole.stage)} (19 of 20 such cohorts)."
        )
    if isinstance(best, SiteEffects):
        alone = len(best.sites) - whole.sites
        counted = f"{whole.sites} sites"
        if alone:
            counted += f", and {_cohorts(alone)} of no known site"
        yield (
            f"Sites differ by {best.tau_sites:.1f} days (SD), cohorts of one site by "
            f"{best.tau_cohorts:.1f}, their temperatures included; the average counts {counted}."
        )
    elif best.tau is not None:
        yield f"Cohorts differ by {best.tau:.1f} days (SD) from each other."
    if whole.left_out:
        yield (
            f"Left out of it: {_cohorts(whole.left_out)} with fewer than three that came through, "
            "or too many still on the way."
        )


def _survival(result: SeasonSurvival) -> Iterator[str]:
    found = result.over_cohorts
    if found is None:
        return
    parts = [each.fraction for each in found.points]
    least, most = percent(min(parts)), percent(max(parts))
    text = f"{found.reached} of {found.n} came to {reached_word(result.stage)}: "
    text += f"{least} in each cohort" if least == most else f"{least} to {most} in a cohort"
    if found.dispersion > 1:
        text += f"; that is {found.dispersion:.1f} times the variance that chance gives"
    yield f"{text}."


def _out_of_survival(result: SeasonSurvival) -> Iterator[str]:
    """Which cohorts are not counted in it, and why."""
    reasons = {
        f"more than {percent(MOST_WAITING)} of the animals still on the way": result.on_the_way,
        "no animal’s end known": result.unknown,
    }
    told = [f"{cohorts_named(names)} ({why})" for why, names in reasons.items() if names]
    if told:
        yield f"Survival leaves out {', and '.join(told)}."


def _sites_out(result: SpeciesSeason) -> Iterator[str]:
    """Which sites lie far from all by how many came through, the farthest first."""
    of_all = result.survival.over_sites
    far = [each for each in result.by_site if each.p_holm is not None and each.p_holm < DIFFERENT]
    if of_all is None:
        return
    for each in sorted(far, key=lambda one: there(one.p_holm)):
        yield (
            f"{each.site} stands out: {percent(each.reached / each.n)} of {each.n} came to "
            f"{reached_word(result.survival.stage)}, {percent(of_all.centre)} at all sites "
            f"({p_text(there(each.p_holm))}, corrected for all sites)."
        )


def _thermal(stages: Sequence[SeasonThermal]) -> Iterator[str]:
    """Of the whole development alone: the others are in a table."""
    for each in stages:
        if " to " not in each.stage:
            continue
        line = each.all_cohorts
        if each.objections:
            why = "; ".join(OBJECTIONS[one] for one in each.objections)
            yield f"The temperature below which nothing develops cannot be told: {why}."
            return
        yield (
            f"Nothing develops below {line.threshold:.1f} °C ({line.threshold_low:.1f} to "
            f"{line.threshold_high:.1f} are possible), and it takes {line.constant:.0f} "
            f"degree-days (heat above that, added up) {during(each.stage)}: from {line.n} cohorts "
            f"at {line.coldest:.1f} to {line.warmest:.1f} °C."
        )
        pooled = each.threshold
        # two have limits so wide that they say nothing
        if pooled is not None and pooled.k >= FEWEST_SITES:
            yield (
                f"Site by site, {pooled.k} of them with three temperatures or more: "
                f"{pooled.mean:.1f} °C ({pooled.low:.1f} to {pooled.high:.1f}), sites differing by "
                f"{pooled.tau:.1f} °C (SD)."
            )


def coming_words(result: Season) -> Iterator[str]:
    """How many adults are to come, and when."""
    for species in dict.fromkeys(each.species for each in result.coming):
        days = [each for each in result.coming if each.species == species]
        count, first, middle, last = expected(days)
        if round(count):
            of = f" of {species}" if len(result.species) > 1 else ""
            stage = next(each.survival.stage for each in result.species if each.species == species)
            yield (
                f"Still to come{of}: about {count:.0f} {plural(stage)}, if all live; half of them "
                f"by {long_date(middle)}, nearly all from {long_date(first)} to {long_date(last)}."
            )


def expected(days: Sequence[AdultsOnDay]) -> tuple[float, date, date, date]:
    """How many are expected in all, and the days by which 5 %, half and 95 % of them are."""
    total = sum(each.adults for each in days)
    marks: list[date] = []
    so_far = 0.0
    for each in days:
        so_far += each.adults
        while len(marks) < 3 and so_far >= (0.05, 0.5, 0.95)[len(marks)] * total - 1e-9:
            marks.append(each.date)
    return total, marks[0], marks[1], marks[2]


def going_on(running: int) -> str:
    """How many cohorts the adults that are to come are expected from."""
    return f"From {_cohorts(running)} that {'goes' if running == 1 else 'go'} on."


def notices(result: Season) -> list[str]:
    """Which files count once, and which could not be read: of many the first, and their number."""
    copies, unread = result.copies, result.passed_over
    told = [
        *map(_copy, copies[:MOST_FILES]),
        *(f"passed over: {each.why}" for each in unread[:MOST_FILES]),
    ]
    if len(copies) > MOST_FILES:
        more = _cohorts(len(copies) - MOST_FILES, "more ")
        told.insert(MOST_FILES, f"{more} met more than once: each counts once")
    if len(unread) > MOST_FILES:
        left = len(unread) - MOST_FILES
        told.append(f"passed over: {'one more file' if left == 1 else f'{left} more files'}")
    return told


def _copy(each: Copy) -> str:
    files = f"{len(each.passed_over)} copies" if len(each.passed_over) > 1 else each.passed_over[0]
    return f"{each.cohort} was met more than once and counts once: {each.used}, not {files}"


def title(result: SpeciesSeason, stage: PooledStage | None) -> str:
    """The finding of a chart of means: how long the stage took, and how far cohorts differ."""
    if stage is None:
        return f"{result.species}: no stage of it can be pooled yet"
    best = stage.best
    text = f"{sentence_case(during(stage.stage))} it took {_days(best)}{_limits(stage)}"
    if best.predicted_low is None:
        return text
    return f"{text}, one cohort {max(0.0, best.predicted_low):.1f} to {best.predicted_high:.1f}"


def means_alt(result: Season) -> str:
    """What stands for the chart of means of the whole development where it cannot be seen."""
    species = result.species[0]
    return f"Mean days, with where another cohort is expected. {title(species, species.whole)}."


def funnel_alt(result: Season) -> str:
    """What stands for the funnel where it cannot be seen."""
    return f"Survival of each cohort against its size. {funnel_title(result.species[0])}."


def notes(stage: PooledStage, shown: str) -> list[str]:
    """What the marks of that chart are."""
    best = stage.best
    over = "sites" if isinstance(best, SiteEffects) else "cohorts"
    told = f"{shown} Bars: {LIMITS}. Diamond: the mean over {over}"
    if best.low is not None:
        told += f" with its {LIMITS} (Hartung and Knapp)"
    if best.predicted_low is not None:
        told += "; the thin line through it: where another cohort is expected, 95 times in 100"
    return [f"{told}."]


NONE_STANDS_OUT = "No cohort is found to lie farther from the others than chance takes it."
NO_STAGE = "No cohort has three animals that came through a stage."
NO_FUNNEL = "Three cohorts that are over are needed."


def rows_shown(which: str, rows: int, cohorts: int, *, red: bool = False) -> str:
    """What the rows of that chart are: every `cohort`, some of them `red` because they stand out,
    every `site`, or those alone that stand `out`."""
    if which == "cohort":
        return f"Rows: {_cohorts(rows)}{', red where one stands out' if red else ''}."
    if which == "site":
        return f"Rows: {rows} sites, of {_cohorts(cohorts)}."
    if not rows:
        return f"Rows: none, since none of {cohorts} cohorts stands out."
    return f"Rows: {rows} of {cohorts} cohorts, which stand out."


def funnel_title(result: SpeciesSeason) -> str:
    """The finding of the funnel: how many came through, and how many cohorts lie outside."""
    found = result.survival.over_cohorts
    if found is None:
        return f"{result.species}: too few cohorts are over to compare their survival"
    out = sum(1 for each in result.stand_out if each.stage is None)
    text = f"{percent(found.centre)} came to {reached_word(result.survival.stage)}"
    many = (
        f"{out} of {len(found.points)} cohorts {'stands' if out == 1 else 'stand'} out"
        if out
        else (f"none of {len(found.points)} cohorts stands out")
    )
    return f"{text}; {many}"


def funnel_notes(result: SpeciesSeason) -> list[str]:
    """What the lines of the funnel are."""
    found = result.survival.over_cohorts
    wider = ""
    if found is not None and found.dispersion > 1:
        wider = (
            f", widened because cohorts scatter {found.dispersion:.1f} times as much as by chance"
        )
    return [
        "Each point is a cohort, a larger one several with the same numbers. Lines: where chance "
        "leaves 95 of 100 cohorts of that size (inner), and all of them at once 95 times in 100 "
        f"(outer){wider}."
    ]


def _days(best: RandomEffects | SiteEffects) -> str:
    return f"{best.mean:.1f} days"


def _limits(stage: PooledStage) -> str:
    best = stage.best
    if best.low is None:
        return ""
    return f" ({max(0.0, best.low):.1f} to {best.high:.1f} are possible)"


def _celsius(species: SpeciesSeason, result: Season) -> str:
    """From the coldest to the warmest of its cohorts."""
    known = [
        each.celsius
        for each in result.cohorts
        if each.species == species.species and each.celsius is not None
    ]
    if not known:
        return ""
    low, high = f"{min(known):.1f}", f"{max(known):.1f}"
    return f", {low} °C" if low == high else f", {low} to {high} °C"


def _cohorts(count: int, which: str = "") -> str:
    return f"one {which}cohort" if count == 1 else f"{count} {which}cohorts"


TEXTS: Texts = {
    Season: {"lead": lead, "words": words, "notices": notices},
    SpeciesSeason: {"words": of_species},
}
