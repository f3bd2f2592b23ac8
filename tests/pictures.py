"""Pictures made for tests: small ones, hostile ones, and what they would give away."""

import io
import struct
import zlib
from typing import Any

from PIL import Image
from PIL.TiffImagePlugin import IFDRational

CAMERA = "CameraOfKT"
PLACE = "N 47 22 E 8 33"


def leaf(width: int = 64, height: int = 48, shade: int = 0) -> Image.Image:
    """A green picture, its upper left quarter red."""
    made = Image.new("RGB", (width, height), (20, 120 + shade, 40))
    made.paste((200, 30, 30), (0, 0, width // 2, height // 2))
    return made


def encoded(image: Image.Image, form: str = "JPEG", **options: Any) -> bytes:
    """The bytes of a picture in a format."""
    out = io.BytesIO()
    image.save(out, form, **options)
    return out.getvalue()


def decoded(content: bytes) -> Image.Image:
    """What the bytes of a picture show."""
    made = Image.open(io.BytesIO(content))
    made.load()
    return made


def telling_exif(orientation: int = 1) -> Image.Exif:
    """What a phone writes beside a picture: camera, person, moment and place."""
    exif = Image.Exif()
    exif[0x0112] = orientation
    exif[0x010F] = CAMERA
    exif[0x013B] = "Somebody"
    exif[0x0132] = "2026:03:09 09:00:00"
    exif[0x8825] = {
        1: "N", 2: (IFDRational(47), IFDRational(22), IFDRational(0)),
        3: "E", 4: (IFDRational(8), IFDRational(33), IFDRational(0)),
    }  # fmt: skip
    return exif


def png_header(width: int, height: int) -> bytes:
    """A PNG of some bytes that says it is that large (ISO/IEC 15948)."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        checksum = zlib.crc32(kind + data)
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", checksum)

    header = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    pixels = zlib.compress(bytes(1000))
    return (
        b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", header) + chunk(b"IDAT", pixels) + chunk(b"IEND", b"")
    )


NO_PICTURES = {
    "nothing": b"",
    "text": b"this is no picture",
    "a page": b"<!DOCTYPE html><script>alert(1)</script>",
    "a drawing": b'<svg xmlns="http://www.w3.org/2000/svg" onload="alert(1)"/>',
    "a GIF": encoded(leaf().convert("P"), "GIF"),
    "a TIFF": encoded(leaf(), "TIFF"),
    "a bitmap": encoded(leaf(), "BMP"),
    "half a JPEG": encoded(leaf(400, 300))[:-300],
    "half a PNG": encoded(leaf(400, 300), "PNG")[:-300],
    "half a WebP": encoded(leaf(400, 300), "WEBP")[:-100],
    "a PNG without its pixels": png_header(6000, 6000),
}
