"""What a person probably meant by a word that is not known."""

from __future__ import annotations

from collections.abc import Collection

MOST_LISTED = 12
"""So many of the words are named where none is close."""


def suggestion(word: str, known: Collection[str]) -> str:
    """A remedy for an unknown word: the known one closest to it, or which there are."""
    if close := did_you_mean(word, known):
        return close
    if not known:
        return ""
    listed = ", ".join(list(known)[:MOST_LISTED])
    return f"known here: {listed}{', …' if len(known) > MOST_LISTED else ''}"


def did_you_mean(word: str, known: Collection[str]) -> str:
    """The known words that are close to one, as a question; empty where none is."""
    from difflib import get_close_matches  # start-up time: only needed after a mistake

    spelling = {each.casefold(): each for each in known}
    meant = word.casefold()
    close = [meant] if meant in spelling else get_close_matches(meant, spelling)
    return f"did you mean {' or '.join(spelling[each] for each in close)}?" if close else ""
