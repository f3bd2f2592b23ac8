"""What several commands share: the cohort argument, the output format, notices, who and when."""

from __future__ import annotations

import os
import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click
from click.shell_completion import CompletionItem

from rearlog.cli.numbers import Finite
from rearlog.cli.standard import OutputFile, as_called
from rearlog.cli.streams import printable, say_aside
from rearlog.present.imported import doubt_lines, first_of
from rearlog.records.cautions import caution_on
from rearlog.records.errors import UsageError
from rearlog.settings import usual

if TYPE_CHECKING:
    from rearlog.analysis.stages.in_doubt import InDoubt
    from rearlog.records.doubts import Doubt
    from rearlog.records.log import Observation

F = TypeVar("F", bound=Callable[..., Any])


if TYPE_CHECKING:
    from click import ParamType
else:

    class ParamType(click.ParamType):
        """A type of parameters that says what it gives, which those of click do since 8.4."""

        def __class_getitem__(cls, _: Any) -> type:
            return cls


class CohortName(ParamType[Path]):
    """A cohort, as a path or as a name in the usual folder; turned into the path of its file."""

    name = "cohort"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Path:
        """The path of the cohort's file."""
        from rearlog.store.opening import find  # start-up time: not for --help

        return value if isinstance(value, Path) else find(value)

    def shell_complete(
        self, ctx: click.Context, param: click.Parameter, incomplete: str
    ) -> list[CompletionItem]:
        """The cohorts here that begin so."""
        names = [path.stem for path in cohorts_here()]
        return [CompletionItem(name) for name in names if name.startswith(incomplete)]


class NewCohortName(CohortName):
    """A cohort that is to be made; a label of one that is there is not meant."""

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Path:
        """The path that its file will have."""
        from rearlog.store.opening import place_of  # start-up time: not for --help

        return value if isinstance(value, Path) else place_of(value)


class TypedDate(ParamType[str]):
    """A date or moment, as typed; one of numerals in the user's own order becomes one of ISO 8601.

    Without that setting it stays as it is, and is refused where it is read: nobody can know it.
    """

    name = "when"
    _NUMERALS = re.compile(r"(\d{1,2})([./-])(\d{1,2})\2(\d{4})(.*)", re.S)

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> str:
        """The text that `records.times` reads."""
        text = str(value)
        match = self._NUMERALS.fullmatch(text.strip())
        order = usual.date_order() if match else "iso"
        if match is None or order == "iso":
            return text
        first, _, second, year, rest = match.groups()
        day, month = (first, second) if order == "day-first" else (second, first)
        return f"{year}-{int(month):02d}-{int(day):02d}{rest}"


WHEN = TypedDate()


class SeasonPlace(CohortName):
    """A file or folder that is there; else a cohort by its name."""

    name = "place"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Path:
        """The path as it stands, or that of the cohort's file."""
        there = isinstance(value, str) and (os.path.isfile(value) or os.path.isdir(value))
        return Path(value) if there else super().convert(value, param, ctx)


def cohorts_here() -> list[Path]:
    """The cohort files in the usual folder or this one, by name."""
    from rearlog.store.folder import cohorts_in  # start-up time: not for --help

    return cohorts_in(usual.folder())


cohort_argument = click.argument("cohort", type=CohortName())
new_cohort_argument = click.argument("cohort", type=NewCohortName())
cohorts_argument = click.argument(
    "cohorts", metavar="COHORT...", type=CohortName(), nargs=-1, required=True
)
format_option = click.option(
    "--format",
    "form",
    type=click.Choice(["table", "json", "csv"]),
    default="table",
    help="For people, for programs, or for a spreadsheet.",
)
force_option = click.option("--force", is_flag=True, help="Write over a file that exists.")


def output_option(metavar: str, text: str, usual: str) -> Callable[[F], F]:
    """The option `-o`, what is written where; to standard output as a `usual` kind of file."""
    return click.option(
        "-o",
        "--output",
        required=True,
        type=OutputFile(usual),
        metavar=metavar,
        help=text,
    )


def refuse_other(file: Path, what: str, *endings: str) -> None:
    """Raise UsageError unless the name of a file to write says, by its ending, that it is one."""
    if file.suffix.lower() not in endings:
        raise UsageError(f"{file} is no {what}", f"end its name in {endings[0]}")


on_option = click.option(
    "--on",
    type=WHEN,
    metavar="WHEN",
    help="2026-03-09, 2026-03-09T08:40, 9 March, today, yesterday or a weekday.",
)


def usual_initials() -> str | None:
    """Who looks, by the settings; nothing while a shell completes a line."""
    ctx = click.get_current_context(silent=True)
    return None if ctx is not None and ctx.resilient_parsing else usual.initials()


def initials_option(who: str) -> Callable[[F], F]:
    """The option `--by`: whose initials are meant."""
    told = f"{who} (${usual.INITIALS})."
    return click.option(
        "--by", metavar="INITIALS", envvar=usual.INITIALS, default=usual_initials, help=told
    )


by_option = initials_option("Who looked")
because_option = click.option("--because", metavar="TEXT", help="Why; kept with the records.")


def reason_of(because: str | None, *, asked: bool = True) -> str:
    """Why records are marked; raises UsageError where that is `asked` and nobody says it."""
    told = (because or "").strip()
    if asked and not told:
        raise UsageError("say why with --because")
    return told


factor_option = click.option(
    "--factor",
    "factors",
    multiple=True,
    metavar="NAME=LEVEL",
    help="What else sets it apart, such as line=A; several times.",
)
origin_option = click.option(
    "--origin",
    "origins",
    multiple=True,
    metavar="COHORT[:CODES]",
    help="The cohort, or individuals of it, that they come from; several times.",
)


def site_options(command: F) -> F:
    """Add the options that say at which school or laboratory a cohort is."""
    options = (
        click.option("--site", help="The school or laboratory that it is at."),
        click.option(
            "--latitude", type=Finite(-90, 90), metavar="DEG", help="Where that is: degrees north …"
        ),
        click.option(
            "--longitude", type=Finite(-180, 180), metavar="DEG", help="… and degrees east."
        ),
    )
    for option in reversed(options):
        command = option(command)
    return command


def quiet_option(command: F) -> F:
    """Add `--quiet`, which silences notices (see `notice`)."""

    def remember(ctx: click.Context, _param: click.Parameter, value: bool) -> None:
        ctx.meta["rearlog.quiet"] = value

    return click.option(
        "--quiet", "-q", is_flag=True, expose_value=False, callback=remember, help="No notices."
    )(command)


def notice(text: str) -> None:
    """Tell the user something beside the result, on standard error, unless told to be quiet."""
    ctx = click.get_current_context(silent=True)
    text = as_called(text, ctx)
    if ctx is not None:
        ctx.meta.get("rearlog.told", []).append(printable(text))
    if ctx is None or not ctx.meta.get("rearlog.quiet"):
        say_aside(printable(text))


def notes(texts: Iterable[str]) -> None:
    """Tell what a reader should know of an answer, a line each."""
    for text in texts:
        notice(f"Note: {text}")


def tell_missing(cohorts: Sequence[str]) -> None:
    """Say which cohorts that another comes from have no file beside it."""
    notes(f"there is no file of {each} here; it is taken down as it was said" for each in cohorts)


def notice_caution(observations: Iterable[Observation]) -> None:
    """Show the caution that belongs to what was recorded, where there is one."""
    caution = caution_on(observations)
    if caution is not None:
        notice(f"Caution: {caution}")


def answering(command: F) -> F:
    """The options of a command that answers: `--format`, `--table` and `--quiet`."""

    def remember(ctx: click.Context, _param: click.Parameter, value: str | None) -> None:
        ctx.meta["rearlog.table"] = value

    chosen = click.option(
        "--table",
        metavar="NAME",
        expose_value=False,
        callback=remember,
        help="One table of all that it holds, for the screen or as CSV; a wrong name lists them.",
    )
    return format_option(chosen(quiet_option(command)))


strict_option = click.option(
    "--strict", is_flag=True, help="Refuse what contradicts another record."
)


def notice_doubts(doubts: Sequence[Doubt]) -> None:
    """Warn of what new looks contradict; all of it is kept."""
    for line in doubt_lines(doubts):
        notice(line)


def notice_contradictions(contradicted: Mapping[str, Sequence[str]]) -> None:
    """Tell on whose contradicting looks an answer rests, by cohort, where there are any."""
    if contradicted:
        from rearlog.sentences.in_doubt import resting_on  # start-up time: loads numbers

        notes(resting_on(contradicted))


def notice_in_doubt(found: Sequence[InDoubt]) -> None:
    """List what is in doubt in one cohort, each with the command that settles it."""
    if found:
        from rearlog.sentences.in_doubt import words  # start-up time: loads numbers

        for line in first_of(f"In doubt in {found[0].cohort}", [words(each) for each in found]):
            notice(line)
