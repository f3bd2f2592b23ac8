"""Who may come in: the keeper of this machine, those who look, and guests.

Whoever knows a secret or a code is given a pass, a long random text that their browser keeps as a
cookie. Of secrets and passes only the SHA-256 is remembered here, and compared in constant time.
"""

from __future__ import annotations

import hmac
import re
import secrets
import time
from collections import defaultdict, deque
from collections.abc import Callable, Mapping
from enum import IntEnum
from hashlib import sha256
from threading import Lock

from msgspec import Struct
from msgspec.structs import replace

from rearlog.records.errors import UsageError


class Role(IntEnum):
    """What somebody may do; each role may do what those below it may."""

    GUEST = 1
    """Read the report."""
    LOOKER = 2
    """Log rounds and temperatures, ask which stage it is, see the pictures."""
    KEEPER = 3
    """Everything, on this machine alone."""


class Visitor(Struct, frozen=True):
    """Somebody who came in: their number here, role, initials, and the address they came from."""

    number: int
    role: Role
    initials: str
    address: str
    since: float


INITIALS = re.compile(r"[^\W_][\w.-]{0,7}")
"""How somebody is called: up to eight letters, no full name."""

LETTERS = "ABCDEFGHJKMNPQRSTUVWXYZ23456789"
CODE_LENGTH = 6
"""A code is typed from a board: no letters that look alike, and 9 × 10⁸ of them."""

WRONG_BY_ONE, WRONG_BY_ALL, PERIOD_SECONDS = 5, 40, 60.0
"""So many wrong codes may come from one address, and from all, in so long; then they wait."""

MOST_VISITORS = 500


class TooManyTries(Exception):
    """Codes were guessed; try again after `seconds`."""

    def __init__(self, seconds: float) -> None:
        super().__init__(f"{seconds:.0f} s")
        self.seconds = seconds


class Door:
    """Who is in, and what lets others in. All calls may come from several threads."""

    def __init__(self, clock: Callable[[], float] = time.monotonic) -> None:
        self._clock = clock
        self._lock = Lock()
        self._passes: dict[int, tuple[bytes, Visitor]] = {}
        self._secrets: list[bytes] = []
        self._wrong: defaultdict[str, deque[float]] = defaultdict(deque)
        self._last = 0
        self.codes: dict[Role, str] = {}
        """The code of each role that others may join as; empty where nothing is shared."""

    def share(self, codes: Mapping[str, object] | None = None) -> None:
        """Let lookers and guests in with codes: those given, by the names of roles, or new ones."""
        known = codes or {}
        self.codes = {
            role: _kept(known.get(role.name.lower())) or new_code()
            for role in (Role.LOOKER, Role.GUEST)
        }

    def secret(self) -> str:
        """A text that lets the keeper in once."""
        made = secrets.token_urlsafe(32)
        with self._lock:
            self._secrets.append(_digest(made))
        return made

    def enter(self, secret: str, address: str) -> str | None:
        """The pass of a keeper who knows a secret, which is then used up; None for a wrong one.

        256 random bits are not guessed, so nobody who guesses codes keeps the keeper out.
        """
        told = _digest(secret)
        with self._lock:
            found = [hmac.compare_digest(told, each) for each in self._secrets]
            if not any(found):
                return None
            del self._secrets[found.index(True)]
            return self._admit(Role.KEEPER, "", address)

    def join(self, code: str, initials: str, address: str) -> str | None:
        """The pass of somebody who types a code; None for a wrong one.

        Raises UsageError for initials that are none, TooManyTries where codes are guessed.
        """
        if not INITIALS.fullmatch(initials):
            raise UsageError("initials are one to eight letters or digits", "such as KT")
        told = _digest(re.sub(r"[\s-]", "", code).upper())
        with self._lock:
            self._refuse_guessing(address)
            fits = [
                role
                for role, each in self.codes.items()
                if hmac.compare_digest(told, _digest(each))
            ]
            if not fits:
                self._note_wrong(address)
                return None
            if len(self._passes) >= MOST_VISITORS:
                raise UsageError(f"{MOST_VISITORS} visitors are in already", "end some of them")
            return self._admit(fits[0], initials, address)

    def visitor(self, told: str) -> Visitor | None:
        """Whoever has this pass."""
        digest = _digest(told)
        with self._lock:
            fits = [
                visitor
                for each, visitor in self._passes.values()
                if hmac.compare_digest(digest, each)
            ]
        return fits[0] if fits else None

    def visitors(self) -> list[Visitor]:
        """Everybody who is in, in the order of coming."""
        with self._lock:
            return [visitor for _, visitor in self._passes.values()]

    def call(self, number: int, initials: str) -> None:
        """Somebody is called otherwise from now on; raises UsageError for what are no initials."""
        if not INITIALS.fullmatch(initials):
            raise UsageError("initials are one to eight letters or digits", "such as KT")
        with self._lock:
            if number in self._passes:
                digest, visitor = self._passes[number]
                self._passes[number] = digest, replace(visitor, initials=initials)

    def end(self, number: int) -> None:
        """Somebody's pass is worth nothing any more."""
        with self._lock:
            self._passes.pop(number, None)

    def end_all(self) -> None:
        """Nobody but keepers is in any more, and the codes are others."""
        with self._lock:
            self._passes = {
                number: each for number, each in self._passes.items() if each[1].role is Role.KEEPER
            }
            if self.codes:
                self.share()

    def _admit(self, role: Role, initials: str, address: str) -> str:
        made = secrets.token_urlsafe(32)
        self._last += 1
        visitor = Visitor(self._last, role, initials, address, self._clock())
        self._passes[self._last] = _digest(made), visitor
        return made

    def _refuse_guessing(self, address: str) -> None:
        since = self._clock() - PERIOD_SECONDS
        for each in list(self._wrong):
            times = self._wrong[each]
            while times and times[0] <= since:
                times.popleft()
            if not times:
                del self._wrong[each]
        for times, most in (
            (self._wrong.get(address, deque()), WRONG_BY_ONE),
            (deque(sorted(each for some in self._wrong.values() for each in some)), WRONG_BY_ALL),
        ):
            if len(times) >= most:
                raise TooManyTries(times[0] - since)

    def _note_wrong(self, address: str) -> None:
        self._wrong[address].append(self._clock())


def _kept(told: object) -> str | None:
    """A code that can be one of ours; None for anything else."""
    fits = isinstance(told, str) and len(told) == CODE_LENGTH and {*told} <= {*LETTERS}
    return str(told) if fits else None


def new_code() -> str:
    """A code to be typed."""
    return "".join(secrets.choice(LETTERS) for _ in range(CODE_LENGTH))


def _digest(text: str) -> bytes:
    return sha256(text.encode(errors="replace")).digest()
