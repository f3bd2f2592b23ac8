"""What is told of what was imported."""

from rearlog.present.imported import first_of


def test_of_many_lines_the_first_are_told_and_the_others_counted() -> None:
    lines = [f"line {n}" for n in range(22)]
    assert first_of("In doubt", lines)[-1] == "In doubt: and 2 more"
    assert len(first_of("In doubt", lines)) == 21
    shown = first_of("In doubt", lines[:20])
    assert shown == [f"In doubt: {each}" for each in lines[:20]]
