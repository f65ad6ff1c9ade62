"""A photograph's bytes turned into pixels, safely: nothing is decoded before its size is known to be bearable.

Only pixels are kept. What else a picture file holds (where and when and with what it was taken) is never read, but
for the tag that says which way up it was held.
"""

from __future__ import annotations

import io
import struct
import warnings
import zlib
from typing import TYPE_CHECKING, Any

import numpy as np

from diagnose.errors import FitError
from diagnose.pattern.brought.photo.chequers import opencv

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["LARGEST_PHOTO", "MOST_PIXELS", "as_jpeg", "open_photo"]

LARGEST_PHOTO = 60_000_000
"""Bytes."""

MOST_PIXELS = 64_000_000
LEAST_SIDE = 700
ENOUGH_PIXELS = 25_000_000
"""A picture of more is read at half its size, which measures as well and takes a quarter of the memory."""

_BROKEN = (OSError, SyntaxError, ValueError, EOFError, IndexError, KeyError, TypeError, OverflowError, MemoryError,
           NotImplementedError, AttributeError, struct.error, zlib.error)  # fmt: skip
"""What the picture library raises over a file that is not sound."""

_ORIENTATION = 0x0112
_HEIC = ("HEIF", "HEIC")


def open_photo(data: bytes, name: str) -> NDArray[np.uint8]:
    """The pixels (rows, columns, blue-green-red), the right way up.

    Raises:
        FitError: when it is no picture, is not sound, or is too large or small.
    """
    cv = opencv()
    if len(data) > LARGEST_PHOTO:
        do = "Save it as a JPEG, or at a smaller size."
        raise FitError.of(name, "The picture is larger than 60 MB.", do, code="too-large")
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # what the library remarks on a file that is odd, or large, is not for her
        image = _loaded(data, name)
    return cv.cvtColor(np.asarray(image), cv.COLOR_RGB2BGR)


def _loaded(data: bytes, name: str) -> Any:
    """The picture in red, green and blue, the right way up."""
    from PIL import Image

    forms = ["JPEG", "PNG", *_heic(data, name)]
    try:
        image: Any = Image.open(io.BytesIO(data), formats=forms)
        wide, high = image.size
    except (*_BROKEN, Image.DecompressionBombError):
        raise _not_sound(name) from None
    if wide * high > MOST_PIXELS:
        what = f"The picture has {wide} × {high} pixels; no more than 64 million are read."
        do = "Take or save it at the telephone's usual size (12 megapixels are plenty)."
        raise FitError.of(name, what, do, code="too-large")
    if min(wide, high) < LEAST_SIDE:
        what = f"The picture has only {wide} × {high} pixels, too few to measure by."
        do = "Give the photograph as the telephone took it, not a preview of it."
        raise FitError.of(name, what, do, code="too-few-pixels")
    try:
        turn = _held(image, data)
        if wide * high > ENOUGH_PIXELS:
            image.draft("RGB", (wide // 2, high // 2))
        image.load()
        if image.size[0] * image.size[1] > ENOUGH_PIXELS:
            image = image.reduce(2)
        image = (_in_8_bits(image) if image.mode.startswith("I") else image).convert("RGB")
    except (*_BROKEN, Image.DecompressionBombError):
        raise _not_sound(name) from None
    way = Image.Transpose
    upright = {2: way.FLIP_LEFT_RIGHT, 3: way.ROTATE_180, 4: way.FLIP_TOP_BOTTOM, 5: way.TRANSPOSE, 6: way.ROTATE_270,
               7: way.TRANSVERSE, 8: way.ROTATE_90}  # fmt: skip
    return image.transpose(upright[turn]) if turn in upright else image


def _held(image: Any, data: bytes) -> Any:
    """The tag that says which way up the camera was held, where the library has not obeyed it already.

    A HEIC says it by turns of its own (``irot``, ``imir``), which are obeyed as it is opened; its tag counts only where
    it has none.
    """
    if image.format in _HEIC:
        return 1 if b"irot" in data or b"imir" in data else image.info.get("original_orientation") or 1
    return image.getexif().get(_ORIENTATION, 1)


def _in_8_bits(image: Any) -> Any:
    """A picture of 65,536 greys in 256, which the library would cut off instead."""
    from PIL import Image

    return Image.fromarray((np.asarray(image).astype(np.uint32) // 257).clip(0, 255).astype(np.uint8))


def _heic(data: bytes, name: str) -> list[str]:
    """The form's name where the file is one, whatever it is called, and the package that reads it is there."""
    if data[4:8] != b"ftyp" and not name.lower().endswith((".heic", ".heif")):
        return []
    try:
        from pillow_heif import register_heif_opener
    except ImportError:
        typed = "In the program's folder: .venv/bin/pip install '.[photo]'. Or save the picture as a JPEG."
        what = "HEIC pictures need the package pillow-heif, which is not installed."
        raise FitError.of(name, what, typed=typed, code="extra-missing") from None
    register_heif_opener(thumbnails=False)
    return ["HEIF"]


def _not_sound(name: str) -> FitError:
    do = "Send it from the telephone again, as it was taken, as JPEG, PNG or HEIC."
    return FitError.of(name, "The file is no sound picture.", do, code="not-a-picture")


def as_jpeg(pixels: NDArray[np.uint8], quality: int = 85) -> bytes:
    """The pixels as a JPEG that holds nothing else."""
    cv = opencv()
    done, data = cv.imencode(".jpg", pixels, [cv.IMWRITE_JPEG_QUALITY, quality])
    if not done:
        what = "The straightened picture could not be saved."
        raise FitError.of("photo", what, "Give a smaller picture.", code="unkeepable")
    return bytes(data)
