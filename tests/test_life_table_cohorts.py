"""The invented study of eggs and adults is what its script makes, and says that it is invented."""

from pathlib import Path

import pytest

from rearlog.records.doubts import all_doubts
from rearlog.store.cohort_file import CohortFile
from sample_cohorts.life_table import make

FOLDER = Path(make.__file__).parent
AGAIN = "run “python sample_cohorts/life_table/make.py”, and look at what changed"


@pytest.fixture(scope="module")
def built(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("built")
    make.build(folder)
    return folder


@pytest.mark.parametrize("regime", make.REGIMES, ids=lambda each: each.name)
def test_the_script_makes_the_same_cohorts_again(built: Path, regime: make.Regime) -> None:
    kept, made = (CohortFile(place / f"{regime.name}.json").read() for place in (FOLDER, built))
    assert made == kept, f"{regime.name}: {AGAIN}"


@pytest.mark.parametrize("regime", make.REGIMES, ids=lambda each: each.name)
def test_they_are_marked_as_invented_and_nothing_in_them_is_in_doubt(regime: make.Regime) -> None:
    log = CohortFile(FOLDER / f"{regime.name}.json").read()
    assert log.cohort.invented
    assert log.cohort.planned_celsius == regime.celsius
    assert all_doubts(log) == []
    assert len(log.individuals) == make.EGGS
    fates = [checks[-1].fate for checks in log.checks.values()]
    assert set(fates) <= {"dead", "lost"}
    assert ("lost" in fates) == (regime.loss > 0)
    sexes = {each.sex for each in log.all_observations}
    assert sexes == {None, "f", "m"}
    assert any(each.hatched for each in log.all_observations)
