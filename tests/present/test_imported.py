"""What is told of what was imported."""

from rearlog.present.imported import MOST_DOUBTS, first_of


def test_of_many_lines_the_first_are_told_and_the_others_counted() -> None:
    lines = [f"line {n}" for n in range(MOST_DOUBTS + 2)]
    assert first_of("In doubt", lines)[-1] == "In doubt: and 2 more"
    assert len(first_of("In doubt", lines)) == MOST_DOUBTS + 1
    shown = first_of("In doubt", lines[:MOST_DOUBTS])
    assert shown == [f"In doubt: {each}" for each in lines[:MOST_DOUBTS]]
