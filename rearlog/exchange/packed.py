"""What a file is to hold, packed until it is written: a table of many cohorts is longer than memory
should be."""

from __future__ import annotations

import gzip
import hashlib
import io
from collections.abc import Iterable, Iterator
from functools import cached_property, partial
from typing import BinaryIO, cast

_PIECE_BYTES = 2**18
_QUICK = 1
"""How hard it is packed; what goes into an archive is packed anew."""


class Packed:
    """A file of text (UTF-8) that grows by what is written to `text`, until it is first read."""

    def __init__(self) -> None:
        self._bytes = io.BytesIO()
        self._packing = gzip.GzipFile(fileobj=self._bytes, mode="wb", compresslevel=_QUICK)
        self.text = io.TextIOWrapper(cast(BinaryIO, self._packing), "utf-8", newline="")

    @cached_property
    def _size(self) -> int:
        self.text.flush()
        size = self._packing.tell()
        self.text.close()
        return size

    def __len__(self) -> int:
        """Its length in bytes."""
        return self._size

    def opened(self) -> BinaryIO:
        """The bytes of the file; nothing more can be written to it then."""
        len(self)
        return cast(BinaryIO, gzip.GzipFile(fileobj=io.BytesIO(self._bytes.getvalue())))


Content = bytes | Packed


def opened(content: Content) -> BinaryIO:
    """The content as a file to read."""
    return io.BytesIO(content) if isinstance(content, bytes) else content.opened()


def pieces(content: Content) -> Iterator[bytes]:
    """The content, piece by piece."""
    with opened(content) as file:
        yield from iter(partial(file.read, _PIECE_BYTES), b"")


def digest_of(contents: Iterable[Content]) -> str:
    """The SHA-256 of some contents, one after the other, in hexadecimal digits."""
    found = hashlib.sha256()
    for content in contents:
        for piece in pieces(content):
            found.update(piece)
    return found.hexdigest()
