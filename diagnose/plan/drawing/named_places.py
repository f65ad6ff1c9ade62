"""Where on any pattern the places lie that alterations speak of: seams by position, edges by landmark and share.

Names of pieces tell nothing; roles, seams and landmarks do. Widths are taken at the underbust (else the waist). Shares
are of the whole line of the top or the bottom edge of a half, from centre front to centre back; those named are
settings:

- seams: `side` stands nearest to the side (`side-at`); `front` are those before it, `back` those behind it (the side
  seam itself where there are none); `bust` is the front seam nearest to the landmark `bust-point`, else the one
  nearest to `bust-seam-at`; none where that stands too far off, as a side seam does; `belly` are the first two
  seams from centre front (the first where there are fewer than `belly-two-seams`).
- `underarm`: an edge named armhole; else from tab to tab, where straps are fixed; else the top of the panel with the
  landmark `underarm` (else of the panel at the side), and of its neighbour where the landmark is at the seam. Its
  peak is the landmark, else the lowest place, which is the one nearest to the waist.
- `front-top`: as high from centre front to the bust point, down to nothing at the front strap's tab, else half-way
  from bust point to underarm.
- `side-top`: from the bust point to the front strap's tab, else to the underarm; the peak half-way.
- `back-top`: from the back strap's tab, else the underarm, up to the middle of the rest, and as high from there to
  the lacing edge.
- `armhole-front`: from the front strap's tab to the underarm, else the last half of the way from bust point to
  underarm; the peak half-way.
- `front-hem`: the most at centre front, down to nothing at the first slit, else at `front-hem-to`.
- `side-hem`: from centre front to centre back, the peak at the side.
- `thigh-line`: from centre front to `thigh-to`, the peak at `thigh-at`.

What is found from a centre is not on a pattern that does not go on to it.
"""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise

from msgspec import Struct

from diagnose.pattern.geometry.blend import reach_for
from diagnose.pattern.geometry.hits import nearest
from diagnose.pattern.outline import Line, Piece, Point
from diagnose.plan.drawing.board import NotDrawnError
from diagnose.plan.drawing.edge_lines import EdgeLine, Stretch, edge_line
from diagnose.plan.drawing.half import Half, Join
from diagnose.units import INCH_MM

__all__ = [
    "NOT_TO_BACK", "NOT_TO_FRONT", "PLACES", "Place", "no_bust_seam", "place_named", "seams_named",
    "strap_tab", "underarm_s",
]  # fmt: skip

NOT_TO_FRONT = "The panel at centre front is not on this pattern. Draw it on that panel by hand."
NOT_TO_BACK = "The panel at centre back is not on this pattern. Draw it on that panel by hand."
NO_BUST = (
    "Neither the bust point nor the panel at centre front is on this pattern. Draw it by hand, on the panels"
    " beside the bust seam."
)
ONE_PIECE = "This half is cut in one piece: no seam runs over the bust."
NO_SEAM_OVER_BUST = "The front is cut in one piece to the side: no seam runs over the bust."
FAR_FROM_BUST = "The seams of the front lie too far from the bust point: none runs over the bust."
FROM_FRONT, FROM_BACK = ("front-top", "front-hem", "side-hem", "thigh-line"), ("back-top", "side-hem")

AT_SEAM_MM = INCH_MM
SAMPLES = 24
AT_CORNER_MM = 1.0


class Place(Struct, frozen=True):
    """A stretch of the top or bottom line to redraw: nothing at `start`, all of it between the peaks, nothing at `end`.

    A peak at an end of the line has no slope beyond it.
    """

    line: EdgeLine
    start: float
    peak_from: float
    peak_to: float
    end: float

    @property
    def peak(self) -> float:
        """The middle of what moves in full, mm along the line."""
        return (self.peak_from + self.peak_to) / 2.0

    @property
    def stretches(self) -> tuple[Stretch, ...]:
        """The edges over which it runs."""
        return self.line.between(self.start, self.end)

    def at(self, s: float) -> Stretch:
        """The stretch of the place itself on which `s` lies; at a seam that is not the neighbour's."""
        return min(self.stretches, key=lambda one: max(one.begin - s, s - one.end, 0.0))

    def point(self, s: float) -> Point:
        """The point of the place, on its own piece."""
        return self.at(s).point(s)

    def part_at(self, s: float) -> float:
        """How much of the height stands at the place: 0 to 1, level where it begins, peaks and ends."""
        if s < self.peak_from:
            return _smooth((s - self.start) / (self.peak_from - self.start))
        if s > self.peak_to:
            return _smooth((self.end - s) / (self.end - self.peak_to))
        return 1.0

    def with_room(self, height: float) -> Place:
        """The place with its slopes long enough for that height: 2 in, or 4 times the height, as far as corners allow.

        A slope is carried on along the line, over seams too; where a corner stops it, what moves in full is shortened.
        """
        need = reach_for(height)
        start, first, last, end = self.start, self.peak_from, self.peak_to, self.end
        if first > AT_CORNER_MM:
            low = max((s for s in self.line.corners if s <= start + AT_CORNER_MM), default=0.0)
            low = min(low, first)
            start = min(start, max(low, first - need))
            first = min(last, max(first, start + need))
        if last < self.line.size - AT_CORNER_MM:
            high = min((s for s in self.line.corners if s >= end - AT_CORNER_MM), default=self.line.size)
            high = max(high, last)
            end = max(end, min(high, last + need))
            last = max(first, min(last, end - need))
        return Place(self.line, start, first, peak_to=last, end=end)


def _smooth(part: float) -> float:
    part = min(max(part, 0.0), 1.0)
    return part * part * (3.0 - 2.0 * part)


def seams_named(half: Half, which: str) -> list[tuple[Join, ...]]:
    """The seams of the half meant by all, front, side, back, bust or belly, from the front; none where it has none.

    Raises:
        NotDrawnError: when they are found from the centre front, and the half does not go on to it.
    """
    shares = half.shares()
    count = len(shares)
    if not count:
        return []
    if which == "belly" and not half.to_front:
        raise NotDrawnError(NOT_TO_FRONT)
    side = _side(half)
    chosen = {
        "front": range(side) or [side],
        "side": [side],
        "back": range(side + 1, count) or [side],
        "bust": _bust_seam(half, side) if which == "bust" else [],
        "belly": range(2 if count >= half.settings.mm("belly-two-seams") else 1),
    }.get(which, range(count))
    return [half.seams[index] for index in chosen]


def _side(half: Half) -> int:
    """The number of the seam nearest to the side."""
    shares, side = half.shares(), half.settings.mm("side-at")
    return min(range(len(shares)), key=lambda index: abs(shares[index] - side))


def _bust_seam(half: Half, side: int) -> list[int]:
    """The number of the seam over the breast; none where no seam runs there."""
    shares = half.shares()
    fronts = range(side) or range(1)
    for index, piece in enumerate(half.pieces):
        beside = [number for number in (index - 1, index) if number in fronts]
        if "bust-point" in piece.landmarks and beside:
            off = {n: _off_seam(piece, half.seams[n], piece.landmarks["bust-point"]) for n in beside}
            near = min(beside, key=lambda number: off[number])
            return [near] if off[near] <= half.settings.mm("bust-seam-off") else []
    if not half.to_front:
        raise NotDrawnError(NO_BUST)
    near = min(fronts, key=lambda index: abs(shares[index] - half.settings.mm("bust-seam-at")))
    return [near] if shares[near] <= half.settings.mm("bust-seam-to") else []


def no_bust_seam(half: Half) -> str:
    """Why there is no seam over the breast."""
    if not half.seams:
        return ONE_PIECE
    return FAR_FROM_BUST if _side(half) else NO_SEAM_OVER_BUST


def _off_seam(piece: Piece, joins: tuple[Join, ...], point: Point) -> float:
    edges = [piece.edge(ref.edge) for join in joins for ref in join if ref.piece == piece.name]
    return min(nearest(segment, point)[1] for edge in edges for segment in edge.segments)


def place_named(half: Half, name: str) -> Place:
    """The place of that name on the half.

    Raises:
        NotDrawnError: when the half has no such edge, or no such place is known.
    """
    if name not in PLACES:
        raise NotDrawnError(f"No place “{name}” is known on the outline. Draw it by hand.")
    if (name in FROM_FRONT and not half.to_front) or (name in FROM_BACK and not half.to_back):
        raise NotDrawnError(NOT_TO_BACK if half.to_front or name not in FROM_FRONT else NOT_TO_FRONT)
    role = "bottom" if name in ("front-hem", "side-hem", "thigh-line") else "top"
    line = edge_line(half, "bottom" if role == "bottom" else "top")
    if not line.stretches:
        raise NotDrawnError(f"No edge of this pattern is marked as its {role}. Draw it by hand.")
    return PLACES[name](half, line)


def underarm_s(half: Half, line: EdgeLine) -> float:
    """The place of the underarm on the top line: the landmark, else the lowest place between the armhole's ends."""
    marked = line.landmark(half, "underarm", on_line=True)
    return marked if marked is not None else _lowest(half, line, *_armhole(half, line))


def strap_tab(half: Half, line: EdgeLine, end: str) -> tuple[float, float] | None:
    """Where the tab begins and ends that the strap's `front` or `back` end is fixed to; None where there is none."""
    at = line.landmark(half, f"strap-{end}", on_line=True)
    if at is None:
        return None
    one = line.at(at)
    if one.size <= half.settings.mm("strap-tab-most"):
        return one.begin, one.end
    own = half.settings.mm("strap-tab-half")
    return max(0.0, at - own), min(line.size, at + own)


def _armhole(half: Half, line: EdgeLine) -> tuple[float, float]:
    """The two ends of the edge under the arm."""
    named = [one for one in line.stretches if one.edge.name == "armhole"]
    if named:
        return named[0].begin, named[-1].end
    front, back = strap_tab(half, line, "front"), strap_tab(half, line, "back")
    if front and back and back[0] > front[1]:
        return front[1], back[0]
    return _side_panels(half, line)


def _side_panels(half: Half, line: EdgeLine) -> tuple[float, float]:
    marked = line.landmark(half, "underarm", on_line=True)
    at = marked if marked is not None else half.settings.mm("side-at") * line.size
    panels: dict[str, tuple[float, float]] = {}
    for one in line.stretches:
        begin, _ = panels.get(one.piece, (one.begin, one.end))
        panels[one.piece] = (begin, one.end)
    near = [(b, e) for b, e in panels.values() if b - AT_SEAM_MM < at < e + AT_SEAM_MM]
    if marked is None:
        near = [(b, e) for b, e in panels.values() if b <= at <= e]
    return near[0][0], near[-1][1]


def _lowest(half: Half, line: EdgeLine, start: float, end: float) -> float:
    """The lowest place between the two; the middle one where the edge runs level."""
    places = [start + (end - start) * i / SAMPLES for i in range(SAMPLES + 1)]
    middle = (start + end) / 2.0
    heights = {s: _over_waist(half.piece(line.at(s).piece), line.point(s)) for s in places}
    return min(places, key=lambda s: (round(heights[s], 1), abs(s - middle)))


def _over_waist(piece: Piece, point: Point) -> float:
    """How high the point lies over the waist; over the paper's own zero where no waist is drawn."""
    legs = [Line(a, b) for a, b in pairwise(piece.levels.get("waist", ())) if a != b]
    return min((nearest(leg, point)[1] for leg in legs), default=point.y)


def _bust(half: Half, line: EdgeLine) -> float:
    marked = line.landmark(half, "bust-point", on_line=False)
    return marked if marked is not None else half.settings.mm("bust-top-at") * line.size


def _underarm(half: Half, line: EdgeLine) -> Place:
    start, end = _armhole(half, line)
    peak = underarm_s(half, line)
    if not start <= peak <= end:
        peak = _lowest(half, line, start=start, end=end)
    return Place(line, start, peak, peak_to=peak, end=end)


def _front_top(half: Half, line: EdgeLine) -> Place:
    tab, bust = strap_tab(half, line, "front"), _bust(half, line)
    end = tab[0] if tab else (bust + underarm_s(half, line)) / 2.0
    return Place(line, 0.0, 0.0, peak_to=min(bust, 0.7 * end), end=end)


def _side_top(half: Half, line: EdgeLine) -> Place:
    tab, bust = strap_tab(half, line, "front"), _bust(half, line)
    end = tab[0] if tab and tab[0] > bust else underarm_s(half, line)
    start = min(bust, 0.7 * end)
    return Place(line, start, (start + end) / 2.0, peak_to=(start + end) / 2.0, end=end)


def _back_top(half: Half, line: EdgeLine) -> Place:
    tab = strap_tab(half, line, "back")
    start = tab[1] if tab else underarm_s(half, line)
    return Place(line, start, (start + line.size) / 2.0, peak_to=line.size, end=line.size)


def _armhole_front(half: Half, line: EdgeLine) -> Place:
    tab, under = strap_tab(half, line, "front"), underarm_s(half, line)
    start = tab[1] if tab and tab[1] < under else (_bust(half, line) + under) / 2.0
    return Place(line, start, (start + under) / 2.0, peak_to=(start + under) / 2.0, end=under)


def _front_hem(half: Half, line: EdgeLine) -> Place:
    feet = [
        found[0]
        for piece in half.pieces
        for slit in piece.slits
        if (found := line.nearest(piece.name, slit.line[0])) and found[1] <= half.settings.mm("strap-tab-half")
    ]
    return Place(line, 0.0, 0.0, peak_to=0.0, end=min([*feet, half.settings.mm("front-hem-to") * line.size]))


def _thigh_line(half: Half, line: EdgeLine) -> Place:
    peak, end = half.settings.mm("thigh-at") * line.size, half.settings.mm("thigh-to") * line.size
    return Place(line, 0.0, peak, peak_to=peak, end=end)


def _side_hem(half: Half, line: EdgeLine) -> Place:
    peak = half.settings.mm("side-at") * line.size
    return Place(line, 0.0, peak, peak_to=peak, end=line.size)


PLACES: dict[str, Callable[[Half, EdgeLine], Place]] = {
    "underarm": _underarm,
    "front-top": _front_top,
    "side-top": _side_top,
    "back-top": _back_top,
    "armhole-front": _armhole_front,
    "front-hem": _front_hem,
    "side-hem": _side_hem,
    "thigh-line": _thigh_line,
}
