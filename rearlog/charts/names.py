"""The names that cohorts bear in a chart: short enough for it, and no two alike."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, Protocol, TypeVar, cast

from msgspec import Struct
from msgspec.structs import asdict, replace

from rearlog.charts.style import Style
from rearlog.records.groups import level_name
from rearlog.records.wording import shortened_apart
from rearlog.sentences.phrases import LONGEST_NAME

T = TypeVar("T")

_SIGNS = {
    f", {level_name('sex', 'f')}": " ♀",
    f", {level_name('sex', 'm')}": " ♂",
    f", {level_name('sex', None)}": " ?",
}
"""What the sexes of a cohort are called where there is no room for words."""


class OfCohort(Protocol):
    """A result about one cohort."""

    @property
    def cohort(self) -> str:
        """Its name."""


C = TypeVar("C", bound=OfCohort)


def longest_beside(look: Style) -> int:
    """How many letters of a name stand beside a drawing."""
    return 12 if look.narrow else LONGEST_NAME


def called(results: Sequence[C], longest: int = LONGEST_NAME) -> list[C]:
    """The results of some cohorts, each under a name that fits."""
    names = list(dict.fromkeys(each.cohort for each in results))
    short = dict(zip(names, _shortened(names, longest), strict=True))
    return [
        each
        if short[each.cohort] == each.cohort
        else cast(C, replace(cast(Any, each), cohort=short[each.cohort]))
        for each in results
    ]


def all_called(result: T, cohorts: Sequence[str], longest: int = LONGEST_NAME) -> T:
    """A result about several cohorts, in all of whose parts they have names that fit."""
    short = dict(zip(cohorts, _shortened(cohorts, longest), strict=True))
    changed = {name: cut for name, cut in short.items() if cut != name}
    return cast(T, renamed(result, changed)) if changed else result


def _shortened(names: Sequence[str], longest: int) -> tuple[str, ...]:
    """Names that fit, no two alike: the sexes of cohorts by their signs where some would not."""
    if any(len(name) > longest for name in names):
        names = [_signed(name) for name in names]
    return shortened_apart(names, longest)


def _signed(name: str) -> str:
    for words, sign in _SIGNS.items():
        if name.endswith(words):
            return name.removesuffix(words) + sign
    return name


def renamed(part: Any, names: Mapping[str, str]) -> Any:
    """A result, or a part of one, with other names in place of some."""
    if type(part) is str:
        return names.get(part, part)
    if isinstance(part, tuple):
        return tuple(renamed(each, names) for each in part)
    if isinstance(part, Struct):
        held = asdict(part)
        changed = {name: renamed(value, names) for name, value in held.items()}
        if any(changed[name] is not held[name] for name in held):
            return replace(part, **changed)
    return part
