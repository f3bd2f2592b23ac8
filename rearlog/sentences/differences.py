"""What tests of a difference say, and why none could be made."""

from __future__ import annotations

from rearlog.analysis.statistics.differences import NoTest, Verdict

FOUND = {Verdict.DIFFER: "the cohorts differ", Verdict.NOT_SHOWN: "no difference shown"}

NO_TEST = {
    NoTest.GROUP_ALIKE: "all values of a group are the same",
}
"""Too few is told by who they are and of what; so are cages and clutches."""
