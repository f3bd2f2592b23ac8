"""The compact notation: one line for a round of checks.

    1-9 L3; 10 L2 head=0.61; 11 dead(shrivelled) "under the lid"; rest same

Parts are separated by `;` or a new line; each is `WHO STATE [DETAIL…] ["note"]`. Reading has two
steps: `parse` knows only the grammar, `resolve` knows the cohort. Both report every mistake with
its place in the line. What people type instead of the words here (`died`, `L 2`, `1 to 5`) is read
as the notation (see `typed_words`).
"""

from __future__ import annotations

import contextlib
import math
import re
from collections.abc import Callable, Collection, Iterable, Sequence
from datetime import datetime
from itertools import islice
from typing import Any

from msgspec import Struct
from msgspec.structs import replace

from rearlog.records.errors import EntryError, Problem
from rearlog.records.fates import FATES
from rearlog.records.fields import DETAILS, Field, Kind, Observation
from rearlog.records.profile import Profile
from rearlog.records.suggestions import did_you_mean
from rearlog.records.typed_words import FATE_WORDS, NO_CHANGE, RESERVED, values_of, words_for
from rearlog.records.typed_words import SAME as SAME
from rearlog.records.values import NAME

Value = str | float | bool

_PART = re.compile(r'(?:[^;\n"]|"[^"\n]*"?)+')
_ITEM = r"\w+(?>(?:(?:\s*[-–]\s*|\s+[Tt][Oo]\s+)\w+)?)"
_WHO = re.compile(rf"\s*({_ITEM}(?:\s*,\s*{_ITEM})*)\s+(?=\S)")
_NEXT_PART = re.compile(rf",\s*(?={_ITEM}(?:\s*,\s*{_ITEM})*\s+[^\W\d])")
_TO = re.compile(r"\s*[-–]\s*|\s+to\s+", re.IGNORECASE)
_COMMA_INSIDE = re.compile(r'"[^"]*"?|\([^)]*\)?|=\d*,\d+')  # of a note, a cause, a decimal
_LONGEST_EXPLAINED = 2_000
_NO_STAGES = (*FATES, *FATE_WORDS, SAME)
_TOKEN = re.compile(r'"(?P<note>[^"]*)"|(?P<word>[^\s"(]+(?:\([^)]*\)?)?)|(?P<bad>\S)')
_FATE = re.compile(r"(?P<fate>\w+)\((?P<cause>[^()]*)\)")
_RANGE = re.compile(r"(?P<prefix>\w*?)(?P<number>\d{1,9})$")
_DECIMAL_COMMA = re.compile(r"0,\d+|\d+,\d{1,2}")  # but 1,500 may be meant as a thousand and a half
_WHOLE_NUMBER = re.compile(r"[0-9]{1,9}")
_LONGEST_RANGE = 100_000
_TOO_MANY = "these are more codes than a cohort can have"
_UNCLOSED = {
    '"': "close the note with a quotation mark",
    "(": "a cause stands right behind the fate and is closed: dead(parasitoid)",
}


class Entry(Struct, frozen=True):
    """One part of a line: who, and what was seen. `place` is where the part begins (from 0).

    `details` are values by the names of fields.
    """

    who: str
    state: str
    place: int
    text: str
    cause: str | None = None
    details: dict[str, Value] = {}
    note: str | None = None


def parse(line: str) -> list[Entry]:
    """Read a line into its entries.

    Raises EntryError with every part that does not follow the grammar.
    """
    entries: list[Entry] = []
    problems: list[Problem] = []
    for match in _PART.finditer(line):
        if not match.group().strip():
            continue
        try:
            entries.append(_entry(match.group(), match.start()))
        except _Unreadable as mistake:
            mistake = _comma_for_semicolon(match.group()) or mistake
            problems.append(Problem(mistake.message, _place(match), mistake.remedy))
    if problems:
        raise EntryError(problems)
    if not entries:
        raise EntryError("the line is empty", "write WHO STATE, for example: 1-9 L3; rest same")
    return entries


class _Unreadable(Exception):
    def __init__(self, message: str, remedy: str = "") -> None:
        self.message, self.remedy = message, remedy


def _place(match: re.Match[str]) -> str:
    stripped = match.group().strip()
    column = match.start() + match.group().index(stripped) + 1
    return f"at character {column}, “{shortened(stripped)}”"


def shortened(text: str, length: int = 40) -> str:
    """The text, cut to a length that fits a message."""
    return text if len(text) <= length else text[: length - 1] + "…"


def _comma_for_semicolon(part: str) -> _Unreadable | None:
    """The explanation where a part is several that are right, with commas between them."""
    who = _WHO.match(part)
    if who is None or len(part) > _LONGEST_EXPLAINED:
        return None
    inside = [found.span() for found in _COMMA_INSIDE.finditer(part)]
    pieces, begin = list[str](), 0
    for comma in _NEXT_PART.finditer(part, who.end()):
        if not any(first < comma.start() < last for first, last in inside):
            pieces.append(part[begin : comma.start()].strip())
            begin = comma.end()
    pieces.append(part[begin:].strip())
    try:
        for each in pieces:
            _entry(each, 0)
    except _Unreadable:
        return None
    return _Unreadable(
        "a comma stands where a semicolon belongs", f"write: {shortened('; '.join(pieces), 120)}"
    )


def _entry(part: str, start: int) -> Entry:
    who = _WHO.match(part)
    if who is None:
        raise _Unreadable("no state given", "write WHO STATE, for example: 3 L4")
    tokens = list(_TOKEN.finditer(part, who.end()))
    if not tokens or tokens[0].group("word") is None:
        raise _Unreadable("no state given", "write a stage, same, dead, lost or removed")
    words = _state_words(tokens)
    if words[0].isdecimal() and who.group(1).isalpha() and who.group(1).lower() not in RESERVED:
        name, number = who.group(1), words[0]
        remedy = f"write {name}-{number}, or as it is called"
        raise _Unreadable(f"names have no spaces, as “{shortened(f'{name} {number}')}” has", remedy)
    state, cause = _state(" ".join(words) if words[0].lower() == "no" else "".join(words))
    details, note = dict[str, Value](), None
    for token in tokens[len(words) :]:
        word = token.group("word")
        if token.group("note") is not None:
            if note is not None:
                raise _Unreadable("two notes", "put both into one pair of quotation marks")
            note = token.group("note").strip() or None
        elif token.group("bad") is not None:
            raise _Unreadable(
                f"“{token.group()}” is out of place", _UNCLOSED.get(token.group(), "")
            )
        else:
            detail, value = _detail(word)
            if detail.name in details and detail.kind is not Kind.FLAG:
                raise _Unreadable(f"{detail.word} is given twice")
            details[detail.name] = value
    indent = len(part) - len(part.lstrip())
    return Entry(
        re.sub(r"\s+", "", _TO.sub("-", who.group(1))),
        state,
        start + indent,
        part.strip(),
        cause,
        details,
        note,
    )


def _state_words(tokens: Sequence[re.Match[str]]) -> list[str]:
    """The words of the state: one, or two where they are “no change” or a stage such as “L 2”."""
    first = tokens[0].group("word")
    second = (tokens[1].group("word") if len(tokens) > 1 else None) or ""
    a_stage = first.isalpha() and first.lower() not in _NO_STAGES and second.isdecimal()
    return [first, second] if a_stage or f"{first} {second}".lower() == NO_CHANGE else [first]


def _state(word: str) -> tuple[str, str | None]:
    match = _FATE.fullmatch(word)
    if match is None:
        if "(" in word:
            raise _Unreadable(f"“{shortened(word)}” is not closed", _UNCLOSED["("])
        if "," in word:
            message = f"there is a comma in “{shortened(word)}”"
            raise _Unreadable(message, "parts stand apart by semicolons: 1-9 L3; 10 L2")
        return word, FATE_WORDS.get(word.lower(), (word, None))[1]
    fate, cause = FATE_WORDS.get(match["fate"].lower(), (match["fate"], None))
    if fate.lower() not in FATES:
        raise _Unreadable(
            f"a cause stands behind “{fate}”", "only dead, lost and removed have a cause"
        )
    if cause is not None:
        remedy = f"write {fate}({shortened(match['cause'])}), or {cause} alone"
        raise _Unreadable(f"{cause} says the cause already", remedy)
    return fate, match["cause"].strip() or None


def _detail(text: str) -> tuple[Field, Value]:
    word, equals, value = text.partition("=")
    detail = DETAILS.get(word.lower())
    if detail is None or bool(equals) == (detail.kind is Kind.FLAG):
        known = (each + "=" * (one.kind is not Kind.FLAG) for each, one in DETAILS.items())
        raise _Unreadable(
            f"“{text}” is not a detail",
            f"use {', '.join(known)}; a note stands in double quotes, "
            "and the whole entry in single ones",
        )
    if detail.kind is Kind.FLAG:
        return detail, True
    if detail.kind is Kind.MEASURE:
        return detail, _measure(value, detail)
    if detail.kind is Kind.COUNT:
        return detail, _count(value, detail)
    if detail.kind is Kind.NAME:
        return detail, _name(value, detail)
    known_value = values_of(detail.name, detail.among).get(value.casefold())
    if known_value is None:
        choices = " or ".join(f"{detail.word}={each}" for each in detail.among)
        raise _Unreadable(f"{detail.word} “{value}” is not known", f"write {choices}")
    return detail, known_value


def _measure(text: str, detail: Field) -> float:
    try:
        number = float(text.replace(",", ".") if _DECIMAL_COMMA.fullmatch(text) else text)
    except ValueError:
        number = math.nan
    if not math.isfinite(number):
        remedy = f"write a number such as {detail.word}={detail.example} ({detail.unit})"
        raise _Unreadable(f"“{text}” is not a number", remedy)
    return number


def _count(text: str, detail: Field) -> int:
    if not _WHOLE_NUMBER.fullmatch(text):
        remedy = f"write {detail.word}={detail.example}, or {detail.word}=0 for none"
        raise _Unreadable(f"“{shortened(text)}” is not a whole number", remedy)
    return int(text)


def _name(text: str, detail: Field) -> str:
    if not NAME.fullmatch(text):
        remedy = f"write {detail.word}={detail.example}, or a cage such as {detail.word}=cage-1"
        raise _Unreadable(f"“{shortened(text)}” is no code and no name of a cage", remedy)
    return text


def expand(who: str) -> list[str]:
    """The codes that a list of codes and ranges stands for: `A01-A03,A07` → A01 A02 A03 A07.

    Raises EntryError for a range that cannot be counted through, and for more codes than a
    cohort can have.
    """
    if how_many(who) > _LONGEST_RANGE:
        raise EntryError(_TOO_MANY)
    codes: list[str] = []
    for item in who.split(","):
        first, dash, last = item.partition("-")
        codes.extend(_range(first, last) if dash else [first])
    return codes


def how_many(who: str) -> int:
    """How many codes a list of codes and ranges stands for, without making them."""
    return sum(
        len(_numbers(first, last)[1]) if dash else 1
        for first, dash, last in (item.partition("-") for item in who.split(","))
    )


def _range(first: str, last: str) -> list[str]:
    (prefix, width), numbers = _numbers(first, last)
    return [f"{prefix}{number:0{width}d}" for number in numbers]


def _numbers(first: str, last: str) -> tuple[tuple[str, int], range]:
    """The prefix and the width of the codes in a range, and their numbers; raises EntryError."""
    start, stop = _RANGE.fullmatch(first), _RANGE.fullmatch(last)
    if start is None or stop is None or stop["prefix"] not in ("", start["prefix"]):
        written = shortened(f"{first}-{last}")
        raise EntryError(f"“{written}” is not a range", "write 1-12 or A01-A12")
    low, high = int(start["number"]), int(stop["number"])
    if not 0 <= high - low < _LONGEST_RANGE:
        raise EntryError(f"the range “{first}-{last}” runs backwards or is too long")
    return (start["prefix"], len(start["number"])), range(low, high + 1)


def pass_over(entries: Sequence[Entry], ended: Collection[str]) -> tuple[list[Entry], list[str]]:
    """The entries without those who ended (are dead, lost, removed) inside a range; and who.

    One that is named by itself stays, and so does a range in which nobody is left: they are
    mistakes.
    """
    if too_many(entries):  # to be refused
        return list(entries), []
    gone = {code.casefold() for code in ended}
    passed: list[str] = []
    kept: list[Entry] = []
    for entry in entries:
        items: list[str] = []
        for item in entry.who.split(","):
            codes = counted_through(item)
            left = [code for code in codes if code.casefold() not in gone]
            if left and len(left) < len(codes) and len(items) < _LONGEST_RANGE:
                passed += [code for code in codes if code.casefold() in gone]
                items += left
            else:
                items.append(item)
        kept.append(replace(entry, who=",".join(items)))
    return kept, passed


def too_many(entries: Iterable[Entry]) -> bool:
    """Whether the entries together name more than a cohort can have."""
    left = _LONGEST_RANGE
    for entry in entries:
        with contextlib.suppress(EntryError):  # to be told with all that is wrong
            left -= how_many(entry.who)
        if left < 0:
            return True
    return False


def counted_through(item: str) -> list[str]:
    """The codes that a code or a range stands for; none where it cannot be counted through."""
    try:
        return expand(item)
    except EntryError:  # to be told with all that is wrong
        return []


def resolve(
    entries: Sequence[Entry],
    profile: Profile,
    codes: Collection[str],
    alive: Sequence[str],
    at: datetime,
    by: str | None,
) -> list[Observation]:
    """Turn entries into observations, one for each individual named.

    `codes` are those of the cohort, in order; `alive` those that `all` and `rest` stand for.
    Raises EntryError with every unknown code, unknown state and individual named twice.
    """
    if too_many(entries):
        raise EntryError(_TOO_MANY)
    problems: list[Problem] = []
    spelling = {code.casefold(): code for code in codes}
    named: dict[str, Entry] = {}
    everyone = next((entry for entry in entries if entry.who.lower() == "all"), None)
    if everyone is not None and len(entries) > 1:
        remedy = "use rest for those not named in the line"
        problems.append(Problem("all stands beside other parts", _at(everyone), remedy))
    for entry in entries:
        if entry.who.lower() in RESERVED:
            continue
        for code in _codes(entry, spelling, problems):
            if code in named:
                problems.append(Problem(f"{code} is named twice in this line", _at(entry)))
            named[code] = entry
    rest = [entry for entry in entries if entry.who.lower() in RESERVED]
    if len(rest) > 1 and everyone is None:
        problems.append(Problem("rest is given twice", _at(rest[1])))
    if rest:
        named |= {code: rest[0] for code in alive if code not in named}
    state_of = _state_reader(profile, problems)
    states = {id(entry): state_of(entry) for entry in entries}
    if problems:
        raise EntryError(problems)
    order = {code: place for place, code in enumerate(codes)}
    return [
        _observation(code, entry, states[id(entry)], at, by)
        for code, entry in sorted(named.items(), key=lambda item: order[item[0]])
    ]


def _at(entry: Entry) -> str:
    return f"at character {entry.place + 1}, “{shortened(entry.text)}”"


def _codes(entry: Entry, spelling: dict[str, str], problems: list[Problem]) -> list[str]:
    try:
        asked = expand(entry.who)
    except EntryError as error:
        problems.extend(Problem(each.message, _at(entry), each.remedy) for each in error.problems)
        return []
    unknown = [code for code in asked if code.casefold() not in spelling]
    if unknown:
        shown = shortened(", ".join(unknown[:40]))
        known = shortened(", ".join(islice(spelling.values(), 40)))
        problems.append(Problem(f"no individual {shown}", _at(entry), f"this cohort has {known}"))
    return [spelling[code.casefold()] for code in asked if code.casefold() in spelling]


def _state_reader(profile: Profile, problems: list[Problem]) -> Callable[[Entry], str]:
    words = words_for(profile)
    words |= {code.casefold(): code for code in (*profile.codes, *FATES, SAME)}

    def read(entry: Entry) -> str:
        state = words.get(entry.state.casefold())
        if state is None:
            known = (*profile.codes, SAME, *FATES)
            remedy = did_you_mean(entry.state, known) or f"use {', '.join(known)}"
            problems.append(
                Problem(f"“{shortened(entry.state)}” is no stage or fate", _at(entry), remedy)
            )
        elif entry.details.get("witnessed") and state == SAME:
            problems.append(Problem("same cannot be seen", _at(entry), "seen is for an event"))
        return state or ""

    return read


def _observation(
    code: str,
    entry: Entry,
    state: str,
    at: datetime,
    by: str | None,
) -> Observation:
    fate = state if state in FATES else None
    same = state == SAME
    details: dict[str, Any] = entry.details
    return Observation(
        individual=code,
        at=at,
        stage=None if fate or same else state,
        same=same,
        fate=fate,
        cause=entry.cause,
        by=by,
        note=entry.note,
        **details,
    )
