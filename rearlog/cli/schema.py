"""The JSON Schemas of the answers."""

from __future__ import annotations

import json
from importlib import resources

import click

from rearlog.cli.completion import offering
from rearlog.cli.options import quiet_option
from rearlog.cli.present import print_table
from rearlog.cli.streams import write_data
from rearlog.present.json import RESULTS, full_name
from rearlog.present.tables import Table
from rearlog.records.errors import UsageError
from rearlog.records.suggestions import suggestion


@click.command("schema")
@click.argument("name", required=False, shell_complete=offering(lambda _: RESULTS))
@quiet_option
def schema_command(name: str | None) -> None:
    """Print the JSON Schema of an answer, or list them all.

    NAME is what the JSON of an answer has under “schema”, with or without “rearlog/”.

    \b
    rearlog schema
    rearlog schema durations
    """
    if name is None:
        rows = [
            [full_name(each), found["properties"]["version"]["const"], found.get("description")]
            for each in RESULTS
            if (found := json.loads(_text(each)))
        ]
        print_table(Table("Schemas of the answers", ["schema", "version", "of"], rows))
        return
    known = name.removeprefix("rearlog/")
    if known not in RESULTS:
        raise UsageError(f"there is no schema “{name[:40]}”", suggestion(known, RESULTS))
    write_data(_text(known))


def _text(name: str) -> str:
    folder = resources.files("rearlog") / "present" / "schemas"
    return (folder / f"{name}.json").read_text(encoding="utf-8")
