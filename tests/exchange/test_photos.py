"""What becomes of the pictures that people bring."""

import contextlib
import resource

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from PIL import Image

from rearlog.exchange import photos
from rearlog.exchange.photos import LONGEST_SIDE, without_traces
from rearlog.records.errors import RecordError
from tests.pictures import CAMERA, NO_PICTURES, decoded, encoded, leaf, png_header, telling_exif


def colour(content: bytes, x: int, y: int) -> list[int]:
    """Red, green and blue of one pixel."""
    return [int(each) for each in np.asarray(decoded(content))[y, x]]


@pytest.mark.parametrize("form", ["JPEG", "PNG", "WEBP"])
@pytest.mark.parametrize("mode", ["L", "P", "RGB", "RGBA", "CMYK"])
def test_every_kind_of_picture_becomes_a_jpeg_that_shows_the_same(form: str, mode: str) -> None:
    drawn = leaf().quantize(8) if mode == "P" else leaf().convert(mode)
    try:
        brought = encoded(drawn, form)
    except OSError:
        pytest.skip(f"{form} has no {mode}")
    made = decoded(without_traces(brought))
    assert (made.format, made.mode, made.size) == ("JPEG", "RGB", (64, 48))
    shown = np.asarray(made, float)
    wanted = np.asarray(drawn.convert("RGB"), float)
    assert np.abs(shown - wanted).mean() < 6  # of 255: what JPEG loses


@pytest.mark.parametrize("form", ["JPEG", "PNG", "WEBP"])
def test_nothing_tells_where_when_and_with_what_it_was_taken(form: str) -> None:
    exif = telling_exif()
    brought = encoded(leaf(), form, exif=exif, icc_profile=b"colours" * 30, xmp=b"<x>Anna</x>")
    assert CAMERA.encode() in brought  # so the test would notice it
    assert decoded(brought).getexif().get_ifd(0x8825)
    made = without_traces(brought)
    for trace in (
        CAMERA.encode(),
        b"Somebody",
        b"2026:03:09",
        b"Exif",
        b"Anna",
        b"colours",
        b"ICC",
    ):
        assert trace not in made
    shown = decoded(made)
    assert dict(shown.getexif()) == {}
    assert set(shown.info) <= {"jfif", "jfif_version", "jfif_unit", "jfif_density"}
    assert made[2:4] == b"\xff\xe0"  # APP0, the header of every JPEG
    assert not any(bytes([0xFF, 0xE0 + number]) in made[:600] for number in range(1, 16))
    assert b"\xff\xfe" not in made[:600]  # no comment


def test_a_comment_and_what_stands_behind_the_picture_are_gone() -> None:
    brought = encoded(leaf(), comment=b"by Anna") + b"<script>hidden</script>"
    made = without_traces(brought)
    assert b"Anna" not in made
    assert b"hidden" not in made


@pytest.mark.parametrize("orientation", range(1, 9))
def test_the_picture_is_upright_whatever_way_the_phone_was_held(orientation: int) -> None:
    # where the first row and column of what is stored belong (EXIF 2.3, tag 274)
    stored = {
        1: leaf(),
        2: leaf().transpose(Image.Transpose.FLIP_LEFT_RIGHT),
        3: leaf().transpose(Image.Transpose.ROTATE_180),
        4: leaf().transpose(Image.Transpose.FLIP_TOP_BOTTOM),
        5: leaf().transpose(Image.Transpose.TRANSPOSE),
        6: leaf().transpose(Image.Transpose.ROTATE_90),
        7: leaf().transpose(Image.Transpose.TRANSVERSE),
        8: leaf().transpose(Image.Transpose.ROTATE_270),
    }[orientation]
    made = without_traces(encoded(stored, exif=telling_exif(orientation), quality=95))
    assert decoded(made).size == (64, 48)
    assert colour(made, 8, 8)[0] > 150


def test_a_large_picture_gets_smaller_and_keeps_its_shape() -> None:
    made = decoded(without_traces(encoded(leaf(5000, 2500))))
    assert made.size == (LONGEST_SIDE, LONGEST_SIDE // 2)


def test_a_grey_picture_of_16_bits_keeps_its_shades() -> None:
    shades = np.linspace(0, 65535, 64 * 48).reshape(48, 64).astype("uint16")
    shown = np.asarray(decoded(without_traces(encoded(Image.fromarray(shades), "PNG"))), float)
    assert np.abs(shown[..., 0] - shades / 257).max() < 6


def test_what_is_transparent_becomes_white() -> None:
    made = without_traces(encoded(Image.new("RGBA", (20, 20), (0, 0, 0, 0)), "PNG"))
    assert min(colour(made, 10, 10)) > 250


def test_of_moving_pictures_the_first_one_is_taken() -> None:
    frames = [Image.new("RGB", (30, 30), colour) for colour in ("red", "blue")]
    for form in ("PNG", "WEBP"):
        brought = encoded(frames[0], form, save_all=True, append_images=frames[1:])
        assert getattr(decoded(brought), "n_frames", 1) == 2
        red, _, blue = colour(without_traces(brought), 5, 5)
        assert red > 200 > 100 > blue


@pytest.mark.parametrize("what", NO_PICTURES)
def test_what_is_no_whole_picture_is_refused(what: str) -> None:
    with pytest.raises(RecordError, match="not a whole picture in JPEG, PNG or WebP"):
        without_traces(NO_PICTURES[what])


@pytest.mark.parametrize("size", [(7000, 6000), (12000, 8000), (60000, 60000)])
def test_a_picture_of_too_many_pixels_is_refused_before_they_are_decoded(
    size: tuple[int, int],
) -> None:
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    with pytest.raises(RecordError, match="pixels"):
        without_traces(png_header(*size))
    assert resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before < 20_000  # kB


def test_a_file_of_too_many_bytes_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(photos, "LARGEST_BYTES", 2**20)
    with pytest.raises(RecordError, match="this picture has 2 MB"):
        without_traces(encoded(leaf()) + bytes(2**21))


def test_a_fraction_over_nothing_in_what_a_camera_wrote_is_no_error_of_ours() -> None:
    content = bytearray(encoded(leaf(), "JPEG", exif=telling_exif(6)))
    content[223] = 0  # a denominator
    with contextlib.suppress(RecordError):
        assert decoded(without_traces(bytes(content))).format == "JPEG"


@settings(suppress_health_check=[HealthCheck.too_slow], deadline=None, max_examples=150)
@given(st.sampled_from(["JPEG", "PNG", "WEBP"]), st.data())
def test_a_damaged_picture_is_a_picture_or_refused(form: str, data: st.DataObject) -> None:
    content = bytearray(encoded(leaf(), form, exif=telling_exif(6)))
    for _ in range(data.draw(st.integers(1, 8))):
        place = data.draw(st.integers(0, len(content) - 1))
        content[place] = data.draw(st.integers(0, 255))
    try:
        made = without_traces(bytes(content))
    except RecordError:
        return
    assert decoded(made).format == "JPEG"
