"""Where the places of the figure are: from each view a spot, the way out of the body there, and how wide it is.

Centimetres, as in `diagnose.sheets.signs.figure`. A paired spot stands on both sides of the middle.
"""

from __future__ import annotations

from collections.abc import Mapping

from msgspec import Struct

from diagnose.pattern.outline import Point
from diagnose.rulebase.reading.entries import PicturePlace, PictureView
from diagnose.sheets.signs.figure import Dress

__all__ = ["Spot", "dress_for", "spot_of"]


class Spot(Struct, frozen=True):
    """A place: where, which way is out, half its width, whether it is paired, and which part of the figure to show."""

    x: float
    y: float
    out: tuple[float, float] = (1.0, 0.0)
    half: float = 3.0
    paired: bool = False
    shown: str = "middle"

    @property
    def at(self) -> Point:
        """The place as a point."""
        return Point(self.x, self.y)

    @property
    def outward(self) -> Point:
        """The way out as a vector of length one."""
        return Point(*self.out)


def _s(x: float, y: float, out: tuple[float, float] = (1.0, 0.0), half: float = 3.0, *, shown: str = "middle") -> Spot:
    return Spot(x, y, out, half=half, shown=shown)


def _two(
    x: float, y: float, out: tuple[float, float] = (1.0, 0.0), half: float = 3.0, *, shown: str = "middle"
) -> Spot:
    return Spot(x, y, out, half=half, paired=True, shown=shown)


UP, DOWN, LEFT, RIGHT = (0.0, 1.0), (0.0, -1.0), (-1.0, 0.0), (1.0, 0.0)
FRONT: Mapping[PicturePlace, Spot] = {
    "whole": _s(0, 2, UP, half=15), "head": _s(0, 49, UP, shown="head"), "chest": _s(0, 27, UP, shown="upper"),
    "shoulder": _two(12, 34, UP, shown="upper"), "strap": _two(9.8, 33, UP, shown="upper"),
    "sleeve": _two(18.4, 27, RIGHT, shown="upper"),
    "armpit-front": _two(12.6, 22.4, (0.55, 0.83), half=2, shown="upper"),
    "armpit": _two(14.6, 21.0, UP, half=2, shown="upper"), "top-edge": _two(6.4, 19.6, UP, half=4, shown="upper"),
    "bust": _two(6.6, 15.4, RIGHT, half=4, shown="upper"), "bust-point": _two(7.0, 15.6, shown="upper"),
    "side-bust": _two(11.8, 19.6, (0.35, 0.94), half=3, shown="upper"), "under-bust": _s(0, 10.6, half=12),
    "ribs": _two(11.4, 9.0, half=4), "waist": _s(0, 0, half=11), "belly": _two(4.6, -9.6, half=4),
    "hip-bone": _two(13.6, -8.6, (0.9, 0.3), half=2, shown="lower"),
    "hip": _two(14.6, -10.6, (0.9, 0.2), half=4, shown="lower"),
    "hem": _two(15.4, -13.4, (0.95, -0.3), half=5, shown="lower"),
    "front-hem": _s(0, -16.5, DOWN, half=5, shown="lower"),
    "lap": _two(9, -23, UP, half=5, shown="lower"), "limb": _two(9, -25, half=4, shown="lower"),
    "front-edge": _s(0, 1, half=16), "busk-top": _s(0, 16.0, UP, half=2, shown="upper"), "busk": _s(0, 1, half=16),
    "busk-foot": _s(0, -16.6, DOWN, half=2, shown="lower"), "front-point": _s(0, -15.2, DOWN, half=2, shown="lower"),
    "stomacher": _s(0, 4, UP, half=4), "side-seam": _two(12.6, 8, half=10), "panel": _two(6.6, 5.0, half=2.6),
    "bones": _two(7.8, 4, half=8), "bone-end": _two(8.2, 20.0, UP, half=2, shown="upper"),
    "tabs": _two(12.6, -8.6, (0.8, -0.6), half=4, shown="lower"),
    "tab-roots": _two(9.6, -2.0, UP, half=3, shown="lower"),
    "gore-tip": _two(5.6, 11.6, UP, half=2, shown="upper"), "gore": _two(11, -12.6, DOWN, half=3, shown="lower"),
    "waist-stay": _s(0, 0, half=11), "suspender": _two(9.6, -15, DOWN, half=4, shown="lower"),
}  # fmt: skip
BACK: Mapping[PicturePlace, Spot] = {
    "whole": _s(0, 2, UP, half=15), "shoulder": _two(12, 34, UP, shown="upper"),
    "strap": _two(9.8, 33, UP, shown="upper"), "armpit-back": _two(13.4, 21.4, (0.5, 0.86), half=2, shown="upper"),
    "armpit": _two(14.6, 21.0, UP, half=2, shown="upper"), "shoulder-blade": _two(6.8, 19.6, UP, half=3, shown="upper"),
    "top-edge": _two(8.0, 17.4, UP, half=4, shown="upper"), "under-bust": _s(0, 11, half=12),
    "ribs": _two(11, 9, half=4),
    "waist": _s(0, 0, half=11), "small-of-back": _s(0, -3.0, half=4), "hip": _two(14.6, -10, (0.9, 0.2), half=4),
    "seat": _two(9, -18, (0.8, -0.4), half=5, shown="lower"), "hem": _two(9, -12.4, DOWN, half=5),
    "lacing-edge": _two(1.6, 2, LEFT, half=14), "gap": _s(0, 2, UP, half=14), "side-seam": _two(12.6, 8, half=10),
    "panel": _two(7, 6, half=2.6), "bones": _two(3.1, 4, half=8),
    "bone-end": _two(3.1, 17.4, UP, half=2, shown="upper"),
    "tabs": _two(12, -8, (0.8, -0.6), half=4, shown="lower"), "tab-roots": _two(8.6, -2, UP, half=3, shown="lower"),
    "waist-stay": _s(0, 0, half=11), "gore": _two(10, -12.4, DOWN, half=3, shown="lower"),
    "limb": _two(9, -25, half=4, shown="lower"), "suspender": _two(9.6, -15, DOWN, half=4, shown="lower"),
}  # fmt: skip
SIDE: Mapping[PicturePlace, Spot] = {
    "whole": _s(0, 2, UP, half=12), "head": _s(0, 49, UP, shown="head"),
    "chest": _s(-8.2, 27, (-0.9, 0.4), shown="upper"), "shoulder": _s(1, 33.4, UP, shown="upper"),
    "strap": _s(1, 33.4, UP, shown="upper"), "sleeve": _s(0.6, 22, LEFT, shown="upper"),
    "armpit-front": _s(-3.6, 22.4, (-0.5, 0.86), half=2, shown="upper"),
    "armpit": _s(0.6, 18.6, UP, half=3, shown="upper"),
    "armpit-back": _s(4.8, 21.6, (0.6, 0.8), half=2, shown="upper"),
    "shoulder-blade": _s(10.2, 19.4, (0.9, 0.4), half=4, shown="upper"),
    "top-edge": _s(-11.4, 19.2, (-0.5, 0.86), half=3, shown="upper"),
    "bust": _s(-13.3, 18.0, LEFT, half=4, shown="upper"),
    "bust-point": _s(-13.2, 18.6, LEFT, half=2, shown="upper"), "side-bust": _s(-7.0, 19.4, UP, half=3, shown="upper"),
    "under-bust": _s(-10.4, 11.0, (-0.96, -0.3), half=3), "ribs": _s(-2, 9, LEFT, half=4), "waist": _s(-0.6, 0, half=7),
    "belly": _s(-9.8, -10, LEFT, half=5), "hip-bone": _s(-3.0, -8.4, LEFT, half=2, shown="lower"),
    "hip": _s(0.6, -7.4, half=4, shown="lower"), "seat": _s(11.6, -11.4, (0.95, -0.3), half=4, shown="lower"),
    "small-of-back": _s(6.9, 0.6, RIGHT, half=4), "hem": _s(-2, -13.8, DOWN, half=8, shown="lower"),
    "front-hem": _s(-9.6, -16.2, (-0.7, -0.7), half=4, shown="lower"),
    "lap": _s(-8.6, -19.4, UP, half=3, shown="lower"),
    "limb": _s(-0.6, -25, LEFT, half=4, shown="lower"), "front-edge": _s(-9.2, 2, LEFT, half=10),
    "busk-top": _s(-13.1, 17.4, LEFT, half=2, shown="upper"), "busk": _s(-8.6, -1, LEFT, half=8),
    "busk-foot": _s(-9.6, -16.0, DOWN, half=2, shown="lower"),
    "front-point": _s(-9.7, -12.0, DOWN, half=2, shown="lower"),
    "stomacher": _s(-10.4, 6, LEFT, half=6), "side-seam": _s(0.2, 4, half=12), "panel": _s(-3.2, 5, half=2.6),
    "bones": _s(-2.6, 0, half=9), "bone-end": _s(-3, 19.6, UP, half=2, shown="upper"),
    "tabs": _s(2.6, -9.6, DOWN, half=5, shown="lower"), "tab-roots": _s(1.4, -1.8, UP, half=4, shown="lower"),
    "gore-tip": _s(-0.6, -3.0, UP, half=2, shown="lower"), "gore": _s(2, -13, DOWN, half=3, shown="lower"),
    "waist-stay": _s(-0.6, 0, half=7), "suspender": _s(-3, -14.6, DOWN, half=4, shown="lower"),
}  # fmt: skip
SPOTS: Mapping[PictureView, Mapping[PicturePlace, Spot]] = {"front": FRONT, "back": BACK, "side": SIDE}
ONLY: Mapping[PicturePlace, Dress] = {
    "tabs": "stays", "tab-roots": "stays", "front-point": "stays", "stomacher": "stays", "suspender": "corset",
    "gore": "corset", "gore-tip": "corset", "sleeve": "bodice", "shoulder": "bodice", "strap": "bodice",
    "busk": "corset", "busk-top": "corset", "busk-foot": "corset",
}  # fmt: skip
"""Places that only one of the garments shows."""


def dress_for(place: PicturePlace, style: str | None) -> Dress:
    """Her own kind of garment, or the one that shows the place."""
    own: Dress = "stays" if style == "stays" else "bodice" if style == "bodice" else "corset"
    return ONLY.get(place, own)


OWN: Mapping[tuple[PictureView, PicturePlace, Dress], Spot] = {
    ("front", "top-edge", "stays"): _two(6.6, 18.4, UP, half=4, shown="upper"),
    ("front", "top-edge", "bodice"): _two(5.6, 22.6, UP, half=4, shown="upper"),
    ("front", "hem", "stays"): _two(15.6, -10.8, (0.8, -0.5), half=5, shown="lower"),
    ("front", "hem", "bodice"): _two(11.4, -2.8, (0.8, -0.5), half=5, shown="lower"),
    ("front", "bone-end", "bodice"): _two(7.2, 24.6, UP, half=2, shown="upper"),
    ("front", "front-hem", "bodice"): _s(0, -10.6, DOWN, half=5, shown="lower"),
    ("back", "top-edge", "stays"): _two(7.0, 23.4, UP, half=4, shown="upper"),
    ("back", "top-edge", "bodice"): _two(5.6, 32.2, UP, half=4, shown="upper"),
    ("back", "hem", "stays"): _two(8, -12.6, DOWN, half=4, shown="lower"),
    ("back", "hem", "bodice"): _two(7, -3.8, DOWN, half=4, shown="lower"),
    ("back", "bone-end", "stays"): _two(3.1, 23.8, UP, half=2, shown="upper"),
    ("back", "shoulder-blade", "stays"): _two(7.0, 23.4, UP, half=3, shown="upper"),
    ("side", "hem", "bodice"): _s(0.6, -2.6, DOWN, half=6, shown="lower"),
    ("side", "shoulder-blade", "stays"): _s(10.2, 24.0, (0.9, 0.4), half=4, shown="upper"),
    ("side", "seat", "bodice"): _s(8.0, -4.8, (0.95, -0.3), half=4),
    ("side", "seat", "stays"): _s(10.6, -12.0, (0.95, -0.3), half=4, shown="lower"),
    ("side", "top-edge", "bodice"): _s(-10.6, 23.2, (-0.5, 0.86), half=3, shown="upper"),
    ("side", "armpit", "stays"): _s(0.6, 19.0, UP, half=3, shown="upper"),
    ("side", "armpit", "bodice"): _s(1.0, 22.4, UP, half=3, shown="upper"),
}  # fmt: skip
"""Places that lie elsewhere on one of the garments."""


def spot_of(view: PictureView, place: PicturePlace, dress: Dress) -> Spot | None:
    """The place as seen from there on that garment; None where it cannot be seen."""
    return OWN.get((view, place, dress)) or SPOTS[view].get(place)
