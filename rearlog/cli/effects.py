"""What putting a record right would change, shown before it is done."""

from __future__ import annotations

from collections.abc import Sequence

from rearlog.cli.options import notice
from rearlog.cli.present import show
from rearlog.notebook import Notebook
from rearlog.present.history import effect_tables
from rearlog.present.tables import Table
from rearlog.records.log import CohortLog


def show_effect(before: Notebook, after: CohortLog, tables: Sequence[Table] = ()) -> None:
    """Show the figures of durations and survival that another log would change, after `tables`."""
    effect = before.effect_of(after)
    changes = effect_tables(effect)
    show(effect, "table", lambda _: [*tables, *changes], "changes")
    if not changes:
        notice("No duration and no figure of survival changes.")
