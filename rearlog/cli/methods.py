"""The paragraph of methods for a paper."""

from __future__ import annotations

from pathlib import Path

import click

from rearlog.cli.options import cohorts_argument, force_option, notice, quiet_option
from rearlog.cli.standard import OutputFile, is_standard_output
from rearlog.cli.streams import printable, write_data
from rearlog.disk.outputs import refuse_taken, write_output
from rearlog.notebook import Notebook, told_apart


@click.command("methods")
@cohorts_argument
@click.option(
    "--bibtex",
    type=OutputFile(".bib"),
    metavar="FILE",
    help="Write the works that it cites, as BibTeX.",
)
@force_option
@quiet_option
def methods_command(cohorts: tuple[Path, ...], bibtex: Path | None, force: bool) -> None:
    """Write the paragraph of methods for a paper: what was done with these cohorts.

    It names the numbers, the temperatures, how often somebody looked, the estimates and tests that
    were made of these data and no others, with the works that they come from and the versions of
    the software.

    \b
    rearlog methods cool room warm
    rearlog methods room --bibtex methods.bib
    """
    from rearlog.present.methods import bibtex as entries  # start-up time
    from rearlog.present.methods import published_thresholds, study
    from rearlog.sentences.methods import paragraphs
    from rearlog.sentences.works import works_named

    if bibtex is not None:
        refuse_taken(bibtex, force)
    found = study(told_apart([Notebook(path) for path in cohorts]))
    told = paragraphs(found)
    if bibtex is None or not is_standard_output():
        write_data("\n\n".join(map(printable, told)) + "\n")
    if bibtex is not None:
        works = works_named("\n".join(told))
        thresholds = published_thresholds(found)
        write_output(bibtex, entries(works, thresholds).encode(), force=force)
        notice(f"Wrote {len(works) + len(thresholds)} works in {bibtex}")
