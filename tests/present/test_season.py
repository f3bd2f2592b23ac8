"""The tables of a season where little is known."""

from typing import Any

from msgspec.structs import replace

from rearlog.analysis.pooling.cohort_summary import CohortSummary
from rearlog.analysis.pooling.season import season
from rearlog.analysis.pooling.standing_out import Direction, StandsOut
from rearlog.present.season import season_tables
from tests.made_summaries import stage, summary


def at(site: str | None, id: str, *, days: float | None, **more: Any) -> CohortSummary:
    """A cohort at a site; of one whose `days` are not known nobody has come through."""
    if days is not None:
        return summary(id, stage(days), site=site, **more)
    young = stage(None, None, completed=0, in_stage=20)
    return summary(id, young, site=site, known=0, reached=0, waiting=20, **more)


def test_a_site_of_which_nobody_came_through_has_no_days() -> None:
    """The mean of 20 and 22 days, each with SE 0.5, is 21 ± 1; t of one degree of freedom, 12.7."""
    found = season(
        [at("Hill", "a", days=20.0), at("Hill", "b", days=22.0), at("Dale", "c", days=None)]
    )
    (sites, *_) = season_tables(found, by_site=True)
    assert sites.title == "Sites"
    assert [list(map(str, row)) for row in sites.rows] == [
        ["Dale", "1", "20", "None", "None", "0 of 0", "None"],
        ["Hill", "2", "40", "21.0", "8.3–33.7", "40 of 40", "None"],
    ]


def test_no_time_is_told_to_be_below_zero() -> None:
    found = season([at("Hill", "a", days=1.0), at("Hill", "b", days=3.0)])
    (sites, pooled, *_) = season_tables(found, by_site=True)
    assert sites.rows[0][4] == pooled.rows[0][4] == "0.0–14.7"


def test_of_more_that_stand_out_than_fit_the_first_sixty_are_shown() -> None:
    found = season([summary(f"c{n:02}", stage(20.0)) for n in range(62)])
    one = StandsOut(
        "c00", "c00", None, Direction.FEWER, 0.1, 1.0, 0.001, None, None, None, None, None, ()
    )  # fmt: skip
    (species,) = found.species
    for count, shown in ((0, 0), (60, 60), (61, 60)):
        out = tuple(replace(one, id=f"c{61 - n:02}") for n in range(count))
        odd = replace(found, species=(replace(species, stand_out=out),))
        (table, *_) = season_tables(odd)
        assert (table.title, [*table.columns][:1]) == (
            ("Cohorts that stand out", ["cohort"]) if count else ("", [])
        )
        assert [row[0] for row in table.rows] == [f"c{62 - count + n:02}" for n in range(shown)]
        assert table.words[0].startswith(f"{62 - shown} more cohorts: ")


def test_means_stand_first_where_one_cohort_more_can_be_expected_from_them() -> None:
    """From five cohorts on; fewer are better compared."""
    for count, full in ((4, True), (5, False)):
        found = season([summary(f"c{n}", stage(20.0 + n)) for n in range(count)])
        (pooled,) = (each for each in season_tables(found) if each.title.startswith("Days of"))
        assert pooled.full == full
        assert (pooled.rows[0][-1] is None) == full
