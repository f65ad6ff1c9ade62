"""A case at a glance: what stands on its card, read without its patterns being drawn or checked."""

from __future__ import annotations

import os
from collections.abc import Mapping
from contextlib import suppress
from datetime import UTC, datetime
from pathlib import Path
from typing import Any
from unicodedata import combining, normalize

from msgspec import Struct
from msgspec.structs import replace

from diagnose.casebook import layout, open_case
from diagnose.casebook.jsonfile import read_object, read_text, table
from diagnose.casebook.sealing import seal_mistakes, unsealed
from diagnose.errors import FitError, one_line, shown_path
from diagnose.units import UNITS, Unit, short

__all__ = [
    "BEGUN_PREFIX", "TOLD", "Glance", "NotStarted", "as_told", "begun_in", "cases_in", "glance_at", "glances_under",
]  # fmt: skip

MOST_CASES = 2000
BEGUN_PREFIX, TOLD = ".begun-", "told.json"
"""How the folder of a case that is being begun is named, and the file in it that says what has been told."""
MOST_TROUBLE = 500
DEEPEST = 3
"""How many folders down cases are looked for."""


class NotStarted(Struct, frozen=True):
    """A case that was begun and is not started: by what it is opened, what it is to be called, and when it was last
    put right."""

    id: str
    name: str
    date: str


class Glance(Struct, frozen=True):
    """What a card says.

    Attributes:
        folder: its name, by which it is opened; name: of the case.
        garment: in a word or two.
        date: of the last try-on, or of the start.
        versions, tryons: how many there are; tried: the version last tried on.
        gap_mm: the gap last read, by station; target_mm: aimed at; unit: the maker's.
        under_way: a try-on is being answered; how many answers are kept.
        stop: the last try-on ended at a stop sign.
        to_draw: how many steps of the last plan's first round the newest pattern may still want.
        trouble: why it can't be read, or which file is not what was stored; empty when all is sound.
        wearer: her girths last taken, as given, in a word or two.
        touched: when a file of it was last written, in seconds; what orders the cases of one day.
    """

    folder: str
    name: str
    garment: str = ""
    date: str = ""
    versions: int = 0
    tryons: int = 0
    tried: int = 0
    gap_mm: Mapping[str, float] = {}
    target_mm: Mapping[str, float] = {}
    unit: Unit = "in"
    under_way: int = 0
    stop: bool = False
    to_draw: int = 0
    trouble: str = ""
    wearer: str = ""
    touched: float = 0.0

    @property
    def gap_said(self) -> str:
        """The gap last read, in a line."""
        return ", ".join(f"{name} {short(mm, self.unit)}" for name, mm in self.gap_mm.items())

    @property
    def next(self) -> str:
        """What is to be done next, in a word for the card."""
        if self.trouble:
            return "Look at its files"
        if self.under_way:
            return "Go on with the try-on"
        if self.stop and self.tried == self.versions:
            return "Stopped: see whom the sheet names"
        if not self.tryons:
            return "Sew the toile, lace it on, try it on"
        if self.versions > self.tried:
            return "Sew the change, try it on again"
        return "Draw the plan into the pattern" if self.to_draw else "Read the plan"

    def has(self, words: str) -> bool:
        """Whether every word is found on the card."""
        text = f"{self.name} {self.folder} {self.garment} {self.wearer} {self.date} {self.next}"
        return all(word in _plain(text) for word in _plain(words).split())


def cases_in(folder: Path) -> tuple[Glance, ...]:
    """The cases that stand in a folder, the one last worked on first.

    Raises:
        FitError: when the folder can't be read.
    """
    try:
        with os.scandir(folder) as entries:
            names = [entry.name for entry in entries if not entry.name.startswith(".") and _is_case(Path(entry.path))]
    except OSError as error:
        what = f"The folder can't be read ({error.strerror})."
        raise FitError.of(
            shown_path(folder), what, "Name the folder that your cases stand in.", code="unreadable"
        ) from None
    found = [glance_at(folder / name) for name in sorted(names)[:MOST_CASES]]
    return tuple(sorted(found, key=_last, reverse=True))


def _last(one: Glance) -> tuple[str, float]:
    return one.date, one.touched


def _touched(folder: Path) -> float:
    """When a file of a case was last written: each is written beside its place and moved there."""
    times = [0.0]
    for place in (folder, folder / layout.PATTERNS, folder / layout.TRYONS):
        with suppress(OSError):
            times.append(place.stat().st_mtime)
    return max(times)


def begun_in(folder: Path) -> tuple[NotStarted, ...]:
    """The cases that were begun in a folder and are not started, the one last put right first."""
    found: list[tuple[float, NotStarted]] = []
    for place in folder.glob(f"{BEGUN_PREFIX}*"):
        with suppress(FitError, OSError):  # one that can't be read can't be gone on with, and is in nobody's way
            name, when = read_object(place / TOLD, TOLD)["case"], (place / TOLD).stat().st_mtime
            date = datetime.fromtimestamp(when, tz=UTC).astimezone().date().isoformat()
            found.append((when, NotStarted(place.name.removeprefix(BEGUN_PREFIX), str(name), date)))
    return tuple(one for _, one in sorted(found, key=lambda row: -row[0]))


def glances_under(folder: Path, depth: int = DEEPEST) -> tuple[Glance, ...]:
    """The cases in a folder and in the folders in it, each named by its way there, the one last worked on first.

    Raises:
        FitError: when the folder can't be read.
    """
    if _is_case(folder):
        return (replace(glance_at(folder), folder="."),)
    found = list(cases_in(folder))
    known = {one.folder for one in found}
    for path in sorted(folder.iterdir()) if depth else ():
        if path.name in known or path.name.startswith(".") or path.is_symlink() or not path.is_dir():
            continue
        with suppress(FitError):  # a folder inside that can't be read has no case to show
            found += [replace(one, folder=f"{path.name}/{one.folder}") for one in glances_under(path, depth - 1)]
    return tuple(sorted(found, key=_last, reverse=True))


def _is_case(path: Path) -> bool:
    with suppress(OSError):
        return (path / layout.CASE_NAME).is_file() or layout.is_headless(path)
    return False


def glance_at(folder: Path) -> Glance:
    """The card of one case; what can't be read of it is said on the card."""
    try:
        return _glance(folder)
    except FitError as error:
        return Glance(folder.name, one_line(folder.name, 80), trouble=_trouble(folder) or str(error.mistakes[0]))


def _unsound(folder: Path) -> str:
    """Which files are not what was stored and what is still sound, in a sentence or two; nothing when all is."""
    files = {name: unsealed(read_text(folder / name, name)) for name in layout.stored_in(folder)}
    return _trouble(folder) if any(seal_mistakes(files)) else ""


def _trouble(folder: Path) -> str:
    """What is said when the case is opened, without what to do about it."""
    try:
        open_case(folder)
    except FitError as error:
        told = (f"{one.where}: {one.what}" if one.where else one.what for one in error.mistakes)
        return one_line(" ".join(told), MOST_TROUBLE)
    return ""


def _glance(folder: Path) -> Glance:
    about = read_object(folder / layout.CASE_NAME, layout.CASE_NAME)
    versions = layout.last_number(folder / layout.PATTERNS)
    tryons = layout.last_number(folder / layout.TRYONS)
    last = _read(folder, layout.answers_of(tryons)) if tryons else {}
    plan = _read(folder, layout.plan_of(tryons)) if tryons else {}
    rows = {name: table(row) for name, row in table(table(plan.get("gap")).get("stations")).items()}
    rounds = _list(plan.get("plan"))
    tried = last.get("pattern_version")
    return Glance(
        folder.name,
        one_line(str(about.get("name") or folder.name), 80),
        _garment(table(about.get("garment"))),
        date=one_line(str(last.get("date") or about.get("created") or ""), 20),
        versions=versions,
        tryons=tryons,
        tried=tried if isinstance(tried, int) else 0,
        gap_mm={name: row["gap_mm"] for name, row in rows.items() if isinstance(row.get("gap_mm"), int | float)},
        target_mm={
            name: row["target_mm"] for name, row in rows.items() if isinstance(row.get("target_mm"), int | float)
        },
        unit=about["unit"] if about.get("unit") in UNITS else "in",
        under_way=len(_list(_read(folder, layout.draft_of(tryons + 1)).get("replies"))),
        stop=plan.get("stop") is not None,
        to_draw=_to_draw(table(rounds[0])) if rounds else 0,
        trouble=_unsound(folder),
        wearer=_wearer(about),
        touched=_touched(folder),
    )


def _read(folder: Path, where: str) -> dict[str, Any]:
    return read_object(folder / where, where) if (folder / where).is_file() else {}


def _to_draw(first: Mapping[str, Any]) -> int:
    """How many steps of a round are drawn."""
    return len([step for step in _list(first.get("steps")) if table(step).get("operations")])


def _list(value: object) -> list[Any]:
    return value if isinstance(value, list) else []


def _wearer(about: Mapping[str, Any]) -> str:
    """Her bust and waist as last taken."""
    taken = _list(about.get("measurings"))
    girths = table(table(taken[-1]).get("wearer")) if taken else {}
    unit: Unit = about["unit"] if about.get("unit") in UNITS else "in"
    told = {name: as_told(girths[name], unit) for name in ("bust", "waist") if girths.get(name)}
    return one_line(", ".join(f"{name} {girth}" for name, girth in told.items()), 40)


def _plain(text: str) -> str:
    """The text as it is sought: small letters, and no accents."""
    return "".join(c for c in normalize("NFKD", text.casefold()) if not combining(c))


def as_told(told: object, unit: Unit) -> str:
    """A length in her words, with its unit where she left it to the case; a number is millimetres."""
    if isinstance(told, int | float):
        return short(float(told), unit)
    return f"{told} {unit}" if str(told)[-1:].isnumeric() else str(told)


def _garment(garment: Mapping[str, Any]) -> str:
    """The garment in a few words, of what is said of it."""
    closure = {"back": "laced behind", "front": "laced in front", "both": "laced behind and in front"}
    words = (garment.get("style"), closure.get(str(garment.get("closure"))))
    return one_line(", ".join(str(word) for word in words if word), 60)
