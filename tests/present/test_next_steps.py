from datetime import date, timedelta

from msgspec.structs import replace

from rearlog.present.next_steps import OnShelf, next_steps
from rearlog.records.standing import Standing

TODAY = date(2026, 3, 26)


def shelf(**cohorts: Standing | None) -> list[OnShelf]:
    return [OnShelf(name, each) for name, each in cohorts.items()]


def growing(unseen: int = 0, days_ago: int = 1, missing: int = 0) -> Standing:
    """Of ten, so many not looked at since, and the days before today without a temperature."""
    last = TODAY - timedelta(days_ago) if unseen else None
    days = tuple(TODAY - timedelta(step) for step in range(missing, 0, -1))
    return Standing("x", 12, 10, 10, 10, unseen, last, days)


OVER = Standing("x", 12, 0, 0, 0, 0, None, ())


def told(cohorts: list[OnShelf], there: tuple[str, ...] = ()) -> list[tuple[str, tuple[str, ...]]]:
    return [(each.why, each.commands) for each in next_steps(cohorts, TODAY, there.__contains__)]


def commands(cohorts: list[OnShelf], there: tuple[str, ...] = ()) -> list[str]:
    return [each for _, lines in told(cohorts, there) for each in lines]


def test_an_empty_folder_begins() -> None:
    first, browser, sample = (lines for _, lines in told([]))
    assert first[0].startswith("rearlog start ")
    assert browser == ("rearlog serve",)
    assert [each.split()[1] for each in sample] == ["simulate", "report"]


def test_the_round_and_the_temperatures_of_yesterday_come_first() -> None:
    (round_, look), (day, write), (_, ask) = told(shelf(room=growing(10, missing=1)))
    assert round_.startswith("room: nobody has looked since Wed 25 Mar. ")
    assert look == ("rearlog check room",)
    assert day.startswith("room has no temperature on Wed 25 Mar. ")
    assert write == ("rearlog temps room --min LOWEST --max HIGHEST --on 2026-03-25",)
    assert ask == ("rearlog today",)


def test_several_days_without_a_look_or_a_temperature() -> None:
    (round_, _), (days, write), _ = told(shelf(room=growing(3, 5, missing=4)))
    assert round_.startswith("room: 3 of 10 not looked at since Sat 21 Mar, 5 days ago. ")
    assert days.startswith("room has no temperature on 4 days. ")
    assert write[1] == "rearlog temps room --constant DEGREES --from 2026-03-22 --to 2026-03-25"


def test_what_is_kept_constant_is_asked_for_days_that_all_lack_it() -> None:
    """Of the 18th, the 20th and the 23rd to the 25th: a range of all would take in days that are
    known."""
    days = tuple(date(2026, 3, day) for day in (18, 20, 23, 24, 25))
    (why, write), *_ = told(shelf(room=replace(growing(), without_temperature=days)))
    assert why.startswith("room has no temperature on 5 days. ")
    assert write[1] == "rearlog temps room --constant DEGREES --from 2026-03-23 --to 2026-03-25"
    apart = replace(growing(), without_temperature=days[:2])
    assert len(told(shelf(room=apart))[0][1]) == 1


def test_of_several_cohorts_that_which_waits_longest_is_named_first() -> None:
    (round_, look), (_, write), _ = told(
        shelf(a=growing(10, missing=1), b=growing(10, 3), c=growing(10, 2, 5), d=growing(),
              e=growing(9))
    )  # fmt: skip
    assert round_.startswith("b: nobody has looked since Mon 23 Mar, 3 days ago (c, a and e wait")
    assert look == ("rearlog check b",)
    assert write[0].startswith("rearlog temps c ")
    many = shelf(**{f"s{n}": growing(10) for n in range(9)})
    assert "(s1, s2, s3 and 5 others wait too)" in told(many)[0][0]
    assert "(s1 waits too)" in told(many[:2])[0][0]


def test_who_looked_today_may_ask() -> None:
    assert commands(shelf(room=growing())) == [
        "rearlog today", "rearlog forecast room", "rearlog serve"
    ]  # fmt: skip


def test_what_is_over_is_reported_and_nothing_is_written_over() -> None:
    over = shelf(cool=OVER, room=OVER)
    assert commands(over)[0] == "rearlog report cool room -o report.html"
    assert commands(over, ("report.html",))[0].endswith("-o report.html --force")
    assert commands(shelf(cool=OVER))[0] == "rearlog report cool -o cool.html"
    assert "released" in told(over)[0][0]
    adults = Standing("x", 3, 3, 0, 0, 0, None, ())
    assert "nobody is left to develop" in told(shelf(cool=adults))[0][0]


def test_adults_that_lay_wait_for_a_look_too() -> None:
    laying = Standing("x", 12, 5, 0, 5, 2, TODAY - timedelta(2), ())
    (round_, look), (over, _), _ = told(shelf(room=laying))
    assert round_.startswith("room: 2 of 5 not looked at since Tue 24 Mar, 2 days ago. ")
    assert look == ("rearlog check room",)
    assert "nobody is left to develop" in over
    steps = told(shelf(room=replace(laying, unseen=5)))
    assert steps[0][0].startswith("room: nobody has looked since")


def test_those_that_are_over_are_not_mixed_with_the_others() -> None:
    steps = told(shelf(old=OVER, young=growing()))
    assert [lines[0] for _, lines in steps] == [
        "rearlog today", "rearlog forecast young", "rearlog report old -o old.html"
    ]  # fmt: skip
    assert steps[2][0].startswith("old: all have died, or were released")
    many = shelf(**{f"s{n}": OVER for n in range(9)})
    assert (
        commands(many)[0] == f"rearlog report {' '.join(f's{n}' for n in range(8))} -o report.html"
    )
    odd = [OnShelf("'a b.json'", OVER)]
    assert commands(odd) == [
        "rearlog report 'a b.json' -o report.html", "rearlog serve",
        "rearlog start NAME --species ID --eggs N",
    ]  # fmt: skip
    assert told(odd)[2][0] == "The next cohort:"


def test_days_are_counted_and_others_named_in_their_number() -> None:
    two = told(shelf(a=growing(10, 2, missing=1), b=growing(10, 1, missing=3), c=growing()))
    assert two[0][0].startswith("a: nobody has looked since Tue 24 Mar, 2 days ago (b waits too)")
    assert two[1][0].startswith("b has no temperature on 3 days (a lacks some too). ")
    three = told(
        shelf(a=growing(10, missing=1), b=growing(10, missing=1), c=growing(10, missing=1))
    )
    assert "(b and c wait too)" in three[0][0]
    assert "(b and c lack some too)" in three[1][0]
    four = told(shelf(**{name: growing(10) for name in "abcde"}))
    assert "(b, c, d and 1 other wait too)" in four[0][0]


def test_a_file_that_cannot_be_read_is_the_first() -> None:
    assert commands(shelf(a=growing(10), b=None))[:2] == ["rearlog verify b", "rearlog check a"]
