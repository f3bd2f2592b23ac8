"""The tables in which people see the answers. Nothing is computed here, only laid out."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby
from typing import TYPE_CHECKING, Any

from rearlog.cli.present import Table
from rearlog.records.log import ConstantTemperature, DayExtremes, Struck, Temperature
from rearlog.records.wording import line_of, stamp
from rearlog.species.rules import quantities

if TYPE_CHECKING:
    from rearlog.records.profile import Profile, Quantity
    from rearlog.species.catalogue import Listing
    from rearlog.analysis.compare import Comparison, GroupSummary
    from rearlog.analysis.durations import Durations, StageDuration
    from rearlog.analysis.growth import Growth
    from rearlog.analysis.heat import Heat
    from rearlog.analysis.survival import Survival
    from rearlog.analysis.thermal import StageThermal, Thermal
    from rearlog.notebook import History


def between(interval: Sequence[float | None] | None, digits: int = 1) -> str | None:
    """A range as people read it; an upper end that is not known stays open."""
    if interval is None:
        return None
    low, high = interval
    return f">{low:.{digits}f}" if high is None else f"{low:.{digits}f}–{high:.{digits}f}"


def durations_tables(result: Durations) -> list[Table]:
    """What became of those who entered each stage, and how long it took."""
    fates = Table(
        f"{result.cohort} ({result.species}): what became of those who entered each stage",
        ["stage", "entered", "done", "died", "lost", "removed", "still in", "start unknown"],
        [
            [
                each.stage,
                each.entered,
                each.completed,
                each.died,
                each.lost,
                each.removed,
                each.in_stage,
                each.start_unknown,
            ]
            for each in result.stages
        ],
    )
    days = Table(
        "Days in the stage, of those who completed it",
        ["stage", "n", "mean", "SD", "median", "range", "±", "half by", "expected", "outside"],
        [_days_row(each) for each in result.stages],
        [
            "±: how far off one duration can be, since a look a day sees only between which checks",
            "a molt fell. Half by: when half were done, counting those who died or are still in it",
            "(Turnbull's estimate). Outside: individuals that cannot have been in that range.",
            "",
            *_bases(result.stages),
        ],
    )
    return [fates, days]


def _days_row(each: StageDuration) -> list[Any]:
    width = each.interval_width
    spread = None if each.min is None else between((each.min, each.max))
    return [
        each.stage,
        each.completed,
        each.mean,
        each.sd,
        each.median,
        spread,
        None if width is None else width / 2,
        between(each.npmle_median),
        between(each.expected),
        each.outside,
    ]


def _bases(stages: Sequence[StageDuration]) -> list[str]:
    lines = []
    for text, group in groupby(stages, key=lambda each: each.basis):
        lines.append(f"Expected for {', '.join(each.stage for each in group)}: {text}.")
    return lines


def individuals_table(result: Durations) -> list[Table]:
    """Every individual in every stage."""
    return [
        Table(
            f"{result.cohort}: days of each individual",
            ["individual", "stage", "days", "between", "outcome", "DD", "expected", "outside"],
            [
                [
                    each.individual,
                    each.stage,
                    each.days,
                    None if each.low is None else between((each.low, each.high)),
                    each.outcome,
                    each.degree_days,
                    between(each.expected),
                    each.outside or "",
                ]
                for each in result.individuals
            ],
        )
    ]


def heat_tables(result: Heat, *, daily: bool = False) -> list[Table]:
    """The degree-days of each stage, and with `daily` of each day."""
    upper = f", upper {result.upper:g} °C ({result.cutoff} cutoff)" if result.upper else ""
    covered = result.coverage
    words = [
        f"Of {covered.days} days, {covered.recorded} have a temperature on record, "
        f"{covered.filled} are filled from the days beside them, {covered.missing} are missing."
    ]
    if result.missing_dates:
        words.append(f"Missing: {', '.join(map(str, result.missing_dates))}.")
    stages = Table(
        f"{result.cohort}: degree-days above {result.lower:g} °C{upper}, {result.method}",
        ["stage", "n", "mean DD", "SD", "SE", "range", "expected"],
        [
            [
                each.stage,
                each.n,
                each.mean,
                each.sd,
                each.se,
                None if each.min is None else between((each.min, each.max)),
                between(each.expected),
            ]
            for each in result.stages
        ],
        words,
    )
    if not daily:
        return [stages]
    days = Table(
        "Day by day",
        ["date", "DD", "total", ""],
        [
            [str(each.date), each.degree_days, each.cumulative, "filled" if each.filled else ""]
            for each in result.daily
        ],
    )
    return [days, stages]


def survival_tables(result: Survival) -> list[Table]:
    """Deaths by stage, causes, the life table by age, and the answer in words."""
    stages = Table(
        f"{result.cohort}: survival by stage, n = {result.n}",
        ["stage", "entered", "died", "lost", "removed", "completed", "q", "95 % limits", "k"],
        [
            [
                each.stage,
                each.entered,
                each.died,
                each.lost,
                each.removed,
                each.completed,
                each.q,
                between((each.q_low, each.q_high), 2) if each.q_low is not None else None,
                each.k,
            ]
            for each in result.stage_table
        ],
        ["q: the part of those whose fate in the stage is known that died in it."],
    )
    causes = Table(
        "Causes of death",
        ["cause", "stage", "deaths"],
        [[each.cause or "not noted", each.stage, each.deaths] for each in result.causes],
    )
    ages = Table(
        "Life table by age in days",
        ["x", "n", "l", "d", "q", "L", "T", "e"],
        [
            [each.x, each.n, each.l, each.d, each.q, each.L, each.T, each.e]
            for each in result.life_table
        ],
        result.words,
    )
    return [stages, *([causes] if result.causes else []), ages]


def history_tables(result: History) -> list[Table]:
    """The records in the order of writing."""
    checks = Table(
        f"{result.cohort}: records",
        ["no.", "seen", "entry", "by", "struck out"],
        [
            [str(each.number), stamp(each.at), line_of(each), each.by or "", _struck(each.struck)]
            for each in result.observations
        ],
    )
    temperatures = Table(
        "Temperatures",
        ["no.", "when", "°C", "struck out"],
        [
            [f"T{each.number}", *_temperature(each), _struck(each.struck)]
            for each in result.temperatures
        ],
    )
    return [checks, *([temperatures] if result.temperatures else [])]


def _struck(struck: Struck | None) -> str:
    if struck is None:
        return ""
    who = f" by {struck.by}" if struck.by else ""
    return f"{stamp(struck.at)}{who}: {struck.because}"


def _temperature(record: Temperature) -> tuple[str, str]:
    if isinstance(record, DayExtremes):
        return str(record.date), f"{record.min_c:g} to {record.max_c:g}"
    if isinstance(record, ConstantTemperature):
        return f"{record.first} to {record.last or 'now'}", f"{record.celsius:g} constant"
    span = f"{min(record.celsius):g} to {max(record.celsius):g}"
    return f"from {stamp(record.at)}", f"{span} in {len(record.celsius)} readings"


def species_table(listings: Sequence[Listing]) -> list[Table]:
    """The bundled profiles."""
    rows = [[each.id, each.name, each.scientific_name] for each in listings]
    return [Table("Species profiles", ["id", "name", "species"], rows)]


def profile_tables(profile: Profile) -> list[Table]:
    """One profile: thresholds and stages with their sources, signs, and cautions."""
    values = [
        [place, value_text(quantity), profile.sources[quantity.source].kind, quantity.source]
        for place, _, quantity in quantities(profile)
    ]
    signs = [
        [stage.code, sign.text, profile.sources[sign.source].kind]
        for stage in profile.stages
        for sign in stage.signs
    ]
    sources = [[key, each.kind, each.citation] for key, each in profile.sources.items()]
    title = f"{profile.name} ({profile.scientific_name})"
    return [
        Table(title, ["what", "value", "known from", "source"], values),
        Table("How to tell the stages", ["stage", "sign", "known from"], signs),
        Table("Sources", ["key", "kind", "citation"], sources, profile.cautions),
    ]


def value_text(quantity: Quantity) -> str:
    """A value of a profile with its spread and the temperatures that it holds for."""
    parts = []
    if quantity.value is not None:
        parts.append(f"{quantity.value:g}")
    if quantity.sd is not None:
        parts.append(f"± {quantity.sd:g} (SD)")
    if quantity.low is not None:
        parts.append(f"{quantity.low:g} to {quantity.high:g}")
    if quantity.at_celsius is not None:
        low, high = quantity.at_celsius
        parts.append(f"at {low:g} °C" if low == high else f"at {low:g} to {high:g} °C")
    return " ".join(parts)


def growth_tables(result: Growth) -> list[Table]:
    """Head widths by instar, and the series of what was measured."""
    widths = Table(
        f"{result.cohort}: head capsule width by instar, mm",
        ["instar", "n", "mean", "SD", "ratio", "profile"],
        [
            [
                each.stage,
                each.n,
                each.head_width_mm_mean,
                each.sd,
                each.ratio_to_previous,
                each.expected,
            ]
            for each in result.instars
        ],
        result.words,
    )
    series = Table(
        "Measured",
        ["individual", "day", "stage", "DD", "length mm", "head mm", "mass mg"],
        [
            [
                each.individual,
                each.day,
                each.stage,
                each.degree_days,
                each.length_mm,
                each.head_width_mm,
                each.mass_mg,
            ]
            for each in result.series
        ],
    )
    return [series, widths]


def comparison_tables(result: Comparison) -> list[Table]:
    """Stage by stage in days and in degree-days, then what it says."""
    tables = []
    for unit in dict.fromkeys(row.unit for row in result.stages):
        rows = [row for row in result.stages if row.unit == unit]
        tables.append(
            Table(
                f"Mean ± SD (n) in {unit}",
                ["stage", *result.cohorts, "p", "p (Holm)"],
                [
                    [
                        row.stage,
                        *(_group_text(group) for group in row.groups),
                        _p(row.p),
                        _p(row.p_holm),
                    ]
                    for row in rows
                ],
                [row.words for row in rows],
            )
        )
    return [*tables, Table("Survival", [], [], [result.survival.words])]


def _group_text(group: GroupSummary) -> str:
    if group.mean is None:
        return f"– ({group.n})"
    spread = "" if group.sd is None else f" ± {group.sd:.2f}"
    return f"{group.mean:.2f}{spread} ({group.n})"


def _p(p: float | None) -> str | None:
    return None if p is None else "<0.001" if p < 0.001 else f"{p:.3f}"


def thermal_tables(result: Thermal) -> list[Table]:
    """The points, the models, and what they say."""
    points = Table(
        f"{result.species}: mean days at the mean temperature while in the stage",
        ["stage", "cohort", "°C", "days", "SE", "rate", "n", ""],
        [
            [
                each.stage,
                point.cohort,
                point.temperature,
                point.days,
                point.days_se,
                f"{point.rate:.4f}",
                point.n,
                "" if point.used else "left out",
            ]
            for each in result.stages
            for point in each.points
        ],
    )
    constants = Table(
        "Lower threshold T0 (°C) and thermal constant K (degree-days)",
        ["stage", "T0", "SE", "K", "SE", "r²", "T0 (RMA)", "K (RMA)", "optimum"],
        [_constants(each) for each in result.stages],
        [
            "T0 and K: straight line through the rates (Campbell et al. 1974); RMA: reduced major",
            "axis (Ikemoto and Takai 2000); optimum of the curve of Brière et al. (1999).",
            "",
            *[f"{each.stage}: {' '.join(each.words)}" for each in result.stages],
            *[
                f"{each.stage}, no curve: {each.no_curve}."
                for each in result.stages[-1:]
                if each.no_curve
            ],
            *([f"Left out: {', '.join(result.left_out)}."] if result.left_out else []),
        ],
    )
    return [points, constants]


def _constants(each: StageThermal) -> list[Any]:
    line, axis, curve = each.linear, each.ikemoto_takai, each.curve
    return [
        each.stage,
        line and line.threshold,
        line and line.threshold_se,
        line and line.constant,
        line and line.constant_se,
        line and line.r2,
        axis and axis.threshold,
        axis and axis.constant,
        curve and curve.optimum,
    ]
