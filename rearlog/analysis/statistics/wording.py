"""How the sentences of several answers put things."""

from __future__ import annotations

from collections.abc import Sequence


def p_text(p: float) -> str:
    """A p value as it is written: never zero."""
    return "p < 0.001" if p < 0.001 else f"p = {p:.3f}" if p < 0.1 else f"p = {p:.2f}"


def listed(items: Sequence[str]) -> str:
    """Several things in a row: a, b and c."""
    return " and ".join(filter(None, (", ".join(items[:-1]), *items[-1:])))
