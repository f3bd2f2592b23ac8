"""What a keeper tells of a species in five answers, each of which may be that nobody knows."""

from __future__ import annotations

from msgspec import Struct

LARVA, NYMPH = "larva", "nymph"
USUAL_STAGES = "egg,larva,pupa,adult"

CITATIONS = {
    "published": "",
    "common practice": "Known to those who rear the species; no single source.",
    "from memory": "Remembered, not looked up: compare with your own animals.",
    "own": "Seen with animals of my own.",
}
"""The kinds of source that a keeper may name, and what stands for a citation where none is told."""

EXAMPLES = {
    "name": "brown moth (Genus species)",
    "stages": USUAL_STAGES,
    "instars": "5, or 5-7",
    "days": "egg 4-6, larva 20-25, pupa 12 at 20-24, lower 9.5",
    "heads": "L1 0.3, L2 0.45-0.55, L5 2.1",
}
"""What answers look like."""


_NOT_KNOWN = (
    "not known",
    "unknown",
    "nobody knows",
    "don't know",
    "don’t know",
    "no",
    "-",
    "–",
    "?",
)


def known(answer: str) -> str:
    """An answer as it was typed, empty where it says in words that something is not known."""
    return "" if answer.strip().casefold().rstrip(".") in _NOT_KNOWN else answer


class Description(Struct, frozen=True):
    """The five answers as they were typed (empty: not known), and how the numbers are known.

    `name` may have a scientific one in brackets behind it; `stages` may say larva or nymph for all
    instars, of which there are as many as `instars` says. `kind` is one of CITATIONS.
    """

    name: str = ""
    stages: str = ""
    instars: str = ""
    days: str = ""
    heads: str = ""
    kind: str = "from memory"
    citation: str = ""
