"""Charts of what was known at a moment."""

from pathlib import Path

import pytest

from rearlog.notebook import Notebook
from rearlog.present.pictures import as_known
from rearlog.records.errors import UsageError
from tests.builders import tiny_log


def test_a_cohort_is_known_from_the_minute_on_in_which_it_started() -> None:
    """It started on 9 March at 9:00, and was looked at once a day from the 10th on."""
    cohort = Notebook(Path("tiny.json")).with_log(tiny_log({"1": "egg L1 L2"}))
    assert as_known(cohort, None) is cohort
    looks = {"2026-03-09 09:00": 0, "2026-03-10 08:59": 0, "2026-03-10 09:00": 1}
    for moment, count in looks.items():
        assert len(as_known(cohort, moment).log.all_observations) == count
    with pytest.raises(UsageError, match="is before tiny started, on 2026-03-09 09:00"):
        as_known(cohort, "2026-03-09 08:59")
