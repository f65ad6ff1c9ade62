"""Settings: what the trade disagrees on, with a default and its reason in ``rules/settings.yaml``."""

from __future__ import annotations

from collections.abc import Mapping
from math import inf, isfinite

from msgspec import Struct
from msgspec.structs import replace

from diagnose.errors import FitError, nearest, quoted
from diagnose.model.believable import outside
from diagnose.units import Unit, read_length

__all__ = ["Setting", "Settings"]


class Setting(Struct, frozen=True, array_like=True):
    """One default: its value (mm for lengths, else a plain number), why it is so, and what it may be changed to.

    `low` and `high` are the ends of what is believable; without them it is 0 or more.
    """

    title: str
    value: float
    is_length: bool
    because: str
    source: str
    low: float = 0.0
    high: float | None = None


class Settings(Struct, frozen=True):
    """All settings by name, and the unit the maker works in."""

    values: Mapping[str, Setting]
    unit: Unit = "in"

    def mm(self, name: str) -> float:
        """The value of a setting, in mm (plain for those that are no lengths)."""
        return self.values[name].value

    @property
    def ruler_mm(self) -> float:
        """The smallest division of the maker's ruler."""
        return self.mm("ruler-inch" if self.unit == "in" else "ruler-metric")

    def in_unit(self, unit: Unit) -> Settings:
        """The settings for a maker who works in another unit."""
        return replace(self, unit=unit)

    def read(self, name: str, text: str, where: str) -> float:
        """A value for a setting, as it is told: a length or a plain number.

        Raises:
            FitError: when there is no setting of that name, or this is no value for it.
        """
        setting = self.values.get(name)
        if setting is None:
            raise _unknown(name, self.values)
        value = read_length(text, where, self.unit) if setting.is_length else _number(text, where)
        measure = "length" if setting.is_length else "number"
        wrong = outside(value, setting.low, setting.high, measure=measure, unit=self.unit)
        if wrong is not None:
            raise FitError.of(where, wrong[0], "Give another.", code="out-of-range")
        return value

    def with_value(self, name: str, value: float) -> Settings:
        """The settings with one changed.

        Raises:
            FitError: when there is no setting of that name.
        """
        if name not in self.values:
            raise _unknown(name, self.values)
        changed = replace(self.values[name], value=value)
        return replace(self, values={**self.values, name: changed})


def _unknown(name: str, known: Mapping[str, Setting]) -> FitError:
    return FitError.of("settings", f"There is no setting '{name}'.", nearest(name, known), code="no-such-setting")


def _number(text: str, where: str) -> float:
    try:
        number = float(text)
    except ValueError:
        number = inf
    if not isfinite(number):
        raise FitError.of(where, f"{quoted(text)} is not a number.", "Give a plain number.", code="not-a-number")
    return number
