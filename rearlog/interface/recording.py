"""Recording looks from Python: by the door through which the commands record, with its rules."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, datetime
from types import NoneType

from msgspec import Struct
from msgspec.structs import replace

from rearlog.notebook.cohort import Notebook
from rearlog.records import times
from rearlog.records.doubts import Doubt
from rearlog.records.entries import Entry, parse, shortened
from rearlog.records.errors import EntryError, Problem, UsageError
from rearlog.records.fates import FATES
from rearlog.records.fields import DETAILS, STATES, Kind, Observation
from rearlog.records.suggestions import suggestion
from rearlog.records.typed_words import SAME
from rearlog.records.wording import counted, line_of, stamp
from rearlog.settings import usual
from rearlog.store.cohort_file import CohortFile
from rearlog.store.recording import record_round

Look = str | Mapping[str, object]
"""What was seen of one: a part of the notation without its WHO, or values by names of fields."""

Told = str | Mapping[str, Look]
"""A round of looks: a line of the notation, or what was seen of each by its code."""

_BY_FIELD = {detail.name: detail for detail in DETAILS.values()}
_SAY_IT = 'give a line such as "3 L2; rest same", or what was seen of each: {"3": "L2"}'
_WHEN = "give a datetime, or a text such as “yesterday”"
_KNOWN = (*STATES, "cause", *_BY_FIELD, "note")


class WrittenDown(Struct, frozen=True):
    """A round that was written down (or not, in a `dry_run`): its looks, who was passed over inside
    ranges because they had ended before, and the doubts that it raises."""

    cohort: str
    at: datetime
    checks: tuple[Observation, ...]
    passed: tuple[str, ...]
    doubts: tuple[Doubt, ...]
    dry_run: bool = False

    def __repr__(self) -> str:
        looks = "; ".join(map(line_of, self.checks[:3])) + (" …" if len(self.checks) > 3 else "")
        doubts = f", {counted(len(self.doubts), 'doubt')}" if self.doubts else ""
        n = counted(len(self.checks), "look")
        what = "Only tried" if self.dry_run else "Recorded"
        return f"<{what} {n} in {self.cohort} at {stamp(self.at)}: {looks}{doubts}>"


def record_in(
    notebook: Notebook,
    told: Told,
    at: datetime | str | None,
    by: str | None,
    *,
    dry_run: bool,
    strict: bool,
) -> WrittenDown:
    """Write a round of looks down in the file of a cohort: see `rearlog.record`."""
    if notebook.known is not None:
        message = f"this is {notebook.name} as it was known at {stamp(notebook.known)}"
        raise UsageError(message, "open the cohort anew to record in it")
    _refuse_other(told, (str, Mapping), "round of looks", _SAY_IT)
    _refuse_other(at, (date, str, NoneType), "moment", _WHEN)
    _refuse_other(by, (str, NoneType), "name", "give initials, such as KT")
    entries = parse(told) if isinstance(told, str) else _entries(told)
    found = record_round(
        CohortFile(notebook.path),
        entries,
        at.isoformat() if isinstance(at, date) else at,  # a datetime is one too
        usual.initials() if by is None else by,
        times.now("UTC"),
        dry_run=dry_run,
        strict=strict,
    )
    notebook.reload()
    return WrittenDown(
        found.cohort.name,
        found.at,
        tuple(found.checks),
        tuple(found.passed),
        tuple(found.doubts),
        dry_run,
    )


def _refuse_other(given: object, kinds: tuple[type, ...], wanted: str, remedy: str) -> None:
    if not isinstance(given, kinds):
        raise UsageError(f"{shortened(repr(given))} is no {wanted}", remedy)


def _entries(told: Mapping[str, Look]) -> list[Entry]:
    """The parts of a round that is told one by one, read as the notation is; raises EntryError
    with all that cannot be read."""
    problems: list[Problem] = []
    parts, notes = [], []
    for who, look in told.items():
        if not isinstance(look, str | Mapping):
            remedy = "say it in a text, or by the names of fields"
            problems.append(Problem("it is not said what was seen", str(who), remedy))
            continue
        part = f"{who} {look}" if isinstance(look, str) else _part(str(who), look, problems)
        if part.count(";") or "\n" in part:
            problems.append(Problem("one look has one part", f"“{shortened(part)}”"))
        parts.append(part)
        notes.append(None if isinstance(look, str) else look.get("note"))
    if problems:
        raise EntryError(problems)
    read = parse("; ".join(parts))
    return [
        each if note is None else replace(each, note=str(note).strip() or None)
        for each, note in zip(read, notes, strict=True)
    ]


def _part(who: str, look: Mapping[str, object], problems: list[Problem]) -> str:
    """What was seen of one, in the notation."""
    given = {key: value for key, value in look.items() if _is_told(value)}
    for key in given:
        if key not in _KNOWN:
            said = f"a look has no “{shortened(str(key))}”"
            problems.append(Problem(said, who, suggestion(str(key), _KNOWN)))
    states = [key for key in STATES if key in given]
    if len(states) != 1:
        have = " and ".join(states) or "neither stage nor fate"
        remedy = f"say one of stage, fate ({', '.join(FATES)}) and same"
        problems.append(Problem(f"{have} is said", who, remedy))
        return ""
    state = SAME if states[0] == "same" else str(given[states[0]])
    cause = f"({given['cause']})" if "cause" in given else ""
    details = [
        detail.word if detail.kind is Kind.FLAG else f"{detail.word}={_number(given[name])}"
        for name, detail in _BY_FIELD.items()
        if name in given
    ]
    return " ".join([who, state + cause, *details])


def _is_told(value: object) -> bool:
    """Whether a value says something: None, NaN and False do not."""
    return value is not None and value is not False and value == value


def _number(value: object) -> str:
    """A value as the notation has it; counts that a data frame made floats are whole again."""
    whole = isinstance(value, float) and value.is_integer()
    return f"{value:.0f}" if whole else f"{value}"
