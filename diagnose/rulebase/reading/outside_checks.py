"""The table of outside checks: figures of others set beside ours, each with its source (``checks.yaml``).

The tests work ours out afresh and compare; here the table is only read, strictly, and its figures understood.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterator, Mapping
from functools import lru_cache
from pathlib import Path
from typing import Literal, TypeAlias, cast

from msgspec import Struct
from pydantic import TypeAdapter, ValidationError, model_validator

from diagnose.errors import FitError, Mistake, nearest
from diagnose.rulebase.reading.fields import Entry, Id, Prose, Title, source_keys
from diagnose.rulebase.reading.load import read_rules
from diagnose.rulebase.reading.references import references
from diagnose.rulebase.reading.schema import Source
from diagnose.rulebase.reading.settings_file import read_settings
from diagnose.rulebase.reading.yamlfile import YamlFile, read_yaml
from diagnose.units import UNIT_MM, Unit, parse_length

__all__ = [
    "CHECKS_FILE", "CheckSource", "Figure", "OutsideCheck", "OutsideChecks", "Quantity", "lines_resting", "quantity",
    "read_checks",
]  # fmt: skip

CHECKS_FILE = "checks.yaml"
UNITS: Mapping[str, float] = {"%": 0.01, "degrees": 1.0, "minutes": 1.0, "": 1.0}
Value: TypeAlias = float | str
_NUMBER = re.compile(r"(-?\d+(?:\.(\d+))?(?:e-?\d+)?) ?(%|degrees|minutes|)", re.ASCII)
_LENGTH = re.compile(r"[^.]*?(?:\.(\d+))? ?(in|mm|cm)", re.ASCII)


class Quantity(Struct, frozen=True):
    """A figure understood: a word, or a number from low to high (mm for lengths, a share for per cent)."""

    word: str | None = None
    low: float = float("-inf")
    high: float = float("inf")
    slack: float = 1e-6

    def holds(self, value: Value, within: float = 0.0) -> bool:
        """Whether a value is this word, or lies between low and high, give or take `within` or the rounding."""
        if isinstance(value, str) or self.word is not None:
            return value == self.word
        slack = max(within, self.slack)
        return self.low - slack <= value <= self.high + slack


@lru_cache(maxsize=512)
def quantity(text: str) -> Quantity:
    """A figure as written: ``2 in``, ``4.4 degrees``, ``10 %``, ``at most 1/32 in``, ``2 in to 4 in``, or a word.

    What is written with decimals is held to half of its last place; anything else exactly.
    """
    low, between, high = text.partition(" to ")
    if between and (first := _number(low)) and (last := _number(high)):
        return Quantity(None, first[0], last[0])
    for prefix in ("at most ", "at least "):
        if text.startswith(prefix) and (bound := _number(text.removeprefix(prefix))):
            return Quantity(None, high=bound[0]) if prefix == "at most " else Quantity(None, low=bound[0])
    number = _number(text)
    return Quantity(None, number[0], number[0], slack=number[1]) if number else Quantity(text)


def _number(text: str) -> tuple[float, float] | None:
    """The number and its rounding, or None when it is a word."""
    plain = _NUMBER.fullmatch(text)
    if plain:
        size = UNITS[plain[3]]
        return float(plain[1]) * size, _rounding(plain[2], size)
    length, value_mm = _LENGTH.fullmatch(text), parse_length(text)
    if length is None or value_mm is None:
        return None
    return value_mm, _rounding(length[1], UNIT_MM[cast(Unit, length[2])])


def _rounding(decimals: str | None, size: float) -> float:
    return 0.5000001 * size * 10.0 ** -len(decimals) if decimals else 1e-6


def lines_resting(folder: Path) -> tuple[frozenset[str], ...]:
    """For each line of the rules and settings in a folder that names what it rests on, the keys it names.

    Raises:
        FitError: when the rules or the settings are not right.
    """
    named = (found.word for found in references(read_rules(folder)) if found.points_to == "source")
    settings = (setting.source for setting in read_settings(folder).values.values())
    return tuple(frozenset(source_keys(line)) for line in (*named, *settings))


class CheckSource(Entry):
    """A source of figures that no rule rests on: measured bodies, or another program's arithmetic."""

    kind: Literal["data", "library", "published"]
    title: Prose
    seen: Prose


class Figure(Entry):
    """One figure: what it is, theirs, ours, and how near ours must come where the written digits do not say it."""

    what: Title
    theirs: str
    ours: str
    within: str | None = None

    @model_validator(mode="after")
    def _comparable(self) -> Figure:
        if self.within is not None and quantity(self.within).word is not None:
            raise ValueError(f"“{self.within}” is no size to be within")
        if (quantity(self.theirs).word is None) != (quantity(self.ours).word is None):
            raise ValueError(f"“{self.theirs}” and “{self.ours}” cannot be compared")
        return self

    def says(self, value: Value) -> bool:
        """Whether a value worked out afresh is what the table gives as ours."""
        return quantity(self.ours).holds(value)


class OutsideCheck(Entry):
    """One check; `differs` says why where ours is not as theirs."""

    title: Title
    group: Id
    source: str
    how: Prose
    needs: str | None = None
    figures: tuple[Figure, ...]
    differs: Prose | None = None

    @property
    def source_keys(self) -> tuple[str, ...]:
        """The keys of the sources named."""
        return source_keys(self.source)


class OutsideChecks(Entry):
    """The whole table."""

    sources: dict[Id, CheckSource]
    checks: dict[Id, OutsideCheck]


def read_checks(folder: Path, known: Mapping[str, Source]) -> OutsideChecks:
    """The table of a folder of rules.

    Args:
        folder: the folder of rules.
        known: the sources of its rule base, which the checks may name besides the table's own.

    Raises:
        FitError: with every mistake, file and line.
    """
    file = read_yaml(folder / CHECKS_FILE, f"{folder.name}/{CHECKS_FILE}")
    try:
        table = TypeAdapter(OutsideChecks).validate_json(json.dumps(file.data))
    except ValidationError as error:
        raise FitError(
            Mistake(
                file.at(wrong["loc"]),
                f"{'.'.join(map(str, wrong['loc']))}: {wrong['msg']}.",
                "Put it right.",
                code="not-as-wanted",
            )
            for wrong in error.errors(include_url=False)
        ) from None
    mistakes = list(_unknown_sources(table, {*known, *table.sources}, file))
    if mistakes:
        raise FitError(mistakes)
    return table


def _unknown_sources(table: OutsideChecks, known: set[str], file: YamlFile) -> Iterator[Mistake]:
    for name, check in table.checks.items():
        for key in check.source_keys:
            if key not in known:
                where = file.at(("checks", name, "source"))
                yield Mistake(where, f"There is no source '{key}'.", nearest(key, known), code="no-such-source")
