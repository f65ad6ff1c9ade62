"""Sizes of paper, and how pages of a large sheet are cut and overlapped. Millimetres."""

from __future__ import annotations

from collections.abc import Mapping

from msgspec import Struct

from diagnose.errors import FitError, nearest
from diagnose.units import INCH_MM

__all__ = ["LABEL_MM", "MARGIN_MM", "MOST_SIDE_MM", "ONE_SHEET", "OVERLAP_MM", "PAPERS", "Paper", "named_paper"]

SQUARES_MM = (("2 in", 50.8), ("5 cm", 50.0))
"""The squares that show whether a print is at true size."""

ONE_SHEET = "one-sheet"
MARGIN_MM = 10.0
"""Left clear on every side of a page: what home printers can't print on is less."""

LABEL_MM = 8.0
"""A band along the bottom of a page, for its name."""

OVERLAP_MM = 10.0

MOST_SIDE_MM = 14_400 / 72 * INCH_MM
"""The longest side of a page that readers of PDF take without a unit of its own."""


class Paper(Struct, frozen=True):
    """A size of paper, held upright."""

    name: str
    width_mm: float
    height_mm: float

    @property
    def window(self) -> tuple[float, float]:
        """Width and height of what a page shows of the sheet."""
        return self.width_mm - 2.0 * MARGIN_MM, self.height_mm - 2.0 * MARGIN_MM - LABEL_MM

    @property
    def step(self) -> tuple[float, float]:
        """How far one page's window lies from the next."""
        wide, high = self.window
        return wide - OVERLAP_MM, high - OVERLAP_MM


PAPERS: Mapping[str, Paper] = {"a4": Paper("A4", 210.0, 297.0), "letter": Paper("Letter", 215.9, 279.4)}


def named_paper(name: str) -> Paper:
    """The paper of that name.

    Raises:
        FitError: when it is not known.
    """
    if name not in PAPERS:
        raise FitError.of(
            "paper", f"There is no paper '{name}'.", nearest(name, (*PAPERS, ONE_SHEET)), code="no-such-paper"
        )
    return PAPERS[name]
