"""What an alteration may do to an outline: the verbs of `does`, the keys each takes, and their words.

The check of the rule base and the drawing read the same table. A key's words are those listed, or a kind of value: a
length, a part (a number from 0 to 1), degrees, a sentence, or stations with `full`, `nothing` or `own`: what the
station's own reading asks, and with no reading whatever the line between its neighbours comes to.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from typing import Literal, get_args

from msgspec import Struct, convert

from diagnose.errors import nearest
from diagnose.model.stations import STATIONS, Station
from diagnose.units import parse_length

__all__ = ["OTHERWISE", "VERBS", "How", "Key", "Move", "moves_for", "read_move", "wrong_with"]

OTHERWISE = "otherwise"
TOP_PLACES = ("front-top", "side-top", "back-top", "underarm", "armhole-front")
PLACES = (*TOP_PLACES, "front-hem", "thigh-line")
MOST = {"part": 1.0, "degrees": 90.0}
How = Literal["full", "own", "nothing"]


class Move(Struct, frozen=True):
    """One thing done to the outline; what its verb does not take is left empty.

    Attributes:
        do: the verb.
        sign: the sign that it is done for, or `otherwise`; None where it is done whatever is shown.
        by: how the change goes at the stations that it names.
        offset_mm: how far above the station.
        length_part: the length let in, as a part of the width.
    """

    do: str
    sign: str | None = None
    by: Mapping[Station, How] | None = None
    station: Station = "waist"
    which: str = ""
    where: str = ""
    way: str = ""
    place: str = ""
    direction: str = ""
    what: str = ""
    end: str = ""
    why: str = ""
    offset_mm: float = 0.0
    length_part: float = 0.0
    least_deg: float = 0.0
    most_deg: float = 0.0


class Key(Struct, frozen=True):
    """What a key takes: words, or one kind of value; whether it must be there."""

    words: tuple[str, ...] = ()
    kind: Literal["word", "length", "part", "degrees", "stations", "sentence"] = "word"
    needed: bool = True

    def wrong(self, name: str, value: object) -> tuple[str, str] | None:
        """What is wrong with a value and what to do; None where it is right."""
        if self.kind == "stations":
            return _wrong_stations(name, value)
        if not isinstance(value, str):
            return f"“{name}” is not one word.", "Write one word or one figure."
        if self.kind == "sentence":
            return None if value.endswith(".") else (f"“{name}” is no sentence.", "Write it out, with a full stop.")
        if self.kind == "length":
            return None if parse_length(value) is not None else (f"“{value}” is not a length.", "Write it as 1 1/4 in.")
        if self.kind in MOST:
            most = MOST[self.kind]
            say = f"“{value}” does not do as a {self.kind}.", f"Write a number from 0 to {most:g}."
            return None if _is_number(value, most) else say
        return None if value in self.words else (f"“{name}” is never “{value}”.", nearest(value, self.words))


BY = Key(kind="stations")
MAY_BY = Key(kind="stations", needed=False)
VERBS: Mapping[str, Mapping[str, Key]] = {
    "seams": {"which": Key(("all", "front", "side", "back", "bust", "belly")), "by": BY},
    "lacing-edge": {},
    "panel-fold": {"where": Key(("front", "side", "back")), "by": BY},
    "split-share": {},
    "length": {
        "station": Key(STATIONS), "offset": Key(kind="length", needed=False), "way": Key(("shorten", "lengthen")),
    },
    "edge": {"place": Key(PLACES), "direction": Key(("up", "down", "in", "out"))},
    "back-wedge": {"station": Key(STATIONS), "way": Key(("out", "in"))},
    "bust-slash": {"way": Key(("spread", "fold"))},
    "bust-over-seam": {"way": Key(("enlarge", "reduce")), "length_part": Key(kind="part")},
    "bust-shift": {"way": Key(("up-down", "in-out"))},
    "waist-slide": {},
    "gores": {
        "where": Key(("hip", "bust")), "what": Key(("widen", "narrow", "lengthen", "tip", "swing"), needed=False),
        "by": MAY_BY,
    },
    "front-straight": {},
    "tabs": {"what": Key(("flare", "deepen", "shallow", "lengthen", "shorten", "add"))},
    "strap": {"what": Key(("lengthen", "move", "widen")), "end": Key(("front", "back"), needed=False)},
    "channels": {"what": Key(("extend", "shorten", "move", "add", "closer", "re-space")), "place": Key(PLACES)},
    "grain": {"least_deg": Key(kind="degrees"), "most_deg": Key(kind="degrees")},
    "split-sides": {},
    "front-line": {"what": Key(("hollow", "tip", "straighten"))},
    "stomacher": {"what": Key(("widen", "lengthen"))},
    "shoulder": {"end": Key(("arm", "neck"))},
    "armhole-raise": {},
    "eyelets": {},
    "note": {"why": Key(kind="sentence")},
}  # fmt: skip


def read_move(verb: str, given: Mapping[str, object], sign: str | None = None) -> Move:
    """The move of a line that has been found right.

    Args:
        verb: what is done.
        given: the keys of the verb and what they are given.
        sign: what it is done for.
    """
    by, offset = given.get("by"), given.get("offset", "0 in")
    told = {**given, "do": verb, "sign": sign, "offset_mm": parse_length(str(offset))}
    if isinstance(by, Mapping):
        told["by"] = {station: by[station] for station in STATIONS if station in by}
    return convert(told, Move, strict=False)  # numbers stand as text in the files


def wrong_with(verb: str, given: Mapping[str, object]) -> Iterator[tuple[str, str]]:
    """What is wrong with a move of `does`, its verb and what the verb's keys are given, and what to do about it."""
    if verb not in VERBS:
        yield f"There is no move “{verb}”.", nearest(verb, VERBS)
        return
    keys = VERBS[verb]
    for name in given.keys() - keys.keys():
        yield f"“{verb}” takes no “{name}”.", f"It takes: {', '.join((*keys, 'for'))}."
    for name, key in keys.items():
        if name in given:
            yield from filter(None, (key.wrong(name, given[name]),))
        elif key.needed:
            yield f"“{verb}” needs “{name}”.", f"Give {', '.join(key.words) or key.kind}."


def moves_for(moves: Sequence[Move], shown: Collection[str], seen: Collection[str] = ()) -> tuple[Move, ...]:
    """The moves to do: those for the signs shown; with none shown `otherwise`; without that, those for signs seen.

    Args:
        moves: those of an alteration.
        shown: the signs that the choice of the alteration asked for.
        seen: the signs that speak for the cause.
    """
    signs = {move.sign for move in moves if move.sign is not None}
    for meant in (signs & set(shown), signs & {OTHERWISE}, signs & set(seen)):
        if meant:
            return tuple(move for move in moves if move.sign in {None, *meant})
    return tuple(move for move in moves if move.sign is None)


def _is_number(value: str, most: float) -> bool:
    try:
        return 0.0 <= float(value) <= most
    except ValueError:
        return False


def _wrong_stations(name: str, value: object) -> tuple[str, str] | None:
    if not isinstance(value, Mapping) or not value:
        return f"“{name}” names no stations.", "Write {top: full, waist: nothing}."
    for station, how in value.items():
        if station not in STATIONS:
            return f"There is no station “{station}”.", nearest(str(station), STATIONS)
        if how not in get_args(How):
            return f"A station is never “{how}”.", "Write full, own or nothing."
    return None
