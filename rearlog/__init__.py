"""The log and the arithmetic for raising insects from the egg.

In a notebook, a cohort is opened for its answers; each is a frozen dataclass:

    >>> import rearlog
    >>> room = rearlog.open("sample_cohorts/room.json")
    >>> room.survival().reached.n
    23
    >>> rearlog.words(room.survival())[1]
    'Of 24 in all: 6 died, 1 lost, 17 taken out alive, none alive at the last check.'

See `rearlog.notebook` for all of them.
"""

from __future__ import annotations

import os
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from rearlog.notebook import Notebook

__version__ = "0.1.0"


def open(path: str | os.PathLike[str]) -> Notebook:
    """Open a cohort file for its answers; it is read when the first answer is asked for.

    `path` is that of a cohort file. Reading raises `rearlog.records.errors.StoreError` where the
    file is not there or not sound. Nothing is ever written through it.
    """
    from rearlog.notebook import Notebook  # start-up time: not for the commands

    return Notebook(path)


def words(result: object) -> tuple[str, ...]:
    """What an answer says, in sentences; none where it has only numbers."""
    from rearlog.sentences.texts import texts_of  # start-up time

    said = texts_of(result).get("words", ())
    return (said,) if isinstance(said, str) else tuple(said)
