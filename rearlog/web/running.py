"""A server that runs already: whoever starts it once more is shown the one that is there.

A server writes down its port and a secret of its own, in a file beside the cohorts that only its
user may read. Whoever starts another one reads it, and asks at that port of this machine. Each
proves to the other that it knows the secret, which itself is never sent (challenge and response
with HMAC-SHA-256, RFC 2104): a file that was left behind, or another program at that port, is
passed over.
"""

from __future__ import annotations

import contextlib
import hmac
import http.client
import json
import os
import re
import secrets
from hashlib import sha256
from pathlib import Path
from urllib.parse import urlencode

from msgspec import Struct

from rearlog.store.durable import HIDDEN
from rearlog.web.private_files import read_private, write_private

PATIENCE_SECONDS = 3.0
_NAME = "server"
_LONGEST_BYTES = 2**14
_SECRET = re.compile(r"[A-Za-z0-9_-]{20,100}")
_ASKS, _ANSWERS = "asks", "answers"


class Open(Struct, frozen=True):
    """A folder that is open already: where, with an address that lets the keeper in once."""

    address: str
    first_address: str
    shared: bool


def write_down(folder: Path, port: int, secret: str) -> bool:
    """Let this user's other programs know of a server over a folder; False where that cannot be.

    The server does without: then a second start says only that the port is taken.
    """
    return write_private(folder, _NAME, {"port": port, "secret": secret})


def forget(folder: Path, secret: str) -> None:
    """Remove what a server has written down, if it is still its own."""
    if _written_down(folder)[1] == secret:
        with contextlib.suppress(OSError):
            os.unlink(folder / HIDDEN / _NAME)
            os.rmdir(folder / HIDDEN)  # which has more in it, unless there is no cohort


def _written_down(folder: Path) -> tuple[int, str]:
    """Port and secret; 0 and nothing where there are none that this user alone could write."""
    told = read_private(folder, _NAME)
    port, secret = told.get("port"), told.get("secret")
    if type(port) is not int or not 0 < port < 2**16 or not isinstance(secret, str):
        return 0, ""
    return port, secret


def proof(secret: str, *said: str) -> str:
    """What only those can say who know the secret."""
    return hmac.new(secret.encode(), "\n".join(said).encode(), sha256).hexdigest()


def asks_rightly(secret: str, nonce: str, told: str) -> bool:
    """Whether somebody who asks knows the secret."""
    return hmac.compare_digest(proof(secret, _ASKS, nonce).encode(), told.encode(errors="replace"))


def answer_to(secret: str, nonce: str, first: str, shared: bool) -> dict[str, str]:
    """What is answered to that: a text that lets the keeper in once."""
    told = "yes" if shared else ""
    return {
        "first": first,
        "shared": told,
        "proof": proof(secret, _ANSWERS, nonce, first, told),
    }


def open_already(folder: Path) -> Open | None:
    """The server of this user that runs over a folder; None where there is none."""
    port, secret = _written_down(folder)
    if not secret:
        return None
    nonce = secrets.token_urlsafe(32)
    form = urlencode({"nonce": nonce, "proof": proof(secret, _ASKS, nonce)})
    line = http.client.HTTPConnection("127.0.0.1", port, timeout=PATIENCE_SECONDS)
    try:
        headers = {
            "Content-Type": "application/x-www-form-urlencoded",
            "Sec-Fetch-Site": "same-origin",
        }
        line.request("POST", "/again", form, headers)
        told = json.loads(line.getresponse().read(_LONGEST_BYTES))
        first, shared, proved = (str(told[name]) for name in ("first", "shared", "proof"))
    except (OSError, http.client.HTTPException, ValueError, KeyError, TypeError, RecursionError):
        return None
    finally:
        line.close()
    rightly = proof(secret, _ANSWERS, nonce, first, shared)
    if not hmac.compare_digest(rightly.encode(), proved.encode(errors="replace")):
        return None
    if not _SECRET.fullmatch(first):
        return None
    address = f"http://127.0.0.1:{port}"
    return Open(address, f"{address}/enter/{first}", bool(shared))
