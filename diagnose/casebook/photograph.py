"""The straightened photograph that a case began with: the picture, and where it lies under the drawn outline.

``photograph.json`` says where (mm of the stored pattern's frame) and how true it is; ``photograph.jpg`` is the picture.
The first is written last, and there is a photograph exactly when both are there.
"""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any, Literal

from msgspec import Struct
from pydantic import BaseModel, ConfigDict, Field

from diagnose.casebook import layout
from diagnose.casebook.jsonfile import as_model, json_text, read_object
from diagnose.casebook.safely import refusal, write_bytes, write_new_text
from diagnose.errors import FitError
from diagnose.files import bytes_of

__all__ = ["Photograph", "photograph_of", "put_photograph"]

LARGEST_PICTURE = 20_000_000
_JPEG = b"\xff\xd8\xff"
Millimetres = Annotated[float, Field(ge=-100_000.0, le=100_000.0, allow_inf_nan=False)]


class Photograph(Struct, frozen=True):
    """A straightened picture (JPEG) seen from straight above, and the oblong of the pattern's frame that it shows.

    `within_mm` is how true its outlines are, at worst; `said` says it in words.
    """

    picture: bytes
    left_mm: float
    bottom_mm: float
    right_mm: float
    top_mm: float
    within_mm: float
    said: str


class _File(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True, strict=True, defer_build=True)

    format: Literal["fit-photograph"]
    version: Literal[1]
    left_mm: Millimetres
    bottom_mm: Millimetres
    right_mm: Millimetres
    top_mm: Millimetres
    within_mm: Annotated[float, Field(gt=0.0, le=100.0, allow_inf_nan=False)]
    said: Annotated[str, Field(max_length=2000)]


def put_photograph(folder: Path, photograph: Photograph) -> None:
    """Write the photograph of a new case.

    Raises:
        FitError: when it can't be written.
    """
    numbers = {name: round(getattr(photograph, name), 3) for name in _NUMBERS}
    raw: dict[str, Any] = {"format": "fit-photograph", "version": 1, **numbers, "said": photograph.said}
    text = json_text(as_model(_File, raw, layout.PHOTOGRAPH).model_dump(), layout.PHOTOGRAPH)
    write_bytes(folder / layout.PICTURE, photograph.picture)
    write_new_text(folder / layout.PHOTOGRAPH, text)


_NUMBERS = ("left_mm", "bottom_mm", "right_mm", "top_mm", "within_mm")


def photograph_of(folder: Path) -> Photograph | None:
    """The photograph of the case in that folder; None where it began without one.

    Raises:
        FitError: when it can't be read, or is not what was stored.
    """
    path = folder / layout.PICTURE
    if not (folder / layout.PHOTOGRAPH).exists() or not path.exists():
        return None
    told = as_model(_File, read_object(folder / layout.PHOTOGRAPH, layout.PHOTOGRAPH), layout.PHOTOGRAPH)
    try:
        data = bytes_of(path, LARGEST_PICTURE, ordinary=True, follow=False)
    except OSError as error:
        raise refusal(path, error) from None
    if len(data) > LARGEST_PICTURE or not data.startswith(_JPEG):
        raise FitError.of(
            layout.PICTURE,
            "This is not the picture that was stored.",
            "Take the file from a copy.",
            code="not-as-stored",
        )
    numbers = {name: getattr(told, name) for name in _NUMBERS}
    return Photograph(picture=data, said=told.said, **numbers)
