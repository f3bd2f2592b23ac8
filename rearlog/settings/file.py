"""The settings file: what may stand in it, how it is read, and how one value is written anew.

```toml
by = "KT"                       # who looks
folder = "~/rearing"            # where cohorts are looked up by their names
units = "fahrenheit"            # of temperatures that you type without a unit
dates = "day-first"             # 9/3/2026 is 9 March

[publisher]                     # who publishes, for open data
name = "K. T."
email = "kt@school.example"
organisation = "Fernhill School"
orcid = "0000-0002-1825-0097"
licence = "CC-BY-4.0"
```
"""

from __future__ import annotations

import json
import re
import tomllib
from collections.abc import Iterator
from functools import lru_cache
from pathlib import Path
from typing import Any

from msgspec import Struct
from msgspec.structs import replace

from rearlog.disk.outputs import unwritten, write_output
from rearlog.records.errors import Problem, RearlogError, UsageError
from rearlog.records.suggestions import suggestion
from rearlog.species.shape import shaped

LARGEST_BYTES = 100_000
"""Of a settings file: what is larger is some other file."""

UNITS = ("celsius", "fahrenheit")
DATES = ("iso", "day-first", "month-first")

_ORCID = re.compile(r"(?:https?://orcid\.org/)?((?:\d{4}-){3}\d{3}[\dX])")
_EMAIL = re.compile(r"[^@\s]+@[^@\s]+")
_TABLE = re.compile(r"\s*\[\s*([A-Za-z0-9_-]+)\s*\]\s*(?:#.*)?")
_LONGEST_TEXT = 200
_SEVERAL = re.compile(r"&|;|,.*,|\b(?:and|et|und|y)\b")
"""What stands in the names of several people."""


class SettingsError(RearlogError):
    """A settings file that cannot be read, or with something in it that nobody understands."""


class Publisher(Struct, frozen=True):
    """Who publishes open data: each part may be missing.

    `orcid` is the identifier of a person, without the address before it; `licence` is an SPDX
    identifier.
    """

    name: str | None = None
    email: str | None = None
    organisation: str | None = None
    orcid: str | None = None
    licence: str | None = None

    @property
    def family(self) -> str | None:
        """The family name of the person: the last word, or what stands before a comma.

        A name that seems to be of several people is not taken apart.
        """
        return self._parts()[0]

    @property
    def given(self) -> str | None:
        """What stands with the family name; None where nothing does."""
        return self._parts()[1]

    def _parts(self) -> tuple[str | None, str | None]:
        if self.name is None or _SEVERAL.search(self.name):
            return self.name, None
        family, comma, given = (each.strip() for each in self.name.partition(","))
        if not comma:
            *before, family = self.name.split() or [""]
            given = " ".join(before)
        return (family, given) if family and given else (self.name.strip(), None)


class Settings(Struct, frozen=True):
    """What a settings file says.

    `by`: initials of who looks. `folder`: where cohorts are looked up by their names. `units`: of
    temperatures that are typed without one. `dates`: how a date of numerals is typed.
    """

    by: str | None = None
    folder: str | None = None
    units: str = UNITS[0]
    dates: str = DATES[0]
    publisher: Publisher = Publisher()


def keys() -> tuple[str, ...]:
    """All that can be set, those of a table behind its name: `publisher.name`."""
    own = [name for name in Settings.__struct_fields__ if name != "publisher"]
    return (*own, *(f"publisher.{name}" for name in Publisher.__struct_fields__))


def value_of(settings: Settings, key: str) -> str | None:
    """What the settings say under one of the `keys`."""
    value: Any = settings
    for part in key.split("."):
        value = getattr(value, part)
    assert value is None or isinstance(value, str)
    return value


@lru_cache(maxsize=4)
def kept(path: Path, _changed: int, _size: int) -> Settings:
    """What the file at a path says, read once as long as it stays as it is."""
    return read(path)


def read(path: Path) -> Settings:
    """What the file at a path says; raises SettingsError with everything that is wrong in it."""
    return _checked(_text(path), path)


def _text(path: Path) -> str:
    try:
        with path.open("rb") as file:
            content = file.read(LARGEST_BYTES + 1)
        if len(content) > LARGEST_BYTES:
            raise SettingsError(Problem("it is too large for a settings file", str(path)))
        return content.decode("utf-8-sig")
    except OSError as error:
        reason = (error.strerror or str(error)).lower()
        raise SettingsError(Problem(f"it cannot be read: {reason}", str(path))) from error
    except UnicodeDecodeError as error:
        raise SettingsError(Problem("it is not UTF-8 text", str(path), "save it so")) from error


def _checked(text: str, path: Path) -> Settings:
    try:
        document = tomllib.loads(text)
    except (ValueError, RecursionError) as error:
        message = f"it is not TOML: {error or 'nested too deeply'}"
        raise SettingsError(Problem(message, str(path))) from error
    problems: list[Problem] = []
    found = shaped(Settings, document, "", problems)
    problems += _problems_of(found)
    if problems:
        raise SettingsError(
            Problem(each.message, f"{path}, {each.place}", each.remedy) for each in problems
        )
    assert isinstance(found, Settings)
    return found


def _problems_of(settings: Settings) -> Iterator[Problem]:
    for key in keys():
        value = value_of(settings, key)
        if value is None:
            continue
        if not value.isprintable() or len(value) > _LONGEST_TEXT:
            yield Problem("is no text of one line", key)
        elif (wrong := _wrong(key, value)) is not None:
            yield Problem(f"“{value[:40]}” {wrong[0]}", key, wrong[1])


def _wrong(key: str, value: str) -> tuple[str, str] | None:
    """What is wrong with a value, and what would be right."""
    choices = {"units": UNITS, "dates": DATES}.get(key)
    if choices is not None and value not in choices:
        return "is none of them", suggestion(value, choices)
    if key == "folder" and not (Path(value).is_absolute() or value.startswith("~")):
        return "is another folder wherever you are", "write it from the root, or from ~"
    if key == "publisher.email" and not _EMAIL.fullmatch(value):
        return "is no address of mail", "write it as name@place.example"
    if key == "publisher.orcid" and orcid_digits(value) is None:
        return "is no ORCID", "copy all 16 digits, as 0000-0002-1825-0097"
    return None


def publisher_of(settings: Settings) -> Publisher:
    """Who publishes, with the digits alone of an ORCID."""
    orcid = settings.publisher.orcid
    return replace(settings.publisher, orcid=orcid and orcid_digits(orcid))


def orcid_digits(text: str) -> str | None:
    """The digits of an ORCID as 0000-0002-1825-0097; None where its check digit does not fit.

    The check digit is that of ISO/IEC 7064, MOD 11-2, as ORCID describes it (from memory).
    """
    match = _ORCID.fullmatch(text.strip())
    if match is None:
        return None
    total = 0
    digits = match[1].replace("-", "")
    for digit in digits[:-1]:
        total = (total + int(digit)) * 2
    check = (12 - total % 11) % 11
    return match[1] if digits[-1] == ("X" if check == 10 else str(check)) else None


def write(path: Path, key: str, value: str) -> None:
    """Write one value into the file, or take it out where it is empty; all else stays as it is.

    Raises UsageError where there is no such key, or where the line cannot be found by a program;
    SettingsError where the value cannot be, or the file was wrong already.
    """
    if key not in keys():
        raise UsageError(f"there is no setting “{key[:40]}”", suggestion(key, keys()))
    before = _text(path) if path.exists() else ""
    old = _checked(before, path)
    after = "".join(_with(before.splitlines(keepends=True), key, value))
    try:
        new = _checked(after, path)
        same = [each for each in keys() if each != key]
        whole = all(value_of(old, each) == value_of(new, each) for each in same)
        default = value_of(Settings(), key)
        whole = whole and value_of(new, key) == (value or default)
    except SettingsError as error:
        if any("not TOML" in each.message for each in error.problems):
            whole = False
        else:
            raise
    if not whole:
        raise UsageError(f"{key} stands in {path} in a way of its own", "edit the file by hand")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise unwritten(path, error) from error
    write_output(path, after.encode(), force=True)


def _with(lines: list[str], key: str, value: str) -> Iterator[str]:
    """The lines of a file with another value: its line in place, or a new one in its table."""
    table, _, name = key.rpartition(".")
    line = f"{name} = {json.dumps(value, ensure_ascii=False)}" if value else None
    mine = re.compile(rf"\s*{re.escape(name)}\s*=\s*(?:\"[^\"\\]*\"|'[^']*'|\S+?)(\s*#.*)?\s*")
    now, done = "", False
    for each in lines:
        if match := _TABLE.fullmatch(each.rstrip("\r\n")):
            if now == table and not done and line is not None:
                yield f"{line}\n"
                done = True
            now = match[1]
        if now == table and not done and (match := mine.fullmatch(each)):
            if line is not None:
                yield f"{line}{match[1] or ''}\n"
            done = True
            continue
        yield each if each.endswith("\n") else f"{each}\n"
    if not done and line is not None:
        if now != table:
            yield f"\n[{table}]\n"
        yield f"{line}\n"
