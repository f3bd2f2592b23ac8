"""The bundled profiles, and finding a profile by its id or its file."""

from __future__ import annotations

import contextlib
import os
import tomllib
from pathlib import Path

from msgspec import Struct

from rearlog.records.errors import ProfileError, UsageError
from rearlog.records.profile import Profile
from rearlog.records.suggestions import suggestion
from rearlog.species.loader import load

_FOLDER = Path(__file__).parent / "profiles"


class Listing(Struct, frozen=True):
    """A bundled profile in a list: its id and its names."""

    id: str
    name: str
    scientific_name: str


def bundled() -> tuple[Listing, ...]:
    """The bundled profiles by id. Only the head of each file is read."""
    return tuple(_listing(path) for path in sorted(_FOLDER.glob("*.toml")))


def _listing(path: Path) -> Listing:
    head = path.read_text(encoding="utf-8").partition("\n[")[0]  # the keys before the first table
    names = tomllib.loads(head)
    return Listing(names["id"], names["name"], names["scientific_name"])


MOST_IN_A_FOLDER = 50


def in_folder(folder: Path) -> dict[str, Profile]:
    """The sound profiles in a folder by the names of their files: those of one's own species."""
    found: dict[str, Profile] = {}
    for path in sorted(folder.glob("*.toml"))[:MOST_IN_A_FOLDER]:
        if not path.is_symlink():
            with contextlib.suppress(ProfileError):  # “species check” tells what is wrong with it
                found[path.name] = load(path)
    return found


def find(id_or_path: str) -> Profile:
    """A bundled profile by its id, or the profile in a file by its path.

    Raises UsageError where there is no such id, and ProfileError where the file is missing or
    wrong.
    """
    path = Path(id_or_path)
    if path.suffix.lower() == ".toml":
        return load(path)
    asked = id_or_path.strip().casefold()
    known = {each.stem: each for each in sorted(_FOLDER.glob("*.toml"))}
    if asked not in known and os.path.isfile(path):  # a name too long for a file is none
        return load(path)
    if asked not in known:
        raise UsageError(f"there is no profile “{id_or_path}”", _meant(id_or_path, list(known)))
    return load(known[asked])


def _meant(asked: str, ids: list[str]) -> str:
    """The id that was probably meant, also where the species was called by its name."""
    for each in bundled():
        if asked.strip().casefold() in (each.name.casefold(), each.scientific_name.casefold()):
            return f"its id is {each.id}"
    return suggestion(asked, ids)
