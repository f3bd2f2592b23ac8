"""Species profiles: list them, show one with its sources, write and check one's own."""

from __future__ import annotations

import contextlib
from pathlib import Path

import click

from rearlog.cli.asking import ask, say
from rearlog.cli.completion import species_ids
from rearlog.cli.options import (
    answering,
    cohorts_argument,
    cohorts_here,
    force_option,
    notice,
    output_option,
    quiet_option,
    refuse_other,
)
from rearlog.cli.present import show
from rearlog.cli.standard import InputFile, OutputFile
from rearlog.disk.outputs import refuse_taken, write_output
from rearlog.present.profiles import SpeciesList, profile_tables, species_table
from rearlog.records.errors import StoreError, UsageError
from rearlog.records.profile import Profile
from rearlog.records.wording import counted
from rearlog.species.description import CITATIONS, EXAMPLES, Description, known


@click.group("species")
def species_command() -> None:
    """List, show and check species profiles, and write one of your own.

    \b
    rearlog species list
    rearlog species show monarch
    rearlog species new --name "brown moth" --instars 5 --days "pupa 12 at 22"
    rearlog species check my-moth.toml
    rearlog species learn cool room warm -o our-lady.toml
    """


@species_command.command("list")
@answering
def list_command(form: str) -> None:
    """The profiles that come with rearlog."""
    from rearlog.species.catalogue import bundled

    show(SpeciesList(bundled()), form, lambda found: species_table(found.species), "species")


@species_command.command("show")
@click.argument("profile", metavar="ID", shell_complete=species_ids)
@answering
def show_command(profile: str, form: str) -> None:
    """One profile: its stages and values, each with its source.

    ID is that of a profile that comes with rearlog, a file, or one that a cohort here was started
    with, by its id or by the cohort's name.
    """
    show(_profile(profile), form, profile_tables, "stages")


def _profile(asked: str) -> Profile:
    """A bundled profile, one in a file, or the one that a cohort here keeps."""
    from rearlog.species.catalogue import find
    from rearlog.store.cohort_file import CohortFile

    try:
        return find(asked)
    except UsageError as unknown:
        for path in cohorts_here():
            with contextlib.suppress(StoreError):  # a damaged cohort has none to show
                kept = CohortFile(path).outline(()).cohort.species
                if asked.casefold() in (kept.id.casefold(), path.stem.casefold()):
                    return kept
        raise unknown


@species_command.command("new")
@click.option("--name", default="", help=f"Its name, such as “{EXAMPLES['name']}”.")
@click.option("--stages", multiple=True, help=f"In their order (default: {EXAMPLES['stages']}).")
@click.option("--instars", default="", help=f"Of the larva or nymph: {EXAMPLES['instars']}.")
@click.option("--days", multiple=True, help=f"Of stages, and thresholds: “{EXAMPLES['days']}”.")
@click.option("--heads", multiple=True, help=f"Head widths in mm: “{EXAMPLES['heads']}”.")
@click.option(
    "--known",
    "kind",
    default="from memory",
    type=click.Choice([*CITATIONS]),
    help="How these numbers are known (default: from memory).",
)
@click.option("--citation", default="", help="Where they stand: author and year.")
@click.option(
    "-o",
    "--output",
    type=OutputFile(".toml"),
    metavar="FILE",
    help="The profile (default: the name, and .toml behind it).",
)
@force_option
@quiet_option
def new_command(
    name: str,
    stages: tuple[str, ...],
    instars: str,
    days: tuple[str, ...],
    heads: tuple[str, ...],
    kind: str,
    citation: str,
    output: Path | None,
    force: bool,
) -> None:
    """Write a profile of your own: five questions, to each of which “not known” is an answer.

    With any of the options nothing is asked, and what they do not say is not known. Stages, days
    and heads may be given several times: together they are one list.

    \b
    rearlog species new
    rearlog species new --name "brown moth" --instars 5-7 --known own -o my-moth.toml
    """
    from rearlog.species.describing import profile_text

    said = any((name, *stages, instars, *days, *heads, citation))
    if said or kind != Description().kind:
        pieces = ((name,), stages, (instars,), days, heads)
        name, in_order, instars, lasting, wide = map(_one_list, pieces)
        told = Description(name, in_order, instars, lasting, wide, kind, citation)
    else:
        told = _asked()
    known_as, text = profile_text(told)
    path = output or Path(f"{known_as}.toml")
    refuse_other(path, "profile", ".toml")
    write_output(path, text.encode(), force=force)
    notice(f"Wrote {path}. To start a cohort: rearlog start NAME --species {path} --eggs 12")
    notice(f"To see what it says: rearlog species show {path}; it is text, to be edited.")


def _one_list(pieces: tuple[str, ...]) -> str:
    """What was told in pieces, without those that say that it is not known."""
    return ", ".join(filter(None, map(known, pieces)))


def _asked() -> Description:
    """The answers to the questions; raises UsageError where they end before the last."""
    from rearlog.species.questions import asked_for

    try:
        return asked_for(ask, say)
    except EOFError:
        say("")
        raise UsageError(
            "the answers ended before the questions did; nothing was written",
            "answer each, if only with Enter, or give options: rearlog species new --help",
        ) from None
    except KeyboardInterrupt:
        say("", "Nothing was written.")
        raise click.Abort from None


@species_command.command("learn")
@cohorts_argument
@output_option("FILE", "The profile, such as my-moth.toml; its name becomes the id.", ".toml")
@force_option
@quiet_option
def learn_command(cohorts: tuple[Path, ...], output: Path, force: bool) -> None:
    """Propose a profile from your own cohorts: what they tell of days, heat and head widths.

    It is that with which the cohorts were started, with what they tell in place of what it said,
    marked as your own, with n and the cohorts. What fewer than five tell is left out. A lower
    threshold needs cohorts at two temperatures, better three.

    \b
    rearlog species learn moths -o my-moth.toml
    rearlog species learn cool room warm -o our-painted-lady.toml
    """
    from rearlog.notebook import Notebook, learn, told_apart  # start-up time: numpy
    from rearlog.present.learned_profile import learned_profile
    from rearlog.sentences.learning import summary
    from rearlog.species.describing import id_of
    from rearlog.species.loader import read
    from rearlog.species.writing import toml_of

    refuse_other(output, "profile", ".toml")
    refuse_taken(output, force)
    notebooks = told_apart([Notebook(path) for path in cohorts])
    found = learn(notebooks)
    if not found.values:
        raise UsageError(
            "nothing can be learned yet: fewer than five have completed any stage",
            "a value needs five or more, of cohorts of which nobody is still in that stage",
        )
    base = notebooks[0].log.cohort.species
    document, comments = learned_profile(base, found, id_of(output.stem))
    read(document, str(output))  # what cannot be used is not written
    write_output(output, toml_of(document, comments).encode(), force=force)
    notice(f"{summary(found)}.")
    notice(f"Wrote {output}. To start a cohort: rearlog start NAME --species {output} --eggs 12")


@species_command.command("check")
@click.argument("file", type=InputFile())
@quiet_option
def check_command(file: Path) -> None:
    """Check a profile file of your own; every mistake is listed at once."""
    from rearlog.species.loader import load

    profile = load(file)
    found = f"{counted(len(profile.stages), 'stage')}, {counted(len(profile.sources), 'source')}"
    notice(f"{file}: in order, {found}")
