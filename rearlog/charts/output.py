"""Charts as files: the same chart gives the same bytes."""

from __future__ import annotations

import io
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import matplotlib
from matplotlib.backend_bases import get_registered_canvas_class
from matplotlib.figure import Figure

from rearlog.charts import svg
from rearlog.disk.outputs import write_output
from rearlog.records.errors import UsageError

FORMATS = ("png", "svg", "pdf", "tiff")
DOTS_PER_INCH = {"png": 200, "tiff": 300}
"""How fine the forms that are made of dots are drawn, unless it is said."""

# Text stays text, to be found, read aloud and copied; PDF embeds the fonts as they are, as journals
# ask, and what shows SVG brings their letters along (`svg.py`).
_SETTINGS = {"svg.hashsalt": "rearlog", "svg.fonttype": "none", "pdf.fonttype": 42}
_NO_DATES: dict[str, dict[str, None]] = {
    "png": {"Software": None},
    "svg": {"Date": None, "Creator": None},
    "pdf": {"CreationDate": None, "Creator": None, "Producer": None},
}


def render(figure: Figure, form: str, dpi: int | None = None) -> bytes:
    """A figure as the bytes of a png, svg, pdf or tiff file, of so many dots per inch.

    Raises UsageError for another form, and for dots where lines are drawn.
    """
    if form not in FORMATS:
        known = ", ".join(f".{each}" for each in FORMATS)
        raise UsageError(f"charts cannot be written as “{form}”", f"end the file's name in {known}")
    if dpi is not None and form not in DOTS_PER_INCH:
        raise UsageError(f"{form.upper()} is drawn in lines, not in dots", "leave out --dpi")
    if form == "tiff":
        dpi = dpi or DOTS_PER_INCH[form]
        return _as_tiff(_drawn(figure, "png", dpi), dpi)
    drawn = _drawn(figure, form, dpi)
    return svg.as_file(drawn.decode()).encode() if form == "svg" else drawn


def _as_tiff(png: bytes, dpi: int) -> bytes:
    """A picture as journals take it: without transparency, packed without loss (LZW)."""
    from PIL import Image  # start-up time: seldom asked for

    target = io.BytesIO()
    with Image.open(io.BytesIO(png)) as picture:
        flat = picture.convert("RGB")
        flat.save(target, format="TIFF", compression="tiff_lzw", dpi=(dpi, dpi))
    return target.getvalue()


def on_page(figure: Figure, prefix: str) -> str:
    """A figure as an SVG element for the inside of a page; its ids begin with the prefix."""
    return svg.as_part(_drawn(figure, "svg").decode(), prefix)


def _drawn(figure: Figure, form: str, dpi: int | None = None) -> bytes:
    target = io.BytesIO()
    dots = dpi or DOTS_PER_INCH["png"]
    with (
        matplotlib.rc_context(_SETTINGS),  # type: ignore[arg-type]
        warnings.catch_warnings(),
    ):
        # letters that the bundled font lacks are drawn as boxes; that is no news for a terminal
        warnings.filterwarnings("ignore", "Glyph .* missing", UserWarning)
        with _laid_out(figure, form, dots):
            figure.savefig(target, format=form, dpi=dots, metadata=_NO_DATES[form])
    return target.getvalue()


@contextmanager
def _laid_out(figure: Figure, form: str, dots: int) -> Iterator[None]:
    """Lay a figure out for its form, of so many dots per inch where it has dots. Left to do that
    itself, savefig would draw all of it twice."""
    dpi, engine = figure.dpi, figure.get_layout_engine()
    get_registered_canvas_class(form)(figure)  # it knows how wide text will be
    figure.dpi = dots
    if engine is not None:
        engine.execute(figure)
    figure.set_layout_engine(None)
    try:
        yield
    finally:
        figure.set_layout_engine(engine)
        figure.dpi = dpi


def save(figure: Figure, path: Path, *, force: bool = True, dpi: int | None = None) -> None:
    """Write a figure to a file whose ending says the form.

    Raises UsageError as `render` does, or where a file is there and `force` is not set.
    """
    form = path.suffix.lower().removeprefix(".")
    content = render(figure, "tiff" if form == "tif" else form, dpi)
    write_output(path, content, force=force)
