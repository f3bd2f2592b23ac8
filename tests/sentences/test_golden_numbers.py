"""The numbers in sentences about a small cohort, worked out by hand."""

import pytest

from rearlog.notebook import Notebook
from rearlog.records.log import ConstantTemperature
from rearlog.sentences import durations, survival
from tests.builders import START, notebook_of, small_profile, tiny_log

# L1 took 2, 3, 4 and 5 days of those who were seen passing; 30 ± 3 degree-days are expected of it,
# at 20 °C 3 days. One died of mould, one of no cause that was noted, and one was lost.
LIVES = {str(n): "egg L1! " + "L1 " * (n - 1) + "L2! L2" for n in (2, 3, 4, 5)}
LIVES |= {"6": "egg L1! L1 dead:mould", "7": "egg lost", "8": "egg L1! L1 dead", "9": "egg L1! L1"}


def room(lives: dict[str, str] | None = None) -> Notebook:
    notebook = notebook_of(
        tiny_log(
            lives or LIVES,
            profile=small_profile(heat={"L1": 30.0}),
            laid=(-1, 0),
            temperatures=(ConstantTemperature(20.0, START.date()),),
        )
    )
    return notebook


def test_how_long_stages_took() -> None:
    said = durations.words(room().durations())
    # t(0.975; 3) = 3.182 (published), SE 0.645: 3.5 ± 2.05 days
    assert said[1].startswith("L1: 3.5 days on average (95 % interval 1.4 to 5.6, n = 4); ")
    assert said[1].endswith("as expected.")  # who is still in it is new
    assert "2.4 to 3.6 are expected" in said[1]
    assert not any("In step" in line for line in said)
    together = room({str(n): "egg L1 L1 L1 L1 L1 L2" for n in range(4)})
    slow = durations.words(together.durations())
    assert "L1: 5.0 days on average" in slow[1]
    assert "1.4 days more than that." in slow[1]
    assert slow[-1].startswith("In step (")


def test_the_stage_that_is_off_its_range_or_else_the_longest() -> None:
    def title(*lives: str) -> str:
        return durations.title([room({str(n): each for n, each in enumerate(lives)}).durations()])

    assert title(*["egg L1! L1 L1 L1 L1 L1 L2!"] * 3) == (
        "L1 took longer than expected: 6.0 days on average, not 2.4 to 3.6"
    )
    assert title(*["egg L1! L2!"] * 3) == (
        "L1 took less time than expected: 1.0 days on average, not 2.4 to 3.6"
    )
    # one alone shows nothing of the others
    assert title("egg L1! L2!") == "No stage is shown to be off its expected range in tiny"
    # the egg, of which nothing is expected, took from the middle of the day of laying to day 1
    assert title("egg L1! L1 L1 L2!") == "The longest stage in tiny was L1: median 3.0 days"
    assert (
        title("egg egg egg egg egg L1! L1 L1 L2!")
        == "The longest stage in tiny was egg: median 5.5 days"
    )
    assert title("egg egg") == "No stage is over yet in tiny"


def test_who_lived_and_who_did_not() -> None:
    found = room().survival()
    assert survival.words(found)[:3] == (
        "Nobody has reached adulthood yet; 5 are alive.",
        "Of 8 in all: 2 died, 1 lost, 5 alive at the last check.",
        "Deaths: 1 mould (L1), 1 without a noted cause (L1).",
    )
    part = survival.words(room().survival(first="L1", until="L2"))
    assert "Of the 7 that entered L1, 2 died on the way." in part
    everyone = room({"1": "egg dead", "2": "egg L1 dead"}).survival()
    assert survival.words(everyone)[1:] == (
        "Of 2 in all: 2 died, none alive at the last check.",
        "Deaths: 1 without a noted cause (egg), 1 without a noted cause (L1).",
        "Half had died after day 0 and by day 1.",
    )
    assert not any("Strokes" in note for note in survival.notes([everyone]))
    assert "Strokes" in survival.notes([found])[0]
    unharmed = room({"1": "egg L1 L2 pupa adult"}).survival()
    assert survival.words(unharmed) == (
        # Wilson's limits of 1 in 1 (published): 0.207 to 1
        "100 % reached adulthood: 1 of the 1 whose outcome is known (95 % interval 21 to 100 %).",
        "Of 1 in all: 1 alive at the last check.",
    )


@pytest.mark.parametrize(("dead", "title"), [(1, "1 of 4 died"), (3, "3 of 4 died")])
def test_while_nobody_is_adult_the_title_counts_the_dead(dead: int, title: str) -> None:
    lives = {str(n): "egg dead" if n < dead else "egg egg" for n in range(4)}
    assert survival.title([room(lives).survival()]) == title
