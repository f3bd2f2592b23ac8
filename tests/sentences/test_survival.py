"""What is said of made-up survival: each number as it is, and what is not known."""

import pytest
from msgspec.structs import replace

from rearlog.analysis.statistics.interval_median import IntervalMedian
from rearlog.analysis.survival.survival import ReachedEnd, Survival
from rearlog.sentences import survival as words
from tests.sentences.invented_results import DIFFER, NOT_SHOWN, NOT_TESTED, survived
from tests.sentences.small_lives import SHAPES, small

NOBODY = ReachedEnd("adult", 0, 0, 0, 0, None, None, None, None)


def end(
    reached: int, died: int = 0, *, waiting: int = 0, gone: int = 0, stage: str = "adult"
) -> ReachedEnd:
    n = reached + died
    least, most = reached / (n + waiting + gone), (reached + waiting + gone) / (n + waiting + gone)
    return ReachedEnd(stage, n, reached, waiting, gone, least, most, 0.254, 0.956)


def of(found: ReachedEnd, **more: object) -> Survival:
    lived = replace(small("tiny", SHAPES["one grown"]).survival(), reached=found)
    return replace(lived, **more)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("found", "told"),
    [
        (NOBODY, "Nobody was under watch in tiny."),
        (end(1), "Of the one in tiny 1 became adult (100 %)."),
        (end(2), "Of the 2 in tiny 2 became adults (100 %)."),
        (end(2, 1, stage="pupa"), "Of the 3 in tiny 2 reached pupa (67 %): 1 died."),
        (end(0, 2), "Of the 2 in tiny none became adults: 2 died."),
        (
            end(0, 0, waiting=1, gone=1),
            "Of the 2 in tiny so far none became adults: 1 was lost or taken out before and 1 is "
            "alive and may yet.",
        ),
        (
            end(1, 1, waiting=2, gone=2),
            "Of the 6 in tiny so far 1 became adult: 1 died, 2 were lost or taken out before and 2 "
            "are alive and may yet.",
        ),
    ],
)
def test_how_many_came_to_the_end(found: ReachedEnd, told: str) -> None:
    assert words.lead(of(found)) == told


def test_who_entered_a_stage_is_told_so() -> None:
    assert words.lead(of(end(2), since="L1")) == (
        "Of the 2 that entered L1 in tiny 2 became adults (100 %)."
    )


@pytest.mark.parametrize(
    ("found", "told"),
    [
        (of(end(3, 1), K=0.1249, K_low=0.054, K_high=0.5), "0.12 (95 % interval 0.05 to 0.50)"),
        (of(end(3, 1), K=0.125, K_low=0.054, K_high=None), "0.12 (95 % interval 0.05 or more)"),
        (of(end(0, 4), K=None, K_low=None, K_high=None), "infinite, for nobody reached the end"),
        (
            of(end(0, 4), K=None, K_low=0.3, K_high=None),
            "infinite, for nobody reached the end (95 % interval 0.30 or more)",
        ),
        (
            of(end(1, 1, waiting=2), K=None, K_low=0.3, K_high=0.75),
            "not known yet (95 % interval 0.30 to 0.75)",
        ),
        (of(end(0, 1, waiting=2), K=None, K_low=None, K_high=None), "not known yet"),
        (of(NOBODY, K=None, K_low=None, K_high=None), "not known yet"),
    ],
)
def test_what_is_known_of_the_total_killing_power(found: Survival, told: str) -> None:
    assert words.total_k(found) == told


def test_a_title_tells_of_deaths_what_the_test_of_them_shows() -> None:
    both = [of(end(3, 1)), of(end(1, 3), cohort="other")]
    two = (("tiny", 1, 4), ("other", 3, 4))
    for found, told in (
        (DIFFER, "; deaths differ"),
        (NOT_SHOWN, "; no difference in deaths is shown"),
        (NOT_TESTED, ""),
    ):
        title = words.title(both, survived(*two, found=found))
        assert title == f"Reached adulthood: tiny 75 %, other 25 %{told}"
    assert words.title(both) == "Reached adulthood: tiny 75 %, other 25 %"


@pytest.mark.parametrize(
    ("found", "share"),
    [
        (NOBODY, "unknown"),
        (end(0, 1, waiting=1), "none yet"),
        (end(0, 1), "0 %"),
        (end(0, 1, gone=1), "0 to 50 %"),
        (end(1, 1, waiting=2), "25 to 75 %"),
        (end(2, 1), "67 %"),
    ],
)
def test_the_part_that_has_reached_the_end(found: ReachedEnd, share: str) -> None:
    assert words.share_reached(found) == share


@pytest.mark.parametrize(
    ("quarter", "limits", "told"),
    [
        (None, (None, None), None),
        ((1.24, None), (None, None), "Half had died after day 1.2 at the earliest"),
        ((1.24, 3.0), (None, 4.0), "Half had died after day 1.2 and by day 3"),
        ((1.24, 3.0), (1.0, None), "Half had died after day 1.2 and by day 3"),
        (
            (1.24, 3.0),
            (1.0, 4.06),
            "Half had died after day 1.2 and by day 3 (95 % interval 1 to 4.1)",
        ),
        ((2.0, 2.0), (None, None), "Half had died by day 2"),
    ],
)
def test_between_which_days_half_had_died(
    quarter: tuple[float, float | None] | None,
    limits: tuple[float | None, float | None],
    told: str | None,
) -> None:
    median = IntervalMedian(8, 4, (None, quarter, None), *limits)
    found = of(end(4, 4), median=median)
    assert words.half_died(found) == told
    assert words.half_died(found, limits=False) == (told and told.partition(" (")[0])
