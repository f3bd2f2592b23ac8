"""Many cohorts as one: how long stages took, who lived, what stands out, and what is to come."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from enum import StrEnum
from statistics import median
from typing import ClassVar

import numpy as np

from rearlog.analysis.answer import Answer
from rearlog.analysis.comparing.rate_models import LinearRate, linear_rate
from rearlog.analysis.comparing.thermal import (
    COLDEST_THRESHOLD,
    LARGEST_SE,
    NEAR_C,
    Objection,
    rate_error,
)
from rearlog.analysis.pooling.cohort_summary import MOST_WAITING, CohortSummary, StageSummary
from rearlog.analysis.pooling.funnel import Funnel, funnel
from rearlog.analysis.pooling.random_effects import (
    Estimator,
    RandomEffects,
    SiteEffects,
    deleted_p,
    random_effects,
    site_effects,
)
from rearlog.analysis.statistics.differences import holm
from rearlog.analysis.statistics.levels import DIFFERENT
from rearlog.analysis.statistics.student_t import limit_95
from rearlog.records.errors import UsageError
from rearlog.records.labels import in_line

APART_C = 2.0
"""A cohort that was so far (°C) from the middle one is called warmer or cooler."""
MUCH_MISSED = 0.2
"""More than this part of the daily looks not made is many."""
MUCH_DOUBT = 0.1
"""More than this part of the individuals in doubt is many."""
MUCH_LOST = 0.1
"""More than this part of the individuals lost or removed on the way is many."""
FEWEST_TEMPERATURES = 3
"""A site has a threshold of its own from so many different temperatures on."""


@dataclass(frozen=True, slots=True)
class PooledStage:
    """How long a stage took, over all cohorts that have come through it.

    Of these `cohorts`, with `individuals` that completed it, at `sites` (0: none is told),
    `left_out` more had fewer than three, or too many still in it. `over_cohorts` is the mean over
    cohorts; where there are three sites or more, some of several cohorts, `over_sites` counts these
    instead, and is what holds. `tau_one_step` is the SD between cohorts by the estimator of
    DerSimonian & Laird 1986.
    """

    stage: str
    cohorts: int
    individuals: int
    sites: int
    left_out: int
    over_cohorts: RandomEffects
    over_sites: SiteEffects | None
    tau_one_step: float | None

    @property
    def best(self) -> RandomEffects | SiteEffects:
        """The mean that holds: over sites where there are enough, else over cohorts."""
        return self.over_sites or self.over_cohorts


class Direction(StrEnum):
    """On which side of the others a cohort lies."""

    LONGER = "longer"
    SHORTER = "shorter"
    MORE = "more"
    FEWER = "fewer"


class Reason(StrEnum):
    """What sets a cohort apart in its records, and may be why it stands out."""

    WARMER = "warmer"
    """It was APART_C or more warmer than the middle one of the cohorts."""
    COOLER = "cooler"
    """It was so much cooler."""
    TEMPERATURES_STRUCK = "temperatures_struck"
    """A record of its temperature was struck out: that which stands may be the wrong one."""
    CHECKS_MISSED = "checks_missed"
    """More than MUCH_MISSED of the daily looks were not made."""
    DOUBTS = "doubts"
    """Of more than MUCH_DOUBT of the individuals looks contradict each other."""
    LOST = "lost"
    """More than MUCH_LOST of the individuals were lost or removed before the last stage."""


@dataclass(frozen=True, slots=True)
class StandsOut:
    """A cohort (its `id`, and what it is called) that lies farther from the others than chance.

    In `stage` it took `value` days, the others the mean `centre`, and at its temperature the line
    of the rates says `at_temperature`; where `stage` is None, `value` is the part that reached the
    last stage. `p_holm` says how often chance would take it so far from the others, `p_line` so far
    from the line: `p_line_holm` too is corrected for all cohorts and stages. None where there is no
    line. It was at `celsius`, the middle one of the cohorts at `middle_celsius` (°C, None where not
    known). `reasons` are what sets it apart in its records.
    """

    id: str
    cohort: str
    stage: str | None
    direction: Direction
    value: float
    centre: float
    p_holm: float
    at_temperature: float | None
    p_line: float | None
    p_line_holm: float | None
    celsius: float | None
    middle_celsius: float | None
    reasons: tuple[Reason, ...]

    @property
    def off_the_line(self) -> bool:
        """Whether it stands out from those at its temperature."""
        return self.p_line_holm is not None and self.p_line_holm < DIFFERENT

    @property
    def explained(self) -> bool:
        """Whether its temperature explains that it lies apart."""
        return self.p_line is not None and self.p_line >= DIFFERENT


@dataclass(frozen=True, slots=True)
class SeasonSurvival:
    """How many came into the last stage, over all cohorts whose end is known.

    `left_out` cohorts have too many on the way. `over_cohorts` are held against all of them, in the
    order of `ids`; `over_sites` are the sites, in the order of `sites`, where there are enough.
    """

    stage: str
    left_out: int
    reached: int
    n: int
    ids: tuple[str, ...]
    over_cohorts: Funnel | None
    sites: tuple[str, ...]
    over_sites: Funnel | None


@dataclass(frozen=True, slots=True)
class ThermalConstants:
    """Threshold (°C) and thermal constant (degree-days) of n cohorts, at a site or at all of them
    (`site` None). Errors and 95 % limits are those of the straight line of the rates: of sites by
    the scatter that the lines of all of them leave."""

    site: str | None
    n: int
    coldest: float
    warmest: float
    threshold: float
    threshold_se: float | None
    threshold_low: float | None
    threshold_high: float | None
    constant: float
    constant_se: float | None
    constant_low: float | None
    constant_high: float | None


@dataclass(frozen=True, slots=True)
class SeasonThermal:
    """Threshold and thermal constant of a stage: of `all_cohorts` at once, and of each site.

    `by_site` are those with cohorts at three different temperatures or more; `threshold` and
    `constant` are the means over such sites. `objections` speak against the line of all cohorts.
    """

    stage: str
    all_cohorts: ThermalConstants
    objections: tuple[Objection, ...]
    by_site: tuple[ThermalConstants, ...]
    threshold: RandomEffects | None
    constant: RandomEffects | None


@dataclass(frozen=True, slots=True)
class SiteSeason:
    """One site (None: not told): its cohorts, and the mean days of their whole development.

    `reached` of `n` came into the last stage; `p_holm` is how often chance would take it so far
    from all sites, corrected for their number.
    """

    site: str | None
    cohorts: int
    individuals: int
    days: RandomEffects | None
    reached: int
    n: int
    p_holm: float | None


@dataclass(frozen=True, slots=True)
class SpeciesSeason:
    """All cohorts of one species."""

    species: str
    cohorts: int
    individuals: int
    stages: tuple[PooledStage, ...]
    survival: SeasonSurvival
    thermal: tuple[SeasonThermal, ...]
    by_site: tuple[SiteSeason, ...]
    stand_out: tuple[StandsOut, ...]

    @property
    def whole(self) -> PooledStage | None:
        """The whole development."""
        return next((each for each in self.stages if " to " in each.stage), None)

    def stage(self, name: str | None = None) -> PooledStage | None:
        """The stage of that name, else the whole development, else the longest that is known.

        Raises UsageError where the named stage is not among them.
        """
        for each in self.stages:
            if each.stage == name:
                return each
        if name is not None:
            names = ", ".join(each.stage for each in self.stages) or "there are none"
            raise UsageError(f"there is no mean of “{name[:40]}”", f"stages with means: {names}")
        longest = max(self.stages, key=lambda each: each.best.mean, default=None)
        return self.whole or longest


@dataclass(frozen=True, slots=True)
class AdultsOnDay:
    """How many adults of a species are expected more on a day, in all cohorts, if all live."""

    species: str
    date: date
    adults: float


@dataclass(frozen=True, slots=True)
class Copy:
    """A cohort (its `id`, and what it is called) that was met more than once: the file that is
    `used`, and those that were passed over for it because it has more looks, or as many."""

    id: str
    cohort: str
    used: str
    passed_over: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class PassedOver:
    """A file that could not be read, and why."""

    file: str
    why: str


@dataclass(frozen=True, slots=True, repr=False)
class Season(Answer):
    """Many cohorts, and what they say together.

    `running` cohorts have something to come: `coming` are the adults that are expected day by day.
    `cohorts` are all of them, each once, by site and label; `copies` were met more than once, and
    the files `passed_over` could not be read.
    """

    individuals: int
    sites: int
    running: int
    species: tuple[SpeciesSeason, ...]
    coming: tuple[AdultsOnDay, ...]
    copies: tuple[Copy, ...]
    passed_over: tuple[PassedOver, ...]
    cohorts: tuple[CohortSummary, ...]

    main: ClassVar[str] = "cohorts"

    @property
    def invented(self) -> bool:
        """Whether some of the cohorts are invented."""
        return any(each.invented for each in self.cohorts)

    def _of_whom(self) -> str:
        return f"{len(self.cohorts)} cohorts"


def _listed(cohort: CohortSummary) -> tuple[object, ...]:
    """Where a cohort stands in a list: by site, those of none last, and label."""
    return cohort.site is None, in_line(cohort.site or ""), in_line(cohort.name), cohort.id


def season(
    summaries: Iterable[CohortSummary],
    copies: Sequence[Copy] = (),
    passed_over: Sequence[PassedOver] = (),
) -> Season:
    """The answer about many cohorts, each of which is there once and called as it is to be shown.

    Stages are pooled by `random_effects` and `site_effects`, parts by `funnel`; cohorts stand out
    by `deleted_p`, from the others or from the line of their rates, or by that funnel, corrected
    for all of them (Holm 1979).
    """
    cohorts = tuple(sorted(summaries, key=_listed))
    by_species: defaultdict[str, list[CohortSummary]] = defaultdict(list)
    for each in cohorts:
        by_species[each.species].append(each)
    largest_first = sorted(by_species.items(), key=lambda item: (-len(item[1]), item[0]))
    return Season(
        individuals=sum(each.individuals for each in cohorts),
        sites=len({each.site for each in cohorts} - {None}),
        running=sum(1 for each in cohorts if each.as_of is not None),
        species=tuple(_species(name, theirs) for name, theirs in largest_first),
        coming=tuple(_coming(cohorts)),
        copies=tuple(copies),
        passed_over=tuple(passed_over),
        cohorts=cohorts,
    )


def once_each(
    found: Iterable[tuple[str, CohortSummary]],
) -> tuple[list[CohortSummary], list[Copy]]:
    """Of cohorts from files, each known by its id, the summary with the most looks; and which were
    met more than once. Of copies with as many looks the first file counts."""
    files: defaultdict[str, list[tuple[str, CohortSummary]]] = defaultdict(list)
    for file, each in found:
        files[each.id].append((file, each))
    chosen, copies = [], []
    for several in files.values():
        ranked = sorted(several, key=lambda item: (-item[1].looks, item[0]))
        used, summary = ranked[0]
        chosen.append(summary)
        if len(ranked) > 1:
            copies.append(
                Copy(summary.id, summary.name, used, tuple(file for file, _ in ranked[1:]))
            )
    return chosen, copies


def _species(name: str, cohorts: Sequence[CohortSummary]) -> SpeciesSeason:
    usable = {stage: _usable(stage, cohorts) for stage in _stages(cohorts)}
    stages = tuple(_pooled(stage, rows, cohorts) for stage, rows in usable.items() if rows)
    survival = _survival(cohorts)
    return SpeciesSeason(
        species=name,
        cohorts=len(cohorts),
        individuals=sum(each.individuals for each in cohorts),
        stages=stages,
        survival=survival,
        thermal=tuple(_thermal(usable)),
        by_site=tuple(_by_site(cohorts, usable, survival)),
        stand_out=tuple(_stand_out(usable, stages, cohorts, survival)),
    )


_Row = tuple[CohortSummary, StageSummary]


def _stages(cohorts: Sequence[CohortSummary]) -> list[str]:
    """The stages of all cohorts in their order, the whole development last."""
    known = max(cohorts, key=lambda each: len(each.stages)).stages if cohorts else ()
    order = {each.stage: None for each in known[:-1]}
    for each in cohorts:
        order |= {stage.stage: None for stage in each.stages[:-1]}
    return [*order, *dict.fromkeys(each.whole.stage for each in cohorts if each.whole)]


def _usable(stage: str, cohorts: Sequence[CohortSummary]) -> list[_Row]:
    return [
        (each, found)
        for each in cohorts
        for found in each.stages
        if found.stage == stage and found.is_pooled
    ]


def _pooled(stage: str, rows: Sequence[_Row], cohorts: Sequence[CohortSummary]) -> PooledStage:
    means, errors = _estimates(rows)
    sites = [each.site or each.id for each, _ in rows]  # who tells no site is one by itself
    known = {each.site for each, _ in rows} - {None}
    having = sum(
        1 for each in cohorts for found in each.stages if found.stage == stage and found.completed
    )
    return PooledStage(
        stage=stage,
        cohorts=len(rows),
        individuals=sum(found.completed for _, found in rows),
        sites=len(known),
        left_out=having - len(rows),
        over_cohorts=random_effects(means, errors),
        over_sites=site_effects(means, errors, sites) if len(known) > 1 else None,
        tau_one_step=random_effects(means, errors, Estimator.DERSIMONIAN_LAIRD).tau,
    )


def _estimates(rows: Sequence[_Row]) -> tuple[list[float], list[float]]:
    """Means and standard errors, in days."""
    pairs = [(found.mean or 0.0, found.se or 0.0) for _, found in rows]
    return [mean for mean, _ in pairs], [se for _, se in pairs]


def _survival(cohorts: Sequence[CohortSummary]) -> SeasonSurvival:
    settled = [
        each
        for each in cohorts
        if each.known and each.waiting <= MOST_WAITING * (each.known + each.waiting)
    ]
    sites: defaultdict[str, Counter[str]] = defaultdict(Counter)
    for each in settled:
        if each.site is not None:
            sites[each.site] += Counter(reached=each.reached, n=each.known)
    names = list(sites)
    return SeasonSurvival(
        stage=cohorts[0].last_stage,
        left_out=len(cohorts) - len(settled),
        reached=sum(each.reached for each in settled),
        n=sum(each.known for each in settled),
        ids=tuple(each.id for each in settled),
        over_cohorts=funnel([each.reached for each in settled], [each.known for each in settled]),
        sites=tuple(names),
        over_sites=funnel(
            [sites[name]["reached"] for name in names], [sites[name]["n"] for name in names]
        ),
    )


def _thermal(usable: dict[str, list[_Row]]) -> Iterator[SeasonThermal]:
    for stage, rows in usable.items():
        warm = _warm(rows)
        everything = _constants(None, warm)
        if everything is None:
            continue
        at_sites: defaultdict[str, list[_Row]] = defaultdict(list)
        for row in warm:
            if row[0].site is not None:
                at_sites[row[0].site].append(row)
        found = [
            _constants(site, theirs)
            for site, theirs in at_sites.items()
            if _temperatures(theirs) >= FEWEST_TEMPERATURES
        ]
        by_site = _with_shared_scatter(
            [each for each in found if each is not None and each.n >= FEWEST_TEMPERATURES], at_sites
        )
        several = len(by_site) > 1
        yield SeasonThermal(
            stage=stage,
            all_cohorts=everything,
            objections=tuple(_objections(everything)),
            by_site=tuple(by_site),
            threshold=_over([(each.threshold, each.threshold_se) for each in by_site])
            if several
            else None,
            constant=_over([(each.constant, each.constant_se) for each in by_site])
            if several
            else None,
        )


def _over(found: Sequence[tuple[float, float | None]]) -> RandomEffects:
    return random_effects([value for value, _ in found], [se or 0.0 for _, se in found])


def _constants(site: str | None, rows: Sequence[_Row]) -> ThermalConstants | None:
    """The straight line of the rates on the temperature; None where there is none."""
    celsius = [found.celsius for _, found in rows if found.celsius is not None]
    if len(celsius) < 2 or max(celsius) - min(celsius) < NEAR_C:
        return None
    line = linear_rate(celsius, _estimates(rows)[0])
    if not isinstance(line, LinearRate):
        return None
    return ThermalConstants(
        site,
        line.n,
        min(celsius),
        max(celsius),
        line.threshold,
        line.threshold_se,
        line.threshold_low,
        line.threshold_high,
        line.constant,
        line.constant_se,
        line.constant_low,
        line.constant_high,
    )


def _with_shared_scatter(
    found: Sequence[ThermalConstants], rows: Mapping[str, Sequence[_Row]]
) -> list[ThermalConstants]:
    """The constants of sites with standard errors by the scatter that the lines of all of them
    leave: that of three cohorts alone is hardly known. None where nothing is left of it.

    SE as in `linear_rate`, with s² = Σ residual² / Σ (n − 2) over the sites.
    """
    missed, freedom = 0.0, 0
    shapes = []
    for each in found:
        theirs = rows[each.site or ""]
        celsius = np.array([row.celsius for _, row in theirs], dtype=float)
        rates = 1 / np.array(_estimates(theirs)[0])
        residuals = rates - (celsius - each.threshold) / each.constant
        missed += float(residuals @ residuals)
        freedom += each.n - 2
        shapes.append((float(rates.mean()), float(((celsius - celsius.mean()) ** 2).sum())))
    if missed <= 0:
        return []
    variance = missed / freedom
    shared = []
    for each, (rate, spread) in zip(found, shapes, strict=True):
        slope, slope_se = 1 / each.constant, (variance / spread) ** 0.5
        threshold_se = (
            rate / slope * (variance / (each.n * rate**2) + (slope_se / slope) ** 2) ** 0.5
        )
        constant_se = slope_se / slope**2
        limit = limit_95(freedom)
        shared.append(
            replace(
                each,
                threshold_se=threshold_se,
                threshold_low=each.threshold - limit * threshold_se,
                threshold_high=each.threshold + limit * threshold_se,
                constant_se=constant_se,
                constant_low=max(0.0, each.constant - limit * constant_se),
                constant_high=each.constant + limit * constant_se,
            )
        )
    return shared


def _temperatures(rows: Sequence[_Row]) -> int:
    """How many temperatures there are that lie NEAR_C or more from each other."""
    count, last = 0, float("-inf")
    for celsius in sorted(found.celsius for _, found in rows if found.celsius is not None):
        if celsius - last >= NEAR_C:
            count, last = count + 1, celsius
    return count


def _objections(found: ThermalConstants) -> Iterator[Objection]:
    """What makes a threshold one that is not to be used; see `thermal.NOT_CREDIBLE`."""
    if found.threshold_se is None or found.threshold_se > LARGEST_SE:
        yield Objection.THRESHOLD_UNSURE
    if found.threshold < COLDEST_THRESHOLD:
        yield Objection.THRESHOLD_TOO_COLD
    if found.threshold > found.coldest:
        yield Objection.THRESHOLD_ABOVE_COLDEST


def _by_site(
    cohorts: Sequence[CohortSummary], usable: dict[str, list[_Row]], survival: SeasonSurvival
) -> Iterator[SiteSeason]:
    whole = usable[cohorts[0].stages[-1].stage] if cohorts[0].stages else []
    over = survival.over_sites
    judged = dict(zip(survival.sites, over.points, strict=True)) if over else {}
    settled = set(survival.ids)
    names = list(dict.fromkeys(each.site for each in cohorts))
    for name in names if names != [None] else ():
        theirs = [each for each in cohorts if each.site == name]
        ended = [each for each in theirs if each.id in settled]
        rows = [row for row in whole if row[0].site == name]
        yield SiteSeason(
            site=name,
            cohorts=len(theirs),
            individuals=sum(each.individuals for each in theirs),
            days=random_effects(*_estimates(rows)) if rows else None,
            reached=sum(each.reached for each in ended),
            n=sum(each.known for each in ended),
            p_holm=judged[name].p_holm if name in judged else None,
        )


def _stand_out(
    usable: dict[str, list[_Row]],
    stages: Sequence[PooledStage],
    cohorts: Sequence[CohortSummary],
    survival: SeasonSurvival,
) -> Iterator[StandsOut]:
    """Those that lie far from the others, the farthest first; durations before survival."""
    centres = {each.stage: each.best.mean for each in stages}
    warmth = {stage: _middle(found.celsius for _, found in rows) for stage, rows in usable.items()}
    lines = {stage: _constants(None, _warm(rows)) for stage, rows in usable.items()}
    tried: list[tuple[str, _Row]] = []
    ps: list[float | None] = []
    for stage, rows in usable.items():
        if rows:
            tried += [(stage, row) for row in rows]
            ps += _known(deleted_p(*_estimates(rows)).tolist())
    line_ps = [p for stage, rows in usable.items() for p in _at_temperature(rows, lines[stage])]
    adjusted = holm([*ps, *line_ps])
    both = zip(tried, adjusted[: len(tried)], line_ps, adjusted[len(tried) :], strict=True)
    far = []
    for (stage, (cohort, found)), p, p_line, p_line_holm in both:
        if min(1.0 if p is None else p, 1.0 if p_line_holm is None else p_line_holm) >= DIFFERENT:
            continue
        line, value = lines[stage], found.mean or 0.0
        there = None
        if line is not None and p_line is not None and found.celsius is not None:
            there = line.constant / (found.celsius - line.threshold)
        off = p_line_holm is not None and p_line_holm < DIFFERENT and there is not None
        beside = there if off and there is not None else centres[stage]
        far.append(
            StandsOut(
                cohort.id,
                cohort.name,
                stage,
                Direction.LONGER if value > beside else Direction.SHORTER,
                value,
                centres[stage],
                1.0 if p is None else p,
                there,
                p_line,
                p_line_holm,
                found.celsius,
                warmth[stage],
                tuple(_reasons(cohort, found.celsius, warmth[stage])),
            )
        )
    yield from sorted(far, key=lambda one: min(one.p_holm, one.p_line_holm or 1.0))
    yield from _survival_out(cohorts, survival)


def _survival_out(
    cohorts: Sequence[CohortSummary], survival: SeasonSurvival
) -> Iterator[StandsOut]:
    if survival.over_cohorts is None:
        return
    middle = _middle(each.celsius for each in cohorts)
    by_id = {each.id: each for each in cohorts}
    centre = survival.over_cohorts.centre
    judged = zip(survival.ids, survival.over_cohorts.points, strict=True)
    for key, point in sorted(judged, key=lambda item: item[1].p_holm):
        if point.p_holm < DIFFERENT:
            cohort = by_id[key]
            yield StandsOut(
                cohort.id,
                cohort.name,
                None,
                Direction.MORE if point.fraction > centre else Direction.FEWER,
                point.fraction,
                centre,
                point.p_holm,
                None,
                None,
                None,
                cohort.celsius,
                middle,
                tuple(_reasons(cohort, cohort.celsius, middle)),
            )


def _known(values: Sequence[float]) -> list[float | None]:
    return [value if value == value else None for value in values]


def _warm(rows: Sequence[_Row]) -> list[_Row]:
    """Those of known temperature."""
    return [(each, found) for each, found in rows if found.celsius is not None]


def _at_temperature(rows: Sequence[_Row], line: ThermalConstants | None) -> list[float | None]:
    """How often a rate would lie so far from the line of the others on temperature; None where
    that is not known, and below the threshold of the `line` of all."""
    found: list[float | None] = [None] * len(rows)
    known = [place for place, (_, row) in enumerate(rows) if row.celsius is not None]
    if line is None or line.threshold >= line.coldest:
        return found
    means, errors = _estimates([rows[place] for place in known])
    p = deleted_p(
        [1 / mean for mean in means],
        [rate_error(mean, se) for mean, se in zip(means, errors, strict=True)],
        [rows[place][1].celsius or 0.0 for place in known],
    )
    for place, value in zip(known, _known(p.tolist()), strict=True):
        found[place] = value
    return found


def _middle(values: Iterable[float | None]) -> float | None:
    known = [value for value in values if value is not None]
    return median(known) if known else None


def _reasons(
    cohort: CohortSummary, celsius: float | None, middle: float | None
) -> Iterator[Reason]:
    if celsius is not None and middle is not None and abs(celsius - middle) >= APART_C:
        yield Reason.WARMER if celsius > middle else Reason.COOLER
    if cohort.struck_temperatures:
        yield Reason.TEMPERATURES_STRUCK
    if cohort.missed > MUCH_MISSED * cohort.due:
        yield Reason.CHECKS_MISSED
    if cohort.doubtful > MUCH_DOUBT * cohort.individuals:
        yield Reason.DOUBTS
    if cohort.gone > MUCH_LOST * cohort.individuals:
        yield Reason.LOST


def _coming(cohorts: Sequence[CohortSummary]) -> Iterator[AdultsOnDay]:
    adults: defaultdict[tuple[str, date], float] = defaultdict(float)
    for each in cohorts:
        for step in each.coming:
            adults[each.species, step.date] += step.adults
    for (species, day), count in sorted(adults.items()):
        yield AdultsOnDay(species, day, round(count, 2))
