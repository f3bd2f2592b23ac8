"""Mean development of the sample cohorts, in days and in degree-days: what the chart shows."""

from pathlib import Path

import pytest

from rearlog.analysis.comparing.compare import Comparison
from rearlog.analysis.comparing.stage_comparison import DAYS
from rearlog.charts.pace import pace
from rearlog.notebook import Notebook, compare
from rearlog.sentences import durations as durations_words
from rearlog.sentences.compare import plainly

SAMPLES = Path(__file__).parents[2] / "sample_cohorts"
NAMES = ("cool", "room", "warm")
OPENED = [Notebook(SAMPLES / f"{name}.json") for name in NAMES]


@pytest.fixture(scope="module")
def samples() -> Comparison:
    return compare(OPENED)


def test_each_panel_has_the_unit_of_its_means(samples: Comparison) -> None:
    figure = pace(samples)
    shown = [each for each in samples.overall if each.by_mean]
    assert [each.unit == DAYS for each in shown] == [True, False]
    assert [axes.get_xlabel() for axes in figure.axes] == ["Days", "Degree-days (°C)"]
    assert [each.get_text() for each in figure.axes[0].get_yticklabels()] == list(NAMES)


def test_the_faster_cohort_is_said_to_be_faster(samples: Comparison) -> None:
    """The means counted by hand: 38.2, 28.1 and 20.5 days."""
    days = next(each for each in plainly(samples) if "days in cool" in each)
    assert days.endswith("warm was faster than cool by 17.7 days.")


def test_the_stage_in_which_cohorts_differ_most_is_the_title_of_their_durations() -> None:
    results = [each.durations() for each in OPENED]
    stages: dict[str, list[float | None]] = {each.stage: [] for each in results[0].stages}
    for result in results:
        for each in result.stages:
            stages[each.stage].append(each.median)
    apart = {
        stage: max(medians) - min(medians)
        for stage, medians in stages.items()
        if len(medians) == len(results) and None not in medians
    }
    widest = max(apart, key=apart.__getitem__)
    low, high = min(stages[widest]), max(stages[widest])
    said = durations_words.title(results)
    assert said.startswith(f"Medians farthest apart: {widest}, {low:.1f} days in warm")
    assert f"{high:.1f} in cool" in said
