"""What every request has to pass, in this order: host, identity, origin, role.

Host: a request names this server as its own pages do; a page of elsewhere that had its name point
here (DNS rebinding) is turned away. Identity: a pass in a cookie. Origin: what changes anything
comes from our own pages (the browser says so in Sec-Fetch-Site and Origin: W3C Fetch Metadata,
RFC 6454). Role: each route says who may.
"""

from __future__ import annotations

import ipaddress

from flask import Request

from rearlog.web.door import Door, Role, Visitor

COOKIE = "rearlog_pass"
READING = ("GET", "HEAD")


class Refused(Exception):
    """A request that a gate turned away."""

    def __init__(self, status: int, why: str) -> None:
        super().__init__(why)
        self.status = status
        self.why = why


def pass_host(request: Request, hosts: frozenset[str]) -> None:
    """Refuse a request that names another host."""
    if request.headers.get("Host", "").lower() not in hosts:
        raise Refused(421, "This server does not answer to that name.")


def pass_identity(request: Request, door: Door) -> Visitor | None:
    """Whoever has the pass in the cookie; None for a stranger.

    A keeper is one on this machine alone: a pass that got elsewhere is worth nothing there.
    """
    told = request.cookies.get(COOKIE, "")
    visitor = door.visitor(told) if told else None
    if visitor is not None and visitor.role is Role.KEEPER and not is_here(request.remote_addr):
        return None
    return visitor


def is_here(address: str | None) -> bool:
    """Whether an address is of this machine."""
    try:
        return ipaddress.ip_address(address or "").is_loopback
    except ValueError:
        return False


def pass_origin(request: Request, hosts: frozenset[str]) -> None:
    """Refuse what another site sends or embeds. A link to a page of ours may be followed."""
    site = request.headers.get("Sec-Fetch-Site")
    if request.method in READING:
        embedded = request.headers.get("Sec-Fetch-Mode", "navigate") != "navigate"
        if site in ("cross-site", "same-site") and embedded:
            raise Refused(403, "Another site asked for this.")
        return
    origin = request.headers.get("Origin")
    if site not in (None, "same-origin") or (site is None and origin is None):
        raise Refused(403, "This came from no page of ours.")
    if origin is not None and origin.lower() not in {f"http://{host}" for host in hosts}:
        raise Refused(403, "This came from another site.")


def pass_role(visitor: Visitor | None, least: Role | None) -> None:
    """Refuse whoever may not do this; `least` None: anybody may."""
    if least is None:
        return
    if visitor is None:
        raise Refused(401, "Come in first, with a code.")
    if visitor.role < least:
        raise Refused(403, "That is not for you.")
