"""Names that fit a chart, and are never alike."""

from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from rearlog.charts.names import all_called, called, longest_beside
from rearlog.charts.style import look
from rearlog.records.wording import shortened_apart
from tests.charts.conftest import Answers

ALPHABET = st.sampled_from("ab-é1")
NAMES = st.lists(st.text(ALPHABET, min_size=1, max_size=60), min_size=1, max_size=12, unique=True)


@given(NAMES, st.integers(8, 30))
def test_shortened_names_fit_and_no_two_are_alike(names: list[str], length: int) -> None:
    shown = shortened_apart(names, length)
    assert all(len(each) <= length for each in shown)
    assert len(set(shown)) == len(names)
    assert all(cut == name for name, cut in zip(names, shown, strict=True) if len(name) <= length)


def test_names_are_cut_where_they_do_not_differ() -> None:
    at_the_end = [f"the caterpillars of the second shelf {letter}" for letter in "AB"]
    assert shortened_apart(at_the_end, 15) == ("the cat…shelf A", "the cat…shelf B")
    inside = [f"shelf {letter} of the room with the caterpillars" for letter in "AB"]
    assert shortened_apart(inside, 15) == ("shelf A…illars", "shelf B…illars") or all(
        letter in name for letter, name in zip("AB", shortened_apart(inside, 15), strict=True)
    )
    middle = [f"the window of the {n} shelf in the large room" for n in (17, 18)]
    for number, name in zip(("7", "8"), shortened_apart(middle, 15), strict=True):
        assert f"…{number}…" in name
        assert name.startswith("the wi")
        assert name.endswith("room")


def test_sexes_have_signs_where_words_do_not_fit(room: Answers) -> None:
    names = [f"dock-{n}, {sex}" for n in (19, 22) for sex in ("females", "males", "sex not known")]
    given = [replace(room.progress, cohort=name) for name in names]
    assert [each.cohort for each in called(given, 12)] == [
        "dock-19 ♀", "dock-19 ♂", "dock-19 ?", "dock-22 ♀", "dock-22 ♂", "dock-22 ?",
    ]  # fmt: skip
    assert [each.cohort for each in called(given, 30)] == names
    # all of a chart are called in one way, and others stay as they are
    mixed = [replace(room.progress, cohort=name) for name in ("a, males", "moths, females", "b")]
    assert [each.cohort for each in called(mixed, 12)] == ["a ♂", "moths ♀", "b"]
    assert all_called(("a, males", "moths, females"), ("a, males", "moths, females"), 12) == (
        "a ♂", "moths ♀",
    )  # fmt: skip


def test_beside_a_narrow_drawing_names_have_twelve_letters_and_twenty_beside_others() -> None:
    assert [longest_beside(look(size)) for size in ("phone", "column")] == [12, 12]
    assert [longest_beside(look(size)) for size in ("double", "page", "poster")] == [20] * 3


def test_the_same_name_stays_the_same() -> None:
    long = "a name that is much too long for it"
    one, other = shortened_apart([long, long], 10)
    assert one == other
    assert len(one) == 10


def test_results_bear_the_names_that_fit(room: Answers, shelf: Answers) -> None:
    long = [f"a cohort of a long name, number {place}" for place in (1, 2)]
    given = [
        replace(each.progress, cohort=name) for each, name in zip((room, shelf), long, strict=True)
    ]
    shown = called(given, 12)
    assert [each.cohort for each in shown] == list(shortened_apart(long, 12))
    assert called([room.progress], 12)[0] is room.progress
    pair = (given[0], ("other", long[1]))
    renamed = all_called(pair, long, 12)
    assert renamed[0].cohort == shown[0].cohort
    assert renamed[1] == ("other", shown[1].cohort)
