"""A profile of stages alone, for a species of which nothing is known yet."""

from __future__ import annotations

import re
from typing import Any

from rearlog.records.errors import Problem, ProfileError, UsageError
from rearlog.records.profile import Profile
from rearlog.species.loader import read
from rearlog.species.shorthand import codes_of

EXAMPLE = "egg,L1-L5,pupa,adult"
ID, NAME, SCIENTIFIC_NAME = "unnamed", "unnamed insect", "Insecta"
"""What a species without a profile is called: the class is all that is known of it."""

_MOST_STAGES = 120
_INSTARS = re.compile(r"[LlNn]\d+(-[LlNn]\d+)?")


def stages_in(text: str) -> list[dict[str, object]]:
    """The stages in a list such as `egg,L1-L5,L6?,pupa,adult`, as a profile file has them.

    A run stands for all its instars; those with a question mark behind are optional. Codes may be
    typed in small letters. Raises UsageError where the list is too long or has a hole in it.
    """
    stages: list[dict[str, object]] = []
    for word in text.split(","):
        code = word.strip()
        optional = code.endswith("?")
        code = code.removesuffix("?").strip()
        if not code:
            raise UsageError(f"“{text[:60]}” has a stage without a code", f"write {EXAMPLE}")
        code = code.upper() if _INSTARS.fullmatch(code) else code.lower()
        more: dict[str, object] = {"optional": True} if optional else {}
        stages += [{"code": each} | more for each in codes_of(code)]
        if len(stages) > _MOST_STAGES:
            raise UsageError("these are too many stages", f"write {EXAMPLE}")
    return stages


def profile_of_stages(text: str) -> Profile:
    """The profile of a species of which only the stages are known; raises UsageError."""
    document = {
        "id": ID,
        "name": NAME,
        "scientific_name": SCIENTIFIC_NAME,
        "stages": stages_in(text),
        "sources": {},
    }
    return sound(document, "stages, ")


def sound(document: dict[str, Any], told_in: str = "") -> Profile:
    """The profile of what somebody told, in the words of that (`told_in`); raises UsageError."""
    try:
        return read(document)
    except ProfileError as error:
        raise UsageError(
            [
                Problem(each.message, f"{told_in}{each.place}", each.remedy)
                for each in error.problems
            ]
        ) from None
