"""Opening the shelf in the browser."""

from __future__ import annotations

import webbrowser
from pathlib import Path

import click

from rearlog.cli.options import notice, quiet_option
from rearlog.records.errors import UsageError

USUAL_PORT = 8477
"""Nothing else is known to use it."""


@click.command("serve")
@click.argument(
    "folder",
    type=click.Path(path_type=Path, exists=True, file_okay=False),
    default=".",
    required=False,
)
@click.option("--share", is_flag=True, help="Let tablets in the same network join, with a code.")
@click.option(
    "--address",
    multiple=True,
    metavar="IP",
    help="With --share: this machine's address in that network (default: found out).",
)
@click.option("--keep-codes", is_flag=True, help="With --share: the codes of the last time.")
@click.option(
    "--photos", is_flag=True, help="Let pictures be kept with looks, beside the cohort files."
)
@click.option(
    "--port",
    type=click.IntRange(0, 65535),
    help=f"Default: {USUAL_PORT}, or a free one where that is taken.",
)
@click.option("--no-browser", is_flag=True, help="Show the address instead of opening it.")
@quiet_option
def serve_command(
    folder: Path,
    share: bool,
    address: tuple[str, ...],
    keep_codes: bool,
    photos: bool,
    port: int | None,
    no_browser: bool,
) -> None:
    """Open the cohorts of a folder in the browser: rounds, answers, pictures, reports.

    Only this machine can reach it, unless --share lets tablets in the same network join with a
    code. Nothing on that way is encrypted: share in rooms and networks that you trust. It ends
    with Ctrl+C, and codes end with it, unless --keep-codes keeps them. Where the folder is open
    already, that is shown again. With --photos those who log rounds may add pictures, in which
    nothing says any more when and where they were taken.

    \b
    rearlog serve
    rearlog serve . --share --no-browser
    """
    from rearlog.web.running import open_already  # start-up time
    from rearlog.web.server import Server, own_address

    if (address or keep_codes) and not share:
        raise UsageError("--address and --keep-codes belong to --share")
    if share and not address:
        found = own_address()
        if found is None:
            raise UsageError(
                "this machine is in no network that others could join",
                "connect it to the room's network, or name its address with --address",
            )
        address = (found,)
    folder = folder.resolve()
    if (known := open_already(folder)) is not None:
        if share and not known.shared:
            raise UsageError(
                f"{folder} is open already, on this machine alone",
                "end that with Ctrl+C where it runs, then share",
            )
        notice(f"The shelf of {folder} is open already, at {known.address}.")
        _show(known.first_address, no_browser)
        return

    def listening(at: int) -> Server:
        return Server(folder, at, address, share=share, keep_codes=keep_codes, photos=photos)

    try:
        server = listening(USUAL_PORT if port is None else port)
    except UsageError:
        if port is not None:
            raise
        server = listening(0)
    first = server.first_address()
    notice(f"The shelf of {folder} is open at {server.address} until Ctrl+C.")
    for role, code in server.desk.door.codes.items():
        notice(f"To join as {role.name.lower()}: {' '.join(server.desk.addresses)}, code {code}")
    _show(first, no_browser)
    try:
        server.run()
    except KeyboardInterrupt:
        pass
    finally:
        server.close()
    notice("Closed.")


def _show(first: str, no_browser: bool) -> None:
    if no_browser or not webbrowser.open(first):
        click.echo(f"Open this once, on this machine: {first}")
