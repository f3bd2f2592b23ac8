"""The command `rearlog`. Each command's file is found only when it is called: a fast start."""

from __future__ import annotations

import atexit
import gc
import importlib
import os
import sys
import warnings
from typing import TYPE_CHECKING, Any

import click

from rearlog import __version__
from rearlog.cli.streams import Unwritable, flushed, prepare, printable, say_aside

if TYPE_CHECKING:
    from click.shell_completion import CompletionItem

    from rearlog.records.errors import RearlogError

# Start-up time: numpy would start a thread for each processor, for matrices that no answer has.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
# And Python would look for cycles among what modules bring, which is all kept, each time that 700
# objects were made, and once more at the end, when the system takes everything back.
gc.set_threshold(50_000)
atexit.register(gc.freeze)

GROUPS = {
    "Begin": {
        "serve": "Open the shelf in the browser: for everything, and for tablets.",
        "demo": "Copy invented cohorts, and their page, to try things.",
        "start": "Start a new cohort.",
        "add": "Add individuals to a cohort.",
        "describe": "Say afterwards what sets a cohort apart, and what it comes from.",
        "rename": "Give a cohort another label.",
    },
    "Every day": {
        "log": "Record a round of checks in one line.",
        "check": "Record a round of checks by being asked.",
        "temps": "Record temperatures: by hand, constant, or from a file.",
        "today": "What is due: who should hatch, molt, emerge, and who is overdue.",
        "identify": "Which stage or instar is this, and how sure is that.",
    },
    "On paper, and back": {
        "sheet": "Write a check sheet, to print or to fill in.",
        "card": "Write a size card: each stage at true size.",
        "import": "Import observations from CSV files or filled sheets.",
    },
    "Put right": {
        "history": "Show the records, struck ones marked.",
        "correct": "Say anew which stage an individual was in.",
        "strike": "Strike records out, with the reason.",
        "withdraw": "Withdraw individuals that were entered by mistake.",
        "redact": "Take words out for good: a note, a name, a place.",
    },
    "Keep safe": {
        "verify": "Check that files are whole and every record keeps the rules.",
        "restore": "List the backups of a cohort, or go back to one.",
        "merge": "Unite a cohort with a copy that was written to apart.",
    },
    "Ask": {
        "forecast": "When the next events and the adults should come.",
        "durations": "How long each stage took.",
        "survival": "How many lived, and what killed the rest.",
        "reproduction": "How many eggs follow each egg, and how fast numbers grow.",
        "heat": "How many degree-days there were, and what each stage needed.",
        "growth": "How they grew: head widths, lengths, masses.",
        "compare": "Whether cohorts differ.",
        "season": "What any number of cohorts say together.",
        "lineage": "Which cohort comes from which, and how each generation fared.",
        "thermal": "Threshold and thermal constant from several temperatures.",
        "agreement": "How far observers agree on the stages.",
        "explain": "What a number is, its formula, source and checks.",
        "docs": "Open the documents: a first week, a study, methods, formats.",
    },
    "Show and publish": {
        "report": "Write one self-contained page with all of it.",
        "chart": "Draw a chart as PNG, SVG, PDF or TIFF.",
        "table": "Make a table as journals print them.",
        "methods": "Write the paragraph of methods for a paper, and its references.",
        "export": "Write open data: tidy CSV tables, or a Darwin Core archive.",
        "unpack": "Make cohort files of data that was exported.",
        "cite": "How rearlog, or a data set, is cited.",
    },
    "Set up": {
        "settings": "Your initials, folder and units, and who publishes.",
        "manual": "Install manual pages, and completion for your shell.",
        "schema": "The JSON Schemas of the answers, for programs.",
    },
    "Species, lessons and plans": {
        "species": "List, show, write and check species profiles.",
        "practice": "Write a page to practise telling stages apart.",
        "plan": "How many individuals a comparison needs.",
        "simulate": "Invent a cohort, for lessons, planning and tests.",
    },
}
"""The commands in the order of a season, each with its line of help and a module of its name."""
COMMANDS = {name: line for commands in GROUPS.values() for name, line in commands.items()}
MODULES = {"import": "imports"}
"""The module of a command whose name a module cannot have."""


class LazyGroup(click.Group):
    """A group whose commands are imported when they are called."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """The commands in the order of the help page."""
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, name: str) -> click.Command | None:
        """Import one command."""
        if name not in COMMANDS:
            return None
        module = importlib.import_module(f"rearlog.cli.{MODULES.get(name, name)}")
        command = getattr(module, f"{name}_command")
        assert isinstance(command, click.Command)
        return command

    def shell_complete(self, ctx: click.Context, incomplete: str) -> list[CompletionItem]:
        """Offer the commands without importing them."""
        from click.shell_completion import CompletionItem  # start-up time

        return [
            CompletionItem(name, help=line)
            for name, line in COMMANDS.items()
            if name.startswith(incomplete)
        ] + click.Command.shell_complete(self, ctx, incomplete)

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """List the commands by their groups, without importing them."""
        width = max(map(len, COMMANDS))
        for title, commands in GROUPS.items():
            with formatter.section(title):
                formatter.write_dl([(name.ljust(width), line) for name, line in commands.items()])

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """Find the command, or say which one may have been meant."""
        if args and args[0] not in COMMANDS and not args[0].startswith("-"):
            import difflib  # start-up time: only for a mistyped command

            close = difflib.get_close_matches(args[0], COMMANDS, n=2)
            hint = f" Did you mean {' or '.join(close)}?" if close else ""
            ctx.fail(f"There is no command “{args[0]}”.{hint} See “rearlog --help”.")
        return super().resolve_command(ctx, args)

    def invoke(self, ctx: click.Context) -> Any:
        """Run the command; mistakes that the user can mend become messages, not tracebacks."""
        from rearlog.records.errors import RearlogError  # start-up time: not for help

        try:
            with flushed():
                return super().invoke(ctx)
        except RearlogError as error:
            show_problems(error, ctx)
            ctx.exit(error.exit_code)

    def main(self, *args: Any, standalone_mode: bool = True, **extra: Any) -> Any:
        """Run the program; whatever else goes wrong is a line too."""
        run: Any = super().main
        if not standalone_mode:
            return run(*args, standalone_mode=False, **extra)
        prepare()
        try:
            with flushed():
                run(*args, **extra)
        except Unwritable as unwritable:
            if unwritable.reason is None:  # the reader has what it wanted (`rearlog … | head`)
                sys.exit(0)
            say_aside(f"Error: the output cannot be written: {unwritable.reason}")
            sys.exit(1)
        except Exception as error:
            from rearlog.cli.unforeseen import tell  # start-up time: hardly ever needed

            sys.exit(tell(error))


def _show_warning(message: Warning | str, *_: object, **__: object) -> None:
    """Write what a disk or a lock gives to know to standard error, as other notices."""
    ctx = click.get_current_context(silent=True)
    if ctx is None or not ctx.meta.get("rearlog.quiet"):
        say_aside(f"Note: {printable(message)}")


def show_problems(error: RearlogError, ctx: click.Context | None = None) -> None:
    """Write the problems of an error to standard error, one a line."""
    from rearlog.cli.standard import as_called  # start-up time: only after a mistake

    if len(error.problems) == 1:
        say_aside(f"Error: {printable(as_called(str(error.problems[0]), ctx))}")
        return
    say_aside(f"Error: {len(error.problems)} problems, nothing was changed:")
    for line in error.told():
        say_aside(f"  - {printable(as_called(line, ctx))}")


@click.command(
    cls=LazyGroup,
    invoke_without_command=True,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100},
    epilog="Each command explains itself: rearlog COMMAND --help. "
    "For a FILE, - is standard input or output.",
)
@click.version_option(__version__, message="rearlog %(version)s")
@click.pass_context
def main(ctx: click.Context) -> None:
    """The log and the arithmetic for raising insects from the egg.

    Look at each individual every day, write down its stage; rearlog says how long the stages took,
    how much heat they needed, how many lived, and whether they are on time.

    Where to begin: “rearlog serve” opens all of it in the browser. Here it is start, then log or
    check every day, and today. “rearlog” by itself says what comes next in this folder.
    """
    warnings.showwarning = _show_warning
    if ctx.invoked_subcommand is None:
        importlib.import_module("rearlog.cli.next_steps").say_next_steps()
