"""A case being begun: the pattern file as she brought it, what she has said of it since, and what is understood so far.

All of it lies on disk in a folder of its own beside her cases until the case is started, so that nothing that she has
pointed right is lost. What she says of a drawing is kept as the labels that a labels file would say.
"""

from __future__ import annotations

import secrets
import shutil
from collections.abc import Callable, Mapping, Sequence
from contextlib import suppress
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

from msgspec import Struct
from msgspec.structs import replace

from diagnose import casebook
from diagnose.casebook import Case, Photograph
from diagnose.casebook.case_reading import check_about
from diagnose.casebook.jsonfile import json_text, read_object
from diagnose.casebook.safely import refusal, write_bytes, write_text
from diagnose.casework.glance import BEGUN_PREFIX, TOLD
from diagnose.casework.parcel import unpacked
from diagnose.casework.pattern_in import photograph_of, photographed, terms_for, with_told
from diagnose.casework.working import usual_base
from diagnose.errors import FitError, Mistake, one_line
from diagnose.pattern.brought import Understood, bring, bring_sketch, file_bytes
from diagnose.pattern.brought.bringing import DRAWINGS, TABLES
from diagnose.pattern.brought.photo import PHOTOGRAPHS
from diagnose.pattern.brought.understood.labels import read_labels
from diagnose.pattern.measure import bounds
from diagnose.pattern.outline import Pattern
from diagnose.units import Unit

if TYPE_CHECKING:
    from diagnose.pattern.brought.photo.photographs import Photographed

__all__ = [
    "Begun", "Seen", "about", "begin", "change", "drop", "open_begun", "photograph", "start", "taken_back",
    "understood",
]  # fmt: skip

STORED = (".json",)
LONGEST_ID = 40
PDF = b"%PDF"
MOST_BEGUN, MOST_BYTES = 50, 40_000_000
MOST_BACK = 200
"""So many things said can be taken back."""
WHERE = "what you said"
FORMS = "Bring a drawing (.svg, .dxf), a table (.csv), a stored pattern (.json), or photographs of it beside the card."


class Begun(Struct, frozen=True):
    """A case being begun.

    Attributes:
        folder: where it lies.
        case: what the case is to be called.
        files: the names of the pattern file, or of the photographs.
        unit: of lengths written without one.
        labels: what she has said of the pattern.
        garment, wearer, target: as in a try-on.
        before: what she had said before each thing that she said, with the word for that; the last can be taken back.
        ruler: what the rule of the card measures as it was printed; empty where it is true.
    """

    folder: Path
    case: str
    files: tuple[str, ...]
    unit: Unit
    labels: Mapping[str, Any]
    garment: Mapping[str, Any]
    wearer: Mapping[str, Any]
    target: Any
    before: tuple[tuple[str, Mapping[str, Any]], ...] = ()
    ruler: str = ""

    @property
    def id(self) -> str:
        """By which it is opened."""
        return self.folder.name.removeprefix(BEGUN_PREFIX)

    @property
    def is_photographed(self) -> bool:
        """Whether it was read from photographs."""
        return self.files[0].endswith(PHOTOGRAPHS)

    @property
    def is_laid_out(self) -> bool:
        """Whether its pieces stand in the order in which they lie: a table, and a stored pattern, say their own."""
        return self.files[0].endswith((*DRAWINGS, *PHOTOGRAPHS))


class Seen(Struct, frozen=True):
    """What is shown of a pattern file so far.

    Attributes:
        pattern: the pattern, or the pieces alone where it is not sound yet; None where not even they could be read.
        sound: whether it could be stored as it is.
        said: what was presumed.
        wrong: what must be put right first.
        unit_mm: how many mm a unit of the drawing stands for.
        numbers: of each piece by its name, the outline it was drawn as.
        why: of each seam by its name, why it is thought to be sewn.
        low_mm: the height of the lowest point, from which levels are told.
    """

    pattern: Pattern | None
    sound: bool
    said: tuple[str, ...] = ()
    wrong: tuple[Mistake, ...] = ()
    unit_mm: float = 1.0
    numbers: Mapping[str, str] = {}
    why: Mapping[str, str] = {}
    low_mm: float = 0.0


def begin(
    root: Path, case: str, files: Sequence[tuple[str, bytes]], unit: Unit, ruler: str = ""
) -> Begun | Case:  # fmt: skip
    """Begin a case with a pattern file, or photographs; a parcel of a whole case is that case at once.

    Args:
        root: the folder of her cases.
        case: what it is to be called.
        files: each with its name, whose ending says the form, and its bytes.
        unit: of lengths written without one.
        ruler: what the rule of the card in photographs measures, where it was not printed true.

    Raises:
        FitError: when the name is none or taken, the form is unknown, or it can't be written.
    """
    name = _free_name(root, case)
    endings = [Path(file).suffix.lower() for file, _ in files]
    if endings == [".zip"]:
        return unpacked(files[0][1], root / name, one_line(files[0][0], 80))
    known_photos = all(ending in PHOTOGRAPHS for ending in endings)
    known = known_photos or (len(endings) == 1 and endings[0] in (*DRAWINGS, *TABLES, *STORED))
    if not known:
        what = f"“{one_line(', '.join(file for file, _ in files), 60)}” is no form of pattern that can be read."
        raise FitError.of("the file", what, FORMS, code="unknown-form")
    if any(data.startswith(PDF) for _, data in files):
        what = "It is a PDF inside, whatever it is called."
        raise FitError.of("the file", what, "Save the drawing itself as plain SVG or DXF.", code="unknown-form")
    if sum(len(data) for _, data in files) > MOST_BYTES:
        do = "Send fewer photographs, or smaller ones." if known_photos else "Leave out what is no pattern."
        raise FitError.of("the file", "It is larger than 40 MB.", do, code="too-large")
    _checked_count(root)
    folder = root / f"{BEGUN_PREFIX}{secrets.token_hex(6)}"
    try:
        folder.mkdir()
    except OSError as error:
        raise refusal(folder, error) from None
    names = tuple(f"pattern-{n}{ending}" if n > 1 else f"pattern{ending}" for n, ending in enumerate(endings, 1))
    for own, (_, data) in zip(names, files, strict=True):
        write_bytes(folder / own, data)
    return _kept(Begun(folder, name, names, unit=unit, labels={}, garment={}, wearer={}, target=None, ruler=ruler))


def _free_name(root: Path, case: str) -> str:
    name = one_line(case, 80).strip(" .")
    if not name:
        raise FitError.of(
            "the name",
            "The case has no name.",
            "Call it by wearer and garment, like Wren, blue corset.",
            code="no-name",
        )
    if any(c in "/\\:\0" for c in name):
        raise FitError.of("the name", "A name can't hold / \\ or :", "Give another.", code="bad-name")
    if (root / name).exists():
        raise FitError.of("the name", f"There is a case “{name}” already.", "Give another name.", code="case-exists")
    return name


def _checked_count(root: Path) -> None:
    """Refuses to begin more than can be overlooked: none is thrown away unasked.

    Raises:
        FitError: when so many are begun and not started.
    """
    if len([*root.glob(f"{BEGUN_PREFIX}*")]) >= MOST_BEGUN:
        what = f"{MOST_BEGUN} cases are begun and not started yet."
        raise FitError.of("the file", what, "Start some of them, or give them up, first.", code="too-many")


def open_begun(root: Path, id_: str) -> Begun | None:
    """What was begun under that id; None when there is none (any more)."""
    folder = root / f"{BEGUN_PREFIX}{id_}"
    if len(id_) > LONGEST_ID or not (id_.isascii() and id_.isalnum()) or not (folder / TOLD).is_file():
        return None
    raw = read_object(folder / TOLD, TOLD)
    return Begun(
        folder, str(raw["case"]), tuple(raw["files"]), unit=raw["unit"], labels=raw["labels"], garment=raw["garment"],
        wearer=raw["wearer"],
        target=raw["target"], before=tuple((str(said), labels) for said, labels in raw.get("before", ())),
        ruler=str(raw.get("ruler", "")),
    )  # fmt: skip


def change(begun: Begun, edit: Callable[[dict[str, Any]], None], said: str = "") -> Begun:
    """What was begun with its labels changed, if what is then said fits the pattern; kept.

    Args:
        begun: what was begun.
        edit: changes the labels.
        said: the word for what is said, by which it is named when it is to be taken back.

    Raises:
        FitError: when a label is none, or fits nothing; nothing is changed then.
    """
    labels = _copied(begun.labels)
    edit(labels)
    if labels == begun.labels:
        return begun
    changed = replace(begun, labels=labels, before=(*begun.before, (said, begun.labels))[-MOST_BACK:])
    _understood(changed)
    return _kept(changed)


def taken_back(begun: Begun) -> Begun:
    """What was begun without the last thing that she said of the pattern; kept.

    Raises:
        FitError: when nothing is left to be taken back.
    """
    if not begun.before:
        raise FitError.of("", "There is nothing more to take back.", "Go on, or give this up.", code="nothing-picked")
    *before, (_, labels) = begun.before
    return _kept(replace(begun, labels=labels, before=tuple(before)))


def about(begun: Begun, garment: Mapping[str, Any], wearer: Mapping[str, Any], target: Any) -> Begun:
    """What was begun with what is told of garment, wearer and target; kept.

    Raises:
        FitError: with every length that is none, or is not to be believed.
    """
    check_about(garment, target, [wearer], unit=begun.unit, vocabulary=usual_base(begun.unit).vocabulary)
    return _kept(replace(begun, garment=dict(garment), wearer=dict(wearer), target=target))


def _copied(value: Any) -> Any:
    if isinstance(value, Mapping):
        return {key: _copied(one) for key, one in value.items()}
    return [_copied(one) for one in value] if isinstance(value, list | tuple) else value


def _kept(begun: Begun) -> Begun:
    raw = {
        "format": "fit-begun", "version": 1, "case": begun.case, "files": list(begun.files), "unit": begun.unit,
        "labels": begun.labels, "before": [list(one) for one in begun.before],
        "garment": begun.garment, "wearer": begun.wearer, "target": begun.target,
        "ruler": begun.ruler,
    }  # fmt: skip
    write_text(begun.folder / TOLD, json_text(raw, TOLD))
    return begun


def understood(begun: Begun) -> Seen:
    """What is understood of the pattern so far; never refused: what is wrong is said beside the drawing."""
    try:
        found = with_told(_understood(begun), begun.garment, begun.unit)
    except FitError as error:
        return Seen(None, False, wrong=error.mistakes)
    pieces = tuple(one.piece for one in found.proposal.pieces)
    seams = tuple(one.seam for one in found.seams)
    rough = Pattern(found.proposal.name, found.proposal.closure, pieces, seams=seams, extra=found.proposal.extra)
    return Seen(
        found.pattern or rough, not found.asks and found.pattern is not None, found.said,
        wrong=tuple(one for one in found.asks if one.code != "labels-wanted"), unit_mm=found.scale_mm,
        numbers={one.piece.name: str(one.outline.number) for one in found.proposal.pieces},
        why={one.seam.name: one.why for one in found.seams}, low_mm=min(bounds(piece).bottom for piece in pieces),
    )  # fmt: skip


def _understood(begun: Begun) -> Understood:
    labels = read_labels(begun.labels, WHERE, begun.unit)
    known = {"wearer": begun.wearer or None, "target": begun.target}
    # She says what she measures in: a table that names its unit is read in that, and a page without a size is no larger
    # for it. Only what names no unit and has no pixels, as DXF, is taken to be drawn in hers.
    is_told = begun.files[0].endswith(".dxf")
    terms = terms_for(begun.unit, usual_base(begun.unit).settings, known, is_told=is_told, sure=labels.sure)
    if begun.is_photographed:
        return bring_sketch(_photographed(begun).sketch, terms, labels)
    return bring(file_bytes(begun.folder / begun.files[0]), begun.files[0], terms, labels=labels)


def _photographed(begun: Begun) -> Photographed:
    return _read_photographs(begun.folder, begun.files, begun.ruler, unit=begun.unit)


@lru_cache(maxsize=4)
def _read_photographs(folder: Path, files: tuple[str, ...], ruler: str, unit: Unit) -> Photographed:
    """What was read from photographs, which takes seconds; the files are never changed."""
    return photographed([folder / name for name in files], ruler or None, unit)


def photograph(begun: Begun, pattern: Pattern) -> Photograph | None:
    """The straightened picture that lies under the pattern; None where it was not read from photographs."""
    return photograph_of(_photographed(begun), pattern) if begun.is_photographed else None


def start(begun: Begun, root: Path) -> Case:
    """Start the case; what was begun is done with.

    Raises:
        FitError: when the pattern is not sound yet, or the case can't be written.
    """
    found = understood(begun)
    if found.pattern is None or not found.sound:
        raise FitError(found.wrong)
    # A file that told no name was named here.
    is_named = found.pattern.name != Path(begun.files[0]).stem
    pattern = found.pattern if is_named else replace(found.pattern, name=begun.case)
    case = casebook.create(
        root / _free_name(root, begun.case), pattern, garment=begun.garment, target=begun.target,
        wearer=begun.wearer, unit=begun.unit, photograph=photograph(begun, found.pattern),
    )  # fmt: skip
    drop(begun)
    return case


def drop(begun: Begun) -> None:
    """Give it up."""
    with suppress(OSError):
        shutil.rmtree(begun.folder)
