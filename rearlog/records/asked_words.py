"""What is typed into an asked round: a key a stage or fate, a code to go to, details at will.

    +                      the one asked for is in its next stage
    11 +    or    11+      number 11 is; no change in those before it that had no answer yet
    3+ 7+ 12d 21+ .        a whole round in one line; the point: no change in the rest
    L4 head=0.61 "pale"    a stage by its code, with details as in the compact notation
    eggs=34                no change, and eggs; behind the name of a cage, of all who live in it

Words stand apart by spaces or `;`, which a + needs not. A key that is the code of an individual
means the individual.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from types import MappingProxyType

from msgspec import Struct
from msgspec.structs import replace

from rearlog.records.entries import SAME, expand, how_many, shortened
from rearlog.records.errors import EntryError
from rearlog.records.fates import FATES, Fate
from rearlog.records.profile import Profile
from rearlog.records.values import CODE

NEXT, SKIP = "next", "skip"
BACK, SAVE, QUIT, HELP = "back", "save", "quit", "help"
REST, ALL = "rest", "all"

_STATE_KEYS = {NEXT: "+", "prepupa": "u", "pupa": "p", "adult": "a"}
_STATE_KEYS |= {Fate.DEAD: "d", Fate.LOST: "l", Fate.REMOVED: "r", SKIP: "n", SAME: "="}
_COMMAND_KEYS = {BACK: "-", SAVE: "s", QUIT: "q", HELP: "?"}

_TOKEN = re.compile(r'"[^"]*"?|[^\s";(+]*\+|[^\s";(+]+(?:\([^)]*\)?)?|[^\s;]')
_WHO = re.compile(r"\w+(-\w+)?(,\w+(-\w+)?)*")
_NUMBER = re.compile(r"\d+$")
_LONGEST_LINE = 4000


class Act(Struct, frozen=True):
    """One step of what was typed.

    Either a `command` (BACK, SAVE, QUIT, HELP), or `who` (empty: the one asked for; REST: those
    without an answer) was seen in a `state`: a word of the notation, NEXT, or SKIP (not looked
    at). The state is empty where there are only `details`, or only a place to go to. With `cage`,
    they were named by the cage in which they live.
    """

    command: str = ""
    who: tuple[str, ...] = ()
    state: str = ""
    details: tuple[str, ...] = ()
    cage: bool = False


class Words:
    """The words of one round: those of its profile and of its individuals, and who lives in which
    of its cages.

    `keys` are the states and commands that have a key of one letter, and that key; `cages` the
    names of the cages.
    """

    def __init__(
        self,
        profile: Profile,
        codes: Sequence[str],
        cages: Mapping[str, tuple[str, ...]] = MappingProxyType({}),
    ) -> None:
        self.cages = tuple(cages)
        self._cages = {name.casefold(): members for name, members in cages.items()}
        self._codes = {code.casefold(): code for code in codes}
        self._numbers = _by_number(codes)
        states = {*profile.codes, *FATES, NEXT, SKIP, SAME}
        self.keys = {
            name: key
            for name, key in (_STATE_KEYS | _COMMAND_KEYS).items()
            if (name in states or name in _COMMAND_KEYS) and key not in self._codes
        }
        words = {name.casefold(): name for name in (*states, *_COMMAND_KEYS)}
        words |= {key: name for name, key in self.keys.items()}
        self._words = {word: name for word, name in words.items() if word not in self._codes}

    def read(self, line: str) -> list[Act]:
        """What a line says, step by step; an empty one: no change.

        Raises EntryError for a word that is none of the round's.
        """
        if len(line) > _LONGEST_LINE:
            raise EntryError(f"the line is longer than {_LONGEST_LINE} characters")
        acts: list[Act] = []
        for each in map(self._act, _TOKEN.findall(line)):
            before = acts[-1] if acts else None
            if before is None or before.command or each.command or not _goes_on(before, each):
                acts.append(each)
            else:
                details = before.details + each.details
                acts[-1] = replace(before, state=before.state or each.state, details=details)
        return acts or [Act(state=SAME)]

    def find(self, code: str) -> str | None:
        """The individual with this code; a number finds the one code that ends in it."""
        found = self._codes.get(code.casefold())
        if found is None and code.isdecimal() and CODE.fullmatch(code):
            return self._numbers.get(int(code))
        return found

    def _act(self, token: str) -> Act:
        if token == ".":
            return Act(who=(REST,), state=SAME)
        if (known := self._word(token)) is not None:
            return known
        if who := self.who(token):
            return Act(who=who, cage=self._is_cage(token))
        for place in range(len(token) - 1, 0, -1):
            rest = self._word(token[place:])
            if rest is not None and rest.state and (who := self.who(token[:place])):
                return Act(who=who, state=rest.state, cage=self._is_cage(token[:place]))
        if token.startswith('"') or "=" in token or token.casefold() == "seen":
            return Act(details=(token,))
        message = f"“{shortened(token)}” is no key, no stage and nobody in this round"
        raise EntryError(message, "? shows the keys")

    def _word(self, token: str) -> Act | None:
        """A state (a fate with its cause in brackets) or a command; None for anything else."""
        word, bracket, cause = token.partition("(")
        name = self._words.get(word.casefold())
        if name in _COMMAND_KEYS:
            return None if bracket else Act(command=name)
        return None if name is None else Act(state=name + bracket + cause)

    def who(self, token: str) -> tuple[str, ...]:
        """The individuals that a code, a list or a range stands for; none where it is no such."""
        if token.casefold() == REST and REST not in self._codes:
            return (REST,)
        if token.casefold() == ALL and ALL not in self._codes:
            return tuple(self._codes.values())
        if not _WHO.fullmatch(token):
            return ()
        return self._codes_in(token) or self._cages.get(token.casefold(), ())

    def _is_cage(self, token: str) -> bool:
        return token.casefold() in self._cages and not self._codes_in(token)

    def _codes_in(self, token: str) -> tuple[str, ...]:
        codes: list[str] = []
        for item in token.split(","):
            try:
                if how_many(item) > len(self._codes):
                    return ()
                found = [self.find(code) for code in expand(item)]
            except EntryError:  # a range that cannot be counted through
                return ()
            if not all(found):
                return ()
            codes += filter(None, found)
        return tuple(dict.fromkeys(codes))


def _goes_on(before: Act, act: Act) -> bool:
    """Whether a word belongs to what was said before it, or begins something new."""
    if act.who:
        return False
    return not act.state or not before.state


def _by_number(codes: Sequence[str]) -> dict[int, str | None]:
    """The code that ends in each number; None where several do."""
    found: dict[int, str | None] = {}
    for code in codes:
        if match := _NUMBER.search(code):
            number = int(match.group())
            found[number] = None if number in found else code
    return found
