"""What she says of the pattern that is begun, and of its wearer: each form's saying becomes a label, or a measure."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any, cast

from msgspec.structs import replace

from diagnose.casework import begun as beginning
from diagnose.casework.begun import Begun, Seen
from diagnose.errors import FitError
from diagnose.interview import garment_questions
from diagnose.model.stations import STATIONS
from diagnose.pattern.geometry.plane import distance
from diagnose.pattern.measure import bounds, edge_length
from diagnose.pattern.outline import Edge, Piece, Point, Seam
from diagnose.pattern.tolerances import SAME_PLACE_MM
from diagnose.units import Unit, both, in_her_unit, read_length
from diagnose.workroom.asked import Asked
from diagnose.workroom.pages.round_pieces import CORNERS, corners_said, corners_scaled, corners_turned

__all__ = ["DRAWN_IN", "GIRTHS", "HEIGHTS_OF", "SAYS", "level_heights", "told_of_her"]

GIRTHS = ("bust", "underbust", "waist", "hip")
DRAWN_IN = {"planned_reduction": "To be drawn in at the waist"}
HEIGHTS_OF = {
    "underarm_to_waist": "From the pit of the arm down the side to the waist",
    "waist_to_hip": "From the waist down the side to where the hip was measured",
    "front_seated": "Sitting, from the lap up to where the front edge is to lie",
}
MOST_SIZES = 100


def level_heights(found: Seen, unit: Unit) -> dict[str, str]:
    """How high each level lies over the lowest point, where all pieces have it at one height."""
    heights: dict[str, str] = {}
    for name in STATIONS:
        ys = [y for piece in (found.pattern.pieces if found.pattern else ()) for _, y in piece.levels.get(name, ())]
        if ys and max(ys) - min(ys) < 1.0:
            heights[name] = both(ys[0] - found.low_mm, unit)
    return heights


def _labelled(change: Callable[[dict[str, Any], Begun, Asked], None]) -> Callable[[Begun, Asked], Begun]:
    def says(begun: Begun, asked: Asked) -> Begun:
        return beginning.change(begun, lambda labels: change(labels, begun, asked), asked.one("says"))

    return says


def _piece_of(labels: dict[str, Any], begun: Begun, name: str) -> dict[str, Any]:
    """What is said of a piece, by the number of its outline."""
    number = beginning.understood(begun).numbers.get(name)
    if number is None:
        raise FitError.of("", f"There is no piece “{name}”.", "Tap one on the drawing.", code="no-such-piece")
    return cast(dict[str, Any], labels.setdefault("pieces", {}).setdefault(number, {}))


def _edge_picked(asked: Asked, do: str) -> tuple[str, str]:
    """The edge that is picked: its piece and its name."""
    piece, _, edge = asked.one("edge").rpartition("|")
    if not edge:
        raise FitError.of("", "No edge is picked.", do, code="nothing-picked")
    return piece, edge


def _edge(labels: dict[str, Any], begun: Begun, asked: Asked) -> None:
    piece, edge = _edge_picked(asked, "Tap one on the drawing.")
    row = _piece_of(labels, begun, piece)
    row.setdefault("edges", {}).setdefault(edge, {})["role"] = asked.one("role")


def _piece(labels: dict[str, Any], begun: Begun, asked: Asked) -> None:
    old, new = asked.one("piece"), asked.one("name")
    row = _piece_of(labels, begun, old)
    if new and new != old:
        if new in beginning.understood(begun).numbers:
            raise FitError.of("", f"There is a piece “{new}” already.", "Give another name.", code="name-doubled")
        row["name"] = new
        _seams_renamed(labels, {old: new})
    if asked.one("cut"):
        row["cut"] = asked.one("cut")


def _seams_renamed(labels: dict[str, Any], names: Mapping[str, str]) -> None:
    """The seams said, of pieces that are called otherwise now."""
    for seam in labels.get("seams", ()):
        for side in ("a", "b"):
            piece, _, edge = str(seam[side]).rpartition("/")
            seam[side] = f"{names.get(piece, piece)}/{edge}"


def _order(labels: dict[str, Any], begun: Begun, asked: Asked) -> None:
    """The pieces as she has tapped them, from the centre front on; those not tapped come after, as they stood."""
    found = beginning.understood(begun)
    stand = [*found.numbers]
    tapped = [name for n in range(1, len(stand) + 1) if (name := asked.one(f"order-{n}"))]
    if not tapped:
        raise FitError.of("", "No piece is picked.", "Tap them in their order, from the centre front on.",
                          code="nothing-picked")  # fmt: skip
    if len({*tapped} & {*stand}) < len(tapped):
        raise FitError.of("", "A piece stands there twice.", "Give each piece one place.", code="piece-doubled")
    order = [*tapped, *(name for name in stand if name not in tapped)]
    numbers = _from_left(labels, begun, found)
    called = {number: name for name, number in found.numbers.items()}
    labels["order"] = [numbers[name] for name in order]
    labels["pieces"] = {str(numbers[called[n]]): row for n, row in labels.get("pieces", {}).items() if n in called}
    # What has no name of its own is called by where it stands.
    now = beginning.understood(replace(begun, labels={**labels, "seams": []})).numbers
    anew = {int(number): name for name, number in now.items()}
    _seams_renamed(labels, {name: anew.get(number, name) for name, number in numbers.items()})


def _from_left(labels: Mapping[str, Any], begun: Begun, found: Seen) -> dict[str, int]:
    """The number of each piece by its name, counted from the left, as an order told counts them.

    Until one is told they are counted in the order that is presumed.
    """
    if labels.get("order"):
        return {name: int(number) for name, number in found.numbers.items()}
    counted = {**labels, "pieces": {}, "seams": [], "order": [*range(1, len(found.numbers) + 1)]}
    laid = beginning.understood(replace(begun, labels=counted))
    if laid.pattern is None or found.pattern is None:
        raise FitError(laid.wrong or found.wrong)
    boxes = [(int(laid.numbers[piece.name]), bounds(piece)) for piece in laid.pattern.pieces]
    return {
        piece.name: min(boxes, key=lambda one: sum(abs(a - z) for a, z in zip(one[1], box, strict=True)))[0]
        for piece in found.pattern.pieces for box in [bounds(piece)]
    }  # fmt: skip


def _seams_said(labels: dict[str, Any], begun: Begun) -> list[dict[str, Any]]:
    """The seams as they stand, so that one can be changed: those presumed are then said."""
    if "seams" not in labels:
        pattern = beginning.understood(begun).pattern
        labels["seams"] = [
            {"name": seam.name, "a": "/".join(seam.a), "b": "/".join(seam.b), "ease": seam.ease}
            for seam in (pattern.seams if pattern else ())
        ]
    return cast(list[dict[str, Any]], labels["seams"])


def _sew(labels: dict[str, Any], begun: Begun, asked: Asked) -> None:
    a, b = ("/".join(asked.one(name).rsplit("|", 1)) for name in ("a", "b"))
    if "/" not in a or "/" not in b or a == b:
        raise FitError.of("", "A seam joins two edges.", "Tap the one, then the other.", code="two-edges")
    seams = [one for one in _seams_said(labels, begun) if not {a, b} & {one["a"], one["b"]}]
    eased = {"ease": _longer_by(begun, a, b)} if asked.one("eased") else {}
    labels["seams"] = [*seams, {"name": _free_seam(seams), "a": a, "b": b, **eased}]


def _as_one(labels: dict[str, Any], begun: Begun, asked: Asked) -> None:
    """Two edges that are one, though the line turns between them."""
    (piece, _, edge), (other, _, another) = (asked.one(name).rpartition("|") for name in ("a", "b"))
    if not edge or not another or piece != other or edge == another:
        raise FitError.of("", "One edge is made of two that meet at a corner of one piece.",
                          "Tap the one, then the other.", code="two-edges")  # fmt: skip
    row = _piece_of(labels, begun, piece)
    row["as-one"] = [*row.get("as-one", ()), [edge, another]]
    _edges_carried(labels, begun, piece)


def _apart(labels: dict[str, Any], begun: Begun, asked: Asked) -> None:
    """The edge of a piece that was last made one is two again."""
    piece = asked.one("piece")
    row = _piece_of(labels, begun, piece)
    row["as-one"] = row.get("as-one", [])[:-1]
    _edges_carried(labels, begun, piece)


def _corners(labels: dict[str, Any], begun: Begun, asked: Asked) -> None:
    """Where a round outline parts into its bottom, back, top and front: all else of it is presumed anew."""
    name = asked.one("piece")
    row = _piece_of(labels, begun, name)
    pattern = beginning.understood(begun).pattern
    assert pattern is not None  # it has the piece
    row["corners"] = corners_said(pattern.piece(name), [asked.one(f"corner-{n}") for n in range(1, len(CORNERS) + 1)])
    row.pop("edges", None)
    row.pop("as-one", None)
    if "seams" in labels:
        labels["seams"] = [one for one in labels["seams"] if name not in (_piece_in(one["a"]), _piece_in(one["b"]))]


def _piece_in(edge: str) -> str:
    return edge.rpartition("/")[0]


def _edges_carried(labels: dict[str, Any], begun: Begun, piece: str) -> None:
    """What is said of a piece's edges, now that they end elsewhere: each is called as what begins where it began.

    What is sewn to an edge that is longer or shorter now is presumed anew.
    """
    found = beginning.understood(begun)
    number = found.numbers[piece]
    row = labels["pieces"][number]
    bare = {**labels["pieces"], number: {key: said for key, said in row.items() if key != "edges"}}
    plain = {key: said for key, said in labels.items() if key != "seams"}
    now = beginning.understood(replace(begun, labels={**plain, "pieces": bare}))
    if now.pattern is None or found.pattern is None:
        raise FitError(now.wrong)
    old = found.pattern.piece(piece)
    new = now.pattern.piece(next(name for name, one in now.numbers.items() if one == number))
    called = {edge.name: _begun_in(new, edge.start) for edge in old.edges}
    for name, said in row.pop("edges", {}).items():
        row.setdefault("edges", {}).setdefault(called[name].name, said)
    if "seams" in labels:
        same = {f"{piece}/{name}": f"{new.name}/{edge.name}" for name, edge in called.items()
                if abs(edge_length(old.edge(name)) - edge_length(edge)) < SAME_PLACE_MM}  # fmt: skip
        labels["seams"] = _sewn_still(labels["seams"], piece, same, presumed=now.pattern.seams)


def _begun_in(piece: Piece, place: Point) -> Edge:
    """The edge that holds the corner, at its beginning or within."""
    return min(piece.edges, key=lambda edge: min(distance(one.start, place) for one in edge.segments))


def _sewn_still(
    rows: Sequence[dict[str, Any]], piece: str, same: Mapping[str, str], presumed: Sequence[Seam]
) -> list[dict[str, Any]]:
    """The seams said, without those of a piece's edges that are no more the same; those presumed in their place."""

    def ends(row: Mapping[str, Any]) -> list[str]:
        return [same.get(row[side], "") if row[side].rpartition("/")[0] == piece else row[side] for side in ("a", "b")]

    kept = [{**row, "a": a, "b": b} for row in rows for a, b in [ends(row)] if a and b]
    for seam in presumed:
        a, b = "/".join(seam.a), "/".join(seam.b)
        is_free = not any({a, b} & {row["a"], row["b"]} for row in kept)
        if is_free and piece in seam.pieces and not {a, b} & {*same.values()}:
            kept.append({"name": _free_seam(kept), "a": a, "b": b})
    return kept


def _free_seam(rows: Sequence[Mapping[str, Any]]) -> str:
    """A name that no seam has."""
    names = {one["name"] for one in rows}
    return next(name for name in (f"seam-{n}" for n in range(1, 999)) if name not in names)


def _longer_by(begun: Begun, a: str, b: str) -> str:
    """By how much the one edge is longer than the other, which is then eased in."""
    pattern = beginning.understood(begun).pattern
    if pattern is None:
        return "0 mm"
    ends = [tuple(name.rsplit("/", 1)) for name in (a, b)]
    one, other = (edge_length(pattern.piece(piece).edge(edge)) for piece, edge in ends)
    return f"{one - other:.3f} mm"


def _unpick(labels: dict[str, Any], begun: Begun, asked: Asked) -> None:
    labels["seams"] = [one for one in _seams_said(labels, begun) if one["name"] != asked.one("seam")]


def _levels(labels: dict[str, Any], begun: Begun, asked: Asked) -> None:
    said = {name: asked.one(f"level-{name}") for name in STATIONS}
    now = level_heights(beginning.understood(begun), begun.unit)
    levels = labels.setdefault("levels", {})
    for name, text in said.items():
        if text and text != now.get(name):
            levels[name] = read_length(text, name, begun.unit)
        elif not text:
            levels.pop(name, None)


def _scale(labels: dict[str, Any], begun: Begun, asked: Asked) -> None:
    piece, edge = _edge_picked(asked, "Tap the edge whose length you have measured.")
    found = beginning.understood(begun)
    if found.pattern is None:
        raise FitError(found.wrong)
    drawn_mm = edge_length(found.pattern.piece(piece).edge(edge))
    true_mm = read_length(asked.one("measured"), "its true length", begun.unit)
    if not 0.01 < true_mm / drawn_mm < 100:
        raise FitError.of(
            "",
            "It can't be that much longer or shorter.",
            "Look at the edge and at what you typed.",
            code="wrong-scale",
        )
    labels["scale"] = found.unit_mm * true_mm / drawn_mm
    corners_scaled(labels, true_mm / drawn_mm)


def _sure(labels: dict[str, Any], _begun: Begun, asked: Asked) -> None:
    labels["sure"] = [*labels.get("sure", ()), asked.one("word")]


def _size(labels: dict[str, Any], _begun: Begun, asked: Asked) -> None:
    text = asked.one("size")
    if not (text.isascii() and text.isdecimal() and 0 < int(text[:6]) < MOST_SIZES):
        raise FitError.of("", "No size is picked.", "Give its number, counted from the inside.", code="nothing-picked")
    labels["size"] = int(text)


def _whole(labels: dict[str, Any], _begun: Begun, asked: Asked) -> None:
    labels["closure"] = asked.one("closure") or "back"
    front = asked.one("centre-front") or "left"
    if front != labels.get("centre-front", "left"):
        corners_turned(labels)
    labels["centre-front"] = front


def _about(begun: Begun, asked: Asked) -> Begun:
    try:
        return beginning.about(begun, *told_of_her(asked))
    except FitError as error:
        # The gap she aims at is typed once, and read for each station.
        found = {(_field(one.where), one.what): one for one in reversed(error.mistakes)}
        raise FitError([
            replace(one, what=f"{label}: {in_her_unit(one.what, begun.unit)}" if label else one.what)
            for (label, _), one in reversed(found.items())
        ]) from None  # fmt: skip


def _field(where: str) -> str:
    """What stands beside the field that a mistake in what is told of her is about."""
    part, _, name = where.partition(".")
    if part == "target":
        return "The lacing gap aimed at"
    return {**{name: f"{name.capitalize()}, round" for name in GIRTHS}, **DRAWN_IN, **HEIGHTS_OF}.get(name, "")


def told_of_her(asked: Asked) -> tuple[dict[str, Any], dict[str, str], str | None]:
    """What is told of garment, wearer and target, as typed."""
    garment: dict[str, Any] = {}
    for question in garment_questions({}, {}):
        name = question.about
        word = asked.one(f"garment-{name}")
        if word:
            garment[name] = word == "yes" if question.kind == "yes-no" else word
    taken = (*GIRTHS, *DRAWN_IN, *HEIGHTS_OF)
    wearer = {name: asked.one(f"girth-{name}") for name in taken if asked.one(f"girth-{name}")}
    return garment, wearer, asked.one("target") or None


SAYS: Mapping[str, Callable[[Begun, Asked], Begun]] = {
    "edge": _labelled(_edge), "piece": _labelled(_piece), "order": _labelled(_order),
    "sew": _labelled(_sew), "unpick": _labelled(_unpick),
    "as-one": _labelled(_as_one), "apart": _labelled(_apart), "corners": _labelled(_corners),
    "levels": _labelled(_levels), "scale": _labelled(_scale), "whole": _labelled(_whole), "sure": _labelled(_sure),
    "size": _labelled(_size),
    "about": _about, "take-back": lambda begun, _asked: beginning.taken_back(begun),
}  # fmt: skip
