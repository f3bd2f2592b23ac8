"""Small cohorts of all shapes: lives of which everything that is said can be counted by hand.

Day 0 is Monday 9 March 2026. At 20 °C a day has 10 degree-days above 10 °C, so that 3 ± 0.3 days
are expected of an egg, 2.2 ± 0.22 of L1 and of L2, and 4.5 ± 0.45 of a pupa, each with twice as
much to both sides.
"""

from __future__ import annotations

from datetime import timedelta

from rearlog.notebook import Notebook
from rearlog.records.log import ConstantTemperature
from tests.builders import START, notebook_of, small_profile, tiny_log

HEAT = {"egg": 30.0, "L1": 22.0, "L2": 22.0, "pupa": 45.0}

GROWN = "egg egg egg L1 L1 L2 L2 pupa pupa pupa pupa adult"
SLOW = "egg egg egg egg L1 L1 L1 L1 L1 L2 L2 L2 L2 L2 pupa pupa pupa pupa pupa pupa pupa adult"
QUICK = "egg L1 L2 pupa adult"

SHAPES: dict[str, tuple[str, ...]] = {
    "one that nobody looked at": ("egg -",),
    "one young": ("egg egg egg L1",),
    "one grown": (GROWN,),
    "one dead": ("egg egg dead:mould",),
    "one lost": ("egg L1 lost",),
    "one taken out": ("egg L1 removed",),
    "two grown": (GROWN, GROWN),
    "two young, one in doubt": ("egg egg egg L1 L1", "egg egg - - L1"),
    "grown and young": (GROWN, "egg egg egg L1 L1 L2 L2 pupa pupa"),
    "grown, dead, lost": (GROWN, "egg egg dead", "egg egg egg L1 lost"),
    "two dead of three": ("egg dead", "egg L1 dead:mould", QUICK),
    "most dead as L1": ("egg L1 dead", "egg L1 dead", "egg dead", QUICK),
    "all dead as eggs": ("egg dead", "egg dead", "egg egg dead"),
    "taken out, one and two": (QUICK, "egg L1 removed", "egg L1 lost", "egg removed", "egg egg"),
    "quick": (QUICK,) * 4,
    "slow": (SLOW,) * 4,
    "slow and quick": (SLOW, QUICK, GROWN),
    "slow, in step": ("egg egg egg egg egg egg L1", "egg egg egg egg egg egg L1 L1"),
    "the early ones": ("egg L1! L2!", "egg L1! L2!", *("egg L1! L1 L1 L1 L1 L1",) * 3),
    "overdue": (GROWN, "egg egg egg L1 L1 L2 L2" + " pupa" * 22),
    "dead when grown": (f"{QUICK} dead", f"{QUICK} adult dead", f"{QUICK} adult removed"),
}


def small(name: str, lives: tuple[str, ...], *, celsius: float | None = 20.0) -> Notebook:
    """A cohort laid the day before it starts, at a steady temperature."""
    kept = () if celsius is None else (ConstantTemperature(celsius, START.date() - timedelta(1)),)
    log = tiny_log(
        {f"m{place}": life for place, life in enumerate(lives, start=1)},
        profile=small_profile(heat=HEAT),
        laid=(-1, 0),
        temperatures=kept,
        name=name,
    )
    return notebook_of(log)
