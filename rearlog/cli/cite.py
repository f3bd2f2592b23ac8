"""How the program, or a data set, is cited."""

from __future__ import annotations

from pathlib import Path

import click

from rearlog.cli.options import CohortName
from rearlog.cli.streams import write_data
from rearlog.exchange.publication import LICENCES, Publication
from rearlog.notebook import LogsIn
from rearlog.records import times
from rearlog.records.errors import UsageError
from rearlog.settings import usual

_FORMS = ("bibtex", "cff", "datacite")


@click.command("cite")
@click.argument("cohorts", type=CohortName(), nargs=-1, metavar="[COHORT]...")
@click.option(
    "--format", "form", type=click.Choice(_FORMS), default="bibtex", help="In which form."
)
@click.option("--title", metavar="TEXT", help="Title of the data set.")
def cite_command(cohorts: tuple[Path, ...], form: str, title: str | None) -> None:
    """How rearlog is cited, or with COHORTs the data set that they make up.

    Who publishes it is said once: “rearlog settings publisher.name”, .organisation, .orcid. What
    cites a data set is of --format datacite what “rearlog export” puts beside the data, to register
    it with; a licence comes from the settings too.

    \b
    rearlog cite
    rearlog cite cool room warm --format cff
    """
    from rearlog.exchange import citation  # start-up time
    from rearlog.present.citing import bibtex, cff

    if not cohorts:
        if form == "datacite":
            raise UsageError("datacite describes a data set", "name its cohorts")
        found = citation.program()
    else:
        licence = usual.licence()
        publication = Publication(
            LogsIn(cohorts),
            title,
            LICENCES[licence] if licence else None,
            publisher=usual.publisher(),
            on=times.now(times.local_zone()).date(),
        )
        if form == "datacite":
            write_data(citation.datacite(publication).decode())
            return
        found = citation.data_set(publication)
    write_data((bibtex if form == "bibtex" else cff)(found))
