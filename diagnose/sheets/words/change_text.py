"""What an alteration did to the paper, in words."""

from __future__ import annotations

from collections.abc import Iterator

from diagnose.pattern.report import Change, ChangeReport
from diagnose.units import Unit, both

__all__ = ["change_lines"]

NOTICED_MM = 0.3
WALKED_MM = 25.4 / 16


def change_lines(report: ChangeReport, unit: Unit = "in") -> Iterator[str]:
    """Girths, channels, slits and seams that changed, a line each."""
    for name in report.added:
        yield f"New piece: {name}"
    for name in report.removed:
        yield f"Piece no longer there: {name}"
    for station, change in report.girths.items():
        if _moved(change):
            yield f"Girth of the whole at the {station}: {_from_to(change, unit)}"
    for piece, changes in report.pieces.items():
        for name, change in changes.channels.items():
            if _moved(change):
                yield f"Channel {name} of {piece}: {_from_to(change, unit)}"
        for name, change in changes.slits.items():
            if _moved(change):
                yield f"Slit {name} of {piece}: {_from_to(change, unit)}"
    for seam, change in report.seams.items():
        if change.after is not None and abs(change.after) > WALKED_MM:
            yield f"Seam {seam}: its edges differ by {both(abs(change.after), unit)}. Walk and correct it."


def _moved(change: Change) -> bool:
    return change.before is not None and change.after is not None and abs(change.after - change.before) > NOTICED_MM


def _from_to(change: Change, unit: Unit) -> str:
    before, after = change.before or 0.0, change.after or 0.0
    way = "shorter" if after < before else "longer"
    return f"{both(before, unit)} to {both(after, unit)}, {both(abs(after - before), unit)} {way}"
