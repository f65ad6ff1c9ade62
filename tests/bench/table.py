"""One table for all measurements: what, ours, against what, the ratio, the aim, and whether it is met."""

from __future__ import annotations

from collections.abc import Iterable
from typing import NamedTuple

__all__ = ["Row", "at_least", "at_most", "plain", "show_section"]

WIDE = 124


class Row(NamedTuple):
    """A measurement in words; `met` is None where there is no aim."""

    what: str
    ours: str
    against: str = ""
    ratio: str = ""
    aim: str = ""
    met: bool | None = None


def at_most(what: str, ours: str, against: str, ratio: float, aim: float, unit: str = " x") -> Row:
    """A row whose ratio (or figure) must be no more than the aim."""
    return Row(what, ours, against, f"{ratio:.2f}{unit}", f"<= {aim:g}{unit}", ratio <= aim)


def at_least(what: str, ours: str, against: str, ratio: float, aim: float, unit: str = " x") -> Row:
    """A row whose ratio (or figure) must be no less than the aim."""
    return Row(what, ours, against, f"{ratio:.2f}{unit}", f">= {aim:g}{unit}", ratio >= aim)


def plain(what: str, ours: str, against: str = "", ratio: str = "") -> Row:
    """A row without an aim: a point of a curve, or a figure to know."""
    return Row(what, ours, against, ratio)


def show_section(title: str, rows: Iterable[Row]) -> int:
    """Print the rows as they come; how many aims were missed."""
    print(f"\n{title}\n{'-' * WIDE}", flush=True)
    missed = 0
    for row in rows:
        met = {None: "", True: "yes", False: "NO"}[row.met]
        missed += row.met is False
        print(f"{row.what:50}{row.ours:>16}  {row.against:28}{row.ratio:>11}{row.aim:>11}{met:>5}", flush=True)
    return missed
