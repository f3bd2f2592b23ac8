"""The stages of a profile: which codes there are, and the order that they stand in."""

from __future__ import annotations

import re
from collections.abc import Iterator
from itertools import pairwise

from rearlog.records.errors import Problem
from rearlog.records.profile import Profile
from rearlog.species.shape import item_place

_CODE = re.compile(r"egg|[LN][1-9]\d?|prepupa|pupa|adult")
_ORDER = {"egg": 0, "L": 1, "N": 1, "prepupa": 2, "pupa": 3, "adult": 4}
_IN_WORDS = "egg, L1, L2 … (or N1, N2 …), prepupa, pupa, adult"


def _stage_codes(profile: Profile) -> Iterator[Problem]:
    if len(profile.stages) < 2:
        yield Problem("a profile needs two stages or more", "stages")
    seen = set()
    for code in filter(str.strip, profile.codes):
        if not _CODE.fullmatch(code):
            yield Problem(f"“{code}” is not a stage code", stage_place(code), f"use {_IN_WORDS}")
        if code in seen:
            yield Problem("the stage is given twice", stage_place(code))
        seen.add(code)


def _stage_order(profile: Profile) -> Iterator[Problem]:
    for earlier, later in pairwise(filter(_CODE.fullmatch, profile.codes)):
        if earlier[0] + later[0] in ("LN", "NL"):
            yield Problem(
                f"{earlier} stands beside {later}", stage_place(later), "use either L or N"
            )
        elif _place_in_life(later) < _place_in_life(earlier):
            yield Problem(f"it stands after {earlier}", stage_place(later), f"order: {_IN_WORDS}")


def _instars_counted(profile: Profile) -> Iterator[Problem]:
    numbers = [int(code[1:]) for code in profile.codes if is_instar(code)]
    missing = sorted(set(range(1, max(numbers, default=0) + 1)) - set(numbers))
    if missing:
        listed = ", ".join(map(str, missing))
        yield Problem(f"no instar with the number {listed}", "stages", "count from 1, without gaps")


def _optional_instars_last(profile: Profile) -> Iterator[Problem]:
    for stage in profile.stages:
        if stage.optional and not is_instar(stage.code):
            yield Problem("only instars can be optional", stage_place(stage.code))
    instars = [stage for stage in profile.stages if is_instar(stage.code)]
    for earlier, later in pairwise(instars):
        if earlier.optional and not later.optional:
            remedy = "the optional instars are the last ones"
            yield Problem(f"{later.code} is not optional", stage_place(earlier.code), remedy)


def _place_in_life(code: str) -> tuple[int, int]:
    return (_ORDER[code[0]], int(code[1:])) if is_instar(code) else (_ORDER[code], 0)


def is_instar(code: str) -> bool:
    """Whether a stage code is that of an instar."""
    return code[:1] in ("L", "N") and _CODE.fullmatch(code) is not None


def stage_place(code: str) -> str:
    """The place of a stage, for a problem: `stage L3`."""
    return item_place("stages", code)


RULES = (_stage_codes, _stage_order, _instars_counted, _optional_instars_last)
