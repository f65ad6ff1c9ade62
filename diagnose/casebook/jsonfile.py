"""JSON files of a case: read strictly and bounded in size, written as text that is the same for the same value."""

from __future__ import annotations

import json
import math
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError

from diagnose.casebook.safely import refusal
from diagnose.errors import FitError, Mistake, one_line
from diagnose.files import bytes_of

__all__ = [
    "FROM_A_COPY", "MOST_BYTES", "DoubledKeyError", "as_model", "bounded", "json_text", "keyed", "object_of",
    "read_object", "read_text", "rows_of", "table",
]  # fmt: skip

MOST_BYTES = 20_000_000
FROM_A_COPY = "Put it right, or take the file from a copy."
Model = TypeVar("Model", bound=BaseModel)


def json_text(value: object, where: str) -> str:
    """The value as readable JSON, keys in their own order, ending in a newline.

    Args:
        value: plain JSON values.
        where: how a mistake names it.

    Raises:
        FitError: when it holds what JSON can't (NaN, infinity, half a character), or is too large.
    """
    try:
        text = json.dumps(value, ensure_ascii=False, allow_nan=False, indent=2) + "\n"
        return bounded(text, where)
    except (ValueError, TypeError, RecursionError) as error:
        what = f"It can't be kept: {one_line(str(error), 200)}."
        raise FitError.of(where, what, "Keep to plain finite values.", code="unkeepable") from None


def bounded(text: str, where: str) -> str:
    """The text, when it is small enough to be kept and read again.

    Raises:
        FitError: when it is too large.
        UnicodeEncodeError: when it holds half a character.
    """
    if len(text.encode("utf-8")) > MOST_BYTES:
        raise FitError.of(
            where, "It is too large to keep.", f"A file of a case holds at most {MOST_BYTES} bytes.", code="too-large"
        )
    return text


def read_text(path: Path, where: str) -> str:
    """The text of an ordinary file of at most 20 MB in UTF-8; a link is not followed.

    Raises:
        FitError: when it is missing, a folder, a link, too large or no such text.
    """
    try:
        data = bytes_of(path, MOST_BYTES, ordinary=True, follow=False)
    except OSError as error:
        wrong = refusal(Path(where), error).mistakes[0]
        raise FitError([wrong]) from None
    if len(data) > MOST_BYTES:
        raise FitError.of(where, f"It is larger than {MOST_BYTES} bytes.", FROM_A_COPY, code="too-large")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise FitError.of(where, "It is not text in UTF-8.", FROM_A_COPY, code="not-text") from None


def read_object(path: Path, where: str) -> dict[str, Any]:
    """The JSON object in a file: no key twice, no NaN, no infinity.

    Raises:
        FitError: when it can't be read or is not such JSON.
    """
    return object_of(read_text(path, where), where)


def object_of(text: str, where: str) -> dict[str, Any]:
    """`read_object` of text already read."""
    try:
        value = json.loads(text, object_pairs_hook=keyed, parse_constant=_no_number, parse_float=_finite)
    except RecursionError:
        raise FitError.of(where, "It is nested too deeply.", FROM_A_COPY, code="too-deep") from None
    except json.JSONDecodeError as error:
        at = f"line {error.lineno}, column {error.colno}"
        raise FitError.of(f"{where}, {at}", f"This is not JSON: {error.msg}.", FROM_A_COPY, code="not-json") from None
    except ValueError as error:
        raise FitError.of(where, f"{one_line(str(error), 200)}.", FROM_A_COPY, code="not-json") from None
    if not isinstance(value, dict):
        raise FitError.of(where, "An object {…} is wanted here.", FROM_A_COPY, code="not-an-object")
    return value


def table(value: object) -> Mapping[str, Any]:
    """A JSON object, in JSON that may be anything; an empty one where it is none."""
    return value if isinstance(value, Mapping) else {}


def rows_of(value: object) -> list[dict[str, Any]]:
    """The objects of a JSON list, in JSON that may be anything."""
    return [row for row in value if isinstance(row, dict)] if isinstance(value, list) else []


class DoubledKeyError(ValueError):
    """A key stands twice in one object, so that one of the two would be lost unseen."""


def keyed(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    """The object of these keys and values, for `json.loads`.

    Raises:
        DoubledKeyError: when a key stands twice.
    """
    entries = dict(pairs)
    if len(entries) < len(pairs):
        raise DoubledKeyError("A key stands twice in one object")
    return entries


def _no_number(text: str) -> float:
    raise ValueError(f"{text} is no number")


def _finite(text: str) -> float:
    number = float(text)
    if not math.isfinite(number):
        raise ValueError(f"{text[:40]} is too large a number")
    return number


def as_model(model: type[Model], raw: Mapping[str, Any], where: str) -> Model:
    """The object as a model, after its kind and version have been looked at.

    Raises:
        FitError: every mistake; a foreign or newer file gets that one sentence alone.
    """
    _check_head(model, raw, where)
    try:
        return model.model_validate(raw)
    except ValidationError as error:
        raise FitError(_mistakes(error, where)) from None


def _check_head(model: type[BaseModel], raw: Mapping[str, Any], where: str) -> None:
    wanted = {key: model.model_fields[key].annotation.__args__[0] for key in ("format", "version")}  # type: ignore[union-attr]
    if raw.get("format") != wanted["format"]:
        raise FitError.of(where, f"It is no “{wanted['format']}” file of this program.", FROM_A_COPY, code="not-ours")
    version = raw.get("version")
    if type(version) is not int:
        raise FitError.of(where, "Its version is no whole number.", FROM_A_COPY, code="bad-version")
    if version > wanted["version"]:
        say = f"A later version of this program wrote it: its form is {one_line(str(version), 20)}."
        raise FitError.of(where, say, "Bring the program up to date.", code="later-version")


def _mistakes(error: ValidationError, where: str) -> Iterable[Mistake]:
    for wrong in error.errors(include_url=False, include_input=False):
        place = one_line(".".join(str(part) for part in wrong["loc"]), 200)
        what = "It is missing." if wrong["type"] == "missing" else f"{wrong['msg']}."
        yield Mistake(
            f"{where}: {place}", what, FROM_A_COPY, code="missing" if wrong["type"] == "missing" else "not-as-wanted"
        )
