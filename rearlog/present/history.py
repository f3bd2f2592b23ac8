"""The tables of the records as they were written. Nothing is computed here, only laid out."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from rearlog.present.cells import cell
from rearlog.present.redactions import redactions_table
from rearlog.present.tables import Table
from rearlog.records.entries import shortened
from rearlog.records.log import (
    ConstantTemperature,
    DayExtremes,
    Mark,
    Observation,
    Temperature,
)
from rearlog.records.wording import day_stamp, line_of, record_name, stamp
from rearlog.sentences.strike_effect import stays

if TYPE_CHECKING:
    from rearlog.analysis.comparing.strike_effect import StrikeEffect
    from rearlog.notebook import History
    from rearlog.records.rounds import WrittenRound

MOST_NAMED = 10
"""So many of the records that were struck out are named."""

LONGEST_CHANGES = 60
"""The changes of a round are cut off after so many letters."""


def effect_tables(effect: StrikeEffect) -> list[Table]:
    """The figures that change, before and after, and how many do not; none where it is all of
    them, to the digits of a table."""
    shown = [each for each in effect.changes if cell(each.before) != cell(each.after)]
    table = Table.of(
        f"{effect.cohort}: what would change",
        shown,
        [
            ("of", lambda each: each.of),
            ("figure", lambda each: each.figure.replace("_", " ")),
            ("now", lambda each: each.before),
            ("then", lambda each: each.after),
        ],
        [stays(effect, len(effect.changes) - len(shown))],
    )
    return [table] if shown else []


def rounds_table(result: History) -> Table:
    """A line a round: what was entered together."""
    return Table.of(
        f"{result.cohort}: rounds",
        result.rounds,
        [
            ("records", _numbers),
            ("of", lambda each: stamp(each.at)),
            ("by", lambda each: each.by or ""),
            ("n", lambda each: each.records),
            ("struck", lambda each: each.struck or ""),
            ("new", lambda each: each.changed),
            ("changes", lambda each: shortened(each.changes, LONGEST_CHANGES)),
        ],
    )


def _numbers(each: WrittenRound) -> str:
    first, last = each.first_record, each.last_record
    return record_name(first) + ("" if first == last else f"–{last}")


def history_tables(result: History) -> list[Table]:
    """The records in the order of writing."""
    temperatures = Table(
        "Temperatures",
        ["no.", "when", "°C", "struck out"],
        [
            [record_name(each.number, "T"), *temperature_cells(each), struck_words(each.struck)]
            for each in result.temperatures
        ],
    )
    checks = records_table(f"{result.cohort}: records", result.observations)
    withdrawn = Table.of(
        "Withdrawn, counted nowhere",
        result.withdrawn,
        [
            ("individual", lambda each: each.code),
            ("entered", lambda each: stamp(each.entered_at)),
            (
                "records",
                lambda each: sum(
                    1 for check in result.of_withdrawn if check.individual == each.code
                ),
            ),
            ("withdrawn", lambda each: struck_words(each.struck)),
        ],
    )
    return [
        checks,
        *([temperatures] if result.temperatures else []),
        *([withdrawn] if result.withdrawn else []),
        *([redactions_table(result.cohort, result.redactions)] if result.redactions else []),
    ]


def records_table(title: str, records: Sequence[Observation]) -> Table:
    """Observations, each as an entry of the notation."""
    return Table.of(
        title,
        records,
        [
            ("no.", lambda each: record_name(each.number)),
            ("seen", lambda each: stamp(each.at)),
            ("entry", line_of),
            ("by", lambda each: each.by or ""),
            ("struck out", lambda each: struck_words(each.struck)),
        ],
    )


def struck_lines(
    observations: Sequence[Observation], temperatures: Sequence[Temperature]
) -> list[str]:
    """What was struck out, a line a record; of many the first."""
    lines = [
        f"{record_name(each.number)}: {line_of(each)}, {day_stamp(each.at)}"
        + (f", by {each.by}" if each.by else "")
        for each in observations
    ]
    lines += [
        f"{record_name(each.number, 'T')}: {', '.join(reversed(temperature_cells(each)))}"
        for each in temperatures
    ]
    more = len(lines) - MOST_NAMED
    return lines if more <= 0 else [*lines[:MOST_NAMED], f"… and {more} more"]


def correction_lines(old: Sequence[Observation], new: Sequence[Observation]) -> list[str]:
    """What was said before and what is said in its place, a line a record."""
    return [
        f"{day_stamp(before.at)}: {line_of(before)} ({record_name(before.number)}) → "
        f"{line_of(after)}" + (f" as {record_name(after.number)}" if after.number else "")
        for before, after in zip(old, new, strict=True)
    ]


def struck_words(struck: Mark | None) -> str:
    """When a record was struck out, by whom and why; empty where it stands."""
    if struck is None:
        return ""
    who = f" by {struck.by}" if struck.by else ""
    return f"{stamp(struck.at)}{who}: {struck.because}"


def temperature_cells(record: Temperature) -> tuple[str, str]:
    """When a temperature was, and what."""
    if isinstance(record, DayExtremes):
        return str(record.date), f"{record.min_c:g} to {record.max_c:g}"
    if isinstance(record, ConstantTemperature):
        return f"{record.first} to {record.last or 'now'}", f"{record.celsius:g} constant"
    span = f"{min(record.celsius):g} to {max(record.celsius):g}"
    return f"from {stamp(record.at)}", f"{span} in {len(record.celsius)} readings"
