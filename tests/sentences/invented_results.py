"""Comparisons that are made up, with round numbers: every verdict that there is, and its contrary.

Nothing is worked out here: what is said of them can be held beside the numbers that stand below.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date
from itertools import combinations

from msgspec.structs import replace

from rearlog.analysis.comparing.cohorts import Shared
from rearlog.analysis.comparing.compare import Comparison
from rearlog.analysis.comparing.factorial import (
    DEATH,
    Effect,
    Factorial,
    LevelRatio,
    NoDesign,
    StageDesign,
)
from rearlog.analysis.comparing.heat_mortality import (
    HeatMortality,
    MortalityCurve,
    MortalityPoint,
    NoMortalityCurve,
)
from rearlog.analysis.comparing.lineage import (
    GenerationFigures,
    Lineage,
    LineageFamily,
    LineageMember,
    NamedParent,
)
from rearlog.analysis.comparing.stage_comparison import (
    DAYS,
    DEGREE_DAYS,
    MOST_IN_PAIRS,
    WHOLE,
    Counted,
    GroupSummary,
    PairDifference,
    StageComparison,
)
from rearlog.analysis.comparing.survival_difference import GroupSurvival, SurvivalComparison
from rearlog.analysis.heat.gap_filling import TemperatureGaps
from rearlog.analysis.reproduction.estimates import Estimate, Measure
from rearlog.analysis.stages.left_open import LeftOpen
from rearlog.analysis.statistics.differences import Difference, NoTest, Ratio, Verdict
from rearlog.analysis.statistics.interval_log_rank import NoLogRank
from rearlog.analysis.statistics.interval_median import IntervalMedian
from rearlog.analysis.survival.survival import ReachedEnd

DIFFER, NOT_SHOWN, NOT_TESTED = Verdict.DIFFER, Verdict.NOT_SHOWN, Verdict.NOT_TESTED
NAMES = tuple("abcdefghijk")


def group(
    cohort: str,
    mean: float | None,
    *,
    n: int = 8,
    of_all: float | None = None,
    clusters: int | None = None,
    still_in: int = 0,
    gone: int = 0,
    letters: str | None = None,
) -> GroupSummary:
    """A cohort in a stage; its SD is a tenth of its mean, and its SE a quarter of that."""
    sd = None if mean is None else mean / 10
    left = LeftOpen(n + still_in + gone, still_in, gone)
    low, high = (None, None) if of_all is None else (of_all - 1, of_all + 2)
    return GroupSummary(
        cohort, n, mean, sd, None if sd is None else sd / 4, mean, left.mean_of, left,
        of_all, low, high, clusters, letters,
    )  # fmt: skip


def pair(
    groups: Sequence[GroupSummary],
    found: Verdict,
    reach: float | None = 1.0,
    ratio: Ratio | None = None,
) -> PairDifference:
    """The difference of two means with limits so far to both sides."""
    one, other = groups
    gap = (one.mean or 0.0) - (other.mean or 0.0)
    means = Difference(gap, *(None, None) if reach is None else (gap - reach, gap + reach))
    p = {DIFFER: 0.004, NOT_SHOWN: 0.4}.get(found)
    return PairDifference(one.cohort, other.cohort, means, means, ratio, p, found, None)


def row(
    groups: Sequence[GroupSummary],
    found: Verdict,
    pairs: Sequence[PairDifference] = (),
    *,
    stage: str = WHOLE,
    unit: str = DAYS,
    p: float | None = 0.02,
    p_holm: float | None = 0.02,
    left_out: Sequence[str] = (),
    counted: Counted = Counted.COMPLETED,
    alone: bool = False,
    reason: NoTest | None = None,
    shared: Sequence[Shared] = (),
    intraclass: float | None = None,
    resolution: float | None = None,
) -> StageComparison:
    if found is NOT_TESTED:
        p = p_holm = None
    return StageComparison(
        stage, unit, tuple(groups), tuple(left_out), counted, "Welch ANOVA", p and 5.0, p, p_holm,
        found, alone, reason, tuple(shared), intraclass, None, tuple(pairs), resolution,
    )  # fmt: skip


def of_means(means: Sequence[float], unit: str, apart: Sequence[str] | None) -> StageComparison:
    """Cohorts of these means, of which those pairs (`ab`) were shown to differ; None: no test says
    that any does."""
    groups = [group(name, mean) for name, mean in zip(NAMES, means, strict=False)]
    found = NOT_SHOWN if apart is None else DIFFER
    pairs = len(means) <= MOST_IN_PAIRS and [
        pair((one, other), DIFFER if one.cohort + other.cohort in (apart or ()) else NOT_SHOWN)
        for one, other in combinations(groups, 2)
    ]
    return row(groups, found, pairs or (), unit=unit, p=0.6 if apart is None else 0.02,
               p_holm=0.6 if apart is None else 0.02)  # fmt: skip


def survived(
    *groups: tuple[str, int, int],
    found: Verdict = NOT_SHOWN,
    reason: NoLogRank | None = None,
    left_out: int = 0,
    stages: Sequence[str] = ("adult",),
    since: str | None = None,
    half: Sequence[float | None] = (),
) -> SurvivalComparison:
    """Of each cohort how many died of how many; `half` are the days by which half had."""
    made = []
    for place, (name, died, n) in enumerate(groups):
        end = stages[place % len(stages)]
        reached = ReachedEnd(end, n, n - died, 0, 0, *(4 * [0.5]))
        day = half[place] if place < len(half) else None
        median = IntervalMedian(n, died, (None, None if day is None else (day - 1, day), None),
                                None if day is None else day - 2, day)  # fmt: skip
        made.append(GroupSurvival(name, n, died, died / 2, reached, median))
    p = {DIFFER: 0.003, NOT_SHOWN: 0.5}.get(found)
    return SurvivalComparison(since, tuple(made), p and 1.5, len(made) - 1, p, found, reason,
                              left_out)  # fmt: skip


def comparison(
    *rows: StageComparison,
    survival: SurvivalComparison | None = None,
    cohorts: Sequence[str] = (),
    species: Sequence[str] = ("Moth test",),
    days_only: Sequence[str] = (),
    gaps: Sequence[TemperatureGaps] = (),
    divided: bool = False,
    by: str | None = None,
    not_known: int = 0,
    pooled_over: Sequence[str] = (),
) -> Comparison:
    names = tuple(cohorts or (each.cohort for each in rows[0].groups))
    died = survived(*((name, 1, 8) for name in names)) if survival is None else survival
    return Comparison(
        names, tuple(species), rows, died, tuple(days_only), tuple(gaps), divided, by, not_known,
        tuple(pooled_over), in_pairs=len(names) <= MOST_IN_PAIRS,
    )  # fmt: skip


def comparisons() -> Iterator[tuple[str, Comparison]]:
    """What there is to say of cohorts, each with what it is."""
    ten = (9.0, 12.04, 6.12, 8.0, 7.0, 10.0, 11.0, 6.5, 7.5, 8.5)
    for title, means, apart in (
        ("two apart", (12.0, 9.96), ["ab"]),
        ("twice as long", (10.0, 5.0), ["ab"]),
        ("1.2 times as long", (6.0, 5.0), ["ab"]),
        ("little more", (5.95, 5.0), ["ab"]),
        ("two alike", (12.0, 11.0), None),
        ("two the same", (12.0, 12.04), None),
        ("three apart", (9.0, 12.0, 6.0), ["ab", "ac", "bc"]),
        ("three, two of them apart", (9.0, 12.0, 6.0), ["bc"]),
        ("three, the ends not", (9.0, 12.0, 6.0), ["ac"]),
        ("three, no pair", (9.0, 12.0, 6.0), []),
        ("three alike", (9.0, 12.0, 6.0), None),
        ("four", (9.0, 12.0, 6.0, 8.0), ["bc", "bd"]),
        ("five", (9.0, 12.0, 6.0, 8.0, 7.0), ["ab", "bc", "bd", "be", "ac"]),
        ("five alike", (9.0, 12.0, 6.0, 8.0, 7.0), None),
        ("five, no pair", (9.0, 12.0, 6.0, 8.0, 7.0), []),
        ("seven", (9.0, 12.0, 6.0, 8.0, 7.0, 10.0, 11.0), ["bc"]),
        ("further apart than the figures", (12.04, 9.96), ["ab"]),
        ("halves of a tenth", (19.95, 4.25), ["ab"]),
        ("four alike", (9.0, 12.0, 6.0, 8.0), None),
        ("five, four pairs", (9.0, 12.0, 6.0, 8.0, 7.0), ["bc", "bd", "be", "ac"]),
        ("ten", ten, ["bc"]),
        ("eleven", (*ten, 7.36), []),
        ("eleven alike", (*ten, 7.36), None),
    ):  # fmt: skip
        heat = of_means([10 * each for each in means], DEGREE_DAYS, None)
        yield title, comparison(of_means(means, DAYS, apart), heat)
    a, b, c = group("a", 10.0), group("b", 8.0), group("c", 9.0)
    days = row([a, b], NOT_SHOWN, [pair([a, b], NOT_SHOWN)], p=0.2, p_holm=0.2)
    warm = [group("a", 100.0), group("b", 60.0)]
    warmth = row(warm, DIFFER, [pair(warm, DIFFER)], unit=DEGREE_DAYS)
    yield (
        "in heat alone",
        comparison(days, warmth, survival=survived(("a", 2, 8), ("b", 7, 8), found=DIFFER)),
    )
    yield (
        "by degree-days not tested",
        comparison(days, row(warm, NOT_TESTED, unit=DEGREE_DAYS, reason=NoTest.GROUP_ALIKE)),
    )
    untested = row(warm, NOT_TESTED, unit=DEGREE_DAYS, reason=NoTest.GROUP_ALIKE)
    yield "by degree-days not tested, these first", comparison(untested, days)
    few = [a, group("b", 8.0, n=2)]
    yield (
        "too few",
        comparison(
            row(few, NOT_TESTED, reason=NoTest.TOO_FEW, left_out=["b"]),
            row(few, NOT_TESTED, unit=DEGREE_DAYS, reason=NoTest.TOO_FEW, left_out=["b"]),
        ),
    )
    yield (
        "one left out",
        comparison(
            row([a, b, group("c", 1.0, n=2)], DIFFER, [pair([a, b], DIFFER)], left_out=["c"])
        ),
    )
    yield (
        "nobody came so far",
        comparison(
            row([a, group("b", None, n=0)], NOT_TESTED, reason=NoTest.TOO_FEW, left_out=["b"])
        ),
    )
    nobody = [group("a", None, n=0), group("b", None, n=0)]
    yield (
        "nobody came through",
        comparison(
            row(nobody, NOT_TESTED, reason=NoTest.TOO_FEW, left_out="ab"),
            row(nobody, NOT_TESTED, unit=DEGREE_DAYS, reason=NoTest.TOO_FEW, left_out="ab"),
        ),
    )
    short = [*warm, group("c", 10.0, n=2)]
    yield (
        "heat before days, one of three left out",
        comparison(
            row(short, DIFFER, [pair(warm, DIFFER)], unit=DEGREE_DAYS, left_out=["c"],
                resolution=0.75),
            row([a, b, group("c", None, n=0)], NOT_SHOWN, [pair([a, b], NOT_SHOWN)], left_out="c"),
        ),
    )  # fmt: skip
    eleven = [group(name, 10.0, n=8 + place, still_in=1) for place, name in enumerate(NAMES)]
    yield "some of eleven still in it", comparison(row(eleven, NOT_SHOWN))
    yield "some of ten still in it", comparison(row(eleven[:10], NOT_SHOWN))
    alone = row([a, b], NOT_SHOWN, [pair([a, b], NOT_SHOWN)], shared=[Shared.CLUTCH])
    yield "how alike is not known", comparison(alone)
    yield "nothing to compare", comparison(cohorts=["a", "b"])
    for shared, more in (
        ((Shared.CONTAINER,), {}),
        ((Shared.CLUTCH,), {"divided": True}),
        ((Shared.CONTAINER, Shared.CLUTCH), {}),
        (
            (Shared.COHORT,),
            {"by": "food", "not_known": 3, "pooled_over": ["temperature"], "days_only": ["b"]},
        ),
    ):
        caged = [
            group("a", 10.0, clusters=1),
            group("b", 8.0, clusters=2),
            group("c", 9.0, clusters=3),
            group("d", None, n=0, clusters=1),
        ]
        for reason in (NoTest.ONE_CLUSTER, NoTest.FEW_CLUSTERS):
            yield (
                f"{reason} of {' and '.join(shared)}",
                comparison(
                    row(caged, NOT_TESTED, reason=reason, shared=shared, intraclass=0.25),
                    row(
                        caged,
                        NOT_TESTED,
                        stage="egg",
                        reason=reason,
                        shared=shared,
                        intraclass=0.125,
                    ),
                    **more,
                ),
            )
    one = row([a, b], DIFFER, [pair([a, b], DIFFER)], shared=[Shared.CONTAINER], intraclass=0.5)
    yield (
        "alike by one number",
        comparison(one, row(warm, DIFFER, [pair(warm, DIFFER)], unit=DEGREE_DAYS, intraclass=0.75)),
    )
    every = [group("a", 10.0, of_all=11.0, still_in=2), group("b", 8.0, of_all=8.5, gone=1)]
    for ratio in (
        Ratio(1.25, 1.1, 1.5),
        Ratio(0.8, 0.5, 1.25),
        Ratio(1.004, 0.9, 1.1),
        Ratio(1.5, None, 2.0),
    ):
        yield f"everybody, {ratio.estimate:g} times", comparison(
            row(every, DIFFER, [pair(every, DIFFER, ratio=ratio)], counted=Counted.EVERYBODY),
            row(every, NOT_SHOWN, [pair(every, NOT_SHOWN, ratio=ratio)], counted=Counted.EVERYBODY,
                unit=DEGREE_DAYS),
        )  # fmt: skip
    both = [
        group("a", 10.0, still_in=1, gone=2),
        group("b", 8.0, gone=3),
        group("c", None, n=0, gone=2),
    ]
    yield (
        "some still in it",
        comparison(row(both, DIFFER, [pair(both[:2], DIFFER)], left_out=["c"])),
    )
    for reach in (1.0, 2.0, 3.0, None):
        yield (
            f"2 days, limits {reach} to both sides",
            comparison(
                row(
                    [a, b],
                    NOT_SHOWN,
                    [pair([a, b], NOT_SHOWN, reach)],
                    p=0.04,
                    p_holm=0.08,
                    alone=True,
                    resolution=0.75,
                )
            ),
        )
    yield (
        "much known besides",
        comparison(
            days,
            species=["Moth test", "Fly test"],
            days_only=["a"],
            gaps=[TemperatureGaps("b", (date(2026, 3, 9),), ())],
            divided=True,
        ),
    )
    yield (
        "three, by sex",
        comparison(
            row(
                [a, b, c],
                DIFFER,
                [pair([a, b], DIFFER), pair([a, c], DIFFER), pair([b, c], DIFFER)],
            ),
            by="sex",
            not_known=2,
        ),
    )
    lived = survived(("a", 8, 8), ("b", 7, 8), found=DIFFER, since="adult", half=[5.0, 9.5])
    yield "as adults", comparison(survival=lived, cohorts=["a", "b"], by="sex", not_known=2)


def survivals() -> Iterator[tuple[str, SurvivalComparison]]:
    """What there is to say of deaths, each with what it is."""
    two, three = (("a", 2, 8), ("b", 7, 9)), (("a", 2, 8), ("b", 7, 9), ("c", 0, 5))
    four, five = (*three, ("d", 1, 4)), (*three, ("d", 1, 4), ("e", 0, 0), ("f", 1, 2))
    yield "two apart", survived(*two, found=DIFFER)
    yield "three alike, some died grown", survived(*three, left_out=4)
    yield "of two species", survived(*two, left_out=1, stages=("adult", "imago"))
    yield "four", survived(*four)
    yield "six, of which one is empty", survived(*five, found=DIFFER, left_out=2)
    for reason in NoLogRank:
        groups = (("a", 0, 3), ("b", 0, 0 if reason is NoLogRank.NOBODY else 1), ("c", 0, 1))
        yield f"no test, {reason}", survived(*groups, found=NOT_TESTED, reason=reason)
    yield "as adults", survived(*two, found=DIFFER, since="adult", half=[5.0, 9.54])
    yield "as adults, alike", survived(*two, since="adult", half=[5.0, 9.5], left_out=0)
    yield "as adults, half of one not dead", survived(*two, since="adult", half=[5.0, None])
    yield "four as adults", survived(*four, since="adult", half=[5.0, 6.0, 7.0, 8.0])
    yield (
        "five as adults",
        survived(*four, ("e", 1, 4), since="adult", half=[5.0, 6.0, 7.0, 8.0, 9.0]),
    )
    yield "from L1 on", survived(*two, since="L1")


def effect(term: str, found: Verdict, p_holm: float | None = None) -> Effect:
    p = {DIFFER: 0.004, NOT_SHOWN: 0.4}[found]
    return Effect(term, 1, 8.25, 4.125, 11.6, p, p_holm, found)


def design(
    *effects: Effect,
    ratios: Sequence[LevelRatio] = (),
    stage: str = WHOLE,
    in_step: bool = False,
    reason: NoDesign | None = None,
) -> StageDesign:
    return StageDesign(stage, (), "lognormal", effects, tuple(ratios), reason, in_step)


def factorials() -> Iterator[tuple[str, Factorial]]:
    """What there is to say of designs, each with what it is."""
    food = LevelRatio("food", "leek", "kale", 0.5, 0.4, 0.625)
    sex = LevelRatio("sex", "m", "f", 1.25, 1.05, 1.5)
    unsure = LevelRatio("food", "leek", "kale", 1.6, 0.9, 2.5)
    also = LevelRatio("food", "cress", "kale", 0.75, 0.5, 1.1)

    def made(*stages: StageDesign, **more: object) -> Factorial:
        plain = Factorial(("a", "b"), ("Moth test",), ("food", "sex"), True, None, 0, stages)
        return replace(plain, **more)  # type: ignore[arg-type]

    none = [effect(each, NOT_SHOWN) for each in ("food", "sex", "food × sex")]
    yield (
        "both matter",
        made(design(effect("food", DIFFER), effect("sex", DIFFER), none[2], ratios=[sex, food])),
    )
    yield (
        "one matters",
        made(design(effect("food", DIFFER), none[1], ratios=[sex, food, also], stage="egg")),
    )
    yield (
        "one matters, in step",
        made(
            design(
                none[0], effect("sex", DIFFER), ratios=[food, sex], stage="L1 to L2", in_step=True
            )
        ),
    )
    yield (
        "together",
        made(design(effect("food", DIFFER), none[1], effect("food × sex", DIFFER), ratios=[food])),
    )
    yield (
        "not which levels",
        made(design(effect("food", DIFFER), none[1], ratios=[also, unsure, sex])),
    )
    yield (
        "two, of which one not which levels",
        made(design(effect("food", DIFFER), effect("sex", DIFFER), ratios=[sex, unsure])),
    )
    for limits, low, high in (("lower", 1.0, 2.5), ("upper", 0.4, 1.0)):
        even = LevelRatio("food", "leek", "kale", 1.0, low, high)
        yield (
            f"not which levels, {limits} limit being 1",
            made(design(effect("food", DIFFER), none[1], ratios=[even])),
        )
    hardly = LevelRatio("food", "cress", "kale", 2.0 + 3e-7, 1.5, 2.5)
    yield (
        "two as much, but for their last digits",
        made(design(effect("food", DIFFER), none[1], ratios=[food, hardly])),
    )
    yield "none", made(design(*none), complete=False, not_known=2)
    for reason in NoDesign:
        yield f"no test, {reason}", made(design(reason=reason), clustered_by=Shared.CONTAINER)
    yield "nothing", made()
    for shared in Shared:
        yield (
            f"clustered by {shared}",
            made(design(*none), clustered_by=shared, species=("Moth test", "Fly test")),
        )
    yield "as adults", made(design(*none[:2], stage=f"adult{DEATH}"), not_known=1)


def mortalities() -> Iterator[tuple[str, HeatMortality]]:
    """What there is to say of mortality by temperature, each with what it is."""
    point = MortalityPoint("a", 20.0, 10, 4, 0, 0.4, 0.2, 0.6, used=False)

    def curve(
        start: float,
        slope: float,
        *,
        best: float | None = None,
        limits: tuple[float | None, float | None] = (None, None),
        p: float = 0.004,
        dispersion: float = 1.0,
    ) -> MortalityCurve:
        """A line of the logit from 10 °C on to 30 °C."""
        low, high = limits
        return MortalityCurve(
            (start, slope), ((0.01, 0.0), (0.0, 0.01)), 10.0, 10.0, 30.0, dispersion, 3, 12.5, p,
            best, low, high, 0.1, 0.05, 0.2,
        )  # fmt: skip

    for title, told in (
        ("rises", curve(-2.0, 0.15)),
        ("falls", curve(1.0, -0.2)),
        ("least in between", curve(-2.0, 0.15, best=22.5)),
        ("least in between, with limits", curve(-2.0, 0.15, best=22.5, limits=(20.0, 25.0))),
        ("scattered", curve(-2.0, 0.15, dispersion=1.75)),
        ("just not shown", curve(-2.0, 0.15, p=0.05, dispersion=1.5)),
    ):
        yield title, HeatMortality("egg to adult", (point,), told, None)
    for reason in NoMortalityCurve:
        yield f"no curve, {reason}", HeatMortality("egg", (point,), None, reason)


def lineages() -> Iterator[tuple[str, Lineage]]:
    """What there is to say of families of cohorts, each with what it is."""
    end = ReachedEnd("adult", 8, 6, 0, 0, 0.75, 0.75, 0.41, 0.93)
    eggs = Estimate(Measure.R0, 8, 5.25, 1.5, 2.5, 8.0)

    def member(
        cohort: str,
        generation: int,
        *parents: NamedParent,
        r0: Estimate | None = eggs,
        children: Sequence[str] = (),
        missing: bool = False,
    ) -> LineageMember:
        figures = None if missing else GenerationFigures(8, 6, 12.34, end, r0)
        begun = None if missing else date(2026, 3, 9)
        return LineageMember(
            cohort, generation, generation, parents, tuple(children), begun, figures
        )

    def of(
        cohort: str, *codes: str, strangers: Sequence[str] = (), later: bool = False
    ) -> NamedParent:
        return NamedParent(cohort, codes, tuple(strangers), later)

    def compared(*counts: tuple[int, int, int]) -> Comparison:
        """Of each generation how many died, may yet come, and there were."""
        died = survived(
            *((f"generation {place}", gone, n) for place, (gone, _, n) in enumerate(counts))
        )
        groups = [
            replace(
                each, reached=ReachedEnd("adult", n - yet, n - yet - gone, yet, 0, *(4 * [0.5]))
            )
            for each, (gone, yet, n) in zip(died.groups, counts, strict=True)
        ]
        means = of_means((12.0, 10.0), DAYS, ["ab"])
        return comparison(means, survival=replace(died, groups=tuple(groups)), species=["A", "B"])

    few = replace(eggs, se=None, low=None, high=None)
    pair_ = (
        member("spring", 0, children=["summer"]),
        member("summer", 1, of("spring", "A01", "A02"), r0=few),
    )
    two = LineageFamily(pair_, compared((2, 0, 8), (0, 3, 8)))
    yield "two generations", Lineage((two,), ())
    yield "one alone besides", Lineage((two,), ("winter",))
    yield "some alone besides", Lineage((two,), ("winter", "autumn"))
    odd = (
        member("wild", 0, children=["tame", "kept"], missing=True),
        member("tame", 1, of("wild"), r0=None),
        member(
            "kept",
            1,
            of("tame", "W9", strangers=["W9", "W8"], later=True),
            r0=replace(few, estimate=None),
        ),
        member("last", 2, of("tame"), of("kept")),
    )
    yield "named and not there, and what does not fit", Lineage((LineageFamily(odd, None),), ())
    lone = (member("gone", 0, children=["left"], missing=True), member("left", 1, of("gone")))
    yield "two families", Lineage((two, LineageFamily(lone, None)), ())
    yield (
        "three families",
        Lineage((two, LineageFamily(lone, None), LineageFamily(odd, None)), ("winter",)),
    )
    yield "none of one", Lineage((), ("winter",))
    yield "none of two", Lineage((), ("winter", "autumn"))
