"""What is worth knowing about a disk although nothing failed."""

from __future__ import annotations

import warnings


class DiskWarning(UserWarning):
    """Something that a disk cannot do, or that keeps a writer waiting. The commands show it."""


def tell(text: str) -> None:
    """Warn of something; the same words are shown once."""
    warnings.warn(text, DiskWarning, stacklevel=2)
