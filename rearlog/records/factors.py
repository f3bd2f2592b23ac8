"""What sets a cohort apart from others: levels of named factors, and whom it comes from.

A factor is said as `line=A`; an origin as `summer`, a cohort, or as `summer:A01,A02`, individuals
of it.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from typing import NamedTuple

from rearlog.records.errors import Problem, UsageError
from rearlog.records.values import FACTOR, LEVEL, ORIGIN

OF_COHORTS = ("cohort", "species", "food", "temperature", "site", "place")
"""What is a factor of each cohort without being named as one."""
OF_INDIVIDUALS = ("sex", "clutch", "container")
"""What sets the individuals of one cohort apart."""

MOST_FACTORS = 20
MOST_ORIGINS = 1000


class Origin(NamedTuple):
    """A cohort that another comes from, and of which of its individuals (none: nobody said)."""

    cohort: str
    individuals: tuple[str, ...]


def origin(text: str) -> Origin:
    """What a text that fits ORIGIN says."""
    cohort, _, codes = text.partition(":")
    return Origin(cohort, tuple(codes.split(",")) if codes else ())


def read_factors(texts: Iterable[str]) -> dict[str, str]:
    """Levels by their factors, from texts such as `line=A`; raises UsageError with all mistakes."""
    found: dict[str, str] = {}
    problems = []
    for text in texts:
        name, equals, level = (part.strip() for part in text.partition("="))
        taken = {each.casefold() for each in found}
        if not equals or not FACTOR.fullmatch(name) or not LEVEL.fullmatch(level):
            message = f"“{text[:60]}” is not a factor and its level"
            remedy = "such as line=A: a name without spaces, =, and a short text without semicolons"
            problems.append(Problem(message, "", remedy))
        elif name.casefold() in (*OF_COHORTS, *OF_INDIVIDUALS):
            remedy = "what is recorded as such is a factor already: choose another name"
            problems.append(Problem(f"“{name}” means something else", "", remedy))
        elif name.casefold() in taken:
            problems.append(Problem(f"the factor {name} is there twice"))
        else:
            found[name] = level
    if len(found) > MOST_FACTORS:
        problems.append(Problem(f"a cohort has at most {MOST_FACTORS} factors"))
    if problems:
        raise UsageError(problems)
    return found


def read_origins(texts: Iterable[str]) -> tuple[str, ...]:
    """Origins as they are kept, from what people type; raises UsageError with all mistakes.

    What is said of one cohort in several texts is put together.
    """
    found: dict[str, list[str]] = {}
    problems = []
    for text in texts:
        told = re.sub(r"\s*([:,])\s*", r"\1", text.strip())
        if not ORIGIN.fullmatch(told):
            remedy = "such as summer, or summer:A01,A02"
            problems.append(Problem(f"“{text[:60]}” is not a cohort’s name", "", remedy))
            continue
        cohort, codes = origin(told)
        of_it = found.setdefault(cohort, [])
        of_it += [code for code in codes if code not in of_it]
    if len(found) > MOST_ORIGINS:
        problems.append(Problem(f"a cohort comes from at most {MOST_ORIGINS} others"))
    if problems:
        raise UsageError(problems)
    return tuple(f"{each}:{','.join(codes)}" if codes else each for each, codes in found.items())


def factors_text(factors: Mapping[str, str]) -> str:
    """Factors as one text, from which `split` and `read_factors` read them again."""
    return "; ".join(f"{name}={level}" for name, level in factors.items())


def origins_text(origins: Iterable[str]) -> str:
    """Origins as one text, from which `split` and `read_origins` read them again."""
    return "; ".join(origins)


def split(text: str | None) -> list[str]:
    """The parts of a text that semicolons part."""
    return [each.strip() for each in (text or "").split(";") if each.strip()]
