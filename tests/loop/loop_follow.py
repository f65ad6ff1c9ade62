"""The program's advice followed to the letter, round by round, by the commands alone.

A round is: answers written to a file, `diagnose tryon CASE --answers FILE --json`, then `diagnose alter CASE --json`.
The pattern that comes of it is read from the case folder as JSON and measured by `loop_measure`, not by the program.
"""

from __future__ import annotations

import contextlib
import io
import json
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from random import Random
from typing import Any

from loop_tryon import Error, Hand, answers, errors, true_causes
from loop_wearers import INCH, Wearer

from diagnose.cli.running import run
from diagnose.places import bundled_rules

__all__ = ["Followed", "RoundSeen", "follow"]

Data = dict[str, Any]
GIRTH_MM = 3 / 8 * INCH
"""A girth fits when its gap is within this of the target: a quarter of an inch, and the noise of a reading."""
LENGTH_MM = 5 / 16 * INCH
ASTRAY_MM = INCH / 4
"""A girth is changed astray when it is changed by more than this where the other way was wanted by more than this."""
WORSE_MM = INCH / 4
"""A round made something worse when an error grew by more than this, and is now beyond what fits."""
MOST_ROUNDS = 6
QUIET_ROUNDS = 2
"""She wears it again before she cuts the cloth: a sign may have been missed the first time."""
_CAN_BE_LOOKED_FOR = frozenset(
    path.stem for path in (bundled_rules() / "symptoms").rglob("*.yaml") if not path.stem.startswith("gap-")
)


@dataclass(frozen=True)
class RoundSeen:
    """One round: the plan as JSON, what was wrong before and after, and what `alter` refused."""

    plan: Data
    before: Error
    after: Error
    refused: str | None
    worse: tuple[str, ...]
    causes: tuple[tuple[str, float, bool], ...]
    astray: tuple[str, ...] = ()
    by_hand: int = 0


@dataclass(frozen=True)
class Followed:
    """A wearer and her rounds; numbers of rounds after which her girth, and all of her, fitted (None: never)."""

    wearer: Wearer
    rounds: tuple[RoundSeen, ...]
    girth_in: int | None
    wholly_in: int | None
    left: Mapping[str, float] = field(default_factory=dict)
    failed: str | None = None


def follow(wearer: Wearer, folder: Path, most_rounds: int = MOST_ROUNDS, *, by_hand: bool = False) -> Followed:
    """The advice followed until nothing is advised, or for so many rounds.

    Args:
        wearer: who it is.
        folder: where her case is kept.
        most_rounds: after how many rounds she gives up.
        by_hand: whether she does by hand too what is for the hand, and pins what her cut has no line for.
    """
    hand = Hand() if by_hand else None
    chance = Random(wearer.seed * 7919 + 1)
    case, drawn = folder / f"wearer-{wearer.seed}", folder / f"wearer-{wearer.seed}.json"
    drawn.write_text(json.dumps(wearer.pattern), encoding="utf-8")
    code, _, said = _command("new", str(case), "--pattern", str(drawn), "--json")
    if code:
        return Followed(wearer, (), None, None, failed=said)
    pattern = wearer.pattern
    rounds: list[RoundSeen] = []
    looked_for: dict[str, Any] = {}
    quiet = 0
    girth_in, wholly_in = _fits(wearer, pattern, hand, None, None, 0)
    for number in range(1, most_rounds + 1):
        file = folder / f"answers-{wearer.seed}-{number}.json"
        told = answers(wearer, pattern, chance, hand)
        told["seen"] = {**looked_for, **told["seen"]}
        file.write_text(json.dumps(told), encoding="utf-8")
        code, plan, said = _command("tryon", str(case), "--answers", str(file), "--json")
        if plan is None:
            return Followed(wearer, tuple(rounds), girth_in, wholly_in, _left(wearer, pattern, hand), failed=said)
        before = errors(wearer.body, pattern, hand)
        steps = plan["plan"][0]["steps"] if plan["plan"] else []
        looked_for |= {ask["id"]: False for ask in plan["ask"] if ask["id"] in _CAN_BE_LOOKED_FOR}
        pinned = [held for held in plan["held_back"] if "pinned out on the toile" in held["until"]]
        quiet = 0 if steps or (hand is not None and pinned) else quiet + 1
        if quiet == QUIET_ROUNDS:
            break
        refused = None
        if any(step.get("drawn", True) for step in steps):
            code, _, said = _command("alter", str(case), "--json")
            refused = said if code else None
            pattern = _newest(case)
        done = _by_hand(hand, steps, pinned, plan, str(case)) if hand is not None else 0
        after = errors(wearer.body, pattern, hand)
        real = true_causes(before)
        causes = tuple((c["id"], c["probability"], c["id"] in real) for c in plan["causes"])
        rounds.append(
            RoundSeen(plan, before, after, refused, _worse(before, after), causes, _astray(steps, before), done)
        )
        girth_in, wholly_in = _fits(wearer, pattern, hand, girth_in, wholly_in, number)
    return Followed(wearer, tuple(rounds), girth_in, wholly_in, _left(wearer, pattern, hand))


BY_LENGTH: Mapping[str, Mapping[str, float]] = {
    "lower-underarm": {"underarm": -1.0}, "move-front-top-edge": {"front_top": 1.0},
    "lengthen-above-waist": {"underarm": 1.0, "front_top": 1.0},
    "shorten-above-waist": {"underarm": -1.0, "front_top": -1.0},
    "lengthen-below-waist": {"front_depth": 1.0, "side_depth": 1.0},
    "shorten-below-waist": {"front_depth": -1.0, "side_depth": -1.0},
    "shorten-busk": {"front_depth": -1.0}, "scoop-thigh-line": {"front_depth": -1.0},
}  # fmt: skip
"""What a length done by hand does to the toile, for one of its amount."""


def _by_hand(hand: Hand, steps: list[Data], pinned: list[Data], plan: Data, case: str) -> int:
    """What is for the hand done on the toile, and told as done; how much of it there was."""
    for step in steps:
        if step.get("drawn", True):
            continue
        amount = step["amount_mm"]
        for station, taken in amount.get("by_station", {}).items():
            hand.wider(station, step["side"], -taken)
        for name, way in BY_LENGTH.get(step["alteration"], {}).items():
            _made_longer(hand, name, way * amount.get("length", 0.0), step["side"])
        _command("alter", case, "--by-hand", step["id"], "--json")
    for station, one in plan["gap"]["stations"].items() if pinned else ():
        if abs(one["change_mm"]) > INCH / 4:
            hand.wider(station, "both", -one["change_mm"])
    return sum(not step.get("drawn", True) for step in steps) + len(pinned)


def _made_longer(hand: Hand, name: str, by: float, side: str) -> None:
    if name == "underarm":
        for each in hand.underarm:
            hand.underarm[each] += by if side in ("both", each) else 0.0
    else:
        setattr(hand, name, getattr(hand, name) + by)


def _astray(steps: list[Data], before: Error) -> tuple[str, ...]:
    """The changes of girth at a station, or on a side, where nothing was wrong or the other way was wanted."""
    found = []
    for step in steps:
        for station, taken in step["amount_mm"].get("by_station", {}).items():
            halves = before.halves["left"].get(station), before.halves["right"].get(station)
            wrong = before.girth.get(station) if step["side"] == "both" else halves[step["side"] == "right"]
            if wrong is not None and abs(taken) > ASTRAY_MM and taken * wrong < 0.0 and abs(wrong) > ASTRAY_MM:
                found.append(f"{step['alteration']} {step['side']} {station}")
    return tuple(found)


def _fits(
    wearer: Wearer, pattern: Data, hand: Hand | None, girth_in: int | None, wholly_in: int | None, number: int
) -> tuple[int | None, int | None]:
    found = errors(wearer.body, pattern, hand)
    girth = _girth_fits(wearer, found)
    wholly = girth and not _left(wearer, pattern, hand)
    return (
        (girth_in if girth_in is not None else number) if girth else None,
        (wholly_in if wholly_in is not None else number) if wholly else None,
    )


def _girth_fits(wearer: Wearer, found: Error) -> bool:
    return all(abs(e * wearer.body.give[s]) <= GIRTH_MM for s, e in found.girth.items())


def _left(wearer: Wearer, pattern: Data, hand: Hand | None = None) -> dict[str, float]:
    """What does not fit, by name, in mm. Half girths count where the halves differ from each other."""
    found = errors(wearer.body, pattern, hand)
    left = {f"girth {s}": e for s, e in found.girth.items() if abs(e * wearer.body.give[s]) > GIRTH_MM}
    for station in found.halves["left"]:
        differ = found.halves["right"][station] - found.halves["left"][station]
        if abs(differ) > GIRTH_MM:
            left[f"right against left {station}"] = differ
    lengths = {
        **{f"underarm {side}": e for side, e in found.underarm.items() if e > 0},
        "front top": min(0.0, found.front_top),
        "front depth": found.front_depth if _length_planted(wearer) else max(0.0, found.front_depth),
        "above": found.above,
    }  # fmt: skip
    return {**left, **{name: e for name, e in lengths.items() if abs(e) > LENGTH_MM}}


def _length_planted(wearer: Wearer) -> bool:
    return any(fault.kind == "too short below the waist" for fault in wearer.faults)


def _worse(before: Error, after: Error) -> tuple[str, ...]:
    """The errors that a round made worse: those of half girths only where the whole is worse or the halves part."""
    was, now = before.parts, after.parts
    found = [
        name for name in now
        if name in was and abs(now[name]) > abs(was[name]) + WORSE_MM and abs(now[name]) > GIRTH_MM
    ]  # fmt: skip
    return tuple(name for name in found if name not in ("side depth", "front depth") or abs(now[name]) > INCH)


def _command(*arguments: str) -> tuple[int, Data | None, str]:
    out, err = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        code = run(list(arguments))
    try:
        data = json.loads(out.getvalue())
    except ValueError:
        data = None
    return code, data, err.getvalue().strip() or out.getvalue().strip()


def _newest(case: Path) -> Data:
    newest = max(path for path in (case / "patterns").glob("[0-9][0-9][0-9][0-9].json"))
    return dict(json.loads(newest.read_text(encoding="utf-8")))
