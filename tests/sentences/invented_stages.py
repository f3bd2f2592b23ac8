"""Durations of stages and growth that are made up, with round numbers: every verdict that there is.

Nothing is worked out here: what is said of them can be held beside the numbers that stand below.
"""

from __future__ import annotations

from collections.abc import Iterator

from msgspec.structs import replace

from rearlog.analysis.growth.growth import Growth, InstarWidth, Measurement
from rearlog.analysis.growth.instars import Dyar, NoDyar
from rearlog.analysis.growth.width_groups import NoGroups, WidthGroup, WidthGroups
from rearlog.analysis.stages.durations import Durations, StageDuration
from rearlog.analysis.stages.expected import Basis, BasisKind, Timing
from rearlog.analysis.stages.left_open import LeftOpen

IN_DAYS = Basis(BasisKind.DAYS, measured_celsius=(20.0, 24.0), celsius=26.04, extrapolated=True)
NOT_KNOWN = Basis(BasisKind.NOTHING)


def stage(
    name: str,
    mean: float | None = None,
    expected: tuple[float, float] | None = None,
    *,
    reach: float | None = 0.5,
    n: int = 8,
    still_in: int = 0,
    gone: int = 0,
    in_step: bool = False,
) -> StageDuration:
    """A stage that took so long on average, with limits of the mean so far to both sides; none has
    completed it without a mean."""
    left = LeftOpen(n + still_in + gone, still_in, gone)
    verdict, off = None, None
    if mean is not None and expected is not None:
        least, most = expected
        off = max(least - mean, mean - most)
        away = Timing.SHORTER if mean < least else Timing.LONGER
        verdict = away if off > 0 else Timing.AS_EXPECTED
    known = mean is not None and reach is not None
    low, high = (mean - reach, mean + reach) if known else (None, None)
    basis = NOT_KNOWN if expected is None else IN_DAYS
    done = 0 if mean is None else n
    return StageDuration(
        name, n + still_in + gone, done, 0, gone, 0, still_in, 0, mean, 0.4, 0.1, low, high, 0.1,
        in_step, left.mean_of, left, mean, mean, mean, 1.0, None, None, (), None, (), expected,
        basis, verdict, off, 0,
    )  # fmt: skip


def made(*stages: StageDuration, cohort: str = "a") -> Durations:
    return Durations(cohort, "Moth test", "degree-days", stages, (), None)


def durations_made_up() -> Iterator[tuple[str, list[Durations]]]:
    """What there is to say of how long stages took, each with what it is."""
    egg, l1 = stage("egg", 4.0, (3.0, 5.0)), stage("L1", 5.0, (4.5, 5.5))
    waiting = replace(stage("pupa"), entered=0)
    yield "every stage as expected", [made(egg, l1)]
    yield "not every stage", [made(egg, l1, waiting)]
    last = stage("pupa", 6.0, (5.0, 7.0))
    yield "an instar that none had", [made(egg, replace(stage("L1"), entered=0), last)]
    yield "every stage but one of which nothing is expected", [made(stage("egg", 4.0), l1, last)]
    yield "one is still in it", [made(egg, stage("L1"))]
    yield "one stage as expected", [made(egg)]
    yield "limits on the ends of the range", [made(stage("egg", 4.0, (3.5, 4.5)))]
    yield "limits beyond the ends", [made(stage("egg", 4.0, (3.6, 4.5)), l1)]
    yield "the other end", [made(stage("egg", 4.0, (3.5, 4.4)), l1)]
    unlike = stage("L2", 6.04)
    yield "the early ones as expected", [made(stage("egg", 4.0, (3.0, 5.0), still_in=2), l1)]
    yield "of one nothing is expected", [made(egg, unlike)]
    yield "of none anything is expected", [made(unlike, stage("egg", 2.0, n=1, reach=None))]
    long, short = stage("L1", 8.0, (4.0, 6.0)), stage("L2", 2.0, (4.0, 6.0))
    longer = stage("L3", 8.5, (4.0, 6.0), still_in=1)
    yield "one longer", [made(egg, long)]
    yield "two longer, one shorter", [made(long, longer, short)]
    yield "one shorter most", [made(stage("L1", 7.0, (4.0, 6.0)), short)]
    yield "shorter than the early ones", [made(stage("L1", 2.0, (4.0, 6.0), still_in=2, gone=1))]
    yield "shorter than those that died", [made(stage("L1", 2.0, (4.0, 6.0), still_in=1, gone=2))]
    yield "just not longer", [made(stage("L1", 6.5, (4.0, 6.0)))]
    yield "just not shorter", [made(stage("L1", 3.5, (4.0, 6.0)))]
    yield "longer, and one alone", [made(stage("L1", 6.54, (4.0, 6.0), n=1, reach=None))]
    yield "longer by next to nothing", [made(stage("L1", 6.03, (4.0, 6.0)))]
    yield "longer by less than it looks", [made(stage("L1", 6.16, (4.0, 6.05), reach=0.01))]
    yield "in step", [made(stage("egg", 4.0, in_step=True), stage("L1", 5.0, in_step=True))]
    yield "nothing is over", [made(stage("egg")), made(stage("egg"), cohort="b")]
    yield "two beside each other", [made(egg, long), made(stage("egg", 4.5), short, cohort="b")]
    yield "two the same", [made(egg), made(egg, long, cohort="b")]
    yield "nothing over in both", [made(egg), made(long, cohort="b")]


WIDTHS = tuple(
    InstarWidth(f"L{number}", 4, width, 0.02, None, None)
    for number, width in enumerate((0.304, 0.496, 0.8), start=1)
)
DYAR = Dyar(1.614, 0.036, 0.99, 12, None, None)
NOTHING = Growth("a", (), None, NoDyar.NO_WIDTHS, (), (), None, 0)


def grown() -> Iterator[tuple[str, list[Growth]]]:
    """What there is to say of growth, in one cohort or beside each other."""
    looks = tuple(
        Measurement("1", float(day), f"L{day}", None, 5.0, None, None) for day in range(1, 4)
    )
    heads = replace(NOTHING, instars=WIDTHS, dyar=DYAR, no_dyar=None, series=looks)
    yield "three instars", [heads]
    followed = replace(DYAR, followed=5, missed_after=2)
    yield "followed, one missed", [replace(heads, dyar=followed)]
    yield "two instars", [replace(heads, instars=WIDTHS[:2])]
    yield "two widths", [replace(heads, instars=WIDTHS[:2], dyar=replace(DYAR, se=None, n=2))]
    expected = tuple(replace(each, expected=0.5) for each in WIDTHS)
    yield "beside the profile", [replace(heads, instars=expected)]
    b = replace(heads, cohort="b", dyar=replace(DYAR, ratio=1.446))
    yield "two cohorts", [heads, b]
    yield "of one nothing is known", [heads, replace(NOTHING, cohort="b")]
    weighed = replace(looks[0], length_mm=None, mass_mg=2.0)
    mass = replace(NOTHING, mass_fold=12.64, weighed_again=3, series=(weighed,))
    yield "a mass", [mass]
    yield "two masses", [mass, replace(mass, cohort="b", mass_fold=9.46)]
    for reason in NoDyar:
        yield f"no ratio, {reason}", [replace(NOTHING, no_dyar=reason, series=looks)]
    one, other = WidthGroup(0.504, 0.5, 0.636, 0.01), WidthGroup(0.796, 0.3, 1.004, 0.01)
    last = WidthGroup(1.256, 0.2, None, 0.01)
    bare = replace(looks[0], length_mm=None, head_width_mm=0.5)
    yield "a head alone", [replace(NOTHING, no_dyar=NoDyar.ONE_INSTAR, series=(bare,))]
    for groups in ((last,), (one, last), (one, other, last)):
        found = WidthGroups(groups, 0.05, 0.1234, (), 40)
        yield f"{len(groups)} groups", [replace(NOTHING, groups=found, no_groups=None)]
    for why in NoGroups:
        yield f"no groups, {why}", [replace(NOTHING, no_groups=why)]
