"""What is said of many cohorts: of sites, of cohorts that stand out, and of files."""

from datetime import date

from msgspec.structs import replace

from rearlog.analysis.pooling.season import Copy, PassedOver, season
from rearlog.analysis.pooling.standing_out import Direction, Reason, StandsOut
from rearlog.records.command_text import in_browser
from rearlog.sentences.phrases import p_text
from rearlog.sentences.season import going_on, lead, notices, title, words
from rearlog.sentences.standing_out import stand_out_words, why
from tests.made_summaries import WHOLE, coming, stage, summary

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


def warm_sites(*names: str) -> list[str]:
    """What is said of thresholds, of sites with cohorts at three temperatures each."""
    days = {18.0: 40.0, 22.0: 29.3, 26.0: 23.1}
    cohorts = (
        summary(f"{site}{at}", stage(took + n / 5, celsius=at), site=site)
        for n, site in enumerate(names)
        for at, took in days.items()
    )
    return [each for each in words(season(cohorts))[1:] if "°C" in each]


def test_two_sites_say_nothing_of_a_threshold_site_by_site() -> None:
    two, three = warm_sites("coast", "hill"), warm_sites("coast", "hill", "south")
    assert len(two) == 1
    assert two[0].startswith("Nothing develops below")
    assert three[1].startswith("Site by site, 3 of them with three temperatures or more: ")


def test_one_part_in_all_cohorts_is_told_once() -> None:
    alike = [summary(f"c{n}", stage(each), reached=15) for n, each in enumerate(DAYS)]
    assert "120 of 160 came to adulthood: 75 % in each cohort." in words(season(alike))
    other = [*alike, summary("x", stage(30.0), reached=10)]
    assert "130 of 180 came to adulthood: 50 % to 75 % in a cohort." in words(season(other))


def test_that_some_ends_are_not_known_is_said() -> None:
    everybody = [summary(f"c{n}", stage(each), reached=15) for n, each in enumerate(DAYS)]
    assert lead(season(everybody)).endswith("and 75 % of 160 came to adulthood.")
    some = [*everybody, summary("few", stage(30.0), known=16, reached=12, gone=4)]
    assert lead(season(some)).endswith("and 75 % of 176 whose end is known came to adulthood.")


def test_cohorts_that_survival_leaves_out_are_named_with_the_reason() -> None:
    """Of 6 that have died all are known, but 10 more are on the way; of the others none are."""
    through = [summary(f"c{n}", stage(each), reached=15) for n, each in enumerate(DAYS)]
    young = summary("young", known=6, reached=0, waiting=10, gone=4)
    found = season([*through, young])
    assert lead(found).endswith(
        "and 75 % of 160 whose end is known came to adulthood, one cohort left out."
    )
    on_the_way = "(more than 10 % of the animals still on the way)"
    assert f"Survival leaves out young {on_the_way}." in words(found)
    away = [summary(f"away{n}", known=0, reached=0, gone=20) for n in range(2)]
    found = season([*through, young, *away])
    assert lead(found).endswith("came to adulthood, 3 cohorts left out.")
    assert (
        f"Survival leaves out young {on_the_way}, and away0 and away1 (no animal’s end known)."
    ) in words(found)
    many = [replace(young, id=f"y{n}", name=f"y{n}") for n in range(5)]
    assert f"Survival leaves out 5 cohorts {on_the_way}." in words(season(many))
    assert not [each for each in words(season(through)) if "leaves out" in each]
    assert "left out" not in lead(season(through))


def at_celsius(*known: float | None) -> list[str]:
    """What is said of the temperatures of cohorts kept at these, each of another length."""
    cohorts = [summary(f"c{n}", stage(30.0 + n, celsius=at)) for n, at in enumerate(known)]
    return [each for each in words(season(cohorts)) if "unlike things" in each]


def test_a_mean_over_unlike_temperatures_is_said_to_be_one() -> None:
    """They are unlike where one lies 2 °C or more from the middle one."""
    (told,) = at_celsius(20.0, 28.0)
    assert told == (
        "These cohorts were at 20.0 to 28.0 °C: their mean in days is of unlike things, and "
        "holds for no one temperature; “rearlog thermal” says how the pace depends on warmth, and "
        "“rearlog compare” holds cohorts beside each other in degree-days."
    )
    assert in_browser(told).endswith(
        "holds for no one temperature; compare them in degree-days, or those of one temperature "
        "with each other."
    )
    assert at_celsius(20.0, 24.0)
    assert at_celsius(21.0, 22.0, 22.0, 24.0)
    assert not at_celsius(20.0, 23.9)
    assert not at_celsius(20.5, 22.0, 22.0, 23.5)
    assert not at_celsius(20.0, None)
    assert not at_celsius(None, None)


def test_of_two_species_the_caution_names_the_one_that_it_is_about() -> None:
    warm = [summary(f"c{n}", stage(30.0, celsius=at)) for n, at in enumerate((18.0, 27.0))]
    other = summary("white", stage(30.0, celsius=20.0), species="Pieris rapae")
    (told,) = (each for each in words(season([*warm, other])) if "unlike things" in each)
    assert told.startswith("Vanessa cardui: These cohorts were at 18.0 to 27.0 °C")
    assert "“rearlog" not in in_browser(told)


def test_cohorts_that_name_no_site_are_counted_beside_the_sites() -> None:
    at = [summary(f"c{n}", stage(each), site=f"School {n // 2}") for n, each in enumerate(DAYS[:6])]
    assert [each for each in words(season(at)) if each.endswith("the average counts 3 sites.")]
    (said,) = (
        each
        for each in words(season([*at, summary("x", stage(30.0)), summary("y", stage(31.0))]))
        if "the average counts" in each
    )
    assert said.endswith("the average counts 3 sites, and 2 cohorts of no known site.")


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


def test_where_some_came_through_and_nothing_can_be_pooled_the_lead_counts_them() -> None:
    """One that entered as L1 has no whole development, and is an adult for all that."""
    of_two = [summary("a", reached=1, known=1, waiting=3), summary("b", reached=2, waiting=9)]
    some = season([*of_two, summary("fly", species="Musca domestica", reached=9, waiting=9)])
    assert lead(some) == (
        "Vanessa cardui, 2 cohorts: 3 came to adulthood so far, 12 may yet; how long it takes on "
        "average cannot be told yet (1 other species below)."
    )
    none = season([summary("a", reached=0, known=2, waiting=3)])
    assert lead(none).startswith("No animal of Vanessa cardui is known to have come through yet")


def test_of_two_species_each_is_to_come_into_its_own_last_stage() -> None:
    """Of 10 the first twentieth is there with the first half of one, half of them a day later."""
    days = coming(d3=0.5, d4=4.5, d5=4.5, d6=0.5)
    fly = {"species": "Musca domestica", "last_stage": "pupa"}
    on = {"as_of": date(2026, 4, 1), "coming": days}
    both = season([summary("a", **on), summary("b", **on, **fly)])
    assert [each for each in words(both) if each.startswith("Still to come")] == [
        f"Still to come of {species}: about 10 {goal}, if all live; half of them by Saturday 4 "
        "April, nearly all from Friday 3 April to Sunday 5 April."
        for species, goal in (("Musca domestica", "pupae"), ("Vanessa cardui", "adults"))
    ]


def test_the_title_has_the_numbers_of_the_table() -> None:
    (found,) = season(summary(f"c{n}", stage(each)) for n, each in enumerate(DAYS)).species
    best = found.stages[0].best
    assert best.predicted_low is not None
    assert best.predicted_high is not None
    ends = f"one cohort {best.predicted_low:.1f} to {best.predicted_high:.1f}"
    assert title(found, found.stages[0]).endswith(ends)


def out(stage: str | None, days: float, side: Direction, *reasons: Reason) -> StandsOut:
    return StandsOut(
        "id", "room", stage, side, days, 28.0, 0.01, None, None, None, 27.04, 21.96, reasons
    )


def told_of(*found: StandsOut) -> list[str]:
    return [*stand_out_words(found, ["egg", "L1", WHOLE])]


def test_a_cohort_that_stands_out_is_one_sentence_and_its_stages_a_clause() -> None:
    less, more = Direction.SHORTER, Direction.LONGER
    found = [out("L1", 2.0, less), out("pupa", 9.0, more), out("egg", 3.0, less)]
    found += [out(WHOLE, 18.0, less, Reason.WARMER), out(None, 0.2, Direction.FEWER)]
    p = "(p = 0.010, corrected for all of them)"
    assert told_of(*found) == [
        f"room was faster from egg to adult than the others: 18.0 days, 28.0 on average {p}; also "
        "faster in egg and L1; slower in pupa; 20 % came through, 2800 % of all "
        f"{p}. It was at 27.0 °C, the middle cohort at 22.0 °C."
    ]
    assert told_of(found[1]) == [
        f"room was slower in pupa than the others: 9.0 days, 28.0 on average {p}. "
        "Nothing in its records says why."
    ]
    others = [replace(found[0], id=f"{n}") for n in range(8)]
    assert told_of(*others)[6:] == ["2 more cohorts stand out: the full tables have all of them."]
    assert told_of(*others[:7])[6:] == [
        "One more cohort stands out: the full tables have all of them."
    ]
    assert len(told_of(*others[:6])) == 6


def test_what_may_be_why_is_read_from_the_records() -> None:
    struck = out(WHOLE, 18.0, Direction.SHORTER, Reason.TEMPERATURES_STRUCK)
    why_struck = "temperature was struck out of its records, so that which stands may be wrong"
    assert why(struck) == f"A {why_struck}"
    warm = replace(struck, reasons=(Reason.WARMER, Reason.TEMPERATURES_STRUCK))
    seen = "it was at 27.0 °C, the middle cohort at 22.0 °C"
    assert why(warm) == f"It{seen[2:]} and a {why_struck}"
    off = replace(warm, p_line=0.0001, p_line_holm=0.002, at_temperature=28.0)
    assert why(off) == f"A {why_struck}"
    explained = replace(warm, p_line=0.4, p_line_holm=1.0, at_temperature=18.1)
    assert why(explained) == f"Its temperature explains that; besides, a {why_struck}"
    assert told_of(off) == [
        "room was faster from egg to adult than others at its temperature: 18.0 days, 28.0 by the "
        f"line of all (p = 0.002, corrected for all of them). A {why_struck}."
    ]
    (told,) = told_of(explained, replace(out(None, 0.2, Direction.SHORTER)))
    assert "(p = 0.010, corrected for all of them). Its temperature explains that; be" in told
    not_all = replace(off, stage="L1", reasons=())
    (told,) = told_of(explained, not_all)
    assert "Its temperature explains how long it took from egg to adult; besides, a " in told
