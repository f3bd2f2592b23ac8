"""What is said of how far cohorts have come, and of who is late."""

from msgspec.structs import replace

from rearlog.analysis.stages.expected import Timing
from rearlog.analysis.stages.progress import IndividualProgress, Progress
from rearlog.sentences import progress
from tests.sentences.small_lives import small


def late(*codes: str, early: tuple[str, ...] = ()) -> Progress:
    """A cohort in which those took longer in a stage than expected, and some were too early."""
    found = small("tiny", ("egg egg egg L1",)).progress()
    (one,) = found.individuals
    (span, *_) = one.spans

    def made(code: str, outside: Timing | None) -> IndividualProgress:
        return replace(one, individual=code, spans=(replace(span, outside=outside),))

    everyone = [made(code, Timing.LONGER) for code in codes]
    everyone += [made(code, Timing.SHORTER) for code in early]
    return replace(found, individuals=tuple(everyone))


def test_who_is_late_is_named_while_they_are_few_and_their_names_short() -> None:
    def told(found: Progress) -> str:
        return progress.title([found]).partition("; ")[2]

    assert told(late("1", "2", "3", "4")) == "1 to 4 took longer than expected"
    assert told(late("1", "2", "3", "4", "5")) == "5 of them took longer than expected"
    assert told(late("a" * 8, "b" * 7)) == f"{'a' * 8} and {'b' * 7} took longer than expected"
    assert told(late("a" * 8, "b" * 8)) == "2 of them took longer than expected"
    assert told(late(early=("1",))) == "nobody was late for certain"
    assert told(replace(late(early=("1",)), expected=())) == ""
    assert told(replace(late(early=("1",)), alive=())) == ""
    assert told(replace(late(early=("1",)), alive=(), reached=1)) == "nobody was late for certain"


def test_of_three_cohorts_those_that_are_late_are_counted_together() -> None:
    def told(*found: Progress) -> str:
        return progress.title(found).partition("; ")[2]

    one, two, none = late("1"), late("1", "2"), late(early=("1",))
    assert told(one, none) == "late: 1 in tiny"
    assert told(one, two, none) == "late: 1 in tiny and 2 in tiny"
    assert told(one, two, two, none) == "5 took longer than expected"
    assert told(none, none) == "nobody was late for certain"
    assert told(none, replace(none, expected=())) == ""


def reached(name: str, count: int, n: int) -> Progress:
    """A cohort of which so many of n are adults."""
    found = late(*(str(place) for place in range(n)))
    return replace(found, cohort=name, reached=count, expected=(), individuals=tuple(
        replace(each, spans=()) for each in found.individuals
    ))  # fmt: skip


def test_cohorts_are_ranked_by_the_part_that_is_grown_up() -> None:
    few = [reached("a", 1, 2), reached("b", 2, 8)]
    assert progress.title(few) == "Reached adulthood: a 1 of 2, b 2 of 8"
    many = [*few, reached("c", 0, 0), *(reached(name, 3, 9) for name in "de")]
    assert progress.title(many) == ("Reached adulthood: 0 of 0 (c) to 1 of 2 (a) in 5 cohorts")
    long = "n" * 21
    assert long not in progress.title([reached(long, 1, 2), few[0]])
    assert long not in progress.title([replace(reached(long, 0, 0), cohort=long)])


def test_how_far_one_cohort_has_come() -> None:
    young = small("tiny", ("egg egg egg L1", "egg egg", "egg dead")).progress()
    assert progress.title([young]).startswith("On 12 Mar, of 3: 1 in egg, 1 in L1; ")
    grown = small("tiny", ("egg L1 L2 pupa adult", "egg dead")).progress()
    assert progress.title([grown]).startswith("1 of 2 reached adulthood, the first by 13 Mar")
    unknown = replace(grown, first_reached=None)
    assert progress.title([unknown]).startswith("1 of 2 reached adulthood; ")
    over = small("tiny", ("egg dead", "egg lost", "egg dead")).progress()
    assert progress.title([over]) == "None of 3 reached adulthood: 2 died, 1 lost"
    assert progress.title([small("tiny", ()).progress()]) == "tiny has no individuals yet"


def test_the_notes_of_the_chart_name_its_signs_and_what_ranges_rest_on() -> None:
    lives = ("egg L1 L2 pupa adult", "egg dead", "egg lost", "egg removed")
    found = small("tiny", lives).progress()
    signs = (
        "Slanted edge: between two checks; × found dead; ? lost; ▷ taken out alive; outlined or ◁: "
        "outside the expected range. Brackets: expected hatch (dotted), pupation (dashed) and "
        "eclosion (solid); ●: when half of those who came had."
    )
    assert progress.notes([found], brief=True) == [signs]
    # 30 + 22 + 22 + 45 = 119 degree-days, and 1.96 times the SD, a tenth of that, to both sides
    assert progress.notes([found]) == [
        f"{signs} Expected eclosion rests on 96 to 142 degree-days above 10 °C at the cohort's own "
        "temperatures."
    ]
    hatch = replace(found, cohort="young", expected=found.expected[:1])
    assert progress.notes([found, hatch]) == [
        f"{signs} Expected eclosion rests on 96 to 142 degree-days above 10 °C at the cohort's own "
        "temperatures; expected hatch rests on 24 to 36 degree-days above 10 °C at the cohort's "
        "own temperatures."
    ]
    plain = replace(small("tiny", ("egg egg",)).progress(), expected=())
    assert progress.notes([plain]) == ["Slanted edge: between two checks."]


def test_ranges_beyond_the_temperatures_of_the_profile_are_said_to_be() -> None:
    found = small("tiny", ("egg egg",)).progress()
    far = replace(
        found.expected[-1].rests_on, extrapolated=True, measured_celsius=(22.0, 24.0), celsius=20.0
    )
    events = (*found.expected[:-1], replace(found.expected[-1], rests_on=far))
    cold = replace(found, cohort="cold", expected=events)
    (told,) = progress.notes([cold])
    assert told.endswith(" Extrapolated: measured at 22 to 24 °C, here 20.0 °C.")
    (both,) = progress.notes([found, cold])
    assert both.endswith(" Extrapolated beyond the temperatures of the profile's values: cold.")
    assert "Extrapolated" not in progress.notes([cold], brief=True)[0]
    assert "xtrapolated" not in progress.notes([found, found])[0]


def test_the_chart_in_a_sentence() -> None:
    out, plain = late("1", "2", early=("3",)), reached("b", 1, 2)
    assert progress.alt_text([out, plain]).endswith("; 3 marked as outside the expected range.")
    assert progress.alt_text([out, plain]).startswith(
        "Chart of tiny, b: a row for each individual, its stages as spans by date. Reached "
    )
    assert "marked" not in progress.alt_text([plain])
