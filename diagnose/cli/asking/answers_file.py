"""Answers of a try-on, and what a case is about, from a file of JSON or YAML."""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from msgspec import structs

from diagnose.casebook.jsonfile import object_of
from diagnose.errors import FitError, Mistake, first_ones, quoted, shown
from diagnose.files import LARGEST_YAML, bytes_of
from diagnose.units import parse_length

__all__ = ["placed", "read_answers"]

_COMMA_LENGTH = re.compile(
    r"""(?P<before>^[^"'\#\n]*?[:\s]|\s) (?P<whole>\d+) , (?P<part>\d+) (?=\s*(?:cm|mm|in)\s*(?:[,}\]]|\#|$))""",
    re.VERBOSE | re.MULTILINE,
)


def read_answers(path: Path, check: Callable[[dict[str, Any]], object] | None = None) -> dict[str, Any]:
    """The answers of a try-on from a file of JSON or YAML.

    Args:
        path: the file.
        check: refuses what is wrong in answers; it is asked where a number is bare, so that all is told at once.

    Raises:
        FitError: when it can't be read or holds no mapping.
    """
    try:
        text = bytes_of(path, LARGEST_YAML).decode("utf-8-sig")
    except (OSError, UnicodeDecodeError) as error:
        reason = getattr(error, "strerror", None) or "it is not UTF-8 text"
        raise FitError.of(
            path.name, f"The answers can't be read ({reason}).", "Name a JSON or YAML file.", code="unreadable"
        ) from None
    raw = object_of(text, path.name) if path.suffix.lower() == ".json" else _from_yaml(text, path, check)
    if not isinstance(raw, dict):
        raise FitError.of(path.name, "The file holds no answers.", "See the README for an example.", code="no-answers")
    return raw


@contextmanager
def placed(path: Path | None) -> Iterator[None]:
    """What is refused of a file's answers is told with the file, and in YAML the line."""
    try:
        yield
    except FitError as error:
        if path is None or any(mistake.where.startswith(path.name) for mistake in error.mistakes):
            raise  # it is told already with the file, which may not even be one that can be read
        raise FitError(_placed(error.mistakes, path)) from None


def _placed(mistakes: Iterable[Mistake], path: Path) -> Iterator[Mistake]:
    from diagnose.rulebase.reading.yamlfile import YamlFile, parse_yaml

    text = bytes_of(path, LARGEST_YAML).decode("utf-8-sig")
    if path.suffix.lower() == ".json":
        written = YamlFile(path.name, object_of(text, path.name), {})
    else:
        written = parse_yaml(_decimal_points(text), path.name)
    for mistake in mistakes:
        place = tuple(mistake.where.split("."))
        told = isinstance(written.data, dict) and place[0] in written.data
        yield structs.replace(mistake, where=f"{written.at(place)}: {mistake.where}") if told else mistake


def _decimal_points(text: str) -> str:
    """The text with decimal points: in ``{top: 2,5 cm}`` YAML would end the length at its comma."""
    return _COMMA_LENGTH.sub(lambda found: f"{found['before']}{found['whole']}.{found['part']}", text)


def _from_yaml(text: str, path: Path, check: Callable[[dict[str, Any]], object] | None) -> Any:
    """What stands in YAML, where it is plain what each length is: YAML reads 010 as 8 and 1:30 as 90, and no unit says.

    In JSON, which programs write, a number is millimetres; YAML is written by hand, where 2 may be inches.
    """
    import yaml

    from diagnose.rulebase.reading.yamlfile import parse_yaml

    name, text = path.name, _decimal_points(text)
    written = parse_yaml(text, name)  # refuses what is not YAML, aliases and doubled keys, with the line
    try:
        found = yaml.safe_load(text)
    except (yaml.YAMLError, ValueError, TypeError, RecursionError):
        raise FitError.of(
            name, "A value in it can't be read.", "Put quotes round dates and odd words.", code="unreadable"
        ) from None
    bare = {
        place: Mistake(
            f"{name}:{written.lines.get(place, 1)}",
            *_bare(".".join(map(str, place)), raw),
            code="bare-number",
        )
        for place, raw, value in _leaves(written.data, found, ())
        if _is_length(place) and not isinstance(value, str | bool | None) and value != 0
    }
    if bare:
        raise FitError(first_ones([*bare.values(), *_besides(found, bare, path, check=check)], name))
    return found


def _besides(
    found: Any, bare: Collection[tuple[str | int, ...]], path: Path, check: Callable[[dict[str, Any]], object] | None
) -> Iterator[Mistake]:
    """What else is wrong, the bare numbers left out."""
    if check is None:
        return
    for place in reversed(tuple(bare)):  # from behind, so that the places before it stay what they are
        inner = found
        for key in place[:-1]:
            inner = inner[key]
        del inner[place[-1]]
    try:
        check(found)
    except FitError as error:
        yield from _placed(error.mistakes, path)


def _bare(where: str, raw: object) -> tuple[str, str]:
    """What is said of a number without a unit, and the spellings that would do."""
    what, number = f"{where} is {quoted(raw)}, without a unit.", shown(raw)
    if parse_length(f"{number} in") is None:
        return what, "Write it as a length with its unit, like 1 1/2 in, 38 mm or 5.1 cm."
    number = number.lstrip("0") if re.fullmatch(r"0+[1-9][0-9]*", number) else number
    return what, f"Write {number} in, {number} cm or {number} mm, as you mean it."


def _leaves(raw: Any, value: Any, place: tuple[str | int, ...]) -> Iterator[tuple[tuple[str | int, ...], Any, Any]]:
    """Every single value: where it stands, as it was written, and as YAML reads it."""
    if isinstance(raw, dict) and isinstance(value, dict):
        for (key, inner), read in zip(raw.items(), value.values(), strict=False):
            yield from _leaves(inner, read, (*place, key))
    elif isinstance(raw, list) and isinstance(value, list):
        for number, (inner, read) in enumerate(zip(raw, value, strict=False)):
            yield from _leaves(inner, read, (*place, number))
    else:
        yield place, raw, value


def _is_length(place: tuple[str | int, ...]) -> bool:
    """Whether a length belongs there."""
    first, last = (place[0], place[-1]) if place else ("", "")
    if first == "seen":
        return last == "amount" and len(place) == 3 and _amount_is_length(str(place[1]))
    if first == "garment":
        return last == "allowance"
    return first in ("gap", "gap_front", "overlap", "target") or (first == "wearer" and last != "today")


def _amount_is_length(sign: str) -> bool:
    from diagnose.rulebase.loading import load_rulebase

    return load_rulebase().vocabulary.signs.get(sign, ("none",))[0] == "length"
