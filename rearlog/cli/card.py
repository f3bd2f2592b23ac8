"""The size card: one page at true size, to hold beside the animal."""

from __future__ import annotations

from pathlib import Path

import click

from rearlog.cli.options import force_option, notice, output_option, quiet_option
from rearlog.cli.which_species import of_a_species, profile_and_cohort
from rearlog.disk.outputs import refuse_taken
from rearlog.exchange.sheet_print import TYPED_PAPERS


@click.command("card")
@of_a_species
@output_option("FILE", ".pdf or .png to print.", ".pdf")
@click.option("--paper", type=click.Choice(list(TYPED_PAPERS)), default="a4", help="To print on.")
@force_option
@quiet_option
def card_command(
    species: str | None, cohort: Path | None, output: Path, paper: str, force: bool
) -> None:
    """Write a size card: each head as a disc and each body as a bar, at true size.

    Print it at 100 %; the ruler on it shows whether that was so.

    \b
    rearlog card --species monarch -o card.pdf
    rearlog card --cohort room -o card.pdf --paper letter
    """
    from rearlog.analysis.growth.evidence import own_widths
    from rearlog.exchange.sheet_print import page_paths, save  # start-up time: matplotlib
    from rearlog.exchange.size_card import pages, size_card

    profile, notebook = profile_and_cohort(species, cohort)
    own = own_widths(notebook.growth() if notebook else None)
    title = f"{profile.name}, {notebook.name}" if notebook else profile.name
    card = size_card(profile, own, title)
    figures = pages(card, TYPED_PAPERS[paper])
    for path in page_paths(output, len(figures)):
        refuse_taken(path, force)
    written = save(figures, output, title=f"Size card: {title}", force=force)
    notice(f"{len(card.rows)} stages at true size: {', '.join(map(str, written))}")
