"""What is written to the screen, a file or a pipe: no letter, pipe or disk makes it fail badly."""

from __future__ import annotations

import codecs
import contextlib
import errno
import io
import sys
from collections.abc import Iterator

import click

_PLAIN = str.maketrans(
    dict(zip("“”„‘’–—−×·±≈µ₀₁₂²³─", '"""\'\'---x.~~u01223-', strict=True))
    | {"…": "...", "→": "->", "←": "<-", "≤": "<=", "≥": ">=", "°": "", "\xa0": " "}
)
_HANDLER = "rearlog.plain"
_ASCII = "plain_ascii"
_NO_ROOM = (errno.ENOSPC, errno.EDQUOT, errno.EFBIG, errno.EIO)


def _plain(error: UnicodeError) -> tuple[str, int]:
    """For what an encoding does not have: the sign of plain text that is nearest, else `?`."""
    if not isinstance(error, UnicodeEncodeError):
        raise error
    letters = error.object[error.start : error.end].translate(_PLAIN)
    return "".join(each if each.isascii() else "?" for each in letters), error.end


def _ascii(name: str) -> codecs.CodecInfo | None:
    """ASCII by another name: click writes UTF-8 to a stream that it finds to be ASCII."""
    if name != _ASCII:
        return None
    known = codecs.lookup("ascii")
    return codecs.CodecInfo(
        known.encode,
        known.decode,
        incrementalencoder=known.incrementalencoder,
        incrementaldecoder=known.incrementaldecoder,
        name=_ASCII,
    )


codecs.register_error(_HANDLER, _plain)
codecs.register(_ascii)


def prepare() -> None:
    """Let the standard streams replace what they cannot show or read, instead of failing."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            ascii_only = codecs.lookup(stream.encoding).name == "ascii"
            stream.reconfigure(encoding=_ASCII if ascii_only else None, errors=_HANDLER)
    if isinstance(sys.stdin, io.TextIOWrapper):
        sys.stdin.reconfigure(errors="replace")  # bytes that are no text must not end a round


def is_asked() -> bool:
    """Whether somebody sits before a terminal and can answer."""
    return sys.stdin is not None and sys.stdin.isatty()


def write_data(text: str) -> None:
    """Write JSON or CSV to standard output: UTF-8, except to a screen of another encoding."""
    if sys.stdout is not None and sys.stdout.isatty():
        click.echo(text, nl=False)
    else:
        click.echo(text.encode(errors="replace"), nl=False)


def printable(value: object) -> str:
    """Text without control characters, which a terminal would obey."""
    return "".join(letter if letter.isprintable() else "\ufffd" for letter in str(value))


def say_aside(text: str) -> None:
    """Write a line to standard error; where nothing can be written there, do without."""
    try:
        click.echo(text, err=True)
    except OSError:
        sys.stderr = None


class Unwritable(Exception):
    """Standard output takes no more; `reason` is None where its reader has left."""

    def __init__(self, reason: str | None) -> None:
        super().__init__(reason)
        self.reason = reason


@contextlib.contextmanager
def flushed() -> Iterator[None]:
    """Flush standard output at the end; raises Unwritable where it cannot be written.

    Then it is let go, so that nothing is tried again when the program ends.
    """
    try:
        try:
            yield
        finally:
            if sys.stdout is not None:
                sys.stdout.flush()
    except BrokenPipeError:
        sys.stdout = None
        raise Unwritable(None) from None
    except OSError as error:
        if error.filename is not None or error.errno not in _NO_ROOM:
            raise
        sys.stdout = None
        raise Unwritable((error.strerror or str(error)).lower()) from None
