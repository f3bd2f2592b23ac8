"""The letters of charts, for whoever shows them as text: parts of the fonts of matplotlib.

What is laid out here by a font's widths must be shown in that font. The files hold the letters of
European languages, and the signs that charts use; a letter that is not among them is shown in a
font of the reader's. `python -m rearlog.charts.fonts` makes them anew of matplotlib's (DejaVu, see
the licence beside them).
"""

from __future__ import annotations

from base64 import b64encode
from collections.abc import Iterable
from importlib import resources

from msgspec import Struct


class Face(Struct, frozen=True):
    """A font: how styles name it, and the name of its file without an ending."""

    family: str
    weight: str
    style: str
    file: str


FACES = (
    Face("DejaVu Sans", "normal", "normal", "DejaVuSans"),
    Face("DejaVu Sans", "normal", "italic", "DejaVuSans-Oblique"),
    Face("DejaVu Serif", "bold", "normal", "DejaVuSerif-Bold"),
)


def embedded(faces: Iterable[Face] = FACES) -> str:
    """The style rules that bring fonts along."""
    return "".join(map(_rule, faces))


def _rule(face: Face) -> str:
    content = b64encode((resources.files(__name__) / f"{face.file}.woff").read_bytes()).decode()
    return (
        f'@font-face{{font-family:"{face.family}";font-weight:{face.weight};'
        f'font-style:{face.style};src:url("data:font/woff;base64,{content}") format("woff")}}\n'
    )
