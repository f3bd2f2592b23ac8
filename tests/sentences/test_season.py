"""What is said of many cohorts: of sites, of cohorts that stand out, and of files."""

from datetime import date

from rearlog.analysis.pooling.season import Copy, PassedOver, season
from rearlog.sentences.phrases import p_text
from rearlog.sentences.season import going_on, lead, notices, title, words
from tests.made_summaries import coming, stage, summary

DAYS = (28.0, 30.0, 31.0, 29.0, 30.0, 32.0, 30.5, 29.5)


def test_sites_that_stand_out_are_named_the_farthest_first() -> None:
    reached = {f"School {n}": 28 + n % 5 for n in range(20)} | {"coast": 15, "south": 10}
    result = season(
        summary(site, stage(30.0), site=site, individuals=40, known=40, reached=count)
        for site, count in reached.items()
    )
    p = {each.site: each.p_holm or 0.0 for each in result.species[0].by_site}
    assert p["south"] < p["coast"] < 0.05
    # 600 + 25 of 880 in all
    assert [each for each in words(result) if "at all sites" in each] == [
        f"south stands out: 25 % of 40 came to adulthood, 71 % at all sites "
        f"({p_text(p['south'])}, corrected for all sites).",
        f"coast stands out: 38 % of 40 came to adulthood, 71 % at all sites "
        f"({p_text(p['coast'])}, corrected for all sites).",
    ]


def test_that_some_ends_are_not_known_is_said() -> None:
    everybody = [summary(f"c{n}", stage(each), reached=15) for n, each in enumerate(DAYS)]
    assert lead(season(everybody)).endswith("and 75 % of 160 came to adulthood.")
    some = [*everybody, summary("few", stage(30.0), known=16, reached=12, gone=4)]
    assert lead(season(some)).endswith("and 75 % of 176 whose end is known came to adulthood.")


def test_of_many_files_the_first_are_named_and_the_others_counted() -> None:
    cohorts = [summary(f"c{n}", stage(each)) for n, each in enumerate(DAYS)]
    copies = [Copy(each.id, each.id, f"{each.id}.json", ("set",)) for each in cohorts]
    unread = [PassedOver(f"x{n}", f"x{n} is empty") for n in range(7)]
    told = notices(season(cohorts, copies, unread))
    assert told[:5] == [
        f"c{n} was met more than once and counts once: c{n}.json, not set" for n in range(5)
    ]
    assert told[5:] == [
        "3 more cohorts met more than once: each counts once",
        *(f"passed over: x{n} is empty" for n in range(5)),
        "passed over: 2 more files",
    ]
    assert notices(season(cohorts, copies[:5], unread[:5])) == [*told[:5], *told[6:11]]
    assert notices(season(cohorts, copies[:6], unread[:6]))[5::6] == [
        "one more cohort met more than once: each counts once",
        "passed over: one more file",
    ]
    assert not [each for each in words(season(cohorts, copies, unread)) if "met" in each]


def test_one_cohort_goes_on_and_two_go_on() -> None:
    assert going_on(1) == "From one cohort that goes on."
    assert going_on(2) == "From 2 cohorts that go on."
    on = summary("a", coming=coming(d3=2.0), as_of=date(2026, 4, 1))
    assert season([on]).running == 1


def test_the_title_has_the_numbers_of_the_table() -> None:
    (found,) = season(summary(f"c{n}", stage(each)) for n, each in enumerate(DAYS)).species
    best = found.stages[0].best
    assert best.predicted_low is not None
    assert best.predicted_high is not None
    ends = f"one cohort {best.predicted_low:.1f} to {best.predicted_high:.1f}"
    assert title(found, found.stages[0]).endswith(ends)
