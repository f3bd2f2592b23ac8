"""What the pages work with: the shelf, the door, and the names that the server answers to."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime

from msgspec import Struct, field

from rearlog.web.door import Door
from rearlog.web.said import Said
from rearlog.web.second_looks import SecondLooks
from rearlog.web.shelf import Shelf
from rearlog.web.tally import Tally


def present() -> datetime:
    """The present instant, to the second."""
    return datetime.now(UTC).replace(microsecond=0)


class Desk(Struct, frozen=True):
    """`hosts` are names with ports, as browsers send them; `addresses` what others may type in.

    `now` is the present instant, with its offset. `practised` is what all together mistook in
    practice, `said` what is still to be told of what was done. `photos`: the keeper lets pictures
    be kept with looks; `second_looks` are those that somebody is asked about.
    """

    shelf: Shelf
    door: Door
    hosts: frozenset[str]
    addresses: tuple[str, ...] = ()
    now: Callable[[], datetime] = present
    own: str = ""
    practised: Tally = field(default_factory=Tally)
    said: Said = field(default_factory=Said)
    second_looks: SecondLooks = field(default_factory=SecondLooks)
    photos: bool = False
