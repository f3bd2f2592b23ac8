"""Studies that are made up, with round numbers: what there is to say of how they were done."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache

from msgspec.structs import replace

from rearlog.analysis.comparing.cohorts import Shared
from rearlog.analysis.comparing.compare import Comparison
from rearlog.analysis.comparing.stage_comparison import Counted
from rearlog.analysis.comparing.thermal import Thermal
from rearlog.analysis.growth.growth import MassGain
from rearlog.analysis.heat.daily_temperatures import DayKnown
from rearlog.analysis.heat.heat_curve import HeatSettings
from rearlog.analysis.reproduction.estimates import Measure
from rearlog.analysis.stages.look_intervals import LookIntervals
from rearlog.analysis.survival.survival import Survival
from rearlog.records.profile import Source
from rearlog.sentences.methods import StudiedCohort, Study
from tests.sentences.invented_curves import BETA, LACTIN, STRAIGHT, stage, thermals
from tests.sentences.invented_life_tables import compared, result
from tests.sentences.invented_results import DIFFER, NOT_TESTED, comparisons, mortalities, survived
from tests.sentences.invented_stages import DYAR, NOTHING
from tests.sentences.small_lives import SHAPES, small

SINE = HeatSettings(6.9, None, "single-sine", "horizontal")
PUBLISHED = Source("published", "Somebody 1999, a journal. ")


@cache
def lived() -> Survival:
    """Of one that nobody saw die."""
    return small("a", SHAPES["one grown"]).survival()


def cohort(name: str = "a", **more: object) -> StudiedCohort:
    """Twelve eggs at 20 °C, of which none died, and nothing was worked out."""
    made = StudiedCohort(
        name, "Moth test", {"egg": 12}, False, LookIntervals(1234, 1.0, 2.54), 20.04,
        (DayKnown.CONSTANT,), SINE, None, 0, 0, 0, False, lived(), NOTHING,
    )  # fmt: skip
    return replace(made, **more)  # type: ignore[arg-type]


def of_cohorts(*cohorts: StudiedCohort, **more: object) -> Study:
    versions = {"rearlog": "1.2", "Python": "3.12", "numpy": "2.0"}
    made = Study(cohorts or (cohort(),), None, None, (), None, versions)
    return replace(made, **more)  # type: ignore[arg-type]


def studies() -> Iterator[tuple[str, Study]]:
    """What there is to say of methods, each with what it is."""
    yield "one at a steady temperature", of_cohorts()
    yield "one of which little is known", of_cohorts(cohort(looks=None, celsius=None, heat=None))
    yield "one animal", of_cohorts(cohort(entered={"egg": 1}))
    yield (
        "two, invented",
        of_cohorts(
            cohort(invented=True, entered={"egg": 1, "L1": 2}, settled=1),
            cohort("b", looks=LookIntervals(10, 1.96, 4.04), settled=2, means=True),
        ),
    )
    yield (
        "of two species",
        of_cohorts(
            cohort(celsius=18.0, invented=True),
            cohort("b", celsius=None, invented=True),
            cohort("c", species="Fly test", invented=True),
            cohort("d", entered={"egg": 6}, invented=True),
        ),
    )
    yield (
        "three of one size",
        of_cohorts(cohort(celsius=None), cohort("b", celsius=18.0), cohort("c", celsius=27.0)),
    )
    yield "one looked at, one not", of_cohorts(cohort(looks=None), cohort("b"))
    yield from temperatures()
    dead = small("a", SHAPES["two dead of three"]).survival()
    heads = replace(NOTHING, dyar=DYAR, no_dyar=None)
    weighed = replace(heads, dyar=replace(DYAR, followed=4),
                      gains=(MassGain("1", 1.0, 2.0, 0.5, 1.65),))  # fmt: skip
    yield "some died, heads alone", of_cohorts(cohort(survival=dead, growth=heads))
    yield "masses, of one", of_cohorts(cohort(growth=heads), cohort("b", growth=weighed))
    yield from tests()
    yield from life_tables()
    yield from lines()


def temperatures() -> Iterator[tuple[str, Study]]:
    """How they are known, and how degree-days were counted."""
    upper = replace(SINE, lower=10.25, upper=33.0, cutoff="vertical")
    for method in ("average", "clipped-average", "double-sine", "single-triangle",
                   "double-triangle", "readings"):  # fmt: skip
        how = replace(SINE, method=method)
        yield f"by {method}", of_cohorts(cohort(kept=tuple(DayKnown), heat=how))
    yield "a threshold that is published", of_cohorts(cohort(threshold=PUBLISHED, heat=upper))
    yield (
        "two thresholds, two ways, and one without",
        of_cohorts(
            cohort(filled=1),
            cohort("b", kept=(DayKnown.EXTREMES,), unknown=1),
            cohort("c", heat=upper, filled=2, unknown=3),
            cohort("d", heat=None, filled=9, unknown=9),
        ),
    )


def tests() -> Iterator[tuple[str, Study]]:
    """Which tests were made."""
    found = dict(comparisons())
    alike, apart, three = found["two alike"], found["two apart"], found["three apart"]
    for name in ("too few", "nothing to compare", "one left out", "ten", "eleven",
                 "some still in it", "everybody, 1.25 times",
                 "how alike is not known"):  # fmt: skip
        yield f"tests of {name}", of_cohorts(comparison=found[name])
    yield "tests of two", of_cohorts(comparison=alike)
    yield (
        "tests of two, whose survival differs",
        of_cohorts(
            comparison=replace(alike, survival=survived(("a", 1, 8), ("b", 7, 8), found=DIFFER))
        ),
    )
    dead = survived(("a", 1, 8), ("b", 1, 8), found=NOT_TESTED)
    yield "tests of two, not of survival", of_cohorts(comparison=replace(apart, survival=dead))
    (days, heat) = three.overall
    rows: dict[str, Comparison] = {
        "of three": three,
        "of two and of three": replace(three, stages=(*apart.overall, days)),
        "of two stages": replace(three, stages=(days, replace(days, stage="egg"))),
        "of one": replace(three, stages=(days,)),
        "by cage and clutch": replace(
            three, stages=(replace(days, clustered_by=(Shared.CONTAINER, Shared.CLUTCH)), heat)
        ),
        "by cage": replace(three, stages=(replace(days, clustered_by=(Shared.CONTAINER,)),)),
        "of all in two stages": replace(
            three,
            stages=(
                replace(days, counted=Counted.EVERYBODY, stage="egg"),
                replace(heat, counted=Counted.EVERYBODY, stage="egg"),
                replace(days, counted=Counted.EVERYBODY, stage="L1"),
            ),
        ),
    }
    yield from ((f"tests {name}", of_cohorts(comparison=each)) for name, each in rows.items())


def life_tables() -> Iterator[tuple[str, Study]]:
    one = result()
    hatched = tuple(
        replace(each, se=None) if each.measure is Measure.HATCH_SHARE else each
        for each in one.estimates
    )
    yield "a life table", of_cohorts(life_tables=(one,))
    yield "a life table, cages", of_cohorts(life_tables=(replace(one, units=12),))
    yield "nothing of hatching", of_cohorts(life_tables=(replace(one, estimates=hatched),))
    yield "few to draw from", of_cohorts(life_tables=(replace(one, resamples=0),))
    for name, p in (("compared", 0.2), ("too few to compare", None)):
        both = compared(p, factors=(1.1, 1.2))
        yield (
            f"two life tables, {name}",
            of_cohorts(life_tables=both.cohorts, life_tables_compared=both),
        )


def lines() -> Iterator[tuple[str, Study]]:
    found = dict(thermals())
    for name in ("a line", "a line, straight, of swinging heat", "of two, swinging",
                 "a curve, the best of three", "three stages", "none"):  # fmt: skip
        yield f"constants: {name}", of_cohorts(thermal=found[name])
    curves = (stage(curves=(LACTIN, STRAIGHT)), stage("egg", curves=(BETA, LACTIN)))
    both = Thermal("Moth test", ("a", "b"), (), (), curves, ())
    yield "constants of two stages", of_cohorts(thermal=both)
    died = dict(mortalities())
    yield "mortality", of_cohorts(thermal=replace(both, mortality=(died["rises"],)))
    none = next(each for name, each in died.items() if name.startswith("no curve"))
    yield "mortality without a curve", of_cohorts(thermal=replace(both, mortality=(none,)))
