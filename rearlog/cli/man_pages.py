"""Manual pages, made from what the commands say of themselves: one for each, in troff."""

from __future__ import annotations

from collections.abc import Iterator

import click

from rearlog import __version__

SECTION = "1"
_VERBATIM = "\b"
"""A paragraph of help that begins with this keeps its lines: they are examples."""


def man_pages(program: click.Group, name: str) -> Iterator[tuple[str, str]]:
    """The page of a program and of each of its commands, with the names of their files."""
    ctx = click.Context(program, info_name=name)
    yield from _pages(program, ctx)


def _pages(command: click.Command, ctx: click.Context) -> Iterator[tuple[str, str]]:
    called = ctx.command_path.replace(" ", "-")
    yield f"{called}.{SECTION}", man_page(command, ctx)
    if isinstance(command, click.Group):
        for name in command.list_commands(ctx):
            inner = command.get_command(ctx, name)
            if inner is not None:
                yield from _pages(inner, click.Context(inner, parent=ctx, info_name=name))


def man_page(command: click.Command, ctx: click.Context) -> str:
    """One page: name, synopsis, description with the examples, options, commands, see also."""
    called = ctx.command_path.replace(" ", "-")
    lines = [
        f'.TH {_text(called.upper())} {SECTION} "" "rearlog {_text(__version__)}" "rearlog"',
        ".SH NAME",
        f"{_text(called)} \\- {_text(command.get_short_help_str(200))}",
        ".SH SYNOPSIS",
        f".B {_text(ctx.command_path)}",
        _text(" ".join(command.collect_usage_pieces(ctx))),
        ".SH DESCRIPTION",
        *_paragraphs(command.help or ""),
    ]
    records = [each.get_help_record(ctx) for each in command.get_params(ctx)]
    if any(records):
        lines.append(".SH OPTIONS")
        for each in filter(None, records):
            lines += [".TP", f"\\fB{_text(each[0])}\\fR", _text(each[1])]
    inner = list(command.list_commands(ctx)) if isinstance(command, click.Group) else []
    if inner:
        lines.append(".SH COMMANDS")
        for name in inner:
            lines += [".TP", f"\\fB{_text(called)}\\-{_text(name)}\\fR({SECTION})"]
            found = command.get_command(ctx, name) if isinstance(command, click.Group) else None
            lines.append(_text(found.get_short_help_str(200)) if found else "")
    if ctx.parent is not None:
        above = ctx.parent.command_path.replace(" ", "-")
        lines += [".SH SEE ALSO", f".BR {_text(above)} ({SECTION})"]
    return "\n".join(lines) + "\n"


def _paragraphs(text: str) -> Iterator[str]:
    for paragraph in text.strip().split("\n\n"):
        yield ".PP"
        own = [each.strip() for each in paragraph.strip("\n").splitlines()]
        if own and own[0] in (_VERBATIM, "\\b"):
            yield from (".nf", ".RS 4", *map(_text, own[1:]), ".RE", ".fi")
        else:
            yield _text(" ".join(own))


def _text(text: str) -> str:
    """A text in which nothing is a request of troff."""
    safe = text.replace("\\", "\\e").replace("-", "\\-")
    return f"\\&{safe}" if safe.startswith((".", "'")) else safe
