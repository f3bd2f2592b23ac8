"""How complete a log is."""

from __future__ import annotations

from rearlog.analysis.stages.completeness import Completeness
from rearlog.sentences.texts import Texts


def words(result: Completeness) -> tuple[str, ...]:
    """Which looks were made, which temperatures are known, and what was struck out."""
    lines = []
    if result.due:
        lines.append(f"{result.due - result.missed} of {result.due} daily looks were made.")
    if result.unchecked:
        lines.append(f"Nobody was looked at on {', '.join(map(str, result.unchecked))}.")
    covered = result.temperatures
    if covered.recorded + covered.filled == 0:
        lines.append("No temperatures were recorded.")
    else:
        lines.append(
            f"Of {covered.days} days, {covered.recorded} have a temperature on record, "
            f"{covered.filled} filled from the days beside them, {covered.missing} missing."
        )
    if result.struck:
        lines.append(f"{result.struck} records were struck out as mistakes.")
    return tuple(lines)


TEXTS: Texts = {Completeness: {"words": words}}
