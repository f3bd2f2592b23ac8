"""Numbers as options take them: finite, and of a size that can be."""

from __future__ import annotations

import math
from typing import Any

import click

from rearlog.records.rules import COLDEST_C, HOTTEST_C


class Finite(click.FloatRange):
    """A number between two bounds; click alone takes nan and inf, which no bound keeps out."""

    def convert(
        self, value: Any, param: click.Parameter | None, ctx: click.Context | None
    ) -> float:
        """The number that is meant."""
        number = float(super().convert(value, param, ctx))
        if not math.isfinite(number):
            self.fail(f"“{value}” is not a number", param, ctx)
        return number


class Millimetres(Finite):
    """A length in mm, with a decimal point or a decimal comma."""

    name = "mm"

    def convert(
        self, value: Any, param: click.Parameter | None, ctx: click.Context | None
    ) -> float:
        """The number that is meant."""
        text = str(value)
        try:
            float(text.replace(",", "."))
        except ValueError:
            self.fail(f"“{text[:40]}” is not a length in mm", param, ctx)
        return super().convert(text.replace(",", "."), param, ctx)


class Degrees(Finite):
    """A temperature, in °C: typed with its unit (72F), else in the user's own (see `settings`)."""

    name = "celsius"

    def convert(
        self, value: Any, param: click.Parameter | None, ctx: click.Context | None
    ) -> float:
        """The temperature that is meant, in °C."""
        if isinstance(value, str):
            from rearlog.exchange.celsius import parted  # start-up time
            from rearlog.settings import usual

            value, unit = parted(value)
            if (unit or usual.unit()) == "F":
                value = round((Finite().convert(value, param, ctx) - 32) / 1.8, 4)
        return super().convert(value, param, ctx)


CELSIUS = Degrees(COLDEST_C, HOTTEST_C)
LENGTH = Millimetres(max=1000)
READING_ERROR = Millimetres(0.0001, 10)  # finer than any lens: below, squares vanish
SHARE = Finite(0, 1)
