"""Manual pages and completion, put where the user's shell and `man` look for them."""

from __future__ import annotations

import os
from pathlib import Path

import click

from rearlog.cli.options import notice, quiet_option
from rearlog.disk.outputs import write_output
from rearlog.records.errors import RearlogError

COMPLETIONS = {
    "bash": "bash-completion/completions/rearlog",
    "fish": "fish/vendor_completions.d/rearlog.fish",
    "zsh": "zsh/site-functions/_rearlog",
}
"""Where each shell looks, within the folder of the user's data."""


@click.command("manual")
@click.option(
    "--into",
    type=click.Path(path_type=Path, file_okay=False),
    metavar="FOLDER",
    help="Instead of your own folder of data (~/.local/share, or $XDG_DATA_HOME).",
)
@quiet_option
def manual_command(into: Path | None) -> None:
    """Install the manual pages, and completion for bash, fish and zsh, for you alone.

    Then “man rearlog-log” tells of a command, and the Tab key offers commands, options, cohorts,
    individuals and stages. Nothing outside that folder is changed; once more brings all up to date.

    \b
    rearlog manual
    rearlog manual --into package/share
    """
    from rearlog.cli.main import main  # start-up time, and no circle
    from rearlog.cli.man_pages import man_pages

    folder = into or Path(os.environ.get("XDG_DATA_HOME") or Path.home() / ".local" / "share")
    pages = {f"man/man1/{name}": text for name, text in man_pages(main, "rearlog")}
    scripts = {COMPLETIONS[shell]: completion(main, shell) for shell in COMPLETIONS}
    for name, text in (pages | scripts).items():
        path = folder / name
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            reason = (error.strerror or str(error)).lower()
            raise RearlogError(f"{path.parent} cannot be made: {reason}") from error
        write_output(path, text.encode(), force=True)
    notice(f"Wrote {len(pages)} manual pages and completion for {', '.join(COMPLETIONS)}")
    notice(f"They are in {folder}; they hold from the next shell on.")
    zsh = (folder / COMPLETIONS["zsh"]).parent
    notice(f"zsh has to be told, in ~/.zshrc before compinit: fpath+=({zsh})")


def completion(program: click.Command, shell: str) -> str:
    """The script by which a shell completes the program's command line."""
    from click.shell_completion import ShellComplete, get_completion_class  # start-up time

    kind = get_completion_class(shell)
    assert kind is not None
    # that of bash would call it for its version, and it may not be there
    return ShellComplete.source(kind(program, {}, "rearlog", "_REARLOG_COMPLETE"))
