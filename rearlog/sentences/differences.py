"""What tests of a difference say, and why none could be made."""

from __future__ import annotations

from rearlog.analysis.comparing.cohorts import Shared
from rearlog.analysis.statistics.differences import NoTest, Verdict

FOUND = {Verdict.DIFFER: "the cohorts differ", Verdict.NOT_SHOWN: "no difference shown"}

DIFFER = {
    Verdict.DIFFER: "yes",
    Verdict.NOT_SHOWN: "not shown",
    Verdict.NOT_TESTED: "cannot be told",
}
"""Whether they differ, in a word for a cell."""

SHARED = {Shared.COHORT: "cohorts", Shared.CONTAINER: "containers", Shared.CLUTCH: "clutches"}
"""What is counted where individuals share it, in the plural."""

NO_TEST = {
    NoTest.GROUP_ALIKE: "all values of a group are the same",
}
"""Too few is told by who they are and of what; so are cages and clutches."""
