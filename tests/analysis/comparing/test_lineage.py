"""Who comes from whom: by hand, and against a plain walk over random families."""

import json
import random
from collections.abc import Sequence
from datetime import timedelta
from functools import cache
from pathlib import Path

import pytest
from msgspec.structs import replace

from rearlog.analysis.comparing.lineage import kin, named_parents
from rearlog.analysis.statistics.differences import Verdict
from rearlog.notebook import Notebook, lineage
from rearlog.present.json import to_json
from rearlog.present.lineage import flat_lineage, lineage_tables
from rearlog.records.errors import UsageError
from rearlog.sentences.lineage import lead, words
from tests.builders import START, notebook_of, tiny_log

SAMPLES = Path(__file__).parents[3] / "sample_cohorts" / "life_table"


def lived(name: str, origins: Sequence[str] = (), *, eggs: int = 2, start: int = 0) -> Notebook:
    """Six that were eggs for some days, or up to two more, and reached adulthood but for one."""
    line = "L1 L2 pupa adult"
    lives = {str(n): "egg " * (eggs + n % 3) + line for n in range(5)} | {"5": "egg dead"}
    log = tiny_log(lives, name=name, laid=(-0.5, 0.0))
    header = replace(log.cohort, origins=tuple(origins), started=START + timedelta(days=start))
    return notebook_of(replace(log, cohort=header))


def test_generations_count_by_the_longest_way() -> None:
    found = kin({"a": (), "b": ("a:1,2",), "c": ("a", "b"), "d": ("gone",), "e": ()})
    assert found.generation == {"a": 0, "b": 1, "c": 2, "d": 1, "e": 0, "gone": 0}
    assert found.parents == {"a": (), "b": ("a",), "c": ("a", "b"), "d": ("gone",), "e": (),
                             "gone": ()}  # fmt: skip
    assert found.children["a"] == ("b", "c")
    assert found.families() == [["a", "b", "c"], ["d", "gone"], ["e"]]
    assert found.tree(["a", "b", "c"]) == [("a", 0), ("b", 1), ("c", 1)]
    assert found.tree(["d", "gone"]) == [("gone", 0), ("d", 1)]


@pytest.mark.parametrize("seed", range(20))
def test_random_families_against_a_plain_walk(seed: int) -> None:
    rng = random.Random(seed)
    names = [f"c{n}" for n in range(12)]
    origins = {
        name: tuple(rng.sample(names[:place], k=min(place, rng.randrange(3))))
        for place, name in enumerate(names)
    }
    shuffled = {name: origins[name] for name in rng.sample(names, len(names))}
    found = kin(shuffled)

    @cache
    def longest(name: str) -> int:
        return max((longest(each) + 1 for each in origins[name]), default=0)

    def reached(name: str, seen: set[str]) -> set[str]:
        seen.add(name)
        near = {*origins[name], *(each for each in names if name in origins[each])}
        for each in near - seen:
            reached(each, seen)
        return seen

    assert found.generation == {name: longest(name) for name in names}
    families = found.families()
    assert {frozenset(each) for each in families} == {
        frozenset(reached(name, set())) for name in names
    }
    assert [len(each) for each in families] == sorted(map(len, families), reverse=True)
    for family in families:
        tree = found.tree(family)
        assert sorted(name for name, _ in tree) == sorted(family)
        above: list[str] = []
        for name, depth in tree:
            assert above[:depth][-1:] == [*origins[name][:1]]
            above = [*above[:depth], name]


def test_a_circle_is_named_as_it_goes() -> None:
    with pytest.raises(UsageError) as told:
        kin({"x": ("a",), "a": ("b",), "b": ("c", "y"), "c": ("a",), "y": ()})
    assert "a comes from b, b comes from c, c comes from a: that is a circle" in str(told.value)


def test_generations_are_compared_as_groups_of_cohorts() -> None:
    result = lineage([
        lived("p"), lived("f1", ["p:1,2"], eggs=6, start=20), lived("f2", ["f1"], start=40),
        lived("other"),
    ])  # fmt: skip
    (family,) = result.families
    assert family.generations == (("p",), ("f1",), ("f2",))
    assert result.alone == ("other",)
    assert family.comparison is not None
    assert family.comparison.cohorts == ("generation 0", "generation 1", "generation 2")
    figures = [each.figures for each in family.members]
    # eggs of 2 to 4 days by looks a day apart: into L1 half a day before it is seen, and so on
    assert [each and (each.n, each.completed) for each in figures] == [(6, 5)] * 3
    days = [each.days for each in figures if each]
    assert days[1] == pytest.approx(days[0] + 4)
    assert days[2] == days[0]
    assert figures[0] is not None
    assert (figures[0].reached.reached, figures[0].reached.n) == (5, 6)
    assert figures[0].r0 is None
    (whole,) = [each for each in family.comparison.whole if each.unit == "days"]
    assert whole.verdict is Verdict.DIFFER
    assert lead(result) == "3 generations, from p to f2."
    said = " ".join(words(result))
    assert "generation 2 took" in said or "generation 0 took" in said
    assert "other comes from none, and none from them." in said


def test_what_does_not_fit_is_told() -> None:
    result = lineage([lived("p", start=9), lived("f", ["p:1,Q", "gone"]), lived("g", ["gone"])])
    (family,) = result.families
    gone = next(each for each in family.members if each.cohort == "gone")
    assert (gone.missing, gone.generation, gone.children) == (True, 0, ("f", "g"))
    parents = next(each for each in family.members if each.cohort == "f").parents
    assert (parents[0].strangers, parents[0].later) == (("Q",), True)
    logs = {"p": lived("p", start=9).log}
    assert named_parents(lived("f", ["p:1,Q", "gone"]).log, logs) == parents
    assert named_parents(lived("f", ["p:1,Q"], start=9).log, logs)[0].later is False
    said = words(result)
    assert "f comes from Q of p, which has no such individual." in said
    assert "f began before p, from which it comes." in said
    assert "f and g come from gone, which is not among these cohorts." in said


def test_several_families_or_none() -> None:
    apart = lineage([lived("a"), lived("b", ["a"]), lived("c"), lived("d", ["c"]),
                     lived("e", ["d"])])  # fmt: skip
    assert lead(apart) == "3 generations, from c to e. 1 more family: 2 generations, from a to b."
    numbered = flat_lineage(lineage([lived("a"), lived("b", ["a"]), lived("c")])).rows
    assert [row[:5] for row in numbered] == [
        [1, "a", 0, "", False], [1, "b", 1, "a", False], [None, "c", None, None, False],
    ]  # fmt: skip
    assert lead(lineage([lived("a"), lived("b")])) == "No cohort names one that it comes from."
    assert lead(lineage([lived("a")])) == "a names no cohort that it comes from."
    half = lineage([lived("b", ["a"])])
    assert half.families[0].comparison is None
    assert lead(half) == "2 generations, from a to b."
    with pytest.raises(UsageError, match="given twice"):
        lineage([lived("a"), lived("a")])


def test_tables_rows_and_json_of_cohorts_with_eggs() -> None:
    """The invented life-table study, said to be three generations."""
    names = ("dock-19", "dock-22", "dock-25")
    origins = ((), ("dock-19:1",), ("dock-22", "gone"))
    notebooks = []
    for name, of in zip(names, origins, strict=True):
        notebook = Notebook(SAMPLES / f"{name}.json")
        header = replace(notebook.log.cohort, origins=of)
        notebooks.append(notebook.with_log(replace(notebook.log, cohort=header)))
    result = lineage(notebooks)
    tree, *full = lineage_tables(result)
    assert tree.title == "dock-19 and what comes of it"
    assert [row[:3] for row in tree.rows] == [
        ["dock-19", 0, ""], ["└ dock-22", 1, "dock-19 (1)"],
        ["  └ dock-25", 2, "dock-22 and gone"], ["gone", 0, "not among these"],
    ]  # fmt: skip
    alone = notebooks[0].reproduction()
    r0 = next(each for each in alone.estimates if str(each.measure) == "R0")
    assert r0.estimate is not None
    assert r0.low is not None
    assert r0.high is not None
    assert tree.rows[0][6] == f"{r0.estimate:.1f} ({r0.low:.1f}–{r0.high:.1f})"
    assert all(each.full for each in full)
    rows = flat_lineage(result)
    assert [row[1] for row in rows.rows] == ["dock-19", "dock-22", "dock-25", "gone"]
    first = result.families[0].members[0].figures
    assert first is not None
    known = [first.n, first.completed, first.days, first.reached.fraction, r0.estimate, r0.se]
    assert rows.rows[0] == [1, "dock-19", 0, "", False, *known]
    assert rows.rows[3][4:] == [True, *[None] * 6]
    document = json.loads(to_json(result))
    assert document["families"][0]["members"][1]["parents"][0]["individuals"] == ["1"]
    assert document["lead"] == "3 generations, from dock-19 and gone to dock-25."


def test_survival_of_generations_is_up_to_adulthood_and_tells_who_still_lives() -> None:
    """All adults of the first have died since, which says nothing of those that are larvae yet."""
    old = {str(n): "L1 L2 pupa adult dead" for n in range(7)} | {"7": "L1 dead"}
    young = {str(n): "L1 L2 L2" for n in range(8)} | {"8": "L1 dead"}
    books = []
    for name, lives, origins in (("p", old, ()), ("f", young, ("p",))):
        log = tiny_log(lives, name=name)
        header = replace(log.cohort, origins=origins)
        books.append(notebook_of(replace(log, cohort=header)))
    result = lineage(books)
    comparison = result.families[0].comparison
    assert comparison is not None
    assert [each.died for each in comparison.survival.groups] == [1, 1]
    (said,) = [each for each in words(result) if each.startswith("Survival")]
    assert said.startswith("Survival to adult: no difference shown (p = ")
    assert said.endswith(
        "; in generation 0 7 of 8 reached adulthood, 1 died before; in generation 1 0 of 9 reached "
        "adulthood, 1 died before, 8 may yet."
    )
