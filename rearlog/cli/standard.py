"""Standard input and output where a file is asked for: `-`, or `-.svg` for one of some kind.

A command is given a file for the time being, and needs to know nothing of it: what comes in is in
it before the command begins, and what is in it goes out after the command has ended.
"""

from __future__ import annotations

import os
import sys
from pathlib import Path
from typing import Any

import click

from rearlog.cli.streams import Unwritable
from rearlog.records.errors import UsageError

INPUT, OUTPUT = "standard input", "standard-output"
LARGEST_BYTES, LARGEST_TEXT = 256 * 2**20, 2**20
"""Of standard input as a file, and as an entry: nothing that is taken is larger."""

_TEXT = (".csv", ".tex", ".md", ".html", ".htm", ".svg", ".toml", ".bib")
"""What a screen can show."""


class InputFile(click.Path):
    """A file to read; `-` is standard input."""

    def __init__(self) -> None:
        super().__init__(path_type=Path)

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        """The path of the file, or of what came in."""
        if value != "-" or ctx is None or ctx.resilient_parsing:
            return super().convert(value, param, ctx)
        path = _folder(ctx) / INPUT
        if not path.exists():
            content = sys.stdin.buffer.read(LARGEST_BYTES + 1) if sys.stdin is not None else b""
            if len(content) > LARGEST_BYTES:
                raise UsageError("standard input has more than is taken", "split it into files")
            path.write_bytes(content)
        return path


class OutputFile(click.Path):
    """A file to write; `-` is standard output, `-.svg` too, as a file of that kind."""

    def __init__(self, usual: str) -> None:
        super().__init__(path_type=Path)
        self._usual = usual

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        """The path of the file, or of what goes out."""
        text = str(value)
        out = text == "-" or (text.startswith("-.") and "/" not in text)
        if not out or ctx is None or ctx.resilient_parsing:
            return super().convert(value, param, ctx)
        ending = text[1:] or self._usual
        if ending not in _TEXT and sys.stdout is not None and sys.stdout.isatty():
            raise UsageError(f"a screen shows no {ending}", "send it on with > FILE, or with |")
        path = _folder(ctx) / f"{OUTPUT}{ending}"
        ctx.call_on_close(lambda: _send(path))
        ctx.meta["rearlog.standard"] = path
        return path


def input_text() -> str:
    """All of standard input as text; raises UsageError where it is none."""
    content = sys.stdin.buffer.read(LARGEST_TEXT + 1) if sys.stdin is not None else b""
    if len(content) > LARGEST_TEXT:
        raise UsageError("standard input has more than is taken", "write several rounds")
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise UsageError("standard input is not UTF-8 text") from error


def as_called(text: str, ctx: click.Context | None) -> str:
    """A text in which the files for the time being have the names that people know."""
    folder = ctx.meta.get("rearlog.standard folder") if ctx is not None else None
    return text if folder is None else text.replace(f"{folder}{os.sep}", "")


def is_standard_output() -> bool:
    """Whether the command writes its file to standard output, where nothing else may be then."""
    return "rearlog.standard" in click.get_current_context().meta


def _folder(ctx: click.Context) -> Path:
    """A folder for the time being of this call."""
    import tempfile  # start-up time: seldom needed

    kept = ctx.meta.get("rearlog.standard folder")
    if kept is None:
        folder = tempfile.TemporaryDirectory(prefix="rearlog-")
        ctx.find_root().call_on_close(folder.cleanup)  # also where the call is a wrong one
        kept = ctx.meta["rearlog.standard folder"] = Path(folder.name)
    assert isinstance(kept, Path)
    return kept


def _send(path: Path) -> None:
    """Write the file to standard output, if the command has made it."""
    others = [each for each in path.parent.glob(f"{OUTPUT}*") if each != path]
    if others:
        raise UsageError("that is more than one file", "write them as .pdf, or into a folder")
    if path.is_file():
        if sys.stdout is None:
            raise Unwritable("there is no standard output")
        sys.stdout.flush()
        sys.stdout.buffer.write(path.read_bytes())
        sys.stdout.buffer.flush()
