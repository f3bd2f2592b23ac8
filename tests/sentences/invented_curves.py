"""Thermal constants, growth by heat and agreements that are made up, with round numbers: every
objection and every verdict."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from msgspec.structs import replace

from rearlog.analysis.agreement.agreement import (
    Agreement,
    Confused,
    ObserverAgreement,
    PairAgreement,
    Taken,
)
from rearlog.analysis.comparing.growth_by_heat import GrowthByHeat, GrowthPoint
from rearlog.analysis.comparing.rate_curves import Limits, RateCurve, RateLaw
from rearlog.analysis.comparing.rate_models import (
    IkemotoTakai,
    LinearRate,
    NoRate,
    WeightedRate,
)
from rearlog.analysis.comparing.swinging_heat import SwingingHeat
from rearlog.analysis.comparing.thermal import Objection, RatePoint, StageThermal, Thermal
from rearlog.analysis.statistics.kappa import Kappa
from rearlog.analysis.statistics.weighted_line import LackOfFit
from tests.charts.conftest import only

LINE = LinearRate(
    10.0, 0.5, 8.0, 12.0, 200.0, 10.0, 160.0, 240.0, 0.005, 0.0002, -0.05, 0.99, 3,
    (15.0, 20.0, 25.0), (0.0005, -0.001, 0.0005),
)  # fmt: skip
TWO = replace(
    LINE, threshold_se=None, threshold_low=None, threshold_high=None, constant_se=None,
    constant_low=None, constant_high=None, slope_se=None, r2=None, n=2, celsius=(15.0, 25.0),
    residuals=(0.0, 0.0),
)  # fmt: skip


def curve(law: RateLaw, weight: float, delta: float, *, passed: bool, sure: bool) -> RateCurve:
    """A law that is 0 at 9 °C, highest at 30 °C and 0 again at 35 °C, the latter two where a cohort
    `passed` the highest point; with limits where it is `sure`."""
    around = [Limits(at - 1, at + 2) if sure else None for at in (9.0, 30.0, 35.0)]
    return RateCurve(
        law, (), (), 9.0, around[0], 30.0 if passed else None, around[1] if passed else None,
        35.0 if passed else None, around[2] if passed else None, -50.0 + delta, delta, weight, 7,
    )  # fmt: skip


LACTIN = curve(RateLaw.LACTIN_2, 0.75, 0.0, passed=True, sure=True)
STRAIGHT = curve(RateLaw.LINE, 0.2, 2.6, passed=False, sure=False)
BETA = curve(RateLaw.BETA, 0.05, 5.4, passed=False, sure=False)


def points(*still: int) -> tuple[RatePoint, ...]:
    """Cohorts at 15, 20 and 25 °C that took 40, 20 and 13.3 days; so many are still in it, and the
    last is left out."""
    return tuple(
        only(
            RatePoint, cohort=f"t{celsius}", temperature=float(celsius), temperature_sd=0.5,
            days=200 / (celsius - 10), days_se=0.5, rate=(celsius - 10) / 200, rate_se=0.001,
            residual=residual, n=8, in_stage=waiting, used=celsius < 25,
        )
        for celsius, residual, waiting in zip((15, 20, 25), LINE.residuals, still, strict=True)
    )  # fmt: skip


def stage(name: str = "egg to adult", **told: object) -> StageThermal:
    read: dict[str, object] = {
        "points": points(0, 0, 0), "linear": LINE, "objections": (), "curves": (), **told
    }  # fmt: skip
    return only(StageThermal, stage=name, **read)


def thermals() -> Iterator[tuple[str, Thermal]]:
    """What there is to say of thresholds, each with what it is."""
    heavy = WeightedRate(9.75, 0.25, 205.0, 5.0, 3, LackOfFit(12.5, 1, 20.0, 0.004))
    axis = IkemotoTakai(10.25, 0.5, 195.0, 8.0, 0.98, 3)
    swings = SwingingHeat(9.5, 8.0, 11.0, 210.0, 0.0312, 8.25, 3)
    even = replace(heavy, lack_of_fit=LackOfFit(1.5, 1, 20.0, 0.24))
    cases: list[tuple[str, StageThermal]] = [
        ("a line", stage(weighted=heavy, ikemoto_takai=axis)),
        ("a line, straight, of swinging heat", stage(weighted=even, swinging=swings)),
        ("of two, swinging", stage(linear=TWO, no_weighted=NoRate.FEW_ANIMALS,
                                   swinging=replace(swings, threshold_low=None))),
        ("threshold among those measured", stage(linear=replace(LINE, threshold=16.0))),
        ("a curve, the best of three", stage(curves=(LACTIN, STRAIGHT, BETA))),
        ("a curve alone, not passed", stage(curves=(BETA,), no_curve=None)),
        ("the line best, a curve not passed", stage(curves=(STRAIGHT, BETA))),
        ("the line best, a curve passed", stage(curves=(STRAIGHT, LACTIN))),
        ("still in it", stage(points=points(2, 0, 3), objections=(Objection.STILL_IN_STAGE,))),
    ]  # fmt: skip
    doubts = (Objection.STILL_IN_STAGE, Objection.THRESHOLD_TOO_COLD)
    doubtful = stage(points=points(2, 0, 0), objections=doubts)
    cases.append(("a doubt, and what makes it no threshold", doubtful))
    cases += [(f"objection {each}", stage(objections=(each,))) for each in Objection]
    cases += [
        (f"no line, {each}", stage(linear=None, no_linear=each, no_curve=each)) for each in NoRate
    ]
    for title, each in cases:
        yield title, Thermal("Moth test", ("t15", "t20", "t25"), ("t25",), ("cold",), (each,), ())
    egg = stage("egg", linear=None, no_linear=NoRate.NOT_FASTER, no_curve=NoRate.FEW_FOR_CURVE)
    both = (egg, replace(egg, stage="L1"), stage(curves=(LACTIN, STRAIGHT)))
    yield "three stages", Thermal("Moth test", ("t15", "t20"), (), (), both, ())
    yield "none", Thermal("Moth test", ("t15", "t20"), (), ("t15", "t20"), (), ())


def growths() -> Iterator[tuple[str, GrowthByHeat]]:
    """What there is to say of how fast populations grow, each with what it is."""
    cold = GrowthPoint("cold", 14.96, 20, 0, None, None, None, None, False)
    barren = GrowthPoint("bare", 18.0, 20, 3, None, None, None, None, False)
    slow = GrowthPoint("slow", 20.0, 20, 5, -0.0125, 0.004, -0.02, -0.005, False)
    still = GrowthPoint("still", 21.0, 20, 5, 0.0, 0.004, -0.01, 0.01, False)
    warm = GrowthPoint("warm", 25.0, 20, 9, 0.0875, 0.01, 0.06, 0.11, True)
    hot = GrowthPoint("hot", 28.0, 20, 9, 0.125, None, None, None, True)

    def of(
        *found: GrowthPoint,
        curves: Sequence[RateCurve] = (),
        no_curve: NoRate | None = None,
        fastest: float | None = None,
        left_out: Sequence[str] = (),
    ) -> GrowthByHeat:
        names = tuple(each.cohort for each in found)
        return GrowthByHeat("Moth test", names, tuple(left_out), (), found, tuple(curves), no_curve,
                            fastest)  # fmt: skip

    few = NoRate.FEW_FOR_CURVE
    yield "fastest so far", of(cold, barren, slow, warm, hot, no_curve=few, left_out=["mild"])
    yield "none grows", of(cold, slow, still, no_curve=few)
    yield "one does not grow", of(still, warm, no_curve=few)
    yield "a best curve", of(warm, hot, curves=(LACTIN, BETA), fastest=0.1375)
    bare = replace(LACTIN, optimum_limits=None, upper_limits=None, threshold=None, weight=1.0)
    yield "a curve without limits", of(warm, hot, curves=(bare,), fastest=0.1375)
    yield "a curve that none has passed", of(warm, hot, curves=(BETA, STRAIGHT))
    yield "a line", of(warm, hot, curves=(STRAIGHT,))
    warmed = of(warm)
    yield "without temperatures", replace(warmed, without_temperatures=("lost", "new"))


def agreements() -> Iterator[tuple[str, Agreement]]:
    """What there is to say of observers, each with what it is."""
    kappa = Kappa(0.75, 0.05, 0.65, 0.85)

    def pair(who: tuple[str, str], n: int, *counts: int, sure: bool = True) -> PairAgreement:
        """So many pairs of calls, of which so many differ in each of several ways."""
        ways = (("L1", "L2"), ("L2", "L3"), ("egg", "L1"), ("L3", "pupa"), ("L1", "L3"))
        confused = tuple(Confused(each, k) for each, k in zip(ways, counts, strict=False))
        return PairAgreement(who, n, n - sum(counts), kappa if sure else None, None, None,
                             ("L1", "L2"), ((0, 0), (0, 0)), confused)  # fmt: skip

    def who(
        name: str, calls: int, agreed: int, *taken: Taken, unknown: int = 0
    ) -> ObserverAgreement:
        return ObserverAgreement(name, calls, unknown, agreed, None, None, None, None, taken)

    def of(*pairs: PairAgreement, observers: Sequence[ObserverAgreement] = ()) -> Agreement:
        n, agreed = sum(each.n for each in pairs), sum(each.agreed for each in pairs)
        return Agreement("tiny", 90.0, n, agreed, pairs, (), (), tuple(observers), ())

    kt_mb, kt_ro, mb_ro = ("KT", "MB"), ("KT", "RO"), ("MB", "RO")
    for counts in ((), (1,), (2,), (3,), (12,), (2, 1), (1, 1, 1), (4, 3, 1, 1), (4, 3, 2, 1, 1)):
        title = " and ".join(map(str, counts)) or "none"
        yield f"differences {title}", of(pair(kt_mb, 20, *counts))
    yield "no kappa", of(pair(kt_mb, 20, 2, sure=False))
    yield "three pairs", of(pair(kt_mb, 20, 1), pair(kt_ro, 10, 2, 1), pair(mb_ro, 8))
    yield "three pairs that agree", of(pair(kt_mb, 20), pair(kt_ro, 10), pair(mb_ro, 8))
    slip, twice = Taken("L1", "L2", 1), Taken("L2", "L3", 2)
    other, more = Taken("egg", None, 1), Taken("L3", "pupa", 3)
    yield (
        "slips",
        of(
            pair(kt_mb, 20, 1),
            observers=[
                who("KT", 20, 20),
                who("MB", 20, 18, slip, twice, unknown=1),
                who("RO", 20, 15, slip, twice, other, unknown=2),
                who("SL", 20, 15, more, twice, slip, other),
                who("TU", 20, 19, unknown=1),
            ],
        ),
    )
    yield "one alone", of(observers=[who("KT", 5, 5)])
    yield "two apart", of(observers=[who("KT", 5, 4, slip), who("MB", 5, 5)])
    yield "nobody", of()
