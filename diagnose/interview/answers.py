"""What the replies come to: the answers of a try-on, as a line of a batch; and both as they lie on disk meanwhile."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any

from diagnose.interview.adding_up import added_answers, added_signs
from diagnose.interview.body_places import ONCE_OFF
from diagnose.interview.known import Known
from diagnose.interview.opening import preconditions
from diagnose.interview.question import Given, Value, names_in
from diagnose.interview.signs import ASKED_LATER, looked_places, places_on, seen_before, signs_off
from diagnose.rulebase.base import RuleBase
from diagnose.units import read_length

__all__ = ["answers_of", "draft_of", "replies_of"]

GROUPS = ("garment", "gap", "gap_front", "overlap", "wearer", "seen", "known")


def answers_of(given: Given, base: RuleBase, known: Known) -> dict[str, Any]:
    """The answers that the replies make; what she could not tell is left out.

    Args:
        given: the replies by question id, in the order of the questions, only of those that are asked.
        base: the rule base; known: what the case knows.
    """
    raw: dict[str, Any] = {name: {} for name in GROUPS}

    raw["cant_tell"] = [
        id_.partition(".")[2] for id_, value in given.items() if value is None and id_.startswith(ASKED_LATER)
    ]
    _stop_flags(raw, given.get("stop"), base)
    _ready(raw, given, base, known=known)
    if isinstance(given.get("still"), list):
        raw["seen"] |= {name: name in names_in(given["still"]) for name in seen_before(base, known)}
    for id_, value in given.items():
        kind, _, about = id_.partition(".")
        if value is not None and kind in _PUT:
            _PUT[kind](raw, about, value)
        if kind == "spots":
            _spots(raw, base.entries.symptoms[about].spots, value)
    if known.garment.get("closure") == "both":
        raw["gap"] = _sums(raw)
    _changing_body(raw, given, base)
    if isinstance(found := given.get(f"at.{ONCE_OFF}"), list):
        raw["seen"] |= {name: False for name in signs_off(base, known) if name not in found and name not in raw["seen"]}
    _added_up(raw, given, base, known=known)
    for place in looked_places(base, known, given):
        if place.id in names_in(given.get("looked")):
            raw["seen"] |= {name: False for name in place.signs if name not in raw["seen"]}
    return {key: value for key, value in raw.items() if value not in ({}, [], None)}


def _stop_flags(raw: dict[str, Any], value: Value, base: RuleBase) -> None:
    """All flags looked for; one that also follows from a number is only ever said to be there."""
    if isinstance(value, list):
        flags = [entry for entry in base.entries.symptoms.values() if entry.now is not None]
        raw["seen"] |= {flag.id: False for flag in flags if not flag.when}
        raw["seen"] |= dict.fromkeys(value, True)


def _ready(raw: dict[str, Any], given: Given, base: RuleBase, known: Known) -> None:
    not_so = given.get("unready")
    if given.get("ready") is True or isinstance(not_so, list):
        gates = preconditions(base, known.garment)
        raw["known"] |= {gate.id: gate.id not in names_in(not_so) for gate in gates}


def _sums(raw: Mapping[str, Any]) -> dict[str, float]:
    """With lacing front and back the gap is the two added up; where one is not known there is none."""
    front = raw["gap_front"]
    return {name: round(read_length(raw["gap"][name], name) + part_mm, 3) for name, part_mm in front.items()}


def _changing_body(raw: dict[str, Any], given: Given, base: RuleBase) -> None:
    today = given.get("today")
    if "today" not in given or "largest-today" not in base.entries.questions:
        return
    if today is None:
        raw["cant_tell"].append("largest-today")
    else:
        raw["known"]["largest-today"] = today == "largest"


def _spots(raw: dict[str, Any], spots: Sequence[str], value: Value) -> None:
    """Where a sign lies, and where not; what she can't tell is not asked again."""
    if value is None:
        raw["cant_tell"] += spots
    else:
        raw["known"] |= {spot: spot in names_in(value) for spot in spots}


def _added_up(raw: dict[str, Any], given: Given, base: RuleBase, known: Known) -> None:
    """What follows without being asked: of signs, as far as she has looked at their place at all."""
    raw["known"] = {**added_answers(base, given), **raw["known"]}
    gone_into = {*names_in(given.get("where")), *names_in(given.get("looked"))}
    looked_at = {sign for place in places_on(base, known) if place.id in gone_into for sign in place.signs}
    added = added_signs(base, known, given)
    raw["seen"] |= {name: so for name, so in added.items() if name in looked_at and name not in raw["seen"]}


def _at(raw: dict[str, Any], _about: str, value: Value) -> None:
    for name in names_in(value):
        raw["seen"][name] = True


def _sign(raw: dict[str, Any], about: str, value: Value) -> None:
    raw["seen"].setdefault(about, bool(value))


def _detail(name: str, of: Callable[[Any], Any] = lambda value: value) -> Callable[[dict[str, Any], str, Value], None]:
    def put(raw: dict[str, Any], about: str, value: Value) -> None:
        seen = raw["seen"].get(about)
        raw["seen"][about] = {**(seen if isinstance(seen, dict) else {}), name: of(value)}

    return put


def _under(group: str) -> Callable[[dict[str, Any], str, Value], None]:
    def put(raw: dict[str, Any], about: str, value: Value) -> None:
        raw[group][about] = value

    return put


def _front(raw: dict[str, Any], about: str, value: Value) -> None:
    raw["gap_front"][about] = read_length(value, about)


def _wearer(name: str) -> Callable[[dict[str, Any], str, Value], None]:
    def put(raw: dict[str, Any], _about: str, value: Value) -> None:
        raw["wearer"][name] = value

    return put


def _alone(name: str) -> Callable[[dict[str, Any], str, Value], None]:
    def put(raw: dict[str, Any], _about: str, value: Value) -> None:
        raw[name] = value

    return put


_PUT: Mapping[str, Callable[[dict[str, Any], str, Value], None]] = {
    "garment": _under("garment"),
    "target": _alone("target"), "gap": _under("gap"), "front": _front, "lap": _under("overlap"),
    "tension": _alone("tension"), "known": _under("known"), "today": _wearer("today"),
    "changes": _wearer("changes_by"), "at": _at, "sign": _sign, "side": _detail("side"),
    "grade": _detail("grade", int), "amount": _detail("amount"),
}  # fmt: skip


def draft_of(replies: Given, answers: Mapping[str, Any]) -> dict[str, Any]:
    """What is kept of a try-on under way."""
    return {"replies": [{"question": id_, "reply": value} for id_, value in replies.items()], "answers": dict(answers)}


def replies_of(draft: Mapping[str, Any] | None) -> dict[str, Value]:
    """The replies kept in a draft; what is no reply is left out, and is then asked again."""
    rows = (draft or {}).get("replies")
    found: dict[str, Value] = {}
    for row in rows if isinstance(rows, list) else ():
        if not isinstance(row, dict) or not isinstance(row.get("question"), str):
            continue
        if "reply" in row and _is_reply(row["reply"]):
            found[row["question"]] = row["reply"]
    return found


def _is_reply(value: object) -> bool:
    if isinstance(value, list):
        return all(isinstance(one, str) for one in value)
    return value is None or isinstance(value, bool | str | int | float)
