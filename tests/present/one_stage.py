"""Cohorts of lives, laid the day before they start, and lives that differ in how long L1 took."""

from rearlog.notebook import Notebook
from tests.builders import notebook_of, tiny_log


def of(lives: dict[str, str], name: str = "tiny", **more: object) -> Notebook:
    """The cohort of some lives; `more` as for `tiny_log`."""
    log = tiny_log(lives, laid=(-1, 0), name=name, **more)  # type: ignore[arg-type]
    return notebook_of(log)


def l1(days: list[int], **others: str) -> dict[str, str]:
    """Individuals that were so many days in L1, seen to begin and to end, and others."""
    return {f"a{n}": "egg L1! " + "L1 " * (d - 1) + "L2!" for n, d in enumerate(days)} | others
