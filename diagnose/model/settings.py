"""Settings: what the trade disagrees on, with a default and its reason in ``rules/settings.yaml``."""

from __future__ import annotations

from collections.abc import Mapping

from msgspec import Struct
from msgspec.structs import replace

from diagnose.errors import FitError, nearest
from diagnose.units import Unit

__all__ = ["Setting", "Settings"]


class Setting(Struct, frozen=True):
    """One default: its value (mm for lengths, else a plain number), and why it is so."""

    title: str
    value: float
    is_length: bool
    because: str
    source: str


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

    def with_value(self, name: str, value: float) -> Settings:
        """The settings with one changed.

        Raises:
            FitError: when there is no setting of that name.
        """
        if name not in self.values:
            raise FitError.of(
                "settings", f"There is no setting '{name}'.", nearest(name, self.values), code="no-such-setting"
            )
        changed = replace(self.values[name], value=value)
        return replace(self, values={**self.values, name: changed})
