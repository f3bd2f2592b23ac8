"""How often observers agreed, in words."""

import pytest

from rearlog.sentences.agreement import pair_words, title, words
from tests.analysis.invented_calls import a_round, called, found_in, log_of
from tests.builders import tiny_log


def two(agreed: int, *differ: tuple[str, str]) -> str:
    calls = [("L1", "L1")] * agreed + [*differ]
    log = log_of(
        *(called(f"a{n}", 1, one, "MB") for n, (one, _) in enumerate(calls)),
        *(called(f"a{n}", 1, other, "KT") for n, (_, other) in enumerate(calls)),
    )
    (pair,) = found_in(log).pairs
    return pair_words(pair).partition(" (kappa")[0].removesuffix(".")


@pytest.mark.parametrize(
    ("differ", "told"),
    [
        ([], "KT and MB agreed on 5 of 5"),
        (
            [("L3", "L4")] * 10,
            "KT and MB agreed on 5 of 15; all ten differences were L3 against L4",
        ),
        (
            [("L3", "L4")] * 11,
            "KT and MB agreed on 5 of 16; all 11 differences were L3 against L4",
        ),
        ([("L3", "L4")], "KT and MB agreed on 5 of 6; the one difference was L3 against L4"),
        (
            [("L3", "L4"), ("L4", "L3")],
            "KT and MB agreed on 5 of 7; both differences were L3 against L4",
        ),
        (
            [("L3", "L4"), ("L4", "L3"), ("L3", "L4")],
            "KT and MB agreed on 5 of 8; all three differences were L3 against L4",
        ),
        (
            [("L3", "L4"), ("L4", "L3"), ("L1", "L2")],
            "KT and MB agreed on 5 of 8; of three differences, two L3 against L4 and one L1 "
            "against L2",
        ),
    ],
)
def test_what_two_differed_on(differ: list[tuple[str, str]], told: str) -> None:
    told = told.replace("L4", "pupa")
    pairs = [(one.replace("L4", "pupa"), other.replace("L4", "pupa")) for one, other in differ]
    assert two(5, *pairs) == told


def test_the_title_is_the_finding() -> None:
    one = found_in(a_round())
    assert title([one]).startswith("KT and MB agreed on 15 of 18; of three differences")
    assert title([one, one]) == "Observers agreed: tiny 83 %, tiny 83 %"
    none = found_in(tiny_log({"1": "egg L1"}))
    assert title([none]) == "No two looked at the same individual in tiny"


def test_why_there_is_nothing_to_compare() -> None:
    assert "nobody signed a call" in words(found_in(tiny_log({"1": "egg L1"})))[0]
    alone = found_in(log_of(called("1", 1, "L1", "MB")))
    assert "only MB signed" in words(alone)[0]
    apart = found_in(log_of(called("1", 1, "L1", "MB"), called("1", 2, "L1", "KT")))
    assert "no two of KT and MB called" in words(apart)[0]


def test_whose_calls_were_mistakes() -> None:
    log = log_of(
        *(called("1", day, "L1", "MB") for day in (1, 2, 3)),
        called("1", 1.5, "L3", "KT"),
        called("1", 4, "L2", "MB"),
        called("2", 1, "L2", "KT"),
        called("2", 2, "L1", "MB"),
        called("2", 3, "L2", "MB"),
    )
    told = words(found_in(log))
    mistakes = (
        "KT: 0 of 1 calls are what all looks together say; L3 was said for L1; 1 more is open."
    )
    assert mistakes in told
