"""A case being begun: the pattern file as she brought it, what she has said of it since, and what is understood so far.

All of it lies on disk in a folder of its own beside her cases until the case is started, so that nothing that she has
pointed right is lost. What she says of a drawing is kept as the labels that a labels file would say.
"""

from __future__ import annotations

import secrets
import shutil
from collections.abc import Callable, Mapping
from contextlib import suppress
from pathlib import Path
from typing import Any

from msgspec import Struct
from msgspec.structs import replace

from diagnose import casebook
from diagnose.casebook import Case
from diagnose.casebook.jsonfile import json_text, read_object
from diagnose.casebook.safely import refusal, write_bytes, write_text
from diagnose.casework.parcel import unpacked
from diagnose.errors import FitError, Mistake, one_line
from diagnose.files import bytes_of
from diagnose.pattern.brought import Terms, Understood, bring
from diagnose.pattern.brought.drawings.sketch import LARGEST_FILE
from diagnose.pattern.brought.understood.labels import Labels, read_labels
from diagnose.pattern.measure import bounds
from diagnose.pattern.outline import Pattern
from diagnose.units import Unit

__all__ = ["PREFIX", "Begun", "Seen", "begin", "change", "drop", "open_begun", "start", "understood"]

PREFIX = ".begun-"
TOLD = "told.json"
DRAWINGS = (".svg", ".dxf")
TABLES = (".csv", ".tsv", ".json")
MOST_BEGUN = 50


class Begun(Struct, frozen=True):
    """A case being begun.

    Attributes:
        folder: where it lies.
        case: what the case is to be called.
        file: the name of the pattern file.
        unit: of lengths written without one.
        labels: what she has said of the drawing.
        garment, wearer, target: as in a try-on.
    """

    folder: Path
    case: str
    file: str
    unit: Unit
    labels: Mapping[str, Any]
    garment: Mapping[str, Any]
    wearer: Mapping[str, Any]
    target: Any

    @property
    def id(self) -> str:
        """By which it is opened."""
        return self.folder.name.removeprefix(PREFIX)

    @property
    def is_drawing(self) -> bool:
        """Whether its names and roles were presumed, and may be said otherwise."""
        return self.file.lower().endswith(DRAWINGS)


class Seen(Struct, frozen=True):
    """What is shown of a pattern file so far.

    Attributes:
        pattern: the pattern, or the pieces alone where it is not sound yet; None where not even they could be read.
        sound: whether it could be stored as it is.
        said: what was presumed.
        wrong: what must be put right first.
        unit_mm: how many mm a unit of the drawing stands for.
        numbers: of each piece by its name, the outline it was drawn as; empty where nothing was presumed.
        low_mm: the height of the lowest point, from which levels are told.
    """

    pattern: Pattern | None
    sound: bool
    said: tuple[str, ...] = ()
    wrong: tuple[Mistake, ...] = ()
    unit_mm: float = 1.0
    numbers: Mapping[str, str] = {}
    low_mm: float = 0.0


def begin(root: Path, case: str, file: str, data: bytes, unit: Unit) -> Begun | Case:
    """Begin a case with a pattern file; a parcel of a whole case is that case at once.

    Args:
        root: the folder of her cases.
        case: what it is to be called.
        file: the file's name, whose ending says the form.
        data: its bytes.
        unit: of lengths written without one.

    Raises:
        FitError: when the name is none or taken, the form is unknown, or it can't be written.
    """
    name = _free_name(root, case)
    ending = Path(file).suffix.lower()
    if ending == ".zip":
        return unpacked(data, root / name, one_line(file, 80))
    if ending not in (*DRAWINGS, *TABLES):
        what = f"“{one_line(ending or file, 40)}” is no form of pattern that can be read."
        raise FitError.of(
            "the file", what, "Bring a drawing (.svg, .dxf), a table of points (.csv) or a stored pattern."
        )
    if len(data) > LARGEST_FILE:
        raise FitError.of(
            one_line(file, 80), "The file is larger than 20 MB.", "Leave out pictures and what is no pattern."
        )
    _sweep(root)
    folder = root / f"{PREFIX}{secrets.token_hex(6)}"
    try:
        folder.mkdir()
    except OSError as error:
        raise refusal(folder, error) from None
    begun = Begun(folder, name, f"pattern{ending}", unit, {}, {}, {}, None)
    write_bytes(folder / begun.file, data)
    return _kept(begun)


def _free_name(root: Path, case: str) -> str:
    name = one_line(case, 80).strip(" .")
    if not name:
        raise FitError.of("the name", "The case has no name.", "Call it by wearer and garment, like Wren, blue corset.")
    if any(c in "/\\:\0" for c in name):
        raise FitError.of("the name", "A name can't hold / \\ or :", "Give another.")
    if (root / name).exists():
        raise FitError.of("the name", f"There is a case “{name}” already.", "Give another name.")
    return name


def _sweep(root: Path) -> None:
    """Keep what was begun within bounds: the oldest goes."""
    begun = sorted(root.glob(f"{PREFIX}*"), key=lambda path: path.stat().st_mtime)
    for old in begun[: max(0, len(begun) - MOST_BEGUN + 1)]:
        shutil.rmtree(old, ignore_errors=True)


def open_begun(root: Path, id_: str) -> Begun | None:
    """What was begun under that id; None when there is none (any more)."""
    folder = root / f"{PREFIX}{id_}"
    if not (id_.isascii() and id_.isalnum()) or not (folder / TOLD).is_file():
        return None
    raw = read_object(folder / TOLD, TOLD)
    return Begun(
        folder, str(raw["case"]), str(raw["file"]), raw["unit"], raw["labels"], raw["garment"], raw["wearer"],
        raw["target"],
    )  # fmt: skip


def change(begun: Begun, edit: Callable[[dict[str, Any]], None]) -> Begun:
    """What was begun with its labels changed, if what is then said can be read; kept.

    Raises:
        FitError: when a label is none; nothing is changed then.
    """
    labels = _copied(begun.labels)
    edit(labels)
    read_labels(labels, "what you said", begun.unit)
    _brought(begun, read_labels(labels, "what you said", begun.unit))
    return _kept(replace(begun, labels=labels))


def about(begun: Begun, garment: Mapping[str, Any], wearer: Mapping[str, Any], target: Any) -> Begun:
    """What was begun with what is told of garment, wearer and target; kept.

    Raises:
        FitError: with every length that is none.
    """
    from diagnose.casebook.reading import check_about

    check_about(garment, target, [wearer], begun.unit)
    return _kept(replace(begun, garment=dict(garment), wearer=dict(wearer), target=target))


def _copied(value: Any) -> Any:
    if isinstance(value, Mapping):
        return {key: _copied(one) for key, one in value.items()}
    return [_copied(one) for one in value] if isinstance(value, list | tuple) else value


def _kept(begun: Begun) -> Begun:
    raw = {
        "format": "fit-begun", "version": 1, "case": begun.case, "file": begun.file, "unit": begun.unit,
        "labels": begun.labels, "garment": begun.garment, "wearer": begun.wearer, "target": begun.target,
    }  # fmt: skip
    write_text(begun.folder / TOLD, json_text(raw, TOLD))
    return begun


def understood(begun: Begun) -> Seen:
    """What is understood of the pattern so far; never refused: what is wrong is said beside the drawing."""
    try:
        return _seen(begun)
    except FitError as error:
        return Seen(None, False, wrong=error.mistakes)


def _seen(begun: Begun) -> Seen:
    found = _brought(begun, read_labels(begun.labels, "what you said", begun.unit))
    pieces = tuple(one.piece for one in found.proposal.pieces)
    seams = tuple(one.seam for one in found.seams)
    rough = Pattern(found.proposal.name, found.proposal.closure, pieces, seams, found.proposal.extra)
    wrong = tuple(one for one in found.asks if one.code != "labels-wanted")
    return Seen(
        found.pattern or rough, not found.asks, found.said, wrong, found.scale_mm,
        {one.piece.name: str(one.outline.number) for one in found.proposal.pieces},
        min(bounds(piece).bottom for piece in pieces),
    )  # fmt: skip


def _brought(begun: Begun, labels: Labels) -> Understood:
    data = bytes_of(begun.folder / begun.file, LARGEST_FILE)
    return bring(data, begun.file, Terms(begun.unit, is_told=True), labels)


def start(begun: Begun, root: Path) -> Case:
    """Start the case; what was begun is done with.

    Raises:
        FitError: when the pattern is not sound yet, or the case can't be written.
    """
    found = understood(begun)
    if found.pattern is None or not found.sound:
        raise FitError(found.wrong)
    case = casebook.create(
        root / _free_name(root, begun.case), found.pattern, garment=begun.garment, target=begun.target,
        wearer=begun.wearer, unit=begun.unit,
    )  # fmt: skip
    drop(begun)
    return case


def drop(begun: Begun) -> None:
    """Give it up."""
    with suppress(OSError):
        shutil.rmtree(begun.folder)
