"""Charts as files: the same chart gives the same bytes."""

from __future__ import annotations

import io
import warnings
from pathlib import Path

import matplotlib
from matplotlib.figure import Figure

from rearlog.records.errors import UsageError

FORMATS = ("png", "svg", "pdf")
PNG_DOTS_PER_INCH = 200

# Text in SVG becomes outlines: a page must look the same on a machine without the fonts, and
# says the same in words beside it. PDF embeds the fonts as they are, as journals ask.
_SETTINGS = {"svg.hashsalt": "rearlog", "svg.fonttype": "path", "pdf.fonttype": 42}
_NO_DATES: dict[str, dict[str, None]] = {
    "png": {"Software": None},
    "svg": {"Date": None, "Creator": None},
    "pdf": {"CreationDate": None, "Creator": None, "Producer": None},
}


def render(figure: Figure, form: str) -> bytes:
    """A figure as the bytes of a png, svg or pdf file; raises UsageError for another form."""
    if form not in FORMATS:
        known = ", ".join(f".{each}" for each in FORMATS)
        raise UsageError(f"charts cannot be written as “{form}”", f"end the file's name in {known}")
    target = io.BytesIO()
    with matplotlib.rc_context(_SETTINGS), warnings.catch_warnings():  # type: ignore[arg-type]
        # letters that the bundled font lacks are drawn as boxes; that is no news for a terminal
        warnings.filterwarnings("ignore", "Glyph .* missing", UserWarning)
        figure.savefig(target, format=form, dpi=PNG_DOTS_PER_INCH, metadata=_NO_DATES[form])
    return target.getvalue()


def save(figure: Figure, path: Path) -> None:
    """Write a figure to a file whose ending says the form."""
    path.write_bytes(render(figure, path.suffix.lower().removeprefix(".")))
