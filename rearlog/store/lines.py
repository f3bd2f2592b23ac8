"""A few observations of a long file, read and added without parsing all the others.

The program writes each record on a line of its own, the observations last (see `layout`), and no
JSON text holds a line break. Where a file is laid out otherwise, these functions return None, and
it is parsed as a whole. They take files whose checksum fits.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator, Sequence

import msgspec

from rearlog.store.layout import Document, Tables, numbered_lines, sealed

_OBSERVATIONS = b'\n"observations":{\n'
_LAST = re.compile(rb'"([1-9][0-9]{0,11})":\{.*\}\}\}\n')
_END = b"}}\n"
_MOST_CODES = 5
"""More than so many searches take longer than parsing."""


def selected(content: bytes, codes: Collection[str]) -> Tables | None:
    """The tables with only the observations of some individuals, and those with a fate.

    `codes` are folded to one case.
    """
    begin = content.find(_OBSERVATIONS)
    if begin < 0 or len(codes) > _MOST_CODES:
        return None
    try:
        tables: Tables = msgspec.json.decode(content[:begin].removesuffix(b",") + b"}")
        known = [each["code"] for each in tables["individuals"].values()]
        wanted = [msgspec.json.encode(code) for code in known if code.casefold() in codes]
        marks = (b'"fate":', *(b'"individual":' + code for code in wanted))
        first = begin + len(_OBSERVATIONS) - 1
        places = {place for mark in marks for place in _lines_with(mark, content, first)}
        lines = (_document(content, place) for place in sorted(places))
        return tables | {"observations": msgspec.json.decode(b"{" + b",".join(lines) + b"}")}
    except (AttributeError, KeyError, TypeError, msgspec.DecodeError):
        return None


def _lines_with(mark: bytes, content: bytes, begin: int) -> Iterator[int]:
    """Where the lines begin that hold a mark."""
    place = content.find(mark, begin)
    while place >= 0:
        yield content.rfind(b"\n", begin, place) + 1
        place = content.find(mark, content.find(b"\n", place))


def _document(content: bytes, begin: int) -> bytes:
    end = content.find(b"\n", begin)
    is_last = end == len(content) - 1
    return content[begin : end - (len(_END) - 1 if is_last else len(b","))]


def appended(content: bytes, documents: Sequence[Document]) -> tuple[bytes, list[int]] | None:
    """The file with observations added behind the others, and their numbers."""
    begin = content.find(_OBSERVATIONS)
    last = _LAST.fullmatch(content, content.rfind(b"\n", 0, -1) + 1)
    if begin < 0 or last is None:
        return None
    count = content.count(b"\n", begin + len(_OBSERVATIONS))
    numbers = [count + place for place in range(1, len(documents) + 1)]
    taken = (content.find(b'\n"%d":' % number, begin) >= 0 for number in numbers)
    if int(last[1]) != count or any(taken):  # laid out by hand: the numbers do not follow on
        return None
    new = numbered_lines(zip(map(str, numbers), documents, strict=True))
    known = memoryview(content)[content.index(b"\n") + 1 : -len(_END)]
    return sealed((known, b",\n", new, _END)), numbers
