"""Contradicting looks are settled by the fewest mistakes, and consistent ones left alone."""

import tracemalloc
from random import Random

import numpy as np
import pytest
from msgspec.structs import replace

from rearlog.analysis.stages.events import (
    ALIVE,
    DEAD,
    FATE_NAMES,
    LOST,
    EventHistory,
    event_history,
)
from rearlog.analysis.stages.settling import _highest
from rearlog.analysis.stages.stage_times import stage_times
from rearlog.records.log import CohortLog, Observation
from rearlog.records.profile import Profile
from tests.analysis.stages.every_path import answer
from tests.analysis.stages.invented_looks import (
    WIDTHS,
    anything_said,
    named,
    numbered,
    profile_with_widths,
)
from tests.builders import moment, tiny_log
from tests.linear_time import assert_linear

EGG, L1, L2, L3, PUPA, ADULT = range(6)


def told(line: str, **more: object) -> CohortLog:
    """One individual: `=` stands for “no change”, `L2@0.8` for a head width."""
    words, widths, same = [], {}, set()
    for day, word in enumerate(line.split()):
        word, _, width = word.partition("@")
        if width:
            widths[day] = float(width)
        if word == "=":
            same.add(day)
        words.append("egg" if word == "=" else word)
    log = tiny_log({"1": " ".join(words)}, profile=profile_with_widths(), **more)  # type: ignore[arg-type]
    looks = []
    for each in log.all_observations:
        day = (each.at - moment(0)).days
        if day in same:
            each = replace(each, stage=None, same=True)
        looks.append(replace(each, head_width_mm=widths.get(day)))
    return numbered(CohortLog(log.cohort, log.individuals, tuple(looks)))


def spans(history: EventHistory) -> dict[str, tuple[float, float]]:
    return {
        stage: (float(history.into_low[0, rank]), float(history.into_high[0, rank]))
        for rank, stage in enumerate(history.stages)
        if not np.isnan(history.into_high[0, rank])
    }


def doubted(history: EventHistory) -> list[tuple[int | None, str, bool]]:
    return [(each.number, each.said, each.certain) for each in history.doubts]


@pytest.mark.parametrize(
    ("line", "passages", "doubts"),
    [
        # one call against many
        ("L1 L1 L3 L1 L1 L2 L2", {"L2": (4, 5)}, [(2, "L3", True)]),
        ("L1 L1 L2 L2 L1 L2 L2", {"L2": (1, 2)}, [(4, "L1", True)]),
        # one against one: either may be the mistake, and the bounds span both
        ("L1 L1 L2 L1 L2 L2", {"L2": (1, 4)}, [(2, "L2", False), (3, "L1", False)]),
        # “no change” follows the call before it, and adds no weight to it
        ("L1 L2 = = L1 L2", {"L2": (0, 5)}, [(1, "L2", False), (4, "L1", False)]),
        ("L1 L2 = = L1 = L1 L2", {"L2": (6, 7)}, [(1, "L2", True)]),
        # a head width that is surely of one instar is a call of its own
        ("L1 L2@0.4 L1 L2 L2", {"L2": (2, 3)}, [(1, "L2", True)]),
        ("L1 L2@0.8 L1 L2 L2", {"L2": (0, 1)}, [(2, "L1", True)]),
        ("L1 L2 = =@0.4 L1 L2 L2", {"L2": (4, 5)}, [(1, "L2", True)]),
        # between two instars it says nothing
        ("L1 L2@0.56 L1 L2 L2", {"L2": (0, 3)}, [(1, "L2", False), (2, "L1", False)]),
        # the passage itself was seen
        ("L1 L2 L1 L2! L2", {"L2": (3, 3)}, [(1, "L2", True)]),
        ("L1 L2! L1 L1 L2 L2", {"L2": (1, 1)}, [(2, "L1", True), (3, "L1", True)]),
        # what was said at entry is a call like others
        ("L3 L1 L1 L2 pupa", {"L2": (2, 3), "pupa": (3, 4)}, [(None, "L3", True)]),
        # a mistaken look shows nothing: the passage may have been before or after it
        ("L1 L1 egg L2 L2", {"L2": (1, 3)}, [(2, "egg", True)]),
    ],
)
def test_the_fewest_mistakes(
    line: str,
    passages: dict[str, tuple[float, float]],
    doubts: list[tuple[int | None, str, bool]],
) -> None:
    """By hand from the rule."""
    history = event_history(told(line))
    assert spans(history) == passages
    assert doubted(history) == doubts


@pytest.mark.parametrize(
    ("line", "fate", "end", "last_alive", "doubts"),
    [
        ("L1 L1 dead L1 L1", ALIVE, None, 4, [(2, "dead", True)]),
        ("L1 L1 dead L1 dead dead", DEAD, (1, 4), 1, [(2, "dead", False), (3, "L1", False)]),
        ("L1 L1 dead L1 L1 dead", DEAD, (4, 5), 4, [(2, "dead", True)]),
        ("L1 L1 dead L1", ALIVE, None, 1, [(2, "dead", False), (3, "L1", False)]),
        ("L1 L1 dead! L1 dead", DEAD, (2, 2), 1, [(3, "L1", True)]),
        ("L1 L1 lost L1", ALIVE, None, 3, [(2, "lost", True)]),
        ("L1 L1 lost dead", DEAD, (1, 3), 1, [(2, "lost", True)]),
        ("L1 L1 dead dead", DEAD, (1, 2), 1, []),
        ("L1 L1 dead =", DEAD, (1, 2), 1, []),
        ("L1 L1 dead removed", LOST, (1, 3), 1, [(2, "dead", False), (3, "removed", False)]),
    ],
)
def test_the_fate_is_settled_the_same_way(
    line: str,
    fate: int,
    end: tuple[float, float] | None,
    last_alive: float,
    doubts: list[tuple[int | None, str, bool]],
) -> None:
    """By hand from the rule; who may live counts as living, and who ended somehow as lost."""
    history = event_history(told(line))
    assert history.fate[0] == fate
    if end is None:
        assert np.isnan(history.end_high[0])
    else:
        assert (history.end_low[0], history.end_high[0]) == end
    assert history.last_alive[0] == last_alive
    assert doubted(history) == doubts


def test_a_stage_that_may_be_over_is_watched_only_as_long_as_it_surely_lasted() -> None:
    history = event_history(told("L1 L1 L1 L2 L1"))
    assert history.last_rank[0] == L1
    assert (history.last_alive[0], history.last_in_stage[0]) == (4, 2)
    times = stage_times(history, "L1")
    assert (times.end[0, 0], times.outcome[0]) == (2, "in stage")


def test_a_doubt_says_what_it_was_instead() -> None:
    open_, settled = (
        event_history(told(line)).doubts for line in ("L1 L2 L1 L2", "L1 L3 L1 L1 L2")
    )
    assert [each.stages for each in open_] == [("L1", "L2"), ("L1", "L2")]
    assert [each.stages for each in settled] == [("L1", "L1")]
    (dead,) = event_history(told("L1 dead L1 L1")).doubts
    assert (dead.stages, dead.fate) == (("L1", "L1"), None)
    (alive,) = event_history(told("L1 dead! L1 dead")).doubts
    assert (alive.stages, alive.fate) == (None, "dead")


def test_the_cause_is_that_of_the_end_that_is_believed() -> None:
    """It was seen alive three times after the first death was noted; two causes are none."""
    line = "egg L1 dead:mould L1 L1 L1"
    assert event_history(told(f"{line} dead:virus")).causes == ("virus",)
    assert event_history(told(f"{line} dead")).causes == (None,)
    assert event_history(told(line)).causes == (None,)
    assert event_history(told("egg L1 dead:mould dead:mould")).causes == ("mould",)
    assert event_history(told("egg L1 dead:mould dead:virus")).causes == (None,)


def test_two_observers_at_one_moment() -> None:
    """Who agrees adds nothing to a consistent log; who does not is settled by the other looks."""
    log = told("L1 L1 L2 L2")
    again = replace(log.all_observations[1], by="KT", number=9)
    agreed = CohortLog(log.cohort, log.individuals, (*log.all_observations, again))
    assert_alike(event_history(agreed), event_history(log))
    other = replace(again, stage="L1")
    differs = CohortLog(log.cohort, log.individuals, (*log.all_observations, other))
    history = event_history(differs)
    assert spans(history) == {"L2": (1, 3)}
    assert doubted(history) == [(2, "L2", False), (9, "L1", False)]


def test_the_laying_is_that_of_those_who_entered_as_eggs() -> None:
    assert spans(event_history(told("egg L1 egg egg L1", laid=(-1.0, 0.0))))["egg"] == (-1, 0)
    history = event_history(told("L1 egg egg egg L1", laid=(-1.0, 0.0)))
    assert history.entry_rank[0] == EGG
    assert spans(history) == {"egg": (-1, 0), "L1": (3, 4)}


def assert_alike(one: EventHistory, other: EventHistory) -> None:
    """Every field is the same, to the last digit."""
    for name in EventHistory.__struct_fields__:
        if name == "questionable":  # whom to look at, not what was found
            continue
        left, right = getattr(one, name), getattr(other, name)
        if isinstance(left, np.ndarray):
            np.testing.assert_array_equal(left, right, err_msg=name)
        else:
            assert left == right, name


@pytest.mark.parametrize("seed", range(12))
def test_as_if_all_paths_were_tried_out(seed: int) -> None:
    """Reference: every path that there is, one by one, for individuals of all lengths together."""
    chance = Random(seed)
    profile = profile_with_widths()
    instars = {width: profile.rank[named(profile, width)] for width in WIDTHS.values()}
    lives = {str(row): chance.choice(profile.codes[:4]) for row in range(25)}
    log = tiny_log(lives, profile=profile)
    looks = [
        look
        for code in lives
        for look in anything_said(chance, code, chance.randint(1, 5), profile)
    ]
    log = numbered(CohortLog(log.cohort, log.individuals, tuple(looks)))
    history = event_history(log)
    settled = {each.individual for each in history.doubts}
    assert settled
    for row, code in enumerate(lives):
        if code not in settled:
            continue
        expected = answer(log, code, instars)
        assert history.entry_rank[row] == expected.entry
        assert history.last_rank[row] == expected.last
        found = {
            rank: (history.into_low[row, rank], history.into_high[row, rank])
            for rank in range(6)
            if not np.isnan(history.into_high[row, rank])
        }
        assert found == expected.into
        assert FATE_NAMES[history.fate[row]] == expected.fate
        if expected.end is not None:
            assert (history.end_low[row], history.end_high[row]) == expected.end
        assert history.last_alive[row] == expected.last_alive
        blamed = {
            look.number: all(look in wrong for wrong in expected.mistakes)
            for look in {each for wrong in expected.mistakes for each in wrong}
        }
        doubts = {each.number: each.certain for each in history.doubts if each.individual == code}
        assert doubts == blamed


def test_time_and_room_grow_with_the_looks_however_they_are_divided() -> None:
    """One individual with most of the looks beside many with few: all of them contradicting."""
    profile = profile_with_widths()
    few = {f"A{row}": "L1 L2 L1 L2" for row in range(200)}

    def derive(looks: int) -> None:
        log = tiny_log({**few, "Z": "L1"}, profile=profile)
        many = [
            Observation("Z", moment(day / 24), stage=("L1", "L2")[day % 2])
            for day in range(1, looks + 1)
        ]
        event_history(CohortLog(log.cohort, log.individuals, (*log.all_observations, *many)))

    assert_linear(derive, 200)
    tracemalloc.start()
    derive(1500)
    _, most = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert most < 10e6  # tables of all individuals by the most looks would take 120 MB


def consistent_life(chance: Random, profile: Profile) -> list[str]:
    """A life that only goes forward, in words a day: forgotten days, leaps, seen passages, ends."""
    rank, words = chance.randint(0, 1), []
    for _ in range(chance.randint(0, 14)):
        if chance.random() < 0.15:
            words.append("-")
            continue
        rose = chance.random() < 0.4 and rank < len(profile.codes) - 1
        rank = min(len(profile.codes) - 1, rank + (chance.choice([1, 1, 1, 2]) if rose else 0))
        words.append(profile.codes[rank] + ("!" if rose and chance.random() < 0.2 else ""))
    if chance.random() < 0.4:
        words.append(chance.choice(["dead", "dead:mould", "dead!", "lost", "removed:released"]))
    return words


@pytest.mark.parametrize("seed", range(20))
def test_consistent_individuals_do_not_notice_those_beside_them(seed: int) -> None:
    """To the last digit what it is without any contradicting individual in the log."""
    chance = Random(seed)
    profile = profile_with_widths()
    lives = {
        f"A{row}": " ".join([profile.codes[0], *consistent_life(chance, profile)])
        for row in range(20)
    }
    whole = tiny_log(lives, profile=profile, laid=(-1.0, -0.25))
    wrong = tiny_log({"Z": "egg L2 L1 L1 dead L1"}, profile=profile)
    both = CohortLog(
        whole.cohort,
        (*whole.individuals, *wrong.individuals),
        (*whole.all_observations, *wrong.all_observations),
    )
    alone, beside = event_history(whole), event_history(both)
    assert alone.doubts == ()
    assert {each.individual for each in beside.doubts} == {"Z"}
    for name in EventHistory.__struct_fields__:
        if name == "questionable":  # whom to look at, not what was found
            continue
        left, right = getattr(alone, name), getattr(beside, name)
        if isinstance(left, np.ndarray) and name != "optional":
            np.testing.assert_array_equal(left, right[: len(left)], err_msg=name)


@pytest.mark.parametrize("seed", range(20))
def test_settling_a_consistent_log_changes_nothing(
    seed: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The way through the best paths gives the same history, to the last digit."""
    from rearlog.analysis.stages import events

    chance = Random(seed)
    profile = profile_with_widths()
    lives = {
        f"A{row}": " ".join([profile.codes[0], *consistent_life(chance, profile)])
        for row in range(20)
    }
    log = tiny_log(lives, profile=profile, laid=(-1.0, -0.25))
    plain = event_history(log)
    monkeypatch.setattr(events, "contradicting", lambda looks, known: np.arange(len(lives)))
    assert_alike(event_history(log), plain)


@pytest.mark.parametrize("seed", range(20))
def test_no_change_means_what_a_copy_of_the_stage_meant(seed: int) -> None:
    chance = Random(seed)
    profile = profile_with_widths()
    lives = {
        f"A{row}": " ".join([profile.codes[0], *consistent_life(chance, profile)])
        for row in range(20)
    }
    copied = tiny_log(lives, profile=profile)
    stage = {each.code: each.stage for each in copied.individuals}
    said = []
    for look in copied.all_observations:
        unchanged = look.stage is not None and look.stage == stage[look.individual]
        stage[look.individual] = look.stage or stage[look.individual]
        plain = unchanged and not look.witnessed
        said.append(replace(look, stage=None, same=True) if plain else look)
    log = CohortLog(copied.cohort, copied.individuals, tuple(said))
    assert any(look.same for look in said)
    assert_alike(event_history(log), event_history(copied))


def test_who_entered_later_is_settled_by_its_own_days() -> None:
    """The same looks, the entry two days after the cohort's start: all moments are two days on."""
    log = told("L1 L1 L3 L1 L1 L2 L2")
    first = event_history(log)
    later = replace(log, cohort=replace(log.cohort, started=moment(-2), created=moment(-2)))
    second = event_history(later)
    for name in ("entered", "last_alive", "last_in_stage", "last_check", "into_high"):
        assert getattr(second, name) == pytest.approx(getattr(first, name) + 2, nan_ok=True), name
    assert [each.day for each in second.doubts] == [each.day + 2 for each in first.doubts]


def test_the_last_of_the_stages_that_may_be_is_none_where_none_may() -> None:
    may = np.array([[[0, 0, 0], [1, 0, 1]], [[1, 1, 0], [1, 0, 0]]]) > 0
    assert _highest(may).tolist() == [[-1, 2], [1, 0]]
