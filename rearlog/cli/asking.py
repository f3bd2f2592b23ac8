"""Questions and answers on a terminal, a line each: no colour, no moving about on the screen."""

from __future__ import annotations

import re
import shutil
import sys
import textwrap
from collections.abc import Collection
from pathlib import Path

import click

from rearlog.cli.options import cohorts_here
from rearlog.cli.streams import is_asked, printable
from rearlog.records.errors import UsageError

WIDTH = 80
"""Lines are no longer than this, so that a plain terminal does not break them."""

_INITIALS = re.compile(r"[^\W\d_](?:[ .-]*[^\W_])*\.?")


def say(*lines: str) -> None:
    """Write lines to the terminal, those that are too long as several."""
    width = min(WIDTH, shutil.get_terminal_size().columns)
    for line in lines:
        inset = " " * (len(line) - len(line.lstrip()))
        parts = textwrap.wrap(printable(line), width, subsequent_indent=inset)
        click.echo("\n".join(parts))


def ask(question: str) -> str:
    """What is typed after a question; raises EOFError where the input ends."""
    click.echo(printable(question), nl=False)
    line = sys.stdin.readline() if sys.stdin is not None else ""
    if not line:
        raise EOFError
    if not is_asked():  # a terminal has shown what was typed, and moved on
        click.echo()
    return line.strip()


def which_cohort(command: str) -> Path:
    """The one cohort of the folder, or the one that is chosen; raises UsageError without one."""
    found = cohorts_here()
    if not found:
        raise UsageError("there is no cohort in this folder", f"name one: rearlog {command} COHORT")
    if len(found) == 1:
        return found[0]
    for number, path in enumerate(found, start=1):
        say(f"{number:>3}  {path.stem}")
    while True:
        chosen = ask("Which cohort (number or name)? ")
        if not chosen:
            raise UsageError("no cohort chosen", f"name one: rearlog {command} COHORT")
        for number, path in enumerate(found, start=1):
            if chosen in (str(number), path.stem):
                return path
        say(f"“{chosen}” is not among them")


def initials(keys: Collection[str]) -> str | None:
    """Who looks, where a person can be asked; None where nobody says.

    One of the `keys` of the round, or no letters, is taken for an answer given too early.
    """
    if not is_asked():
        return None
    while chosen := ask("Your initials (Enter for none): "):
        if chosen not in keys and _INITIALS.fullmatch(chosen):
            return chosen
        say(f"“{chosen}” is no initials: use letters, such as KT")
    return None
