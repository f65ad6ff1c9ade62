"""`strap`: where a strap is fixed, how long and how wide it is.

Parameters, all lengths in mm:

- `piece`: a body piece with a landmark `strap-front` or `strap-back`, or the strap's own piece.
- `end`: `front` or `back`, which fixing of the body piece is meant; may be left out when it has only one.
- `move`: the fixing moves so far towards centre back (negative: towards centre front). A tab goes along with it, its
  corners kept, and the top edge beside it is blended; on a smooth edge the mark alone moves along the edge.
- `lengthen`, `widen`: by so much (negative: shorter, narrower). The strap's own piece is cut across, or along its
  middle, and spread or closed; with a body piece the change is kept with the pattern, under `straps`.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import accumulate, pairwise
from typing import ClassVar, Literal

from msgspec.structs import replace

from diagnose.errors import FitError
from diagnose.pattern.altered import Altered
from diagnose.pattern.geometry.blend import reach_for
from diagnose.pattern.geometry.runs import run_length, run_nearest, run_point_at
from diagnose.pattern.geometry.smooth_amounts import Knot, Profile
from diagnose.pattern.in_words import piece_first, piece_words
from diagnose.pattern.measure import bounds
from diagnose.pattern.moved.bones import carry_ends
from diagnose.pattern.moved.carry import with_marks
from diagnose.pattern.moved.shift import runs_on, shifted
from diagnose.pattern.operations.fold import Fold
from diagnose.pattern.operations.operation import OnPiece, named_amounts, nothing_asked
from diagnose.pattern.operations.parameters import Parameter, a_length, a_name, may, need, one_of, or_none
from diagnose.pattern.operations.reshape_edge import shifts_over
from diagnose.pattern.outline import Edge, Pattern, Piece, Point, Run, run_of, runs_along
from diagnose.pattern.tolerances import ON_CORNER_MM
from diagnose.units import INCH_MM, both

__all__ = ["Strap"]

SHOULDER_HALF_MM = INCH_MM
WIDEST_TAB_MM = 4 * INCH_MM
LANDMARK_OFF_MM = INCH_MM / 4
STRAPS_KEY = "straps"


class Strap(OnPiece, frozen=True):
    """What to do to a strap; see the module's own description."""

    op: ClassVar[str] = "strap"
    called: ClassVar[str] = "the strap moved"
    parameters: ClassVar[tuple[Parameter, ...]] = (
        need("piece", a_name),
        may("end", or_none(one_of("end", "front", "back"))),
        may("move", a_length),
        may("lengthen", a_length),
        may("widen", a_length),
    )
    sized: ClassVar[tuple[str, ...]] = ("move", "lengthen", "widen")

    end: Literal["front", "back"] | None = None
    move: float = 0.0
    lengthen: float = 0.0
    widen: float = 0.0

    def done(self, pattern: Pattern) -> Altered:
        """The pattern with the strap changed.

        Raises:
            FitError: when the piece bears no such fixing, the fixing is off the top edge, or nothing is asked for.
        """
        if idle := [*nothing_asked(self, *self.sized)]:
            raise FitError(idle)
        piece = pattern.piece(self.piece)
        if self.end is None and not _ends(piece):
            return _own_piece(pattern, piece, self)
        end = _end(piece, self.end)
        altered = _moved(pattern, piece, end, by=self.move) if self.move else Altered(pattern)
        return altered.then(Altered(_recorded(altered.pattern, piece.name, end, do=self), _said(end, self)))

    def amounts(self) -> Iterator[str]:
        """How far it moves, and how much longer and wider it becomes."""
        yield from named_amounts(self)


def _ends(piece: Piece) -> list[str]:
    return [end for end in ("front", "back") if f"strap-{end}" in piece.landmarks]


def _end(piece: Piece, asked: str | None) -> str:
    """The fixing meant."""
    there = _ends(piece)
    if asked is None and len(there) == 1:
        return there[0]
    if asked is None:
        raise FitError.of(
            "end",
            f"{piece_first(piece.name)} bears both ends of the strap.",
            "Say front or back.",
            code="both-ends",
        )
    if asked not in there:
        has = ", ".join(piece.landmarks) or "none"
        what = f"{piece_first(piece.name)} has no landmark 'strap-{asked}'."
        raise FitError.of("end", what, f"Its landmarks: {has}.", code="no-such-mark")
    return asked


def _own_piece(pattern: Pattern, piece: Piece, do: Strap) -> Altered:
    """The strap's own piece, spread or closed across its middle and along it."""
    if do.move:
        what = f"{piece_first(piece.name)} has no landmark 'strap-front' or 'strap-back' to move."
        raise FitError.of("move", what, "Name the body piece the strap is fixed to.", code="no-such-mark")
    box = bounds(piece)
    upright = box.top - box.bottom >= box.right - box.left
    altered = Altered(pattern)
    for amount, level in ((do.lengthen, upright), (do.widen, not upright)):
        if amount:
            done = _across(altered.pattern.piece(piece.name), -amount, level=level).done(altered.pattern)
            altered = altered.then(done)
    return altered


def _across(piece: Piece, amount: float, *, level: bool) -> Fold:
    """A fold of equal amounts right through the middle of the piece, level or upright."""
    box = bounds(piece)
    x, y = (box.left + box.right) / 2.0, (box.bottom + box.top) / 2.0
    ends = (Point(box.left, y), Point(box.right, y)) if level else (Point(x, box.bottom), Point(x, box.top))
    return Fold(piece.name, ends[0], ends[1], amount_from=amount, amount_to=amount, move="left" if level else "right")


def _moved(pattern: Pattern, piece: Piece, end: str, by: float) -> Altered:
    """The fixing moved along the top edge, with its tab where it stands on one."""
    landmark = piece.landmarks[f"strap-{end}"]
    edges = _top_run(piece, landmark, end)
    run = run_of(edges)
    at = run_nearest(run, landmark)[0]
    tab = _tab(edges, at)
    if not tab:
        # The outline goes round counter-clockwise: along the top, its start is at the back.
        room = at if by > 0.0 else run_length(run) - at
        if abs(by) > room:
            what = f"The top edge of {piece_words(piece.name)} goes on for only {both(room)} beyond the strap's mark."
            raise FitError.of("move", what, "Move the strap by less.", code="no-room")
        mark = run_point_at(run, at - by)
        return Altered(pattern.with_piece(replace(piece, landmarks={**piece.landmarks, f"strap-{end}": mark})))
    profile = _tab_profile(run, tab, at, by=by)
    redrawn = shifted(piece, shifts_over(edges, profile, Point(1.0, 0.0)))
    made, notes = with_marks(redrawn)
    made, more = carry_ends(redrawn, made, [edge.name for edge in edges])
    return Altered(pattern.with_piece(made), (*notes, *more), redrawn.zones("moved"))


def _top_run(piece: Piece, landmark: Point, end: str) -> tuple[Edge, ...]:
    """The adjoining top edges round the fixing, in the order in which they go round."""
    away = {e.name: run_nearest(e.segments, landmark)[1] for e in piece.edges if e.role == "top"}
    nearest_edge = min(away, key=lambda name: away[name], default=None)
    if nearest_edge is None or away[nearest_edge] > LANDMARK_OFF_MM:
        what = f"The strap {end} mark of {piece_words(piece.name)} does not lie on a top edge."
        raise FitError.of("move", what, "Set the landmark on the edge the strap is sewn to.", code="off-edge")
    return next(run for run in runs_along(piece, away) if any(edge.name == nearest_edge for edge in run))


def _tab(edges: Sequence[Edge], at: float) -> list[float]:
    """The corners of the tab that the mark stands on, as mm along the run: of two stretches it ends, the higher."""
    corners, run = _corners(edges), run_of(edges)
    ends = [0.0, *corners, run_length(run)]
    marked = [(a, b) for a, b in pairwise(ends) if a - ON_CORNER_MM <= at <= b + ON_CORNER_MM]
    narrow = [(a, b) for a, b in marked if a in corners and b in corners and b - a <= WIDEST_TAB_MM]
    near = [mm for mm in corners if abs(mm - at) <= SHOULDER_HALF_MM]
    return list(max(narrow, key=lambda tab: run_point_at(run, sum(tab) / 2.0).y)) if narrow else near


def _corners(edges: Sequence[Edge]) -> list[float]:
    """The corners within the run, as mm along it."""
    segments = run_of(edges)
    joints = list(accumulate(run_length((segment,)) for segment in segments))
    return [mm for mm, a, b in zip(joints, segments, segments[1:], strict=False) if not runs_on(a, b)]


def _tab_profile(run: Run, tab: Sequence[float], at: float, by: float) -> Profile:
    """All of the move over the tab, blended to nothing on both sides of it."""
    first, last = min(*tab, at), max(*tab, at)
    inner = [Knot(first, by)] if first == last else [Knot(first, by), Knot(last, by)]
    return Profile((*_faded(run, first, by, way=-1.0), *inner, *_faded(run, last, by, way=1.0)))


def _faded(run: Run, corner: float, by: float, *, way: float) -> Iterator[Knot]:
    """Where the move has come to nothing beyond a corner of the tab; nowhere where the run ends at it.

    Of the two sides one becomes shorter, the other longer, by the move's share along their chords. Each reaches as far
    as a blend does on the mean of before and after: so a tab that is moved back lies as it lay.
    """
    size, reach = run_length(run), reach_for(by)
    far = min(max(corner + way * reach, 0.0), size)
    if 0.0 < far < size:
        longer = by * (run_point_at(run, corner).x - run_point_at(run, far).x) / reach
        far = min(max(far - way * longer / 2.0, 0.0), size)
    if far != corner:
        yield Knot(far, 0.0)


def _recorded(pattern: Pattern, piece: str, end: str, do: Strap) -> Pattern:
    """The pattern with the change of the strap added to what its maker has asked for before."""
    if not (do.lengthen or do.widen):
        return pattern
    straps = pattern.extra.get(STRAPS_KEY)
    kept: dict[str, object] = dict(straps) if isinstance(straps, Mapping) else {}
    name = f"{piece}/{end}"
    old = kept.get(name)
    so_far: Mapping[str, object] = old if isinstance(old, Mapping) else {}
    changes = {"lengthened_mm": do.lengthen, "widened_mm": do.widen}
    kept[name] = {**so_far, **{key: _number(so_far.get(key)) + by for key, by in changes.items()}}
    return replace(pattern, extra={**pattern.extra, STRAPS_KEY: kept})


def _number(value: object) -> float:
    return float(value) if isinstance(value, int | float) else 0.0


def _said(end: str, do: Strap) -> tuple[str, ...]:
    changes = ((do.lengthen, "longer", "shorter"), (do.widen, "wider", "narrower"))
    said = ((both(abs(by)), more if by > 0.0 else less) for by, more, less in changes if by)
    return tuple(f"Cut the strap at the {end} fixing {amount} {way}." for amount, way in said)
