"""Pictures that people bring: decoded under limits, and made anew without what is not seen.

What goes on from here is a JPEG of our own making. Nothing of the old file is in it but its
colours: not when and where it was taken, nor by whom, nor with what.
"""

from __future__ import annotations

import io
import struct
import warnings
import zlib
from threading import Lock
from typing import TYPE_CHECKING

from rearlog.records.errors import RecordError

if TYPE_CHECKING:
    from PIL import Image

LARGEST_BYTES = 16 * 2**20
LARGEST_PIXELS = 40_000_000
"""A picture with more bytes or pixels is refused, for its pixels before any of them is decoded."""

LONGEST_SIDE = 2048
QUALITY = 85
"""So long is the longer side of what is kept, in pixels, and so well is it kept (of 95): a head
that fills a tenth of the picture is two hundred pixels wide."""

FORMATS = ("JPEG", "PNG", "WEBP")

_ONE_AT_A_TIME = Lock()
"""Decoded, the largest picture takes a few hundred MB."""

_SHRINK_AT_ONCE = ("L", "RGB", "RGBA", "CMYK")
"""Modes whose pixels can be averaged as they are; others are converted before."""

_BROKEN = (
    OSError, SyntaxError, ValueError, EOFError, LookupError, TypeError, ArithmeticError,
    MemoryError, AttributeError, struct.error, zlib.error,
)  # fmt: skip
"""What a decoder raises for bytes that are no picture, or only part of one."""


def without_traces(content: bytes) -> bytes:
    """The picture as a JPEG of our own: upright, no larger than LONGEST_SIDE, nothing beside it.

    Of several frames it is the first; what is transparent becomes white. The same bytes give the
    same picture. Raises RecordError for whatever is not a whole JPEG, PNG or WebP within the
    limits.
    """
    from PIL import Image  # start-up time

    if len(content) > LARGEST_BYTES:
        size = f"{len(content) / 2**20:.0f} MB"
        remedy = f"at most {LARGEST_BYTES // 2**20} MB are taken: choose a smaller one"
        raise RecordError(f"this picture has {size}", remedy)
    try:
        with _ONE_AT_A_TIME, warnings.catch_warnings():
            # what cameras write beside a picture is often out of order, and goes anyway
            warnings.filterwarnings("ignore", category=UserWarning, module=r"PIL\.")
            warnings.filterwarnings("error", category=Image.DecompressionBombWarning)
            with Image.open(io.BytesIO(content), formats=FORMATS) as image:
                if image.width * image.height > LARGEST_PIXELS:
                    raise _too_large(image.size)
                image.draft("RGB", (LONGEST_SIDE, LONGEST_SIDE))  # a JPEG is decoded no larger
                image.load()
                return _anew(image)
    except (Image.DecompressionBombError, Image.DecompressionBombWarning):
        raise _too_large(None) from None
    except _BROKEN:
        raise RecordError(
            "this is not a whole picture in JPEG, PNG or WebP", "take it again, or choose another"
        ) from None


def _too_large(size: tuple[int, int] | None) -> RecordError:
    told = f"{size[0]} × {size[1]} pixels" if size else "far too many pixels"
    remedy = f"at most {LARGEST_PIXELS // 10**6} million are taken: choose a smaller one"
    return RecordError(f"this picture has {told}", remedy)


def _anew(image: Image.Image) -> bytes:
    """The pixels of a decoded picture in a new file."""
    from PIL import Image, ImageOps

    if image.mode in _SHRINK_AT_ONCE:
        image.thumbnail((LONGEST_SIDE, LONGEST_SIDE))
    ImageOps.exif_transpose(image, in_place=True)
    if image.mode.startswith(("I", "F")):  # grey in 16 bits, as cameras of microscopes have it
        image = image.point(lambda value: value * (1 / 257) + 0).convert("L")
    image = image.convert("RGBA" if image.has_transparency_data else "RGB")
    image.thumbnail((LONGEST_SIDE, LONGEST_SIDE))
    made = Image.new("RGB", image.size, "white")
    made.paste(image, mask=image if image.mode == "RGBA" else None)
    out = io.BytesIO()
    made.save(out, "JPEG", quality=QUALITY, optimize=True)
    return out.getvalue()
