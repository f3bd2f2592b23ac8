"""What a printed page shows, read from its PDF by another library: filled shapes in millimetres."""

from dataclasses import dataclass
from pathlib import Path

from pypdf import PdfReader
from pypdf.generic import ContentStream

MM_PER_POINT = 25.4 / 72


@dataclass(frozen=True)
class Filled:
    """The box of a filled shape, in mm from the lower left corner, and whether it is round."""

    left: float
    bottom: float
    width: float
    height: float
    is_round: bool


def paper_mm(path: Path) -> list[tuple[float, float]]:
    pages = PdfReader(path).pages
    return [
        (float(page.mediabox.width) * MM_PER_POINT, float(page.mediabox.height) * MM_PER_POINT)
        for page in pages
    ]


def filled_shapes(path: Path, page: int = 0) -> list[Filled]:
    reader = PdfReader(path)
    content = reader.pages[page].get_contents()
    found: list[Filled] = []
    points: list[tuple[float, float]] = []
    curved = False
    for operands, operator in ContentStream(content, reader).operations:
        if operator in (b"m", b"l", b"c"):
            numbers = [float(each) * MM_PER_POINT for each in operands]
            points += zip(numbers[::2], numbers[1::2], strict=True)
            curved |= operator == b"c"
        elif operator in (b"f", b"f*", b"B", b"S", b"n"):
            if operator == b"f" and points:
                xs, ys = zip(*points, strict=True)
                box = min(xs), min(ys), max(xs) - min(xs), max(ys) - min(ys)
                found.append(Filled(*box, curved))
            points, curved = [], False
    return found[1:]  # the first is the paper


def words(path: Path) -> str:
    return "\n".join(page.extract_text() for page in PdfReader(path).pages)
