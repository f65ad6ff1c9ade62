"""Options that several commands share, and what they come to."""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from diagnose.errors import FitError, Mistake, gathered, quoted
from diagnose.files import bytes_of
from diagnose.units import UNITS, Unit

if TYPE_CHECKING:
    from diagnose.model.settings import Settings

__all__ = [
    "AllowOption", "Bottom", "CaseArgument", "Hip", "Json", "Labels", "Lap", "Length", "MaybeCase", "Meets",
    "PaperOption", "ReplaceOption", "Seams", "Set", "Sure", "Target", "Top", "Underbust", "UnitOption", "Waist",
    "all_named", "check_apart", "check_belongs", "check_stored_form", "json_argument", "named",
    "paper_of", "raw_readings", "settings_with", "targets_of", "unit_of", "unit_told", "whole",
]  # fmt: skip

LARGEST_JSON = 20_000_000


def _folder_named(text: str) -> Path:
    """The folder of a case, as it is named on the command line.

    Raises:
        FitError: when nothing is named.
    """
    if not text.strip():
        raise FitError.of(
            "CASE",
            "It is empty, and names no folder.",
            "Name the case's folder; a full stop is this one.",
            code="no-name",
        )
    return Path(text)


def whole(where: str, least: int = 0, most: int | None = None) -> Callable[[str], int]:
    """What reads a whole number told for an option or an argument.

    Args:
        where: the option.
        least: the least it may be; most: the most, where there is one.
    """

    def read(text: str | int) -> int:
        number = int(text) if re.fullmatch(r"[+-]?[0-9]{1,9}", str(text).strip()) else None
        bounds = f"from {least} to {most}" if most is not None else f"from {least} on"
        if number is None or number < least or (most is not None and number > most):
            raise FitError.of(
                where, f"{quoted(str(text))} is no number {bounds}.", "Give a whole number.", code="not-a-number"
            )
        return number

    return read


CaseArgument = Annotated[Path, typer.Argument(metavar="CASE", parser=_folder_named, help="A case folder.")]
MaybeCase = Annotated[Path | None, typer.Argument(metavar="[CASE]", parser=_folder_named, help="A case folder.")]
Json = Annotated[bool, typer.Option("--json", help="Give one JSON object instead of text.")]
UnitOption = Annotated[str | None, typer.Option("--unit", help="Unit of lengths written without one: in, mm or cm.")]
Set = Annotated[list[str] | None, typer.Option("--set", metavar="NAME=VALUE", help="Change a setting for this once.")]
_gap = "Gap at the {}, whole, edge to edge."
Top = Annotated[str | None, typer.Option("--top", metavar="LENGTH", help=_gap.format("top edge"))]
Underbust = Annotated[str | None, typer.Option("--underbust", metavar="LENGTH", help=_gap.format("underbust"))]
Waist = Annotated[str | None, typer.Option("--waist", metavar="LENGTH", help=_gap.format("waist"))]
Hip = Annotated[str | None, typer.Option("--hip", metavar="LENGTH", help=_gap.format("hip"))]
Bottom = Annotated[str | None, typer.Option("--bottom", metavar="LENGTH", help=_gap.format("bottom edge"))]
Target = Annotated[
    list[str] | None,
    typer.Option("--target", metavar="LENGTH", help="Target gap; for one station alone: waist=2 in. May be repeated."),
]
Lap = Annotated[
    list[str] | None,
    typer.Option("--lap", metavar="STATION=LENGTH", help="How far closed edges would lap over at a station."),
]
Seams = Annotated[
    int | None,
    typer.Option(
        "--seams", metavar="N", parser=whole("--seams", 0, 20), help="Seams in one half; 0 for a one-piece half."
    ),
]
Labels = Annotated[Path | None, typer.Option("--labels", help="For SVG or DXF: a file that names pieces and edges.")]
Length = Annotated[
    str | None,
    typer.Option("--length", metavar="NAME=LENGTH", help="For SVG or DXF: a known length, to check the scale."),
]
PaperOption = Annotated[str | None, typer.Option("--paper", help="For .pdf: a4, letter or one-sheet.")]
AllowOption = Annotated[
    list[str] | None,
    typer.Option("--allow", metavar="ROLE=LENGTH", help="For .pdf, .dxf: allowance of an edge: seam, top, bottom …"),
]
ReplaceOption = Annotated[
    bool, typer.Option("--replace", help="Replace the file even where it is not as this program wrote it.")
]
Sure = Annotated[
    list[str] | None, typer.Option("--sure", metavar="WORD", help="What was beyond belief, and is so nevertheless.")
]
Meets = Annotated[bool, typer.Option("--meets", help="The edges are meant to meet.")]


def unit_of(text: str | None, usual: str | None = None) -> Unit:
    """The unit named, or the usual one: the maker's own setting, unless another is told.

    Raises:
        FitError: when it is none of in, mm, cm.
    """
    from diagnose.model.standing import standing

    told = text or usual or standing().unit or "in"
    for unit in UNITS:
        if unit == told:
            return unit
    raise FitError.of("--unit", f"“{told}” is not a unit.", "Give in, mm or cm.", code="not-a-unit")


def unit_told(by_option: str | None, by_file: Any, about: Path | None) -> Unit:
    """The unit that the file about the garment names, or the option, or her setting.

    Raises:
        FitError: when it is none of in, mm, cm, or the two say different ones.
    """
    if by_file is None:
        return unit_of(by_option)
    if not isinstance(by_file, str) or by_file not in UNITS:
        where = f"{about.name if about else ''}: unit"
        raise FitError.of(where, f"{quoted(by_file)} is not a unit.", "Give in, mm or cm.", code="not-a-unit")
    if by_option is not None and by_option != by_file:
        what = f"It says {by_option}, and {about.name if about else 'the file'} says {by_file}."
        raise FitError.of("--unit", what, "Leave the option out, or put the file right.", code="contradiction")
    return unit_of(by_file)


def paper_of(text: str | None) -> str:
    """The paper named, or the maker's own setting, or A4."""
    from diagnose.model.standing import standing

    return text or standing().paper or "a4"


def check_belongs(out: Path, paper: str | None, allow: list[str] | None) -> None:
    """See that options told belong to the form that is written.

    Raises:
        FitError: when one does not.
    """
    ending = out.suffix.lower()
    mistakes = []
    if paper is not None and ending != ".pdf":
        mistakes.append(
            Mistake(
                "--paper",
                f"It belongs to a .pdf, and {out.name} is none.",
                "Leave the option out.",
                code="option-out-of-place",
            )
        )
    if allow and ending not in (".pdf", ".dxf"):
        what = f"{out.name} bears no cutting line."
        mistakes.append(
            Mistake(
                "--allow", what, "Leave the option out, or end the name in .pdf or .dxf.", code="option-out-of-place"
            )
        )
    if mistakes:
        raise FitError(mistakes)


def check_apart(what: str, told: Mapping[str, object]) -> None:
    """See that none of these options is told: they do not go with something else that was.

    Args:
        what: the other, as in “They don't go with a case.”
        told: values by option.

    Raises:
        FitError: with each that is told.
    """
    given = [name for name, value in told.items() if value not in (None, False, [], ())]
    if given:
        one = len(given) == 1
        says = f"It does not go with {what}." if one else f"They do not go with {what}."
        raise FitError.of(", ".join(given), says, "Leave it out." if one else "Leave them out.", code="options-apart")


def check_stored_form(out: Path) -> None:
    """See that a pattern is not written in the stored form under the name of another.

    Raises:
        FitError: when the ending is that of another form.
    """
    if out.suffix.lower() in (".svg", ".dxf", ".pdf", ".csv", ".tsv", ".html", ".png", ".jpg"):
        what = f"What is written is the stored form, and “{out.suffix}” is another."
        do = "End the name in .json; diagnose pattern writes the other forms."
        raise FitError.of("--out", what, do, code="unknown-form")


def raw_readings(
    gaps: Mapping[str, str | None], targets: list[str] | None, laps: list[str] | None, seams: int | None, meets: bool
) -> dict[str, Any]:
    """The try-on, as it stands in a batch line, that bare numbers on the command line make."""
    raw: dict[str, Any] = {"id": "readings", "gap": {name: text for name, text in gaps.items() if text is not None}}
    if targets:
        raw["target"] = targets_of(targets)
    if laps:
        raw["overlap"] = dict(named(lap, "--lap") for lap in laps)
    raw["garment"] = {"seams_per_half": seams} if seams is not None else {}
    if meets:
        raw["garment"]["meant_to_meet"] = True
    return raw


def targets_of(targets: list[str]) -> dict[str, str]:
    """Targets by station: one length for all, stations named apart."""
    from diagnose.model.stations import STATIONS

    everywhere = [text for text in targets if "=" not in text]
    apart = dict(named(text, "--target") for text in targets if "=" in text)
    return {**(dict.fromkeys(STATIONS, everywhere[-1]) if everywhere else {}), **apart}


def named(text: str, option: str) -> tuple[str, str]:
    """Name and value of an option written as NAME=VALUE."""
    name, equals, value = text.partition("=")
    if not equals:
        raise FitError.of(option, f"“{text}” names nothing.", f"Write it like {option} 'NAME=VALUE'.", code="no-name")
    return name.strip(), value.strip()


def all_named(told: Mapping[str, list[str] | None]) -> list[dict[str, str]]:
    """For each of several options its values by name.

    Raises:
        FitError: with every one that names nothing.
    """
    mistakes: list[Mistake] = []
    found: list[dict[str, str]] = []
    for option, texts in told.items():
        values: dict[str, str] = {}
        for text in texts or []:
            with gathered(mistakes):
                name, value = named(text, option)
                values[name] = value
        found.append(values)
    if mistakes:
        raise FitError(mistakes)
    return found


def settings_with(settings: Settings, changes: list[str] | None) -> Settings:
    """The settings, with those changed that ``--set NAME=VALUE`` names.

    Raises:
        FitError: with every change that cannot be made.
    """
    mistakes: list[Mistake] = []
    for text in changes or []:
        name, equals, value = text.partition("=")
        with gathered(mistakes):
            if not equals:
                raise FitError.of(
                    "--set", f"“{text}” gives no value.", "Write it like --set 'dead-band=1/8 in'.", code="no-value"
                )
            settings = settings.with_value(name, settings.read(name, value, f"--set {name}"))
    if mistakes:
        raise FitError(mistakes)
    return settings


def json_argument(text: str, option: str) -> Any:
    """Decoded JSON given on the command line, as text or as the name of a file that holds it.

    Raises:
        FitError: when it is neither.
    """
    source = text
    where = option
    if not text.lstrip().startswith(("{", "[")):
        where = f"{option} {Path(text).name}"
        try:
            source = bytes_of(Path(text), LARGEST_JSON).decode("utf-8-sig")
        except (OSError, UnicodeDecodeError):
            raise FitError.of(
                where, "There is no such file of JSON.", "Give JSON text or a file's path.", code="no-such-file"
            ) from None
    try:
        return json.loads(source)
    except (ValueError, RecursionError) as error:
        line = f" (line {error.lineno})" if isinstance(error, json.JSONDecodeError) else ""
        raise FitError.of(
            where, f"This is not JSON{line}.", "Look for a missing comma, quote or bracket.", code="not-json"
        ) from None
