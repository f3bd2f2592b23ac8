"""What a cohort is known again by, whatever it is called: a UUID (RFC 9562), as text."""

from __future__ import annotations

_NAMESPACE = "8f9c1a4e-53d1-4c0b-9e5a-2d7b6c0f41aa"
"""Within this the names of version 5 are made; it must stay as it is, as must what is named."""


def new_id() -> str:
    """An identity that nothing else has: a UUID of version 4."""
    import uuid  # start-up time

    return str(uuid.uuid4())


def named_id(*parts: object, within: str = _NAMESPACE) -> str:
    """The identity of what some parts name, the same each time: a UUID of version 5.

    `within` is the UUID of what they are parts of.
    """
    import uuid  # start-up time

    return str(uuid.uuid5(uuid.UUID(within), "\x1f".join(map(str, parts))))
