"""Answers as flat rows for spreadsheets and programs: one kind of row, one value a cell."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Any, get_args, get_origin, get_type_hints

from msgspec import Struct

from rearlog.analysis.hints import hints_of, is_pair, is_result, known
from rearlog.present.tables import Table
from rearlog.records.fields import Marked
from rearlog.records.groups import NOT_KNOWN

if TYPE_CHECKING:
    from rearlog.analysis.comparing.compare import Comparison
    from rearlog.analysis.comparing.factorial import Factorial
    from rearlog.analysis.comparing.stage_comparison import StageComparison
    from rearlog.analysis.comparing.survival_by_group import SurvivalByGroup
    from rearlog.analysis.comparing.survival_difference import SurvivalComparison
    from rearlog.analysis.comparing.thermal import Thermal
    from rearlog.analysis.stages.durations import StageDuration

_ENDS = ("low", "high")
_TEST = ("test", "counted", "statistic", "p", "p_holm", "intraclass")
_DIFFERENCE = ("estimate", "low", "high")
_GROUP = (
    "cohort",
    "n",
    "mean",
    "se",
    "sd",
    "median",
    "mean_of",
    "mean_of_all",
    "mean_of_all_low",
    "mean_of_all_high",
    "clusters",
    "letters",
)
_EFFECT = ("term", "df", "chi2", "f", "freedom", "p", "p_holm", "verdict")
_POINT = (
    "cohort",
    "temperature",
    "temperature_sd",
    "daily_range",
    "days",
    "days_se",
    "rate",
    "residual",
    "n",
    "in_stage",
    "used",
)
_LINE = (
    "threshold",
    "threshold_se",
    "threshold_low",
    "threshold_high",
    "constant",
    "constant_se",
    "constant_low",
    "constant_high",
    "slope",
    "intercept",
    "r2",
)
_WEIGHTED = ("threshold", "threshold_se", "constant", "constant_se")
_AXIS = ("threshold", "threshold_se", "constant", "constant_se", "r2")
_BEST = ("law", "threshold", "optimum", "upper", "aicc", "weight")
_SWINGING = ("threshold", "threshold_low", "threshold_high", "constant", "cv", "swing")


_STRUCK = ("struck_at", "struck_because", "struck_by")

Instead = Mapping[str, tuple[Sequence[str], Callable[[Any], Sequence[Any]]]]
"""For the name of a field the columns that stand in its place, and their cells of a row."""


def _struck(record: Marked) -> Sequence[Any]:
    mark = record.struck
    return (None, None, None) if mark is None else (mark.at, mark.because, mark.by)


def flat(kind: type[Struct], rows: Sequence[Any], instead: Instead | None = None) -> Table:
    """Structs of one kind, their fields as columns whether there are any rows or not.

    A pair becomes two columns, `_low` and `_high`; a struct within one a column a field, its
    name in front; a list one cell of words. Lists of structs and mappings, which fit in no
    cell, are left to the JSON.
    """
    hints, instead = get_type_hints(kind), instead or {}
    if issubclass(kind, Marked):
        instead = {"marks": (_STRUCK, _struck), **instead}
    columns: list[str] = []
    cells: list[list[Any]] = [[] for _ in rows]
    for name in kind.__struct_fields__:
        if name in instead:
            names, of = instead[name]
            found = [of(row) for row in rows]
        elif _fits(hints[name]):
            names = list(_columns(name, hints[name]))
            found = [list(_cells(getattr(row, name), hints[name])) for row in rows]
        else:
            continue
        columns += names
        for line, values in zip(cells, found, strict=True):
            line += values
    return Table("", columns, cells)


def rows_of(result: Any, key: str) -> Table:
    """The list that a result holds under a key, as `flat` lays it out."""
    kind: Any = type(result)
    return flat(get_args(hints_of(kind)[key])[0], getattr(result, key))


def _fits(hint: Any) -> bool:
    hint = known(hint)
    kind = get_origin(hint)
    listed, *_ = get_args(hint) or (None,)
    return not (isinstance(kind, type) and issubclass(kind, Mapping)) and not (
        kind in (list, tuple) and is_result(listed)
    )


def _columns(name: str, hint: Any) -> Iterator[str]:
    hint = known(hint)
    if is_pair(hint):
        yield from (f"{name}_{end}" for end in _ENDS)
    elif is_result(hint):
        inner = get_type_hints(hint)
        for field in hint.__struct_fields__:
            yield from _columns(f"{name}_{field}", inner[field])
    else:
        yield name


def _cells(value: Any, hint: Any) -> Iterator[Any]:
    hint = known(hint)
    if is_pair(hint):
        yield from value or (None, None)
    elif is_result(hint):
        inner = get_type_hints(hint)
        for field in hint.__struct_fields__:
            yield from _cells(getattr(value, field, None), inner[field])
    elif isinstance(value, list | tuple):
        yield " ".join(map(str, value))
    else:
        yield value


def flat_durations(stages: Sequence[StageDuration]) -> Table:
    """A row a stage, with the lower and the upper quartile: the median has columns of its own.
    What the expected range rests on is said in words."""
    from rearlog.analysis.stages.durations import StageDuration  # start-up time
    from rearlog.sentences.expected import basis_words

    def columns(name: str) -> list[str]:
        return [
            name.format(f"{which}_quartile_{end}") for which in ("lower", "upper") for end in _ENDS
        ]

    def quartiles(pairs: Sequence[tuple[float, float | None] | None]) -> list[float | None]:
        return [end for pair in pairs[::2] for end in pair or (None, None)]

    instead: Instead = {
        "quartile_bounds": (columns("{}"), lambda each: quartiles(each.quartile_bounds)),
        "npmle_quartiles": (columns("npmle_{}"), lambda each: quartiles(each.npmle_quartiles)),
        "rests_on": (["basis"], lambda each: [basis_words(each.rests_on)]),
    }
    return flat(StageDuration, stages, instead)


def flat_by_group(result: SurvivalByGroup, *, kaplan_meier: bool) -> Table:
    """The life table of each group, or its curve, with the group's level in front; with those of
    several cohorts, whose groups have no level alone, its name."""
    from rearlog.analysis.statistics.kaplan_meier import KaplanMeierRow  # start-up time
    from rearlog.analysis.statistics.life_table import LifeTableRow

    kind = KaplanMeierRow if kaplan_meier else LifeTableRow
    parts = [
        flat(kind, each.kaplan_meier if kaplan_meier else each.life_table) for each in result.groups
    ]
    levels = [each.level or NOT_KNOWN for each in result.groups]
    apart = len(set(levels)) == len(levels)
    return grouped_rows(result.by, levels if apart else result.names, parts)


def grouped_rows(by: str, names: Sequence[str], parts: Sequence[Table]) -> Table:
    """Flat rows of groups one below the other, what each group is called in front."""
    rows = [[name, *row] for name, part in zip(names, parts, strict=True) for row in part.rows]
    return Table("", [by, *parts[0].columns], rows)


def flat_comparison(result: Comparison) -> Table:
    """A row a stage, unit and cohort; what holds for the stage is repeated.

    The differences, of medians and of means, are those of two cohorts, the first less the second;
    the ratio is that of their means, where the test counts everybody. From the last stage on there
    are no stages, and it is a row a cohort, of how long they lived.
    """
    from rearlog.sentences.stage_comparison import reason  # start-up time

    if result.survival.of_last_stage:
        return _flat_longevity(result.survival)
    differences = [
        f"{what}_{name}" for what in ("medians", "means", "ratio") for name in _DIFFERENCE
    ]
    return Table(
        "",
        ["stage", "unit", *_GROUP, "tested", *_TEST, "reason", *differences],
        [
            [
                row.stage,
                row.unit,
                *_values(group, _GROUP),
                row.p is not None and group.cohort not in row.left_out,
                *_values(row, _TEST),
                reason(row),
                *_differences(row),
            ]
            for row in result.stages
            for group in row.groups
        ],
    )


def flat_factorial(result: Factorial) -> Table:
    """A row a stage and term of a design: what the term adds."""
    return Table(
        "",
        ["stage", "family", *_EFFECT, "reason"],
        [
            [row.stage, row.family, *_values(effect, _EFFECT), row.reason]
            for row in result.stages
            for effect in (row.effects or (None,))
        ],
    )


def _flat_longevity(result: SurvivalComparison) -> Table:
    """How many died of each cohort and when half had, and what the test between them says."""
    group, half = ("cohort", "n", "died", "expected"), ("low", "high")
    limits = tuple(f"population_{end}" for end in half)
    test = ("chi2", "df", "p", "verdict", "reason")
    return Table(
        "",
        ["since", *group, *(f"half_died_{end}" for end in (*half, *limits)), *test],
        [
            [
                result.since,
                *_values(each, group),
                *_values(each.median, (*half, *limits)),
                *_values(result, test),
            ]
            for each in result.groups
        ],
    )


def _differences(row: StageComparison) -> list[Any]:
    pair = row.pairs[0] if row.difference is not None else None
    return [
        *_values(pair and pair.medians, _DIFFERENCE),
        *_values(pair and pair.means, _DIFFERENCE),
        *_values(pair and pair.ratio, _DIFFERENCE),
    ]


def flat_thermal(result: Thermal) -> Table:
    """A row a stage and point; the constants of the stage are repeated."""
    models = {
        "linear": _LINE,
        "weighted": _WEIGHTED,
        "ikemoto_takai": _AXIS,
        "best_curve": _BEST,
        "swinging": _SWINGING,
    }
    return Table(
        "",
        [
            "stage",
            *_POINT,
            *(f"{model}_{name}" for model, of in models.items() for name in of),
            "objections",
        ],
        [
            [
                each.stage,
                *_values(point, _POINT),
                *(
                    value
                    for model, of in models.items()
                    for value in _values(getattr(each, model), of)
                ),
                " ".join(each.objections),
            ]
            for each in result.stages
            for point in each.points
        ],
    )


def _values(of: Any, names: Sequence[str]) -> list[Any]:
    """The values by these names; all unknown where there is nothing to have them."""
    return [None if of is None else getattr(of, name) for name in names]
