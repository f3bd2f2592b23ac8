"""Pictures of which two people said, each for themselves, the same stage."""

from __future__ import annotations

from collections.abc import Iterator

from msgspec import Struct

from rearlog.records.log import CohortLog


class SettledPicture(Struct, frozen=True):
    """A picture, by its name, and the stage that it shows."""

    photo: str
    stage: str


def settled_pictures(log: CohortLog) -> Iterator[SettledPicture]:
    """Those that somebody took and called a stage, and that all who were asked since called so too.

    Whoever is asked about a picture looks at its moment.
    """
    for looks in log.checks.values():
        for look in looks:
            if look.photo is None or look.stage is None:
                continue
            others = {
                each.stage
                for each in looks
                if each.at == look.at and each.stage is not None and each.by != look.by
            }
            if others == {look.stage}:
                yield SettledPicture(look.photo, look.stage)
