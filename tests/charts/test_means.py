"""The chart of means: names with their temperatures, where these differ."""

from dataclasses import replace

from rearlog.analysis.pooling.cohort_summary import CohortSummary
from rearlog.analysis.pooling.season import season
from rearlog.charts.means import means
from tests.made_summaries import stage, summary


def labels(cohorts: list[CohortSummary]) -> list[str]:
    (axes,) = means(season(cohorts)).axes
    return [each.get_text() for each in axes.get_yticklabels()]


def test_a_temperature_stands_behind_each_name_where_they_differ() -> None:
    warmth = (27.0, 22.04, 22.46, None)
    cohorts = [
        summary(f"c{n}", stage(28.0 + n, celsius=celsius)) for n, celsius in enumerate(warmth)
    ]
    assert labels(cohorts) == ["c0, 27 °C", "c1, 22 °C", "c2, 22.5 °C", "c3", "all together"]
    alike = [
        replace(each, stages=(replace(each.stages[0], celsius=22.0 + n / 100),))
        for n, each in enumerate(cohorts)
    ]
    assert labels(alike) == ["c0", "c1", "c2", "c3", "all together"]
