"""A cohort of six eggs from looks, of which two females lay eggs."""

from __future__ import annotations

from rearlog.records.log import CohortLog, Observation
from tests.builders import moment, seen, tiny_log

GROWN = "egg L1 L2 pupa adult"


def same(code: str, day: float, **told: object) -> Observation:
    return Observation(code, moment(day), same=True, **told)  # type: ignore[arg-type]


def log_of(name: str = "tiny", eggs: int = 12) -> CohortLog:
    """Six eggs: two die young, three females, of which one lays no eggs, and a male."""
    lives = dict.fromkeys("1234", GROWN) | {"5": "egg L1 dead", "6": "egg dead"}
    looks = [
        *(same(code, 5, sex="f") for code in "124"),
        same("3", 5, sex="m"),
        same("1", 6, eggs=eggs),
        same("1", 8, eggs=6),
        same("2", 7, eggs=eggs, hatched=0),
        same("2", 9, hatched=eggs // 2),
        *(seen(code, 10, "dead") for code in "1234"),
    ]
    return tiny_log(lives, laid=(-1, 0), name=name).with_checks(looks)
