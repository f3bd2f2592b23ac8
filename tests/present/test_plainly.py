"""What the top of the page tells a parent."""

from pathlib import Path

from rearlog.notebook import Notebook
from rearlog.present.contents import contents
from rearlog.present.plainly import codes, plainly
from rearlog.sentences.compare import made_tests
from tests.builders import notebook_of, tiny_log

SAMPLES = Path(__file__).parents[2] / "sample_cohorts"


def opened(*names: str) -> list[Notebook]:
    return [Notebook(SAMPLES / f"{name}.json") for name in names]


def test_cohorts_side_by_side() -> None:
    # counted by hand in the three sample files
    text = " ".join(plainly(contents(opened("cool", "room", "warm"))))
    assert "Of the 24 animals in cool, 18 became adult; 6 died." in text
    assert "Of the 24 animals in room, 17 became adult; 6 died and 1 is lost." in text
    assert "(Percentages count who was lost or taken out for as long as it was watched.)" in text
    assert "38.2 days in cool, 28.1 in room and 20.5 in warm" in text
    assert "warm was faster than cool by 17.7 days" in text
    assert "degree-days in cool, 424 in room and 412 in warm; no difference was shown" in text
    assert "In how many died, no difference was shown" in text


def test_one_cohort_is_compared_with_nothing() -> None:
    text = " ".join(plainly(contents(opened("warm"))))
    assert "20.5 days on average (n = 17)" in text
    assert "difference" not in text


def test_while_all_are_young() -> None:
    young = notebook_of(tiny_log({"1": "egg L1", "2": "egg L1", "3": "egg egg"}))
    text = " ".join(plainly(contents([young])))
    assert "none became adult; 3 are still growing." in text
    assert "on average" not in text


def test_the_short_words_are_those_in_use() -> None:
    one, three = (
        " ".join(codes(contents(opened(*names)))) for names in (["warm"], ["cool", "warm"])
    )
    assert "L1 to L5: the stages of the larva" in one
    assert "one degree above 6.9 °C" in one  # the threshold of the sample's profile
    assert "p:" not in one
    assert "p:" in three


def test_the_methods_name_the_tests_that_were_made() -> None:
    result = contents(opened("cool", "room", "warm")).comparison
    assert result is not None
    text = made_tests(result)
    assert {row.test for row in result.stages if row.p is not None} == {"Welch ANOVA"}
    assert "Welch ANOVA in days of egg, L1" in text
    assert "Kruskal" not in text
