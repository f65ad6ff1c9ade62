"""A case as it stands: frozen views of what its folder holds."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from msgspec import Struct

from diagnose.casebook.jsonfile import rows_of
from diagnose.errors import FitError
from diagnose.model.case_files import Measuring, Skipped
from diagnose.pattern.outline import Pattern
from diagnose.units import Unit

__all__ = ["Case", "Done", "PatternVersion", "StoredTryOn"]


class Done(Struct, frozen=True):
    """What was done to get a version: operations as data, plan steps by id, of which try-on's plan, notes.

    `back` marks a version that only makes the one it is made from the newest again. `otherwise` are the steps as they
    were drawn, where another way than the plan's first was taken: each as in the plan, with its ``way``.
    """

    operations: tuple[Mapping[str, Any], ...] = ()
    steps: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    tryon: int | None = None
    back: bool = False
    otherwise: tuple[Mapping[str, Any], ...] = ()


class PatternVersion(Struct, frozen=True):
    """One version of the pattern; `made_from` is None for one that was brought in from outside."""

    number: int
    made_from: int | None
    date: str
    done: Done
    pattern: Pattern


class StoredTryOn(Struct, frozen=True):
    """One try-on: the answers as given, the version tried on, the plan it came to, and the steps not done."""

    number: int
    date: str
    pattern_version: int
    answers: Mapping[str, Any]
    plan: Mapping[str, Any] | None
    skipped: tuple[Skipped, ...] = ()

    @property
    def step_ids(self) -> tuple[str, ...]:
        """The ids of the plan's steps, in order."""
        return tuple(str(step.get("id")) for step in self.steps)

    @property
    def steps(self) -> tuple[Mapping[str, Any], ...]:
        """The plan's steps, all rounds, in order."""
        return tuple(step for round_ in self._rounds for step in rows_of(round_.get("steps")))

    @property
    def first_round(self) -> tuple[Mapping[str, Any], ...]:
        """The steps to be done before the next try-on."""
        return tuple(rows_of(self._rounds[0].get("steps"))) if self._rounds else ()

    @property
    def causes(self) -> list[dict[str, Any]]:
        """The causes that its diagnosis found, as stored."""
        return rows_of((self.plan or {}).get("causes"))

    @property
    def _rounds(self) -> list[dict[str, Any]]:
        return rows_of((self.plan or {}).get("plan"))


class Case(Struct, frozen=True):
    """One wearer, one garment: pattern versions and try-ons, oldest first."""

    folder: Path
    name: str
    created: str
    unit: Unit
    garment: Mapping[str, Any]
    target: Any
    measurings: tuple[Measuring, ...]
    settings: Mapping[str, float]
    versions: tuple[PatternVersion, ...]
    tryons: tuple[StoredTryOn, ...]

    @property
    def newest(self) -> PatternVersion:
        """The version that the next try-on is of."""
        return self.versions[-1]

    @property
    def pattern(self) -> Pattern:
        """The newest pattern."""
        return self.newest.pattern

    @property
    def wearer(self) -> Mapping[str, Any]:
        """The girths last taken, as given; empty when none were."""
        return self.measurings[-1].wearer if self.measurings else {}

    def version(self, number: int) -> PatternVersion:
        """The version of that number.

        Raises:
            FitError: when there is none.
        """
        if not 1 <= number <= len(self.versions):
            raise FitError.of(
                "version",
                f"There is no version {number}.",
                _there_are(len(self.versions), "version"),
                code="no-such-version",
            )
        return self.versions[number - 1]

    def tryon(self, number: int) -> StoredTryOn:
        """The try-on of that number.

        Raises:
            FitError: when there is none.
        """
        if not 1 <= number <= len(self.tryons):
            known = _there_are(len(self.tryons), "try-on")
            raise FitError.of("try-on", f"There is no try-on {number}.", known, code="no-such-tryon")
        return self.tryons[number - 1]


def _there_are(count: int, what: str) -> str:
    """Which numbers there are of a thing."""
    return f"There is {what} 1 alone." if count == 1 else f"There are 1 to {count}." if count else "None is stored yet."
