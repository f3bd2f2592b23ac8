"""Words that people type for those of the notation: each has one meaning, and is not kept itself.

    died → dead        escaped → lost(escaped)        released → removed(released)
    no change → same   hatched → the stage after the egg   pupated → pupa   emerged → adult
    female → f         male → m

A word that is a stage of the profile means the stage.
"""

from __future__ import annotations

from collections.abc import Iterable

from rearlog.records.fates import Fate
from rearlog.records.profile import Profile

RESERVED = ("all", "rest")
"""What none may be called, for these words mean several."""
SAME = "same"
"""No change."""
NO_CHANGE = "no change"

FATE_WORDS: dict[str, tuple[str, str | None]] = {
    "died": (str(Fate.DEAD), None),
    "escaped": (str(Fate.LOST), "escaped"),
    "released": (str(Fate.REMOVED), "released"),
}
"""Words for a fate, and the cause that some of them tell."""

_VALUES = {"sex": {"female": "f", "male": "m"}}

_SAME_WORDS = (NO_CHANGE, "no-change", "nochange", "unchanged", "=")
_ENTERED = {"pupated": "pupa", "emerged": "adult"}


def words_for(profile: Profile) -> dict[str, str]:
    """What else may be written for the stages, for no change and for fates: word → state."""
    found = dict.fromkeys(_SAME_WORDS, SAME)
    found |= {word: fate for word, (fate, _) in FATE_WORDS.items()}
    codes = {code.casefold(): code for code in profile.codes}
    found |= {word: codes[code] for word, code in _ENTERED.items() if code in codes}
    if "egg" in codes:
        after = profile.stages[profile.rank[codes["egg"]] + 1 :]
        if after and not after[0].optional:
            found["hatched"] = after[0].code
    return {word: state for word, state in found.items() if word not in codes}


def values_of(field: str, among: Iterable[str]) -> dict[str, str]:
    """What may be written for the values of a field that is one `among` some words, in any case."""
    words = {each.casefold(): each for each in among}
    also = _VALUES.get(field, {})
    return words | {word: value for word, value in also.items() if value in words.values()}
