import numpy as np
import pytest
from lifelines import KaplanMeierFitter
from msgspec.structs import replace

from rearlog.analysis.stages.events import event_history
from rearlog.analysis.survival.survival import Fates, ReachedEnd, Survival, deaths_between, survival
from rearlog.analysis.survival.watch import Watched, until_grown, watched
from rearlog.records.errors import UsageError
from rearlog.sentences.survival import words
from tests.builders import seen, tiny_log
from tests.invented_histories import looked_at

LIVES = {
    "1": "egg egg L1 L1 dead:mould",
    "2": "egg dead",
    "3": "egg egg L1 L2 pupa adult",
    "4": "egg egg L1 L1 lost",
    "5": "egg egg L1 L2 removed:preserved",
    "6": "egg egg L1 L2 dead:mould",
}


def answer(lives: dict[str, str], *span: str) -> Survival:
    return survival("tiny", event_history(tiny_log(lives)), *span)


def test_deaths_of_one_cause_stand_together_in_the_order_of_the_stages() -> None:
    """Of virus 4 died, of mould 3; of one by itself that was noted and that was not."""
    pupa, larva = "egg L1 L2 pupa", "egg L1"
    lives = [
        *(f"{pupa} dead:virus", f"{pupa} dead:virus", f"{larva} dead:virus", "egg dead:virus"),
        *(f"{pupa} dead:mould", f"{larva} dead:mould", f"{larva} dead:mould"),
        *("egg dead", f"{larva} dead:wasps"),
    ]
    found = answer({str(n): life for n, life in enumerate(lives)})
    assert [(each.cause, each.stage, each.deaths) for each in found.causes] == [
        ("virus", "egg", 1),
        ("virus", "L1", 1),
        ("virus", "pupa", 2),
        ("mould", "L1", 2),
        ("mould", "pupa", 1),
        ("wasps", "L1", 1),
        (None, "egg", 1),
    ]
    (told,) = (each for each in words(found) if each.startswith("Deaths: "))
    assert told == (
        "Deaths: 1 virus (egg), 1 virus (L1), 2 virus (pupa), 2 mould (L1), 1 mould (pupa), "
        "1 wasps (L1), 1 without a noted cause (egg)."
    )


def test_deaths_outside_of_a_span_are_no_deaths_of_a_cause_in_it() -> None:
    """As eggs 2 died of mould, from then on 1 of mould and 2 of virus."""
    lives = ["egg dead:mould", "egg dead:mould", "egg L1 dead:mould"]
    lives += ["egg L1 dead:virus", "egg L1 L2 dead:virus"]
    found = answer({str(n): life for n, life in enumerate(lives)}, "L1")
    assert [(each.cause, each.stage, each.deaths) for each in found.causes] == [
        ("virus", "L1", 1),
        ("virus", "L2", 1),
        ("mould", "L1", 1),
    ]


def test_deaths_count_when_found_losses_when_last_seen() -> None:
    seen = watched(event_history(tiny_log(LIVES)))
    assert seen.days.tolist() == [4, 1, 5, 3, 4, 4]
    assert seen.died.tolist() == [True, True, False, False, False, True]
    assert seen.low.tolist() == [3, 0, 5, 3, 4, 3]  # a death found is one since the last look
    assert seen.high.tolist() == [4, 1, np.inf, np.inf, np.inf, 4]


def test_until_they_are_grown_deaths_of_adults_are_none() -> None:
    """The first died as an adult after day 2, the third came in as one; the second did not grow up,
    the fourth lives on."""
    lives = {
        "1": "pupa pupa adult - dead",
        "2": "egg L1 dead",
        "3": "adult adult dead",
        "4": "egg L1 adult",
    }
    history = event_history(tiny_log(lives))
    every = watched(history)
    assert every.days.tolist() == [4, 2, 2, 2]
    assert every.died.tolist() == [True, True, True, False]
    found = until_grown(every, history)
    assert found.days.tolist() == [2, 2, 1, 2]
    assert found.died.tolist() == [False, True, False, False]
    assert found.low.tolist() == [2, 1, 1, 2]
    assert found.high.tolist() == [np.inf, 2, np.inf, np.inf]


def test_the_curve_agrees_with_a_reference_library() -> None:
    rows = answer(LIVES).kaplan_meier
    fitter = KaplanMeierFitter().fit([4, 1, 5, 3, 4, 4], [1, 1, 0, 0, 0, 1])
    for row in rows:
        assert row.survival == pytest.approx(float(fitter.predict(row.day)))


def test_the_stage_table_counts_each_fate_in_its_stage() -> None:
    table = {row.stage: row for row in answer(LIVES).stage_table}
    assert (table["egg"].entered, table["egg"].died, table["egg"].completed) == (6, 1, 5)
    assert (table["L1"].died, table["L1"].lost, table["L1"].completed) == (1, 1, 3)
    assert (table["L2"].died, table["L2"].removed, table["L2"].completed) == (1, 1, 1)
    # five were found on day 2; a day later three had passed on and one was not found again, and
    # the one that was left died: 2/5 of all, not the quarter of those whose end is known
    assert table["L1"].q == pytest.approx(2 / 5)
    assert table["L1"].k == pytest.approx(-np.log10(3 / 5))
    # of three, one died, one passed on, and one was taken out before either
    assert table["L2"].q is None
    assert (table["L2"].q_least, table["L2"].q_most) == pytest.approx((1 / 3, 2 / 3))
    assert table["adult"].q is None


def test_in_the_last_stage_there_is_nothing_to_reach() -> None:
    reached = answer({"1": "pupa adult dead"}, "adult").reached
    assert reached == ReachedEnd("adult", 0, 0, 0, 0, None, None, None, None)
    assert not reached.settled


@pytest.mark.parametrize("span", [("pupa", "egg"), ("L1", "L1")])
def test_stages_that_are_not_in_order_are_named(span: tuple[str, str]) -> None:
    with pytest.raises(UsageError, match=f"{span[0]} does not come before {span[1]}"):
        answer(LIVES, *span)


def test_parts_of_a_day_tell_who_was_still_followed() -> None:
    """One dies at a quarter of the day, one is last seen a little later, one hatches at half."""
    log = tiny_log({"1": "egg", "2": "egg", "3": "egg"})
    looks = (
        replace(seen("1", 0.25, "egg"), stage=None, fate="dead"),
        seen("2", 0.3, "egg"),
        replace(seen("2", 0.4, "egg"), stage=None, fate="lost"),
        seen("3", 0.5, "L1"),
    )
    found = survival("tiny", event_history(replace(log, all_observations=looks)))
    assert found.stage_table[0].q == pytest.approx(1 / 3)


def test_K_is_that_of_the_part_that_reached_the_end() -> None:
    result = answer(LIVES)
    assert pytest.approx(-np.log10(result.reached.fraction or 0.0)) == result.K
    assert answer({"1": "egg dead", "2": "egg dead"}).K is None  # nobody was left


def test_who_is_lost_or_taken_out_counts_as_long_as_it_was_watched() -> None:
    """By hand: 5/6 outlived day 1, half of the four that were left day 4: one became adult."""
    reached = answer(LIVES).reached
    assert (reached.n, reached.reached, reached.gone) == (4, 1, 2)
    assert reached.fraction == pytest.approx(5 / 6 * 2 / 4)


def test_a_span_watches_from_one_stage_to_another() -> None:
    result = answer(LIVES, "L1", "pupa")
    assert (result.n, result.deaths) == (5, 2)
    assert [row.stage for row in result.stage_table] == ["L1", "L2"]
    assert (result.reached.n, result.reached.reached) == (3, 1)


@pytest.mark.parametrize("span", [("L7", None), ("pupa", "egg"), ("adult", None)])
def test_spans_that_are_none(span: tuple[str, str | None]) -> None:
    with pytest.raises(UsageError):
        survival("tiny", event_history(tiny_log({"1": "egg egg"})), *span)


@pytest.mark.parametrize("lives", [{"1": "egg dead"}, {"1": "egg"}, {"1": "egg lost"}])
def test_one_individual_whatever_its_fate(lives: dict[str, str]) -> None:
    assert answer(lives).n == 1


def test_a_young_cohort_is_not_frightened_with_a_percentage() -> None:
    """One dead egg and two larvae: 0 % would be true of the one, and say nothing of the others."""
    young = answer({"1": "egg L1 L1", "2": "egg L1 L1", "3": "egg dead"})
    assert words(young)[0] == "Nobody has reached adulthood yet; 2 are alive."
    assert not any("%" in line for line in words(young))
    assert "Deaths: 1 without a noted cause (egg)." in words(young)
    gone = answer({"1": "egg L1 dead", "2": "egg dead"})
    assert words(gone)[0].startswith("0 % reached adulthood: 0 of the 2 ")
    older = answer({"1": "pupa pupa adult", "2": "pupa pupa pupa", "3": "pupa dead"})
    assert words(older)[0].startswith("So far 33 % reached adulthood, and up to 67 % may: 1 did")


def test_a_span_has_its_own_stages_and_no_fates_of_the_whole_life() -> None:
    history = event_history(
        tiny_log({"1": "egg L1 L2 pupa adult", "2": "egg L1 dead", "3": "egg egg", "4": "egg L1"})
    )
    whole = survival("tiny", history)
    assert whole.fates == Fates(n=4, dead=1, lost=0, removed=0, alive=3)
    assert survival("tiny", history, until="adult").fates == whole.fates
    assert (whole.reached.n, whole.reached.reached, whole.reached.waiting) == (2, 1, 2)
    young = survival("tiny", history, until="L2")
    assert young.fates is None
    assert [each.stage for each in young.stage_table] == ["egg", "L1"]
    late = survival("tiny", history, "L1")
    assert late.fates is None
    assert [each.stage for each in late.stage_table] == ["L1", "L2", "pupa", "adult"]
    assert late.reached.waiting == 1  # the one that is an egg has not begun


def test_the_life_table_is_that_of_the_ages_at_death() -> None:
    """Two of four die on day 2: alive at 0 and 1 four, and the others at 2."""
    history = event_history(
        tiny_log({**{str(n): "egg egg dead" for n in (1, 2)}, "3": "egg egg L1", "4": "egg egg L1"})
    )
    rows = survival("tiny", history).life_table
    assert [(each.x, each.n, each.d) for each in rows] == [(0, 4, 0), (1, 4, 2), (2, 2, 0)]
    assert rows[1].q == 0.5


def test_who_enters_in_the_stage_is_watched_from_its_entry() -> None:
    history = event_history(tiny_log({"1": "L1 L1 L1 dead", "2": "egg L1! L1 dead"}))
    seen = watched(history, "L1")
    assert (seen.days.tolist(), seen.died.tolist()) == ([3, 2], [True, True])


def test_ages_from_a_stage_are_not_rounded_to_every_other_day() -> None:
    """By hand: found in L1 on day 1, dead on days 2 to 9."""
    lives = {str(n): "egg" + " L1" * n + " dead" for n in range(1, 9)}
    history = event_history(tiny_log(lives))
    seen = watched(history, "L1")
    assert seen.days.tolist() == [*range(1, 9)]
    assert (seen.low.tolist(), seen.high.tolist()) == ([*range(8)], [*range(1, 9)])
    result = survival("tiny", history, "L1")
    assert [row.day for row in result.kaplan_meier if row.deaths] == seen.days.tolist()
    assert [row.d for row in result.life_table] == [1] * 8  # two in no interval, none in none


def test_who_arrives_was_alive_at_the_look_that_showed_it() -> None:
    history = event_history(tiny_log({"1": "egg - L1", "2": "egg L1 dead", "3": "L1 dead"}))
    seen = watched(history, until="L1")
    assert (seen.days.tolist(), seen.arrived.tolist()) == ([2, 1], [True, True])
    assert not seen.died.any()
    assert seen.low.tolist() == [2, 1]


def test_deaths_between_looks_agree_with_a_reference_library() -> None:
    """Reference: lifelines.KaplanMeierFitter.fit_interval_censoring, looks 1 to 4 days apart."""
    rng = np.random.default_rng(12)
    death = np.where(rng.random(80) < 0.8, rng.gamma(3, 3, 80), np.inf)
    passages = np.column_stack((np.zeros(80), np.full(80, 99.0)))
    parts = [looked_at(passages[:20], death[20 * k : 20 * k + 20], every=k + 1) for k in range(4)]
    seen = [watched(each) for each in parts]
    low, high = (np.concatenate([getattr(each, end) for each in seen]) for end in ("low", "high"))
    every = Watched(
        *(np.ones(80, bool), np.where(np.isinf(high), low, high), np.isfinite(high)),
        *(np.zeros(80, bool), low, high),
    )
    # the reference takes intervals with their left ends
    reference = KaplanMeierFitter().fit_interval_censoring(low + 1e-6, high)
    curve = reference.survival_function_.iloc[:, -1]
    rows = deaths_between(every)
    assert len(rows) > 8
    assert sum(row.died for row in rows) == pytest.approx(1 - rows[-1].survival)
    for row in rows:
        assert row.survival == pytest.approx(
            float(curve[curve.index <= row.by + 1e-5].iloc[-1]), abs=2e-3
        )


def test_the_median_lies_between_looks_and_is_said_so() -> None:
    """By hand: four of seven died, on days 3, 5, 5 and 8, and were seen alive the day before."""
    lives = {str(n): "egg " * day + "dead" for n, day in enumerate((3, 5, 5, 8))}
    lives |= {str(n): "egg " * 12 for n in range(4, 7)}
    result = answer(lives)
    assert (result.median.low, result.median.high) == (7, 8)
    assert [(row.after, row.by) for row in result.between_looks] == [(2, 3), (4, 5), (7, 8)]
    assert [row.survival for row in result.between_looks] == pytest.approx([6 / 7, 4 / 7, 3 / 7])
    assert words(result)[-1] == "Half had died after day 7 and by day 8."
    witnessed = answer({"1": "egg egg dead!", "2": "egg egg dead!"})
    assert witnessed.between_looks[0].after == witnessed.between_looks[0].by == 2
