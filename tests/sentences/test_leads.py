"""The sentence that each answer opens with: each verdict and its contrary, of invented cohorts."""

import re
from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path

import pytest
from msgspec.structs import replace

from rearlog.analysis.comparing.compare import compare
from rearlog.notebook import Notebook, survival_by
from rearlog.notebook import compare as compare_notebooks
from rearlog.notebook import thermal as thermal_of
from rearlog.records.log import ConstantTemperature
from rearlog.sentences import (
    agreement,
    deadline,
    due,
    durations,
    forecast,
    growth,
    stage_heat,
    survival,
    survival_by_group,
    survival_difference,
    thermal,
)
from rearlog.sentences import compare as comparison
from tests.analysis.invented_comparisons import FAST, SLOW, cohort
from tests.builders import START, moment, notebook_of, seen, small_profile, tiny_log

L1_NEEDS = {"L1": 30.0}
"""3 days at 20 °C, and 2.4 to 3.6 with its spread."""

CASES = 20
"""Individuals: enough for narrow limits."""


def of_l1(days: list[int], **more: str) -> Notebook:
    """Individuals that were so many days in L1, which was seen to begin and to end, at 20 °C, where
    a day has 10 degree-days; `more` are the lives of others."""
    lives = {f"a{n}": "egg L1! " + "L1 " * (each - 1) + "L2!" for n, each in enumerate(days)}
    log = tiny_log(
        lives | more,
        profile=small_profile(heat=L1_NEEDS),
        temperatures=(ConstantTemperature(20.0, START.date() - timedelta(1)),),
        laid=(-1, 0),
    )
    return notebook_of(log)


def test_as_expected_and_its_contrary() -> None:
    as_expected = durations.lead(of_l1([3] * CASES).durations("L1", "L2"))
    assert as_expected == (
        "L1 to L2 took about as long as expected in tiny: 3.0 days on average (2.4 to 3.6 "
        "expected)."
    )
    longer = durations.lead(of_l1([5, 6] * CASES).durations("L1", "L2"))
    assert longer == (
        "L1 to L2 took longer than expected in tiny: 5.5 days on average (2.4 to 3.6 expected)."
    )
    shorter = durations.lead(of_l1([1] * CASES).durations("L1", "L2"))
    assert shorter.startswith("L1 to L2 took less time than expected in tiny: 1.0 days on average")


def test_what_chance_may_do_is_no_finding() -> None:
    """Two that took 3 and 5 days: 4.0 on average, and limits far into the range."""
    found = durations.lead(of_l1([3, 5]).durations("L1", "L2"))
    assert found.startswith("L1 to L2 took 0.4 days more than expected in tiny: 4.0 days")
    assert found.endswith(", as it may be by chance.")
    as_it_is = durations.lead(of_l1([2, 4]).durations("L1", "L2"))
    assert "though the looks do not tell for sure" in as_it_is


def test_the_early_ones_are_not_said_to_be_quick() -> None:
    """Five took a day, and fifteen have been in it for ten."""
    waiting = {f"w{n}": "egg L1! " + "L1 " * 10 for n in range(15)}
    found = durations.lead(of_l1([1] * 5, **waiting).durations("L1", "L2"))
    assert "as it may be by chance" in found
    assert "of the early ones" in found


def test_no_stage_is_over_and_nothing_is_expected() -> None:
    young = notebook_of(tiny_log({"1": "egg egg"}))
    assert durations.lead(young.durations()) == "No stage is over yet in tiny."
    unknown = notebook_of(tiny_log({"1": "egg L1! L1 L2!"}))
    assert durations.lead(unknown.durations("L1", "L2")) == (
        "L1 to L2 took longest in tiny, 2.0 days in the one that completed it; how long to expect "
        "is not known."
    )


def test_heat_that_was_needed() -> None:
    known = "tiny had 60 degree-days (heat above 10 °C, added up) by Friday 13 March"
    assert stage_heat.lead(of_l1([3] * CASES).heat()).startswith(known)
    as_expected = stage_heat.lead(of_l1([3] * CASES).heat())
    assert as_expected.endswith("; L1 needed about as much of it as expected.")
    more = stage_heat.lead(of_l1([5, 6] * CASES).heat())
    assert more.endswith("; L1 needed more than expected: 55 degree-days, 24 to 36 were expected.")
    chance = stage_heat.lead(of_l1([3, 5]).heat())
    assert chance.endswith("; L1 needed more than expected, as it may be by chance.")


def test_who_lived() -> None:
    lives = {str(n): "egg L1 L2 pupa adult removed" for n in range(6)}
    lives |= {"d1": "egg dead", "d2": "egg L1 dead", "d3": "egg L1 dead", "l": "egg lost"}
    over = notebook_of(tiny_log(lives))
    assert survival.lead(over.survival()) == (
        "Of the 10 in tiny 6 became adults (67 %): 3 died, most often as L1 (2) and 1 was lost or "
        "taken out before."
    )
    lives = {str(n): "egg L1 L2 pupa adult dead" for n in range(6)}
    lives |= {"d1": "egg dead", "d2": "egg L1 dead", "d3": "egg L1 dead"}
    watched = notebook_of(tiny_log(lives))
    assert survival.lead(watched.survival()) == (
        "Of the 9 in tiny 6 became adults (67 %): 3 died, most often as L1 (2)."
    )
    young = notebook_of(tiny_log({"1": "egg L1", "2": "egg dead"}))
    assert survival.lead(young.survival()) == (
        "Of the 2 in tiny so far none became adults: 1 died and 1 is alive and may yet."
    )
    dead = notebook_of(tiny_log({"1": "egg dead", "2": "egg dead"}))
    assert survival.lead(dead.survival()) == "Of the 2 in tiny none became adults: 2 died."
    old = over.survival("adult")
    assert survival.lead(old) == (
        "Of the 6 of tiny that were seen as adult, none died and 6 were taken out alive."
    )


def test_cohorts_that_differ_and_do_not() -> None:
    pair = [cohort("slow", SLOW), cohort("fast", FAST)]
    assert comparison.lead(compare(pair, "L1", "L2")) == (
        "From L1 to L2 fast took 5.5 days less than slow: 4.2 and 9.8 days on average."
    ).replace("5.5", "5.6")
    alike = compare([cohort("a", SLOW), cohort("b", [10, *SLOW[1:]])], "L1", "L2")
    assert comparison.lead(alike) == (
        "No difference in the days from L1 to L2 was shown between a and b (9.8 and 10.0 days on "
        "average), which is no proof that there is none."
    )
    few = compare([cohort("a", SLOW), cohort("b", [3, 4])], "L1", "L2")
    assert comparison.lead(few).startswith("Whether the days from L1 to L2 differ cannot be told: ")
    nobody = compare([cohort("a", []), cohort("b", [], dead=2)])
    assert comparison.lead(nobody).startswith("No two of a and b have come far enough")


def test_three_cohorts_of_which_one_differs() -> None:
    three = [cohort("slow", SLOW), cohort("fast", FAST), cohort("late", SLOW[::-1])]
    found = comparison.lead(compare(three, "L1", "L2"))
    assert re.match(r"From L1 to L2 fast took 5\.\d days less than (slow|late): ", found)
    assert re.search(r"; (slow|late) took 9\.8\.$", found)


def test_many_cohorts_are_counted() -> None:
    many = [cohort(f"c{n}", SLOW) for n in range(12)]
    found = comparison.lead(compare(many, "L1", "L2"))
    assert "between 12 cohorts (9.8 to 9.8 days on average)" in found


def survived(dead: int) -> Notebook:
    """Twelve of which so many died as L1, at different times, and the others became adults."""
    lives = {f"d{n}": "egg L1 " + "L1 " * (n % 4) + "dead" for n in range(dead)}
    lives |= {f"a{n}": "egg L1 L1 L1 L1 L1 L2 pupa adult" for n in range(12 - dead)}
    name = f"of{dead}"
    return notebook_of(tiny_log(lives, name=name))


def test_survival_that_differs_and_does_not() -> None:
    def lead(*dead: int) -> str:
        result = compare_notebooks([survived(each) for each in dead])
        return survival_difference.lead(result.survival)

    assert lead(11, 1) == "Survival differs: 11 of 12 died in of11 and 1 of 12 in of1."
    assert lead(5, 6) == (
        "No difference in survival was shown, which is no proof that there is none: 5 of 12 died "
        "in of5 and 6 of 12 in of6."
    )
    nobody = compare_notebooks([survived(0), replaced(survived(0), "other")])
    assert survival_difference.lead(nobody.survival) == (
        "Survival cannot be compared, since nobody died."
    )


def replaced(notebook: Notebook, name: str) -> Notebook:
    log = notebook.log
    named = replace(log, cohort=replace(log.cohort, name=name, id=""))
    return notebook_of(named)


def test_growth_and_nothing_measured() -> None:
    log = tiny_log({"1": "egg"})
    nothing = notebook_of(log)
    assert growth.lead(nothing.growth()) == "Nothing was measured in tiny."
    widths = (seen("1", 2, "L1", head_width_mm=0.5), seen("1", 4, "L2", head_width_mm=0.8))
    grown = nothing.with_log(replace(log, all_observations=widths))
    assert growth.lead(grown.growth()) == (
        "From one larval stage to the next the head grew 1.60 times as wide in tiny: 0.50 mm in "
        "L1, 0.80 mm in L2."
    )
    one = nothing.with_log(replace(log, all_observations=widths[:1]))
    assert growth.lead(one.growth()) == (
        "1 look in tiny came with a measure, too few to say how fast they grew."
    )


def test_those_who_agree_and_who_do_not() -> None:
    def looks(*stages: str) -> Notebook:
        log = tiny_log({str(n): "egg" for n in range(len(stages))})
        seen_by = [
            replace(seen(str(n), 1, each), by=by)
            for n, stage in enumerate(stages)
            for by, each in (("KT", "L1"), ("MB", stage))
        ]
        return notebook_of(replace(log, all_observations=tuple(seen_by)))

    assert agreement.lead(looks("L1", "L1").agreement()) == (
        "KT and MB agreed on 2 of 2 looks that both made in tiny."
    )
    assert agreement.lead(looks("L1", "L2", "L1").agreement()) == (
        "KT and MB agreed on 2 of 3 looks that both made in tiny; the one difference was L1 "
        "against L2."
    )
    assert agreement.lead(looks().agreement()).startswith("There is nothing to compare: ")


def test_the_sexes() -> None:
    def lead(males: int, females: int) -> str:
        """Of six of each so many were found dead as adults."""
        lives = {f"m{n}": f"egg adult adult {'dead' if n < males else 'adult'}" for n in range(6)}
        lives |= {
            f"f{n}": f"egg adult adult {'dead' if n < females else 'adult'}" for n in range(6)
        }
        log = tiny_log(lives)
        looks = tuple(
            replace(each, sex=each.individual[0]) if each.stage == "adult" else each
            for each in log.all_observations
        )
        notebook = notebook_of(replace(log, all_observations=looks))
        return survival_by_group.lead(survival_by([notebook], "sex", "adult"))

    assert lead(0, 6) == (
        "The sexes did not die alike in tiny: 6 of 6 females died and 0 of 6 males died."
    )
    assert lead(3, 3).startswith("No difference between the sexes was shown in tiny: 3 of 6")
    assert lead(0, 0).startswith("Whether the sexes differ in tiny cannot be told, since nobody")


def growing(*lives: str) -> Notebook:
    log = tiny_log(
        {str(n): life for n, life in enumerate(lives)},
        profile=small_profile(heat={"egg": 20.0, "L1": 20.0, "L2": 20.0, "pupa": 40.0}),
        temperatures=(ConstantTemperature(20.0, START.date() - timedelta(1)),),
        laid=(-1, 0),
    )
    return notebook_of(log)


def test_what_is_to_come_and_what_is_over() -> None:
    many = growing(*["egg egg L1"] * 4).forecast(as_of=moment(2))
    assert re.fullmatch(
        r"Half of the 4 adults still to come in tiny should be out by \w+day \d+ March, the first "
        r"from \w+day \d+ March, if all live\.",
        forecast.lead(many),
    )
    one = growing("egg egg L1", "egg dead").forecast(as_of=moment(2))
    assert re.fullmatch(
        r"The one adult still to come in tiny should be out about \w+day \d+ March, between "
        r"\w+day \d+ March and \w+day \d+ March, if it lives\.",
        forecast.lead(one),
    )
    late = growing(*["egg egg L1"] * 4).forecast(as_of=moment(60))
    assert "and nobody has seen yet that they are." in forecast.lead(late)
    over = growing("egg L1 L2 pupa adult", "egg dead").forecast(as_of=moment(60))
    assert forecast.lead(over) == "Nothing more is to come in tiny: 1 became adult."
    dead = growing("egg dead").forecast(as_of=moment(60))
    assert forecast.lead(dead) == "Nobody in tiny is still developing, so nothing is to come."


def test_a_threshold_is_told_where_it_may_be_used() -> None:
    def at(celsius: float, days: int) -> Notebook:
        lives = {str(n): "egg L1! " + "L1 " * (days - 1) + "L2!" for n in range(3)}
        kept = (ConstantTemperature(celsius, START.date()),)
        log = tiny_log(lives, temperatures=kept, name=f"t{celsius:g}")
        return notebook_of(log)

    good = thermal.lead(thermal_of([at(15, 12), at(20, 6), at(25, 4)]))
    assert re.match(r"Below about 10\.0 °C \(.* are possible\) nothing develops; above", good)
    assert good.endswith("60 degree-days (heat, added up) in L1.")
    two = thermal.lead(thermal_of([at(15, 12), at(20, 6)]))
    assert "from two temperatures, so that there is no telling how far off" in two
    same = thermal.lead(thermal_of([at(15, 12), replaced(at(15, 12), "same")]))
    assert same.startswith("The threshold (the temperature below which nothing develops) in L1 ")
    assert "cannot be told" in same


# --- no term of art stands there without its plain word ----------------------------------------

ART = re.compile(
    r"\b(SE|SD|CI|ANOVA|AICc|K|q|df|chi2|Holm|Welch|Wilson|Greenwood|Kaplan|Turnbull|kappa|log-rank"
    r"|interval|confidence|censored|eclosion|instars?|standard error|significant)\b|\b[pn] [=<]|±"
)
EXPLAINED = {"degree-days": "added up", "threshold": "below which nothing develops"}
"""Terms that may stand there where their plain word does."""


def all_leads() -> Iterator[str]:
    room = of_l1([3] * CASES, dead="egg L1 dead")
    longer = of_l1([5, 6] * CASES)
    for each in (room, longer, of_l1([3, 5]), growing("egg dead"), growing(*["egg egg L1"] * 3)):
        yield durations.lead(each.durations())
        yield stage_heat.lead(each.heat())
        yield survival.lead(each.survival())
        yield growth.lead(each.growth())
        yield agreement.lead(each.agreement())
        yield forecast.lead(each.forecast(as_of=moment(30)))
        yield deadline.lead(each.deadline(moment(60).date(), as_of=moment(30)))
    for pair in ((SLOW, FAST), (SLOW, SLOW[::-1]), (SLOW, [3])):
        yield comparison.lead(compare([cohort("a", pair[0]), cohort("b", pair[1])]))
    samples = Path(__file__).parents[2] / "sample_cohorts"
    shelves = [Notebook(samples / f"{name}.json") for name in ("cool", "room", "warm")]
    yield thermal.lead(thermal_of(shelves))
    yield thermal.lead(thermal_of(shelves[:2]))
    yield comparison.lead(compare_notebooks(shelves))


def test_no_lead_has_a_term_of_art_without_its_plain_word() -> None:
    leads = [*all_leads()]
    assert len(set(leads)) > 20
    for each in leads:
        assert ART.search(each) is None, each
        for term, plain in EXPLAINED.items():
            assert term not in each or plain in each, each
        assert each[0].isupper() or each.startswith("tiny had ")
        assert each.endswith(".")


@pytest.mark.parametrize(
    "text", ["L1: 3.0 days (p = 0.03)", "4.0 ± 0.2", "an SE of 3", "before eclosion"]
)
def test_the_terms_are_found(text: str) -> None:
    assert ART.search(text) is not None


# --- what is due -------------------------------------------------------------------------------


def test_what_became_of_those_that_are_gone() -> None:
    lives = {str(n): "egg L1 L2 pupa adult removed:released" for n in range(3)}
    lives |= {"k": "egg L1 L2 pupa adult removed:preserved", "r": "egg L1 removed"}
    lives |= {"d": "egg dead:mould", "e": "egg L1 dead", "l": "egg lost"}
    gone = notebook_of(tiny_log(lives)).due(moment(20))
    assert due.summary(gone) == (
        "Nobody is left: 3 adults were released, one adult was taken out (preserved), one "
        "in L1 was taken out or released, 2 died and 1 was lost."
    )
    assert due.lead([gone]).startswith("Nothing is due in tiny, for nobody is left: 3 adults were ")
    empty = notebook_of(tiny_log({})).due(moment(20))
    assert due.summary(empty) == "Nobody is in it yet."


def test_what_is_due_and_what_is_not() -> None:
    def lead(day: float, *lives: str) -> str:
        return due.lead([growing(*lives).due(moment(day))])

    assert lead(0.1, "egg", "egg") == (
        "On Monday 9 March nothing is due; the next should hatch by Tuesday 10 March in tiny."
    )
    assert lead(1, "egg egg", "egg egg", "egg dead") == (
        "On Tuesday 10 March nobody is overdue, and 2 may hatch in tiny."
    )
    assert lead(30, "egg egg L1", "egg egg") == (
        "On Wednesday 8 April 2 are overdue in tiny; look there first."
    )
    assert lead(9, "egg L1 L2 pupa adult") == "On Wednesday 18 March nothing is due in tiny."
