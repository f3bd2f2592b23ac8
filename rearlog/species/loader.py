"""From a profile file, laid out as this package's docstring shows, to a checked profile."""

from __future__ import annotations

import os
import re
import stat
import tomllib
from pathlib import Path

from msgspec.structs import replace

from rearlog.records.errors import Problem, ProfileError
from rearlog.records.profile import Profile
from rearlog.species.rules import problems_of
from rearlog.species.shape import shaped
from rearlog.species.shorthand import written_out

LARGEST_BYTES = 500_000
"""Of a profile file: the largest of those that come with rearlog has a tenth of it."""

_KEY = r"""(?:[\w-]++|"[^"\n]*+"|'[^'\n]*+')"""
_DEEP_KEY = re.compile(rf"(?<![\w-]){_KEY}(?:[ \t]*+\.[ \t]*+{_KEY}){{16}}")


def load(path: Path) -> Profile:
    """The profile in a TOML file. Raises ProfileError with everything that is wrong in it."""
    return read(_document(path), str(path))


def read(document: object, place: str = "") -> Profile:
    """The profile in a document, laid out as a profile file is.

    Raises ProfileError with everything that is wrong in it; `place` names the file.
    """
    profile, problems = _judged(document, place)
    if problems:
        raise ProfileError(problems)
    return profile


def check(document: object, place: str = "") -> list[Problem]:
    """Everything that is wrong in a document, laid out as a profile file or `Profile.to_dict` is.

    Empty where it is sound. `place` names the file, in front of the place of each problem.
    """
    return _judged(document, place)[1]


def _judged(document: object, place: str) -> tuple[Profile, list[Problem]]:
    problems: list[Problem] = []
    if isinstance(document, dict):
        document = written_out(document)
    profile = shaped(Profile, document, "", problems)
    if profile is not None:
        problems += problems_of(profile)
    return profile, [replace(each, place=_within(place, each.place)) for each in problems]


def _within(file: str, place: str) -> str:
    return f"{file}, {place}" if file and place else file or place


def _document(path: Path) -> dict[str, object]:
    place = str(path)
    try:
        text = _content(path).decode("utf-8-sig")  # Windows editors add a BOM
        if _DEEP_KEY.search(text):  # the time for such a key grows with its square
            raise RecursionError
        return tomllib.loads(text)
    except OSError as error:
        reason = (error.strerror or str(error)).lower()
        raise ProfileError(Problem(f"the file cannot be read: {reason}", place)) from error
    except UnicodeDecodeError as error:
        problem = Problem("the file is not UTF-8 text", place, "save it as UTF-8")
        raise ProfileError(problem) from error
    except ValueError as error:  # a TOMLDecodeError, or a number of too many digits
        raise ProfileError(Problem(f"the file is not TOML: {error}", place)) from error
    except RecursionError as error:
        raise ProfileError(Problem("the file is nested too deeply", place)) from error


def _content(path: Path) -> bytes:
    if not stat.S_ISREG(os.stat(path).st_mode):  # a pipe would be waited for, a device never end
        raise ProfileError(Problem("cannot be read: this is not a file", str(path)))
    with open(path, "rb") as file:
        found = file.read(LARGEST_BYTES + 1)
    if len(found) > LARGEST_BYTES:
        message = f"it has more than {LARGEST_BYTES / 1000:,.0f} kB, too much for a profile"
        raise ProfileError(Problem(message, str(path)))
    return found
