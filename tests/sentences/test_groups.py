"""What is said of groups: that some are of none, that cohorts are what is counted, and plurals."""

import pytest
from msgspec.structs import replace

from rearlog.analysis.comparing.cohorts import Shared
from rearlog.analysis.statistics.differences import NoTest, Verdict
from rearlog.notebook import Notebook, compare, survival_by
from rearlog.records.command_text import in_browser
from rearlog.records.errors import UsageError
from rearlog.sentences.compare import beside, lead, notices
from rearlog.sentences.stage_comparison import reason
from rearlog.sentences.survival_by_group import died, not_known, things, words
from rearlog.sentences.survival_by_group import lead as survival_lead
from tests.builders import notebook_of, tiny_log


def kept(name: str, food: str | None, eggs: int = 2, died: int = 1) -> Notebook:
    """Six of which eggs took about so many days, and some that died as eggs."""
    lives = {str(n): "egg " * (eggs + n % 2) + "L1 L2 pupa adult" for n in range(6)}
    lives |= {f"d{n}": "egg dead" for n in range(died)}
    log = tiny_log(lives, name=name, laid=(-0.5, 0.0))
    return notebook_of(replace(log, cohort=replace(log.cohort, food=food)))


def replicates(count: int) -> list[Notebook]:
    """So many cohorts of each of two foods, one of which takes four days more."""
    return [
        kept(f"{food}{n}", food, eggs) for food, eggs in (("leek", 2), ("moss", 6))
        for n in range(count)
    ]  # fmt: skip


def test_cohorts_of_a_level_are_what_is_counted() -> None:
    result = compare(replicates(3), by="food")
    row = next(each for each in result.whole if each.unit == "days")
    assert (result.by, result.not_known) == ("food", 0)
    assert row.clustered_by == (Shared.COHORT,)
    assert [(each.cohort, each.n, each.clusters) for each in row.groups] == [
        ("leek", 18, 3), ("moss", 18, 3),
    ]  # fmt: skip
    assert lead(result).startswith("From egg to adult leek took 4.0 days less than moss: ")
    told = " ".join(notices(result))
    assert "The test of survival counts individuals all the same." in told
    assert "differ in" not in told
    assert "Individuals shared cohorts: the error of a mean is that of cohorts" in told
    assert "leek and moss have no temperatures that all of a group had" in told


def test_two_cohorts_of_a_level_or_one_are_too_few() -> None:
    row = compare(replicates(2), by="food").overall[0]
    assert (row.reason, row.verdict) == (NoTest.FEW_CLUSTERS, Verdict.NOT_TESTED)
    assert reason(row) == (
        "leek and moss had two cohorts and no more: too few to say how far cohorts differ; a test "
        "takes 3 cohorts or more in each group"
    )
    mixed = compare([*replicates(3)[:3], kept("alone", "moss", 6)], by="food").overall[0]
    assert mixed.reason is NoTest.ONE_CLUSTER
    assert "what comes of the cohort cannot be told from what comes of the group" in reason(mixed)


def test_what_else_sets_the_cohorts_of_a_group_apart_is_told() -> None:
    def warmed(notebook: Notebook, celsius: float) -> Notebook:
        cohort = replace(notebook.log.cohort, planned_celsius=celsius)
        return notebook.with_log(replace(notebook.log, cohort=cohort))

    every = replicates(3)
    mixed = compare([warmed(each, 20.0 + n % 2) for n, each in enumerate(every)], by="food")
    assert mixed.pooled_over == ("temperature",)
    told = " ".join(notices(mixed))
    assert "Cohorts of one group differ in temperature as well" in told
    assert "; to tell them apart: rearlog compare COHORT… --by food,temperature" in told
    assert not mixed.inseparable
    each_its_own = compare([warmed(each, 20.0 + n) for n, each in enumerate(every)], by="food")
    assert each_its_own.inseparable
    told = " ".join(notices(each_its_own))
    assert "; of these cohorts they cannot be told apart, as food and temperature go" in told
    assert "--by" not in told
    apart = [warmed(each, 20.0 + (n > 2)) for n, each in enumerate(every)]
    assert compare(apart, by="food").pooled_over == ()
    assert compare(apart, by="temperature").pooled_over == ()
    assert compare(every, by="food").pooled_over == ()


def test_one_cohort_of_each_level_is_compared_as_it_is() -> None:
    pair = [kept("a", "leek"), kept("b", "moss", 6)]
    grouped, bare = compare(pair, by="food"), compare(pair)
    for one, other in zip(grouped.stages, bare.stages, strict=True):
        assert (one.p, one.statistic, one.clustered_by) == (other.p, other.statistic, ())
    assert grouped.survival.p == bare.survival.p
    assert grouped.cohorts == ("leek", "moss")


def test_who_is_of_no_level_is_told() -> None:
    result = compare([*replicates(3), kept("x", None)], by="FOOD")
    assert (result.by, result.not_known) == ("food", 7)
    assert "The food of 7 more is not known: they are not compared." in notices(result)
    assert not_known("sex", 2, since_last=True) == (
        "The sex of 2 more is not known: they are not compared."
    )
    assert not_known("sex", 2).startswith("The sex of 2 more is not known. Where it shows in the")
    with pytest.raises(UsageError, match="there is no other food than leek"):
        compare([kept("a", "leek"), kept("b", None)], by="food")


def test_survival_of_groups_is_said_with_their_names() -> None:
    result = survival_by([kept("a", "leek", died=1), kept("b", "moss", died=4)], "food")
    assert (result.by, result.cohorts) == ("food", ("a", "b"))
    assert result.names == ("leek", "moss")
    assert [each.cohort for each in result.groups] == ["leek", "moss"]
    assert died(result) == "1 of 7 on leek died and 4 of 10 on moss died"
    assert words(result)[0].startswith("Survival: no difference shown (p = ")
    assert result.not_known == 0
    many = survival_by([kept(f"c{n}", f"f{n}", died=n) for n in range(9)], "food")
    assert died(many) == "0 % to 57 % died in 9 groups"
    four = survival_by([kept(f"c{n}", f"f{n}", died=n) for n in range(4)], "food")
    assert died(four).startswith("0 of 6 on f0 died, 1 of 7 on f1 died, 2 of 8 on f2 died and 3 of")
    alive = survival_by([kept("a", "leek", died=0), kept("b", "moss", died=0)], "food")
    assert words(alive) == (
        "Survival: no test, since nobody died; 0 of 6 on leek died and 0 of 6 on moss died.",
    )
    worse = survival_by([kept("a", "leek", died=1), kept("b", "moss", died=40)], "food")
    assert words(worse)[0].startswith("Survival: the foods differ (p < 0.001); 1 of 7 on leek died")
    assert survival_lead(worse) == (
        "The foods did not die alike in a and b: 1 of 7 on leek died and 40 of 46 on moss died."
    )
    assert "that lived to show it" not in " ".join(words(result))


def test_groups_are_said_as_one_speaks_of_them() -> None:
    def of(name: str, celsius: float, line: str) -> Notebook:
        book = kept(name, "leek")
        header = replace(book.log.cohort, planned_celsius=celsius, factors={"line": line})
        return book.with_log(replace(book.log, cohort=header))

    pair = [of("a", 19.0, "A"), of("b", 25.0, "B")]
    assert died(survival_by(pair, "temperature")) == "1 of 7 at 19 °C died and 1 of 7 at 25 °C died"
    assert died(survival_by(pair, "line")) == "1 of 7 of line A died and 1 of 7 of line B died"
    all_dead = [kept(f"c{n}", f"f{n}", died=0) for n in range(9)]
    assert died(survival_by(all_dead, "food")) == "0 % died in each of 9 groups"


def test_sexes_of_several_cohorts_are_groups_of_both() -> None:
    def sexed(name: str, days: int) -> Notebook:
        lives = {f"{sex}{n}": "adult " * days + "adult dead" for sex in "fm" for n in range(6)}
        log = tiny_log(lives, name=name)
        looks = tuple(
            replace(each, sex=each.individual[0]) if each.fate is None else each
            for each in log.all_observations
        )
        return notebook_of(replace(log, all_observations=looks))

    result = survival_by([sexed("a", 3), sexed("b", 9)], "sex")
    assert survival_lead(result).startswith(
        "The groups of sex and cohort together did not die alike in a and b: 6 of 6 of a, females "
    )
    assert words(result)[0].startswith(
        "Survival: the groups of sex and cohort together differ (p < 0.001), which does not say "
        "whether it is the sexes or the cohorts; "
    )
    alone = survival_by([sexed("a", 3)], "sex")
    assert "the sexes" in survival_lead(alone)
    assert died(alone) == "6 of 6 females died and 6 of 6 males died"


@pytest.mark.parametrize(
    ("by", "plural"),
    [("sex", "sexes"), ("clutch", "clutches"), ("container", "containers"), ("species", "species")],
)
def test_groups_of_a_factor_have_a_plural(by: str, plural: str) -> None:
    assert things(by) == plural


def test_many_groups_are_called_what_they_are_and_noted_once() -> None:
    sites = [
        each.with_log(replace(each.log, cohort=replace(each.log.cohort, site=f"School {n}")))
        for n, each in enumerate(replicates(6))
    ]
    found = compare(sites, by="site")
    assert len(found.days_only) == 12
    told = [each for each in notices(found) if "days only" in each]
    assert told == [
        "12 sites have no temperatures that all of a group had, or their species no lower "
        "threshold: they are compared in days only."
    ]
    assert "The 12 sites are compared all at once." in " ".join(notices(found))
    assert "rearlog compare COHORT… --by site --pairs" in " ".join(notices(found))
    assert "rearlog" not in " ".join(map(in_browser, notices(found)))
    assert "14 % died in each of 12 sites" in " ".join(beside(found))
    few = compare(sites[:2], by="site")
    assert notices(few)[0] == (
        "School 0 and School 1 have no temperatures that all of a group had, or their species no "
        "lower threshold: they are compared in days only."
    )


def test_one_group_alone_is_told_and_not_compared() -> None:
    alone = survival_by([kept("a", "leek", died=1), kept("b", None)], "food")
    assert survival_lead(alone) == (
        "Whether the foods differ in a and b cannot be told, since there is one food only: "
        "1 of 7 on leek died."
    )
    assert words(alone) == (
        "Survival: no test, since there is one food only; 1 of 7 on leek died.",
        "The food of 7 more is not known: they are not compared.",
    )
