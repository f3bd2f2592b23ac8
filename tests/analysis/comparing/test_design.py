"""How designs are laid out: contrasts by hand, and whose containers and clutches are whose."""

from itertools import product
from typing import Any

import numpy as np
import pytest
from msgspec.structs import replace

from rearlog.analysis.comparing.cohorts import ComparedCohort, Shared
from rearlog.analysis.comparing.design import Design, contrasts, go_together, laid_out
from rearlog.analysis.stages.events import event_history
from tests.builders import tiny_log

BY = ("food", "temperature")
PAIR = ComparedCohort("", "", event_history(tiny_log({"1": "egg", "2": "egg"})), None)
ALL = [*product(("leaf", "diet"), ("20", "25"))]


def crossed() -> list[ComparedCohort]:
    """Two individuals of each combination, a cohort each."""
    return [replace(PAIR, cohort="".join(each), levels=(each, each)) for each in ALL]


def within(**more: Any) -> list[ComparedCohort]:
    """A cohort of each temperature, two individuals of either food in it."""
    return [
        replace(PAIR, cohort=warm, levels=(("leaf", warm),) * 2 + (("diet", warm),) * 2, **more)
        for warm in ("20", "25")
    ]


def labels(design: Design) -> list[list[int]]:
    assert design.cluster_of is not None
    return [each.tolist() for each in design.cluster_of]


def test_containers_are_those_of_a_cohort_and_clutches_of_all() -> None:
    two = ("1", "1", "2", "2")
    design, shared = laid_out(within(containers=two), BY)
    assert (shared, labels(design)) == (Shared.CONTAINER, [[0, 0, 1, 1], [2, 2, 3, 3]])
    design, shared = laid_out(within(clutches=two), BY)
    assert (shared, labels(design)) == (Shared.CLUTCH, [[0, 0, 1, 1]] * 2)


def test_of_both_it_is_the_one_of_which_there_are_fewer() -> None:
    two, three = ("1", "1", "2", "2"), ("1", "2", "3", "3")
    assert laid_out(within(containers=two, clutches=three), BY)[1] is Shared.CLUTCH
    assert laid_out(within(containers=("1",) * 4, clutches=three), BY)[1] is Shared.CONTAINER
    assert laid_out(within(containers=two, clutches=("1", None, "2", None)), BY)[1] is (
        Shared.CONTAINER
    )


def test_who_shares_nothing_known_is_alone() -> None:
    alone = within(containers=("1", None, "2", None))
    design, shared = laid_out(alone, BY)
    assert (shared, design.cluster_of) == (None, None)
    design, shared = laid_out([replace(alone[0], containers=("1", "1", None, None)), alone[1]], BY)
    assert labels(design) == [[0, 0, 1, 2], [3, 4, 5, 6]]


def test_cohorts_are_counted_where_a_combination_or_a_level_has_several() -> None:
    twice = [*crossed(), replace(crossed()[0], cohort="again")]
    design, shared = laid_out(twice, BY)
    assert (shared, labels(design)) == (Shared.COHORT, [[place] * 2 for place in range(5)])
    assert laid_out(crossed(), BY)[1] is Shared.COHORT  # two cohorts of either food
    mixed = [replace(each, levels=tuple(ALL)) for each in crossed()[:1]]
    assert laid_out(mixed, BY)[1] is None


def test_cells_terms_and_columns_by_hand() -> None:
    """Contrasts that sum to 0: 1 and −1 of either factor, and their products."""
    (design, _) = laid_out(crossed(), BY)
    assert (design.cells, design.complete) == (tuple(ALL), True)
    assert [each.tolist() for each in design.cell_of] == [[0, 0], [1, 1], [2, 2], [3, 3]]
    assert design.terms == [(0,), (1,), (0, 1)]
    expected = [[1, 1, 1, 1], [1, 1, -1, -1], [1, -1, 1, -1], [1, -1, -1, 1]]
    assert design.columns(design.terms).tolist() == expected
    (three, _) = laid_out([*crossed(), replace(PAIR, levels=(("leaf", "30"),) * 2)], BY)
    assert (three.terms, [three.df(each) for each in three.terms]) == ([(0,), (1,)], [1, 2])
    assert contrasts(["a", "b", "c"]).tolist() == [[1, 0], [0, 1], [-1, -1]]
    assert np.linalg.matrix_rank(three.columns(three.terms)) == 4


@pytest.mark.parametrize(
    ("levels", "together"),
    [
        ([("leaf", "20"), ("diet", "25")], True),
        ([("leaf", "20"), ("diet", "25"), ("leaf", "25")], False),
        ([("leaf", "20"), ("diet", "25"), ("diet", None)], True),
        ([(None, "20"), ("diet", None)], True),
        (ALL, False),
    ],
)
def test_factors_go_together_where_one_is_never_without_the_other(
    levels: list[tuple[str | None, ...]], together: bool
) -> None:
    assert go_together(levels) is together
