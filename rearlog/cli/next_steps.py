"""`rearlog` by itself: what to do next in this folder."""

from __future__ import annotations

import os
from pathlib import Path

import click

from rearlog.cli.asking import say
from rearlog.cli.options import cohorts_here
from rearlog.cli.streams import printable
from rearlog.present.next_steps import OnShelf, next_steps
from rearlog.records import times
from rearlog.records.errors import RearlogError
from rearlog.records.standing import standing
from rearlog.records.wording import counted
from rearlog.store.calling import called
from rearlog.store.opening import read_log

MOST_READ = 30
"""So many cohorts are looked into, those that were written to last."""


def say_next_steps() -> None:
    """Say the three next things to do, each with its command."""
    found = cohorts_here()
    read = sorted(sorted(found, key=_changed)[-MOST_READ:])
    steps = next_steps(
        [_on_shelf(path) for path in read],
        times.now(times.local_zone()).date(),
        os.path.exists,
    )
    where = counted(len(found), "cohort") if found else "no cohort yet"
    older = f"; the {len(read)} written to last were looked into" if len(found) > len(read) else ""
    say(f"In this folder: {where}{older}. What to do next:")
    for number, step in enumerate(steps, start=1):
        say("", f"{number}. {step.why}")
        for command in step.commands:
            click.echo(f"     {printable(command)}")
    say("", "All commands: rearlog --help")


def _changed(path: Path) -> float:
    try:
        return os.stat(path).st_mtime
    except OSError:
        return 0.0


def _on_shelf(path: Path) -> OnShelf:
    name = called(path)
    try:
        log = read_log(path)
    except RearlogError:  # the step says so, and how to look into it
        return OnShelf(name, None)
    return OnShelf(name, standing(log, times.now(log.cohort.zone)))
