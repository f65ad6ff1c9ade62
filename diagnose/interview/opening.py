"""The opening of a try-on: stop flags, the gap, the pull, whether it may be judged, and where today stands."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from diagnose.interview.body_places import Worn, may_have
from diagnose.interview.known import Known
from diagnose.interview.question import Given, Option, Question, Value
from diagnose.model.stations import Station
from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.reading.entries import Question as Gate
from diagnose.units import parse_length, read_length

__all__ = ["opening", "preconditions", "sign_options"]

STATION_NAMES: Mapping[Station, str] = {
    "top": "top edge", "underbust": "underbust", "waist": "waist", "hip": "hip", "bottom": "bottom edge",
}  # fmt: skip
HOW_GAP = (
    "Stand at ease and breathe out. Lay a tape straight across from lacing edge to lacing edge (not from eyelet to "
    "eyelet), or have it read in a mirror behind you. If the edges meet, type 0."
)
TENSIONS = (
    Option("working", "Working pull", "Firm and even; you could stay in it for an hour."),
    Option("loose", "Loose", "Less than you would wear it at."),
    Option("hard", "Hard", "Drawn in as far as it will go."),
)
TODAYS = (
    Option("usual", "As usual", "Neither larger nor smaller than on most days."),
    Option("largest", "At its largest", "Swollen, after salt or food, or at that time of the month."),
    Option("smallest", "At its smallest", "Rested, in the morning, or after lean days."),
)
GATES = ("toile", "lacing")
LACED = {"fastening": ("laced",)}


def opening(base: RuleBase, known: Known, given: Given) -> Iterator[Question]:
    """The questions before any sign, in order; nothing follows stop flags that are up.

    Args:
        base: the rule base; known: what the case knows.
        given: the replies so far by question id; a question without one ends what is yielded after it.
    """
    yield stop_question(base)
    if given.get("stop"):
        return
    yield from _target(known, base)
    yield from _gap(base, known, given)
    if may_have(known.garment, LACED):
        yield _tension()
    yield from _gates(base, known, given)
    yield from _body(base, known, given)


def stop_question(base: RuleBase) -> Question:
    """All stop flags on one screen."""
    options = sign_options(base, [sign.id for sign in base.entries.symptoms.values() if sign.now is not None])
    return Question(
        "stop", "First of all", "several", text="Is any of these so, right now?",
        why="Each of them means: unlace now. Nothing about the pattern matters until it is clear.",
        how="If you can't tell, let the lace out first, and see how you feel.", options=options,
    )  # fmt: skip


def sign_options(base: RuleBase, names: Iterable[str]) -> tuple[Option, ...]:
    """Signs to be picked, each with how it is seen."""
    return tuple(Option(sign.id, sign.title, sign.see) for sign in map(base.entries.symptoms.__getitem__, names))


def _target(known: Known, base: RuleBase) -> Iterator[Question]:
    garment = known.garment
    meets = garment.get("meant_to_meet", garment.get("fastening") in ("hooks", "buttons"))
    if known.target is None and not meets:
        yield Question(
            "target", "The lacing gap", "length", text="How wide did you mean the gap to be?",
            why="Every girth is judged by how far the gap is from the one you meant.",
            how="Whole, from edge to edge. Type 0 if the edges are meant to meet, ? to take the usual one.",
            usual=base.settings.mm("gap-widest"), most=_most("gap-waist", base),
        )  # fmt: skip


def _gap(base: RuleBase, known: Known, given: Given) -> Iterator[Question]:
    both = known.garment.get("closure") == "both"
    for station in known.stations:
        yield _gap_question("gap", station, " at the back" if both else "", base=base, known=known)
        if both and given.get(f"gap.{station}") is not None:
            yield _gap_question("front", station, " in front", base=base, known=known)
        if _closed(given, station, both):
            yield _lap_question(station, base)


def _gap_question(kind: str, station: Station, which: str, base: RuleBase, known: Known) -> Question:
    last = None if which else _shown_last(known, station)
    return Question(
        f"{kind}.{station}", "The lacing gap", "length",
        text=f"How wide is the gap{which} at the {STATION_NAMES[station]}, edge to edge?",
        why="Every girth is judged by the gap; without it no amount can be given.", how=HOW_GAP,
        usual=base.settings.mm("gap-widest"), most=_most(f"gap-{station}", base), station=station, last=last,
    )  # fmt: skip


def _shown_last(known: Known, station: Station) -> Value:
    last = known.last_of("gap", station)
    return f"{last:g} mm" if isinstance(last, int | float) else last if isinstance(last, str) else None


def _most(fact: str, base: RuleBase, lap: bool = False) -> float | None:
    """The most that is believable of a reading; a lap is a gap below 0."""
    known = base.entries.facts.get(fact)
    if known is None:
        return None
    return known.high if not lap else None if known.low is None else -known.low


def _closed(given: Given, station: Station, both: bool) -> bool:
    """Whether the edges meet there, in front as well when it laces there too."""
    parts = [given.get(f"{kind}.{station}") for kind in (("gap", "front") if both else ("gap",))]
    return all(isinstance(part, str) and read_length(part, "gap") == 0 for part in parts)


def _lap_question(station: Station, base: RuleBase) -> Question:
    return Question(
        f"lap.{station}", "The lacing gap", "length",
        text=f"How far would the edges lap over at the {STATION_NAMES[station]}, if they could?",
        why="A closed gap only says “at least so much”. The lap says how much.",
        how="At the same pull, lay one edge over the other until the body is held as it should be, and measure the lap."
        " Type 0 if they just meet.",
        usual=base.settings.mm("gap-widest"), most=_most(f"gap-{station}", base, lap=True),
    )  # fmt: skip


def _tension() -> Question:
    return Question(
        "tension", "The lacing gap", "choice", text="At what pull was that read?",
        why="A gap says nothing without the pull that made it.", how="", options=TENSIONS,
    )  # fmt: skip


def preconditions(base: RuleBase, garment: Mapping[str, Any]) -> tuple[Gate, ...]:
    """What ought to be so before a gap or a fold is worth reading: the gate questions for which only no is bad, as far
    as the garment has what they are about."""
    gates = [q for q in base.entries.questions.values() if q.good and may_have(garment, base.parts.get(q.id, {}))]
    return tuple(q for gate in GATES for q in gates if q.gate == gate)


def _gates(base: RuleBase, known: Known, given: Given) -> Iterator[Question]:
    """Asked as one; when not all are so, which are not; when she can't tell, one by one."""
    gates = preconditions(base, known.garment)
    if not gates:
        return
    options = tuple(Option(gate.id, gate.ask, gate.how) for gate in gates)
    why = "If one of them is not so, the reading is of the toile or the lacing, and not of the pattern."
    say = "Type y if all are so, n if one is not, ? to go through them one by one."
    yield Question(
        "ready",
        "Can it be judged?",
        "yes-no",
        text="Can you say yes to all of these?",
        why=why,
        how=say,
        options=options,
    )
    if given.get("ready") is False:
        yield Question(
            "unready",
            "Can it be judged?",
            "several",
            text="Which of them is it no for?",
            why=why,
            how="",
            options=options,
            none="",
            every="all of them",
        )
    if any(name in given and given[name] is None for name in ("ready", "unready")):
        for gate in gates:
            last = known.last_of("known", gate.id)
            yield gate_question(gate, "Can it be judged?", last if isinstance(last, bool) else None)


def gate_question(
    question: Gate, part: str, last: Value = None, *, text: str = "", how: str = "", worn: Worn | None = None
) -> Question:
    """A question of the rule base that tells causes apart.

    Args:
        question: of the rule base.
        part: of the interview that it is asked in.
        last: what was answered the last time.
        text: instead of its own, where it names the signs it is about.
        how: instead of its own, where more is said of that than stands in the rules.
        worn: when it is asked: with the garment on, or off.
    """
    return Question(
        f"known.{question.id}", part, "yes-no", text=text or question.ask, why=question.why, how=how or question.how,
        last=last,
        worn=worn,
    )  # fmt: skip


def _body(base: RuleBase, known: Known, given: Given) -> Iterator[Question]:
    """Where today stands in her range; how wide the range is, when that has never been said."""
    part = "The body today"
    yield Question(
        "today", part, "choice", text="Is the body today as usual, at its largest, or at its smallest?",
        why="A girth that comes and goes should not be cut into the pattern; the gap is there to take it up.",
        how="Compare the waist with what it measured when the pattern was drawn, and think of the last days.",
        options=TODAYS,
    )  # fmt: skip
    if given.get("today") is not None and known.wearer.get("changes_by") is None:
        yield Question(
            "changes", part, "length", text="By how much does the waist change, from smallest to largest?",
            why="The gap must stay wide enough and narrow enough over the whole of her range.",
            how="The difference of two tapings, as far as you know them. Type 0 if it hardly changes, ? if you don't "
            "know.", most=_most("body-change", base),
            last=_text_length(known.last_of("wearer", "changes_by")),
        )  # fmt: skip


def _text_length(value: object) -> Value:
    return value if isinstance(value, str) and parse_length(value) is not None else None
