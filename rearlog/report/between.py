"""The tables of the answers between cohorts. Nothing is computed here, only laid out."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from rearlog.report.tables import Table

if TYPE_CHECKING:
    from rearlog.analysis.compare import Comparison, GroupSummary
    from rearlog.analysis.thermal import StageThermal, Thermal


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
            "T0 and K: straight line through the rates (Campbell et al. 1974). RMA: reduced major "
            "axis (Ikemoto and Takai 2000). Optimum: of the curve of Brière et al. (1999).",
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
