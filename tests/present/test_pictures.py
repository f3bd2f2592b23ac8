"""What charts are made of, and of what was known at a moment."""

from collections.abc import Callable
from typing import Any

import pytest
from matplotlib.figure import Figure
from msgspec.structs import replace

from rearlog.analysis.pooling.season import season
from rearlog.charts.style import PAGE, Style, caption_of, look_onto
from rearlog.notebook import Notebook, compare
from rearlog.present import pictures
from rearlog.present.pictures import (
    KINDS,
    OF_ALL,
    OF_EACH,
    OF_STAGE,
    as_known,
    beside,
    draw,
    draw_season,
)
from rearlog.records.errors import UsageError
from rearlog.records.log import ConstantTemperature
from tests.builders import START, moment, notebook_of, tiny_log
from tests.made_summaries import stage, summary


def test_a_cohort_is_known_from_the_minute_on_in_which_it_started() -> None:
    """It started on 9 March at 9:00, and was looked at once a day from the 10th on."""
    cohort = notebook_of(tiny_log({"1": "egg L1 L2"}))
    assert as_known(cohort, None) is cohort
    looks = {"2026-03-09 09:00": 0, "2026-03-10 08:59": 0, "2026-03-10 09:00": 1}
    for written, count in looks.items():
        assert len(as_known(cohort, written).log.all_observations) == count
    with pytest.raises(UsageError, match="is before tiny started, on 2026-03-09 09:00"):
        as_known(cohort, "2026-03-09 08:59")
    much = f"2026-03-08 09:00:00.{'1' * 21}"
    with pytest.raises(UsageError, match=f"^{much[:40]} is before"):
        as_known(cohort, much)


def test_what_stands_beside_a_chart() -> None:
    """Of each kind what its function takes; of cohorts that are not compared no comparison."""
    cohorts = [notebook_of(tiny_log({"1": "egg L1", "2": "egg"}, name=name)) for name in ("a", "b")]
    counts, compared = [each.stage_counts() for each in cohorts], compare(cohorts)
    for kind in KINDS:
        both = beside(kind, lambda: counts, lambda: compared)
        one = beside(kind, lambda: counts[:1], lambda: None)
        assert both == {
            "heat": {"stage_counts": counts, "compared": compared},
            "survival": {"compared": compared.survival},
        }.get(kind, {})
        assert one == ({"stage_counts": counts[:1]} if kind == "heat" else {})


Drawn = tuple[str, Any, dict[str, Any]]


@pytest.fixture
def drawn(monkeypatch: pytest.MonkeyPatch) -> list[Drawn]:
    """What charts are made of, in place of the charts."""
    made: list[Drawn] = []

    def painter(kind: str) -> Callable[..., Figure]:
        def paint(results: Any, look: Style, **beside: Any) -> Figure:
            made.append((kind, results, beside))
            return Figure(label="Found.")

        return paint

    monkeypatch.setattr(pictures, "painter", painter)
    return made


def two() -> list[Notebook]:
    """Cohorts at two temperatures, each of two females, a male, and one whose sex is not known."""
    made = []
    for name, celsius, days in (("a", 20.0, 2), ("b", 25.0, 1)):
        lives = {str(n): "egg egg " + "L1 " * (days + n % 2) + "L2" for n in range(1, 5)}
        log = tiny_log(lives, name=name, temperatures=(ConstantTemperature(celsius, START.date()),))
        sexes = {"1": "f", "2": "f", "3": "m"}
        looks = [replace(each, sex=sexes.get(each.individual)) for each in log.all_observations]
        made.append(notebook_of(replace(log, all_observations=tuple(looks))))
    return made


def test_each_chart_is_made_of_its_answer_about_all_cohorts_or_each(drawn: list[Drawn]) -> None:
    cohorts = two()
    for kind in {*OF_EACH, *OF_ALL} - {"reproduction"}:  # no eggs were counted
        draw(kind, cohorts, PAGE, "L1" if kind in OF_STAGE else None)
    for kind, results, more in drawn:
        if kind in OF_ALL:
            assert type(results) is type(OF_ALL[kind](cohorts))
        else:
            assert [type(each) for each in results] == [
                type(OF_EACH[kind](each)) for each in cohorts
            ]
            assert [each.cohort for each in results] == ["a", "b"]
        assert more.pop("invented") is False
        assert more.pop("stage", None) == ("L1" if kind in ("rate", "mortality") else None)
        beside = {"heat": {"stage_counts", "compared"}, "survival": {"compared"}}
        assert {*more} == beside.get(kind, set())
    assert len(drawn) == 11


def test_a_chart_says_that_data_are_invented_where_some_are(drawn: list[Drawn]) -> None:
    one, other = two()
    header = replace(other.log.cohort, invented=True)
    draw("stages", [one, other.with_log(replace(other.log, cohort=header))], PAGE)
    assert drawn[0][2] == {"invented": True}


def test_survival_is_counted_from_a_stage_and_compared_from_there(drawn: list[Drawn]) -> None:
    draw("survival", two(), PAGE, first="L1")
    draw("survival", two()[:1], PAGE, first="L1")
    (_, results, both), (_, _, alone) = drawn
    assert [each.since for each in results] == ["L1", "L1"]
    assert both["compared"].since == "L1"
    assert alone == {"invented": False}


def test_groups_stand_beside_each_other_and_are_not_compared(drawn: list[Drawn]) -> None:
    """Those whose sex is not known are one too, but in no comparison."""
    for kind, first in (("survival", "L1"), ("heat", None), ("stages", None), ("pace", None)):
        draw(kind, two()[:1], PAGE, first=first, by="sex")
    (_, lives, beside_lives), (_, _, beside_heat), (_, counts, _), (_, pace, _) = drawn
    assert {*beside_heat} == {"invented", "stage_counts"}
    assert [(each.cohort, each.level, each.since, each.n) for each in lives] == [
        ("a, females", "f", "L1", 2),
        ("a, males", "m", "L1", 1),
        ("a, sex not known", None, "L1", 1),
    ]
    assert beside_lives == {"invented": False}
    assert [each.days[0].in_stage[0] for each in counts] == [2, 1, 1]
    assert [each.cohort for each in pace.stages[0].groups] == ["females", "males"]


def test_a_chart_says_by_when_all_of_it_was_known(drawn: list[Drawn]) -> None:
    """On two days and on one of them twice; a forecast says it itself, and axes have no room."""
    one, other = two()
    earlier, later = moment(1.25), moment(1.5)
    known = [one.at(moment(0.5)), one.at(earlier), other.at(later), other]
    note = "Found. As it was known by Mon 9 Mar 2026 and Tue 10 Mar 2026."
    assert caption_of(draw("stages", known, PAGE)) == note
    assert caption_of(draw("stages", known[1:], PAGE)) == (
        "Found. As it was known by Tue 10 Mar 2026."
    )
    assert caption_of(draw("stages", [one, other], PAGE)) == "Found."
    assert caption_of(draw("forecast", known, PAGE)) == "Found."
    onto = look_onto([Figure().add_subplot()])
    assert caption_of(draw("stages", known, onto)) == "Found."


def test_the_chart_of_a_season_is_of_the_season(drawn: list[Drawn]) -> None:
    found = season([summary("a", stage(20.0))])
    made_up = season([summary("a", stage(20.0), invented=True)])
    draw_season("means", found, PAGE, "egg")
    draw_season("funnel", made_up, PAGE)
    assert drawn == [
        ("means", found, {"invented": False, "stage": "egg"}),
        ("funnel", made_up, {"invented": True}),
    ]
