"""How long adults of each sex lived: by hand, and against invented adults that die alike or not."""

from typing import Any

import numpy as np
import pytest
from lifelines import KaplanMeierFitter
from msgspec.structs import replace

from rearlog.analysis.comparing.survival_by_group import (
    HistoryOfGroup,
    SurvivalByGroup,
    survival_by_group,
)
from rearlog.analysis.stages.events import event_history
from rearlog.analysis.statistics.differences import Verdict
from rearlog.analysis.survival.sexes import sexes_of
from rearlog.analysis.survival.survival import Sex, survival
from rearlog.charts.survival import survival as chart
from rearlog.notebook import survival_by
from rearlog.present.answers import by_group_tables
from rearlog.present.cells import cell
from rearlog.present.flat import flat_by_group
from rearlog.present.json import plain
from rearlog.records.errors import UsageError
from rearlog.records.groups import grouped
from rearlog.records.log import CohortLog
from rearlog.sentences.survival import title
from rearlog.sentences.survival import words as survival_words
from rearlog.sentences.survival_by_group import words
from tests.builders import notebook_of, seen, tiny_log

# adults are found on day 1; females live 6, 7 and 8 days from then, males 2, 3 and 4; 7 is a male
# that is alive, 8 an adult whose sex nobody noted, 9 died as a pupa
LIVES = {str(n): "pupa adult " + "adult " * (days - 1) + "dead" for n, days in
         enumerate((6, 7, 8, 2, 3, 4), start=1)}  # fmt: skip
LIVES |= {"7": "pupa adult" + " adult" * 9, "8": "pupa adult dead", "9": "pupa dead"}
SEXES = {**dict.fromkeys("123", "f"), **dict.fromkeys("4567", "m")}


def noted(lives: dict[str, str], sexes: dict[str, str]) -> CohortLog:
    """A log whose sexes were noted on day 1."""
    log = tiny_log(lives)
    marked = tuple(
        replace(each, sex=sexes.get(each.individual)) if each.stage == "adult" else each
        for each in log.all_observations
    )
    return replace(log, all_observations=marked)


def answer(log: CohortLog, *span: str) -> SurvivalByGroup:
    groups = [
        HistoryOfGroup(each.log.cohort.name, each.short, each.level, event_history(each.log))
        for each in grouped([log], "sex")
    ]
    result = survival_by_group("sex", ["tiny"], groups, *span)
    assert survival_by([notebook_of(log)], "Sex", *span) == result
    return result


def test_longevity_counts_from_when_the_adult_was_first_seen() -> None:
    """Reference: lifelines.KaplanMeierFitter. The last stage has no end but death."""
    result = survival("tiny", event_history(noted(LIVES, SEXES)), "adult")
    days, died = [6, 7, 8, 2, 3, 4, 9, 1], [1, 1, 1, 1, 1, 1, 0, 1]
    fitted = KaplanMeierFitter().fit(days, died)
    assert (result.n, result.deaths, result.of_last_stage) == (8, 7, True)
    for row in result.kaplan_meier:
        assert row.survival == pytest.approx(float(fitted.predict(row.day)))
    assert (result.reached.n, result.K, result.fates) == (0, None, None)
    assert survival_words(result)[0] == "Of the 8 that were seen as adult, 7 died."
    assert title([result]) == "7 of 8 died"


def test_each_sex_has_its_own_answer_and_the_others_are_counted() -> None:
    result = answer(noted(LIVES, SEXES), "adult")
    females, males, others = result.groups
    assert [each.level for each in result.groups] == ["f", "m", None]
    assert [(each.n, each.deaths) for each in result.groups] == [(3, 3), (4, 3), (1, 1)]
    assert (females.median.low, females.median.high) == (6, 7)
    assert (males.median.low, males.median.high) == (2, 3)
    assert others.n == 1
    assert words(result)[0].endswith("; 3 of 3 females died and 3 of 4 males died.")
    assert words(result)[1] == "The sex of 1 more is not known: they are not compared."
    whole = answer(noted(LIVES, SEXES))
    assert [each.n for each in whole.groups] == [3, 4, 2]  # with the one that died as a pupa


def test_the_sexes_are_compared_by_their_deaths_between_looks() -> None:
    rng = np.random.default_rng(4)

    def adults(scale: float, code: str) -> dict[str, str]:
        days = np.ceil(scale * rng.weibull(2, 25)).astype(int)
        return {f"{code}{n}": "pupa " + "adult " * day + "dead" for n, day in enumerate(days)}

    lives = adults(12, "f") | adults(6, "m")
    apart = answer(noted(lives, {code: code[0] for code in lives}), "adult").comparison
    mixed = {code: "fm"[n % 2] for n, code in enumerate(lives)}
    alike = answer(noted(lives, mixed), "adult").comparison
    assert apart is not None
    assert alike is not None
    assert (apart.verdict, alike.verdict) == (Verdict.DIFFER, Verdict.NOT_SHOWN)
    assert [each.died for each in apart.groups] == [25, 25]


def test_a_sex_that_looks_contradict_or_that_was_struck_is_not_known() -> None:
    log = tiny_log({"1": "adult", "2": "adult", "3": "adult"})
    looks = (
        seen("1", 1, "adult", sex="f"),
        seen("1", 2, "adult"),
        seen("2", 1, "adult", sex="f"),
        seen("2", 2, "adult", sex="m"),
    )
    assert sexes_of(replace(log, all_observations=looks)) == [
        *(Sex.FEMALE, Sex.NOT_KNOWN, Sex.NOT_KNOWN)
    ]


def test_one_sex_alone_or_none_at_all() -> None:
    alone = answer(noted(LIVES, {"1": "f"}), "adult")
    assert alone.comparison is None
    assert words(alone)[0] == "Survival: no test, since there is one sex only; 1 of 1 females died."
    with pytest.raises(UsageError, match="no sex was noted of anybody in tiny"):
        answer(noted(LIVES, {}), "adult")
    with pytest.raises(UsageError, match="no sex was noted of those in L3"):
        answer(noted({"1": "L1 L3", "2": "pupa adult"}, {"2": "f"}), "L3")
    with pytest.raises(UsageError, match="there is no stage L9"):
        answer(noted(LIVES, SEXES), "L9")
    few = answer(noted(LIVES, {"1": "f", "4": "m", "5": "m"}), "adult")
    assert "no test, since there was one alone of a sex" in words(few)[0]


def test_tables_rows_json_and_chart_show_the_same_groups() -> None:
    result = answer(noted(LIVES, SEXES), "adult")
    tables = by_group_tables(result, kaplan_meier=False)
    beside = {row[0]: [cell(each) for each in row[1:]] for row in tables[0].rows}
    assert beside["females"][:2] == ["3", "3"]
    assert beside["males"][3:] == ["2.00", "3.00"]
    assert tables[1].title == "tiny, females: survival by stage, n = 3"
    assert "Mortality by stage" not in {each.title for each in tables}  # adults have no next stage
    rows = flat_by_group(result, kaplan_meier=True)
    assert rows.columns[:2] == ["sex", "day"]
    assert {row[0] for row in rows.rows} == {"f", "m", "not known"}
    document: dict[str, Any] = plain(result)
    assert [each["level"] for each in document["groups"]] == ["f", "m", None]
    assert document["words"][0] == words(result)[0]
    figure = chart(result.groups)
    assert {f"survival-{each.cohort}" for each in result.groups} <= {
        part.get_gid() for part in figure.axes[0].get_children()
    }
    assert figure.axes[0].get_xlabel() == "Days since first seen as adult"
