"""What sets a cohort apart, and what it comes from, said afterwards."""

from __future__ import annotations

from pathlib import Path

import click

from rearlog.cli.options import (
    cohort_argument,
    factor_option,
    notice,
    origin_option,
    quiet_option,
)
from rearlog.records.errors import UsageError
from rearlog.records.factors import factors_text, origins_text, read_factors, read_origins
from rearlog.store.cohort_file import CohortFile


@click.command("describe")
@cohort_argument
@factor_option
@origin_option
@quiet_option
def describe_command(cohort: Path, factors: tuple[str, ...], origins: tuple[str, ...]) -> None:
    """Say of a cohort that is there what sets it apart, and what it comes from.

    A factor that was said before gets the new level. Origins take the place of those that were said
    before. “redact COHORT factors” takes levels out.

    \b
    rearlog describe room --factor line=A --factor replicate=2
    rearlog describe room --origin cups:M01,M02
    """
    if not (factors or origins):
        raise UsageError("say what: --factor NAME=LEVEL, or --origin COHORT")
    file = CohortFile(cohort)
    levels = read_factors(factors)
    before = file.describe(levels, read_origins(origins))
    now = file.outline(()).cohort
    anew = {name: before.factors[name] for name in levels if name in before.factors}
    told = [
        *([factors_text(now.factors)] if now.factors else []),
        *([f"from {origins_text(now.origins)}"] if now.origins else []),
    ]
    notice(f"{now.name}: {'; '.join(told)}")
    if anew:
        notice(f"It was before: {factors_text(anew)}")
