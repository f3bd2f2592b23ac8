"""Many cohorts as one: how long stages took, who lived, what stands out, and what is to come."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from datetime import date
from typing import ClassVar

from msgspec import Struct

from rearlog.analysis.answer import Answer
from rearlog.analysis.pooling.cohort_summary import CohortSummary
from rearlog.analysis.pooling.pooled_stages import (
    CohortInStage,
    PooledStage,
    estimates,
    in_stage,
    pooled_stage,
)
from rearlog.analysis.pooling.random_effects import RandomEffects, random_effects
from rearlog.analysis.pooling.season_survival import SeasonSurvival, season_survival
from rearlog.analysis.pooling.season_thermal import SeasonThermal, season_thermal
from rearlog.analysis.pooling.standing_out import StandsOut, standing_out
from rearlog.records.errors import UsageError
from rearlog.records.labels import in_line


class SiteSeason(Struct, frozen=True):
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


class SpeciesSeason(Struct, frozen=True):
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
        """The whole development, of cohorts with different profiles that of the most."""
        return _whole(self.stages)

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


class AdultsOnDay(Struct, frozen=True):
    """How many adults of a species are expected more on a day, in all cohorts, if all live."""

    species: str
    date: date
    adults: float


class Copy(Struct, frozen=True):
    """A cohort (its `id`, and what it is called) that was met more than once: the file that is
    `used`, and those that were passed over for it because it has more looks, or as many."""

    id: str
    cohort: str
    used: str
    passed_over: tuple[str, ...]


class PassedOver(Struct, frozen=True):
    """A file that could not be read, and why."""

    file: str
    why: str


class Season(Answer, frozen=True):
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
    by_stage = {stage: in_stage(stage, cohorts) for stage in _stages(cohorts)}
    stages = tuple(pooled_stage(stage, rows, cohorts) for stage, rows in by_stage.items() if rows)
    survival, thermal = season_survival(cohorts), tuple(season_thermal(by_stage))
    whole = _whole(stages)
    return SpeciesSeason(
        species=name,
        cohorts=len(cohorts),
        individuals=sum(each.individuals for each in cohorts),
        stages=stages,
        survival=survival,
        thermal=thermal,
        by_site=tuple(_by_site(cohorts, by_stage[whole.stage] if whole else (), survival)),
        stand_out=tuple(standing_out(by_stage, stages, thermal, cohorts, survival)),
    )


def _whole(stages: Sequence[PooledStage]) -> PooledStage | None:
    developments = [each for each in stages if " to " in each.stage]
    return max(developments, key=lambda each: each.cohorts, default=None)


def _stages(cohorts: Sequence[CohortSummary]) -> list[str]:
    """The stages of all cohorts in their order, the whole development last."""
    by_number = sorted(cohorts, key=lambda each: -len(each.stages))
    order = dict.fromkeys(stage.stage for each in by_number for stage in each.stages[:-1])
    return [*order, *dict.fromkeys(each.whole.stage for each in cohorts if each.whole)]


def _by_site(
    cohorts: Sequence[CohortSummary], whole: Sequence[CohortInStage], survival: SeasonSurvival
) -> Iterator[SiteSeason]:
    over = survival.over_sites
    judged = dict(zip(survival.sites, over.points, strict=True)) if over else {}
    settled = set(survival.ids)
    names = list(dict.fromkeys(each.site for each in cohorts))
    for name in names if names != [None] else ():
        theirs = [each for each in cohorts if each.site == name]
        ended = [each for each in theirs if each.id in settled]
        rows = [row for row in whole if row.cohort.site == name]
        yield SiteSeason(
            site=name,
            cohorts=len(theirs),
            individuals=sum(each.individuals for each in theirs),
            days=random_effects(*estimates(rows)) if rows else None,
            reached=sum(each.reached for each in ended),
            n=sum(each.known for each in ended),
            p_holm=judged[name].p_holm if name in judged else None,
        )


def _coming(cohorts: Sequence[CohortSummary]) -> Iterator[AdultsOnDay]:
    adults: defaultdict[tuple[str, date], float] = defaultdict(float)
    for each in cohorts:
        for step in each.coming:
            adults[each.species, step.date] += step.adults
    for (species, day), count in sorted(adults.items()):
        yield AdultsOnDay(species, day, round(count, 2))
