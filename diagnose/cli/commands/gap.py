"""``diagnose gap`` and ``diagnose takein``: the lacing gap against its target, and the back take-in."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import typer

from diagnose.cli import options as o
from diagnose.cli.printing import show, talk

if TYPE_CHECKING:
    from diagnose.gap.reading import GapReading
    from diagnose.model.settings import Settings

__all__ = ["gap", "takein"]


def gap(
    case: o.MaybeCase = None, top: o.Top = None, underbust: o.Underbust = None, waist: o.Waist = None,
    hip: o.Hip = None, bottom: o.Bottom = None, target: o.Target = None, lap: o.Lap = None, seams: o.Seams = None,
    meets: o.Meets = False, unit: o.UnitOption = None, set_: o.Set = None, json: o.Json = False,
) -> None:  # fmt: skip
    """Check the lacing gap against its target."""
    from diagnose.sheets.gap_json import gap_to_json, share_to_json
    from diagnose.sheets.words.gap_text import gap_lines

    gaps = {"top": top, "underbust": underbust, "waist": waist, "hip": hip, "bottom": bottom}
    reading, seams, settings = _read(
        case, gaps, target, lap=lap, seams=seams, meets=meets, unit=unit, changes=set_, as_json=json
    )
    from diagnose.gap.shares import share

    data = gap_to_json(reading)
    for name, station in reading.stations.items():
        data["stations"][name]["change"] = share_to_json(share(station.change_mm, seams, settings.ruler_mm))
    data["settled"] = reading.settled(settings.mm("dead-band"))
    show(gap_lines(reading, seams, settings), {"gap": data}, json)


def takein(
    case: o.MaybeCase = None, top: o.Top = None, underbust: o.Underbust = None, waist: o.Waist = None,
    hip: o.Hip = None, bottom: o.Bottom = None, target: o.Target = None, lap: o.Lap = None, seams: o.Seams = None,
    meets: o.Meets = False, unit: o.UnitOption = None, set_: o.Set = None, json: o.Json = False,
) -> None:  # fmt: skip
    """Suggest the back take-in: how much, where, straight or tapered, and how to draw it."""
    from diagnose.gap.takein import suggest_take_in
    from diagnose.sheets.gap_json import gap_to_json, share_to_json
    from diagnose.sheets.words.takein_words import take_in_lines, take_in_words

    gaps = {"top": top, "underbust": underbust, "waist": waist, "hip": hip, "bottom": bottom}
    reading, seams, settings = _read(
        case, gaps, target, lap=lap, seams=seams, meets=meets, unit=unit, changes=set_, as_json=json
    )
    found = take_in_words(suggest_take_in(reading, seams, settings), settings)
    data = {
        "place": found.place, "form": found.form, "at_least": found.at_least, "capped": found.capped,
        "amount_mm": {name: share_to_json(part) for name, part in found.shares.items()}, "why": found.why,
        "steps": list(found.steps), "gap": gap_to_json(reading),
    }  # fmt: skip
    show(take_in_lines(found, settings), {"take_in": data}, json)


def _read(
    case: Path | None, gaps: dict[str, str | None], target: list[str] | None, lap: list[str] | None,
    seams: int | None, meets: bool, unit: str | None, changes: list[str] | None, as_json: bool,
) -> tuple[GapReading, int | None, Settings]:  # fmt: skip
    """The gap that the options (and the case's last try-on, for what they leave out) give."""
    from diagnose.gap.reading import read_gap
    from diagnose.model.standing import under_standing
    from diagnose.model.tryon_reading import NO_WORDS, read_tryon
    from diagnose.places import bundled_rules
    from diagnose.rulebase.reading.settings_file import read_settings

    raw = o.raw_readings(gaps, target, lap, seams=seams, meets=meets)
    if case is None:
        chosen = o.unit_of(unit)
        settings = under_standing(read_settings(bundled_rules(), chosen))
    else:
        from diagnose import casebook
        from diagnose.casework.working import readings_of_case, settings_of

        opened = casebook.open_case(case)
        chosen = o.unit_of(unit, opened.unit)
        raw = readings_of_case(opened, raw)
        settings = settings_of(opened, under_standing(read_settings(bundled_rules(), chosen)))
    settings = o.settings_with(settings, changes)
    tryon = read_tryon(raw, NO_WORDS, chosen)
    if not tryon.gap:
        talk("Nothing can be said without a reading. Missing: the gap at the top, the waist and the bottom.")
        talk("Give at least one, like: diagnose gap --top '1 in' --waist '1 1/2 in' --bottom '2 in'")
        if as_json:
            show((), {"gap": None, "missing": ["gap.top", "gap.waist", "gap.bottom"]}, as_json)
        raise typer.Exit(1)
    return read_gap(tryon, settings), tryon.garment.seams_per_half, settings
