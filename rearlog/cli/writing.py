"""What commands that write share: they say what was written, to people or to programs."""

from __future__ import annotations

import functools
from collections.abc import Callable
from typing import Any, TypeVar

import click

from rearlog.cli.options import quiet_option

F = TypeVar("F", bound=Callable[..., Any])


def writing(command: F) -> F:
    """Add `--quiet`, and `--format json`, which tells programs what was written."""

    @functools.wraps(command)
    def told(*args: Any, written_form: str, **kwargs: Any) -> None:
        if written_form == "json":
            tell_as_json(lambda: command(*args, **kwargs))
        else:
            command(*args, **kwargs)

    return click.option(
        "--format",
        "written_form",
        type=click.Choice(["text", "json"]),
        default="text",
        help="What was written, for people or for programs.",
    )(quiet_option(told))  # type: ignore[return-value]


def tell_as_json(command: Callable[[], None]) -> None:
    """Run what writes, and write as JSON what it wrote; or its answer, where it gave one."""
    import contextlib  # start-up time
    import io

    from rearlog.cli.streams import write_data
    from rearlog.present.json import to_json
    from rearlog.present.written import written
    from rearlog.store.durable import watched

    ctx = click.get_current_context()
    said = ctx.meta["rearlog.told"] = []
    with watched() as files, contextlib.redirect_stdout(io.StringIO()) as screen:
        command()
    answer = ctx.meta.get("rearlog.answer")
    if answer is None:
        answer = written(ctx.info_name or "", files, [*screen.getvalue().splitlines(), *said])
    write_data(f"{to_json(answer)}\n")
