"""Texts that name a command or an option, and what they say to whoever has none."""

from __future__ import annotations


class CommandText(str):
    """A text in the words of the commands; `in_browser` is the same for people at a page.

    Whatever names neither command nor option is a text like any other, the same for both.
    """

    in_browser: str

    def __new__(cls, text: str, in_browser: str) -> CommandText:
        """The text of the commands, with that of the pages."""
        made = super().__new__(cls, text)
        made.in_browser = in_browser
        return made

    def __getnewargs__(self) -> tuple[str, str]:  # type: ignore[override]
        """What it is made of anew, in another process."""
        return str(self), self.in_browser

    def __add__(self, more: str) -> CommandText:
        return CommandText(str(self) + str(more), self.in_browser + in_browser(more))

    def __radd__(self, before: str) -> CommandText:
        return CommandText(before + str(self), before + self.in_browser)


def in_browser(text: str) -> str:
    """A text as a page says it."""
    return text.in_browser if isinstance(text, CommandText) else text
