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

from loop_tryon import Error, answers, errors, true_causes
from loop_wearers import INCH, Wearer

from diagnose.cli.running import run
from diagnose.places import bundled_rules

__all__ = ["Followed", "RoundSeen", "follow"]

Data = dict[str, Any]
GIRTH_MM = 3 / 8 * INCH
"""A girth fits when its gap is within this of the target: a quarter of an inch, and the noise of a reading."""
LENGTH_MM = 5 / 16 * INCH
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


@dataclass(frozen=True)
class Followed:
    """A wearer and her rounds; numbers of rounds after which her girth, and all of her, fitted (None: never)."""

    wearer: Wearer
    rounds: tuple[RoundSeen, ...]
    girth_in: int | None
    wholly_in: int | None
    left: Mapping[str, float] = field(default_factory=dict)
    failed: str | None = None


def follow(wearer: Wearer, folder: Path, most_rounds: int = MOST_ROUNDS) -> Followed:
    """The advice followed until nothing is advised, or for so many rounds."""
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
    girth_in, wholly_in = _fits(wearer, pattern, None, None, 0)
    for number in range(1, most_rounds + 1):
        file = folder / f"answers-{wearer.seed}-{number}.json"
        told = answers(wearer, pattern, chance)
        told["seen"] = {**looked_for, **told["seen"]}
        file.write_text(json.dumps(told), encoding="utf-8")
        code, plan, said = _command("tryon", str(case), "--answers", str(file), "--json")
        if plan is None:
            return Followed(wearer, tuple(rounds), girth_in, wholly_in, _left(wearer, pattern), failed=said)
        before = errors(wearer.body, pattern)
        steps = plan["plan"][0]["steps"] if plan["plan"] else []
        looked_for |= {ask["id"]: False for ask in plan["ask"] if ask["id"] in _CAN_BE_LOOKED_FOR}
        quiet = 0 if steps else quiet + 1
        if quiet == QUIET_ROUNDS:
            break
        refused = None
        if any(step.get("drawn", True) for step in steps):
            code, _, said = _command("alter", str(case), "--json")
            refused = said if code else None
            pattern = _newest(case)
        after = errors(wearer.body, pattern)
        real = true_causes(before)
        causes = tuple((c["id"], c["probability"], c["id"] in real) for c in plan["causes"])
        rounds.append(RoundSeen(plan, before, after, refused, _worse(before, after), causes))
        girth_in, wholly_in = _fits(wearer, pattern, girth_in, wholly_in, number)
    return Followed(wearer, tuple(rounds), girth_in, wholly_in, _left(wearer, pattern))


def _fits(
    wearer: Wearer, pattern: Data, girth_in: int | None, wholly_in: int | None, number: int
) -> tuple[int | None, int | None]:
    found = errors(wearer.body, pattern)
    girth = _girth_fits(wearer, found)
    wholly = girth and not _left(wearer, pattern)
    return (
        (girth_in if girth_in is not None else number) if girth else None,
        (wholly_in if wholly_in is not None else number) if wholly else None,
    )


def _girth_fits(wearer: Wearer, found: Error) -> bool:
    return all(abs(e * wearer.body.give[s]) <= GIRTH_MM for s, e in found.girth.items())


def _left(wearer: Wearer, pattern: Data) -> dict[str, float]:
    """What does not fit, by name, in mm. Half girths count where the halves differ from each other."""
    found = errors(wearer.body, pattern)
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
