"""``diagnose settings`` and ``diagnose list``: what is a maker's own over all her cases."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from diagnose.cli import options as o
from diagnose.cli.printing import show
from diagnose.errors import FitError

if TYPE_CHECKING:
    from diagnose.model.settings import Settings

__all__ = ["list_", "settings"]

ChangesArgument = Annotated[
    list[str] | None, typer.Argument(metavar="[NAME=VALUE ...]", help="As unit=cm or ruler=1mm; NAME= drops yours.")
]
AllOption = Annotated[bool, typer.Option("--all", help="Show every setting, not the main ones alone.")]
WordsArgument = Annotated[
    list[str] | None, typer.Argument(metavar="[FOLDER] [WORD ...]", help="A folder; words that a case must have.")
]
MAIN = ("target-gap", "allowance-seam", "dead-band", "reopen-miss")


def settings(changes: ChangesArgument = None, all_: AllOption = False, json: o.Json = False) -> None:
    """Show or change your standing settings; a case, then a command, may still say otherwise."""
    from diagnose.casework.own.changing_settings import change_standing
    from diagnose.model.standing import settings_file, standing, under_standing
    from diagnose.places import bundled_rules
    from diagnose.rulebase.reading.settings_file import read_settings
    from diagnose.sheets.words.parts import Said, table

    usual = read_settings(bundled_rules())
    kept = change_standing(changes, usual) if changes else standing()
    now = under_standing(usual.in_unit(kept.unit or "in"), kept)
    shown = {*MAIN, "ruler-inch" if now.unit == "in" else "ruler-metric", *kept.values}
    names = [name for name in now.values if all_ or name in shown]
    rows = [
        ("unit", kept.unit or "in", _whose(kept.unit), "what lengths without a unit are in"),
        ("paper", kept.paper or "a4", _whose(kept.paper), "what patterns are printed on"),
        *((name, _shown(now, name), _whose(kept.values.get(name)), now.values[name].title) for name in names),
    ]
    said: list[Said] = [
        *table(("setting", "value", "", "what it is"), rows),
        "",
        f"Kept in: {settings_file()}",
    ]
    show(said, {"settings": _as_data(now, kept.unit or "in", kept.paper or "a4"), "yours": kept.to_json(),
                "file": str(settings_file())}, json)  # fmt: skip


def _whose(value: object) -> str:
    return "usual" if value is None else "yours"


def _shown(settings: Settings, name: str) -> str:
    from diagnose.units import both

    one = settings.values[name]
    return both(one.value, settings.unit) if one.is_length else f"{one.value:g}"


def _as_data(settings: Settings, unit: str, paper: str) -> dict[str, Any]:
    values = {f"{name}_mm" if one.is_length else name: one.value for name, one in settings.values.items()}
    return {"unit": unit, "paper": paper, **values}


def list_(words: WordsArgument = None, json: o.Json = False) -> None:
    """List the cases under a folder: wearer, garment, last try-on, what is next; words pick those that have them."""
    from diagnose.casework.glance import glances_under
    from diagnose.sheets.words.parts import Said, table, wrapped

    told = list(words or [])
    if told and "/" in told[0] and not Path(told[0]).is_dir():
        raise FitError.of(
            told[0], "There is no such folder.", "Name the folder that your cases lie in.", code="no-such-folder"
        )
    folder = Path(told.pop(0)) if told and Path(told[0]).is_dir() else Path(".")
    found = [one for one in glances_under(folder) if one.has(" ".join(told))]
    rows = [(one.folder, one.wearer, one.garment, one.date, one.next) for one in found if not one.trouble]
    said: list[Said] = [*table(("case", "wearer", "garment", "last", "next"), rows)] if rows else []
    for one in found:
        if one.trouble:
            said += ["", *wrapped(one.trouble, f"{one.folder}: ", "  ")]
    if not found:
        start = "There is no case here. Start one with: diagnose new CASE --pattern FILE"
        said = ["No case here has all these words." if told else start]
    data = [
        {"case": str(folder / one.folder), "wearer": one.wearer, "garment": one.garment, "date": one.date,
         "versions": one.versions, "tryons": one.tryons, "next": one.next, "trouble": one.trouble}
        for one in found
    ]  # fmt: skip
    show(said, {"cases": data}, json)
