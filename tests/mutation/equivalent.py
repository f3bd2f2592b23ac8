"""Faults that change nothing which anybody could see; each with the reason, in equivalent.txt."""

from __future__ import annotations

from fnmatch import fnmatchcase
from pathlib import Path

from tests.mutation.operators import Mutant

FILE = Path(__file__).with_name("equivalent.txt")


def reasons() -> dict[str, str]:
    """The reason by the name of a fault, in which * stands for anything."""
    found: dict[str, str] = {}
    names: list[str] = []
    for line in FILE.read_text(encoding="utf-8").splitlines():
        if line.startswith("    "):
            found.update(dict.fromkeys(names, line.strip()))
            names = []
        elif line and not line.startswith("#"):
            names.append(line)
    return found


def is_equivalent(mutant: Mutant, listed: dict[str, str]) -> bool:
    """Whether the list has it."""
    return any(fits(name, mutant.name) for name in listed)


def fits(listed: str, name: str) -> bool:
    """Whether a name of the list stands for this one."""
    return listed == name or fnmatchcase(name, listed.replace("[", "[[]"))
