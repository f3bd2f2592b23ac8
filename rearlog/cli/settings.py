"""What is usual for the user."""

from __future__ import annotations

import click

from rearlog.cli.options import answering, notice
from rearlog.cli.present import show
from rearlog.exchange.publication import LICENCES
from rearlog.present.tables import Table
from rearlog.records.errors import UsageError
from rearlog.records.suggestions import suggestion
from rearlog.settings import usual
from rearlog.settings.file import write
from rearlog.settings.standing import StandingSettings, standing


@click.command("settings")
@click.argument("key", required=False)
@click.argument("value", required=False)
@answering
def settings_command(key: str | None, value: str | None, form: str) -> None:
    """Show what is usual for you and where that is said, or set one of it.

    KEY is by (your initials), folder (of your cohorts), units (celsius or fahrenheit, of what you
    type), dates (iso, day-first or month-first, of what you type) or, for open data,
    publisher.name, .email, .organisation, .orcid or .licence. An empty VALUE takes it out.

    They are kept in one file, which you may edit too. The environment ($REARLOG_BY, $REARLOG_DIR)
    goes before the file, and an option before both; $REARLOG_SETTINGS names another file.

    \b
    rearlog settings
    rearlog settings by KT
    rearlog settings folder ~/rearing
    """
    if key is not None and value is None:
        raise UsageError("say what it is to be", f"rearlog settings {key[:40]} VALUE")
    if key is not None and value is not None:
        if key == "publisher.licence" and value and value not in LICENCES:
            raise UsageError(f"there is no licence “{value[:40]}”", suggestion(value, LICENCES))
        write(usual.path(), key, value)
        notice(f"Set {key} in {usual.path()}" if value else f"Took {key} out of {usual.path()}")
        return
    show(standing(), form, lambda found: [_table(found)], "settings")


def _table(found: StandingSettings) -> Table:
    rows = [[each.key, each.value, each.said_by or ""] for each in found.settings]
    there = "" if found.there else " (not there yet)"
    return Table(
        "What is usual for you",
        ["setting", "is", "said by"],
        rows,
        [f"The file: {found.path}{there}"],
    )
