"""What methods assume, and where they are checked beside the test of their own module."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Method:
    """What a function of `rearlog.analysis` takes for granted, in a sentence.

    `checked` are the test modules that call it; none: the one that mirrors its own module.
    """

    assumes: str = ""
    checked: tuple[str, ...] = ()


METHODS: Mapping[str, Method] = {}
