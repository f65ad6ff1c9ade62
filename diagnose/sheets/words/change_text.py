"""What an alteration did to the paper, in words."""

from __future__ import annotations

from collections.abc import Iterator

from diagnose.pattern.in_words import bone_number, bone_numbers, piece_title, seam_words, slit_title
from diagnose.pattern.outline import Pattern
from diagnose.pattern.report import Change, ChangeReport
from diagnose.units import INCH_MM, Unit, both

__all__ = ["change_lines"]

NOTICED_MM = 0.3
WALKED_MM = INCH_MM / 16
GIRTH_WAYS = "less", "more"
LENGTH_WAYS = "shorter", "longer"


def change_lines(report: ChangeReport, before: Pattern, after: Pattern, unit: Unit = "in") -> Iterator[str]:
    """Girths, channels, slits and seams that changed, a line each, called as on her sheets.

    Args:
        report: what changed.
        before: the pattern as it was.
        after: as it is.
        unit: the maker's unit.
    """
    bones = bone_numbers(before, after)
    for name in report.added:
        yield f"New piece: {piece_title(name)}"
    for name in report.removed:
        yield f"Piece no longer there: {piece_title(name)}"
    for station, change in report.girths.items():
        if _moved(change):
            yield f"Girth of the whole at the {station}: {_from_to(change, GIRTH_WAYS, unit)}"
    stay = set(before.names) & set(after.names)
    for piece, changes in report.pieces.items():
        named = {f"Channel {bone_number(bones, piece, name)}": change for name, change in changes.channels.items()}
        named |= {slit_title(name).capitalize(): change for name, change in changes.slits.items()}
        for title, change in named.items():
            if _moved(change):
                yield f"{title} of the {piece_title(piece)}: {_from_to(change, LENGTH_WAYS, unit)}"
            elif piece in stay and change.after is None:
                yield f"{title} of the {piece_title(piece)}: taken out"
            elif piece in stay and change.before is None:
                yield f"{title} of the {piece_title(piece)}: new, {both(change.after or 0.0, unit)} long"
    for seam, change in report.seams.items():
        if change.after is not None and abs(change.after) > WALKED_MM:
            differ = both(abs(change.after), unit)
            yield f"{seam_words(after, seam)}: the edges differ by {differ}. Walk and correct it."


def _moved(change: Change) -> bool:
    return change.before is not None and change.after is not None and abs(change.after - change.before) > NOTICED_MM


def _from_to(change: Change, ways: tuple[str, str], unit: Unit) -> str:
    before, after = change.before or 0.0, change.after or 0.0
    way = ways[after > before]
    return f"{both(before, unit)} to {both(after, unit)}, {both(abs(after - before), unit)} {way}"
