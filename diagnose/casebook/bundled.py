"""Bundled cases of invented wearers: a pattern, and rounds of answers with what a fitter expects of each."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

import yaml
from msgspec import Struct

from diagnose.errors import FitError
from diagnose.pattern.brought import load_pattern
from diagnose.pattern.outline import Pattern
from diagnose.places import bundled_cases

__all__ = ["BundledCase", "BundledRound", "bundled_case"]


class BundledRound(Struct, frozen=True):
    """The answers of one try-on, and what is expected of them."""

    answers: Mapping[str, Any]
    expect: Mapping[str, Any]


class BundledCase(Struct, frozen=True):
    """An invented wearer's case, as it stands in ``cases/NAME.yaml``."""

    title: str
    story: str
    pattern: Pattern
    about: Mapping[str, Any]
    rounds: tuple[BundledRound, ...]


def bundled_case(name: str) -> BundledCase:
    """The bundled case of that name.

    Raises:
        FitError: when there is none.
    """
    path = bundled_cases() / f"{name}.yaml"
    if not path.is_file():
        known = ", ".join(sorted(p.stem for p in bundled_cases().glob("*.yaml")))
        raise FitError.of(name, "There is no bundled case of this name.", f"There are: {known}.", code="no-such-case")
    return _read(path)


def _read(path: Path) -> BundledCase:
    raw = yaml.safe_load(path.read_text(encoding="utf-8"))
    about = {key: raw[key] for key in ("garment", "target", "wearer", "unit") if key in raw}
    rounds = tuple(BundledRound(round_["answers"], round_.get("expect", {})) for round_ in raw["rounds"])
    return BundledCase(
        raw["title"], raw["story"].strip(), load_pattern(path.parent / raw["pattern"]), about=about, rounds=rounds
    )
