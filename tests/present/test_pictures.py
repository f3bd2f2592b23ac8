"""Charts of what was known at a moment."""

import pytest

from rearlog.notebook import compare
from rearlog.present.pictures import KINDS, as_known, beside
from rearlog.records.errors import UsageError
from tests.builders import notebook_of, tiny_log


def test_a_cohort_is_known_from_the_minute_on_in_which_it_started() -> None:
    """It started on 9 March at 9:00, and was looked at once a day from the 10th on."""
    cohort = notebook_of(tiny_log({"1": "egg L1 L2"}))
    assert as_known(cohort, None) is cohort
    looks = {"2026-03-09 09:00": 0, "2026-03-10 08:59": 0, "2026-03-10 09:00": 1}
    for moment, count in looks.items():
        assert len(as_known(cohort, moment).log.all_observations) == count
    with pytest.raises(UsageError, match="is before tiny started, on 2026-03-09 09:00"):
        as_known(cohort, "2026-03-09 08:59")


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
