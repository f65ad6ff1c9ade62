"""From the lines of a batch to their answers, one at a time."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Iterator, Mapping
from typing import TYPE_CHECKING, Any, BinaryIO

from msgspec import Struct
from msgspec.structs import replace

from diagnose.casebook.jsonfile import DoubledKeyError, keyed
from diagnose.cli.printing import json_line
from diagnose.errors import FitError
from diagnose.model.tryon_reading import read_tryon
from diagnose.plan.whole import diagnose
from diagnose.sheets.json_out import diagnosis_to_json

if TYPE_CHECKING:
    from diagnose.model.settings import Settings
    from diagnose.pattern.outline import Pattern
    from diagnose.rulebase.base import RuleBase
    from diagnose.rulebase.neutral import Matcher

__all__ = ["LONGEST_LINE", "Answered", "Making", "answer_line", "answers", "lines_of", "written"]

LONGEST_LINE = 20_000_000
Making = Callable[[], tuple["RuleBase", "Matcher"]]
"""Makes the rule base and the matcher that answer."""


class Answered(Struct, frozen=True):
    """Some answers as they are written, and whether any is an error."""

    text: str
    wrong: bool


def written(found: Iterable[Mapping[str, Any]]) -> Answered:
    """The answers, a line each."""
    kept = list(found)
    return Answered("".join([json_line(one) + "\n" for one in kept]), any("error" in one for one in kept))


def lines_of(stream: BinaryIO) -> Iterator[bytes]:
    """The lines of a stream; of one that is too long only the beginning, so that it is refused and never held."""
    while line := stream.readline(LONGEST_LINE + 1):
        yield line
        while not line.endswith(b"\n") and line:
            line = stream.readline(LONGEST_LINE)


def answers(lines: Iterable[bytes], base: RuleBase, matcher: Matcher, first: int = 1) -> Iterator[dict[str, Any]]:
    """The answer to each line that is not blank; `first` is the number of the first line."""
    for number, line in enumerate(lines, first):
        if line.strip():
            yield answer_line(line, number, base, matcher=matcher)


def answer_line(line: bytes, number: int, base: RuleBase, matcher: Matcher) -> dict[str, Any]:
    """The answer to one line: a diagnosis, or what is wrong with the line."""
    raw: Any = None
    try:
        raw = _decoded(line, number)
        tryon = read_tryon(raw, base.vocabulary, base.settings.unit)
        return diagnosis_to_json(diagnose(tryon, base, matcher, pattern=_pattern(tryon.pattern, base.settings)))
    except FitError as error:
        named = raw.get("id") if isinstance(raw, dict) else None
        mistakes = [replace(m, where=m.where or f"line {number}").to_json() for m in error.mistakes]
        found: dict[str, Any] = {"version": 1, "id": named if isinstance(named, str | int) else None}
        return {**found, "error": mistakes[0]} | ({"errors": mistakes} if len(mistakes) > 1 else {})


def _decoded(line: bytes, number: int) -> Any:
    if len(line) > LONGEST_LINE:
        raise FitError.of(f"line {number}", "The line is longer than 20 MB.", "Split it.", code="too-large")
    try:
        return json.loads(line, object_pairs_hook=keyed)
    except DoubledKeyError:
        raise FitError.of(
            f"line {number}", "A key stands twice in one object.", "Leave one of the two out.", code="doubled-key"
        ) from None
    except (ValueError, RecursionError):
        raise FitError.of(
            f"line {number}", "This line is not JSON.", "Give one JSON object a line.", code="not-json"
        ) from None


def _pattern(raw: Any, settings: Settings) -> Pattern | None:
    if raw is None:
        return None
    from diagnose.pattern.form.reader import read_pattern

    return read_pattern(raw, "pattern", settings.unit)
