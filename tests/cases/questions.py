"""How many questions it takes until the plan is settled: asked by expected effect on the plan, and in a fixed order.

A try-on is settled by so many questions when from then on its first round (which alterations, on which sides) is, and
stays, the one that all answers together give. All answers are those to every sign and question that can be asked, as
the vignette tells them; what it does not speak of is answered as of a sound toile, and is not known where that says
nothing. A question she can't answer counts. One try-on is begun twice: from the complaint (the readings, and the signs
that are there), and from the readings alone. The fixed order is the order of work: each sign or question has the place
of the earliest step that one of its causes is acted on at, equals as the rule base lists them, and none is left out.

    python tests/cases/questions.py
"""

from __future__ import annotations

import statistics
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Literal

from scoring import Vignette, answer_to, read_vignettes

from diagnose.engine.matching import matcher_for
from diagnose.model.tryon_reading import read_tryon
from diagnose.plan.planned import Diagnosis
from diagnose.plan.whole import diagnose
from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.loading import load_rulebase
from diagnose.rulebase.neutral import Matcher

__all__ = ["MOST", "Needed", "Told", "Way", "measure", "summary"]

MOST = 20
"""No maker laced in answers more; a try-on not settled by then counts as so many."""

Told = Literal["complaint", "readings"]
Way = Literal["by effect", "fixed order"]
FirstRound = frozenset[tuple[str, str]]
Next = Callable[[Diagnosis, Collection[str]], str | None]


@dataclass(frozen=True, slots=True)
class Needed:
    """Of one try-on: after how many questions it was settled (None: not by MOST), and how many were put in all."""

    settled: int | None
    put: int

    @property
    def counted(self) -> int:
        return MOST if self.settled is None else self.settled


def measure(
    vignettes: Iterable[Vignette], base: RuleBase, matcher: Matcher, told: Told, way: Way, exact: bool
) -> list[Needed]:
    """What each try-on needed; those that end at a stop sign are left out, since nothing is planned for them."""
    asking = _by_effect if way == "by effect" else _in_order(order_of_work(base))
    going = [vignette for vignette in vignettes if not vignette.stop]
    return [_needed(vignette, base, matcher, told, asking, exact and way == "by effect") for vignette in going]


def order_of_work(base: RuleBase) -> list[str]:
    """Every sign and question that can be asked, in the order of work."""
    place: dict[str, int] = {}
    for askable in base.askable.values():
        earliest = min(base.first_step[cause] for cause in askable.causes)
        place[askable.name] = min(earliest, place.get(askable.name, earliest))
    listed = [name for name in (*base.entries.questions, *base.entries.symptoms) if name in place]
    return sorted(listed, key=lambda name: place[name])


def _by_effect(found: Diagnosis, done: Collection[str]) -> str | None:
    return next((one.id for one in found.ask if one.id not in done and one.id not in ("gap", "tension")), None)


def _in_order(order: Sequence[str]) -> Next:
    return lambda _found, done: next((name for name in order if name not in done), None)


def _needed(v: Vignette, base: RuleBase, matcher: Matcher, told: Told, asking: Next, exact: bool) -> Needed:
    def at(given: Mapping[str, Any]) -> Diagnosis:
        tryon = read_tryon(_line(v, given, told, base), base.vocabulary)
        return diagnose(tryon, base, matcher, exact_asking=exact)

    everything = {name: _answer(v, name, base) for name in order_of_work(base)}
    aim = first_round(at({name: answer for name, answer in everything.items() if answer is not None}))
    given: dict[str, Any] = {}
    done = set(_complaint(v)) if told == "complaint" else set()
    before = len(done)
    found = at(given)
    rounds = [first_round(found)]
    while len(done) - before < MOST and (name := asking(found, done)) is not None:
        done.add(name)
        if everything.get(name) is not None:
            given[name] = everything[name]
            found = at(given)
        rounds.append(first_round(found))
    return Needed(_settled(rounds, aim), len(done) - before)


def first_round(found: Diagnosis) -> FirstRound:
    """What is done now; nothing when it was stopped."""
    return frozenset((step.alteration, step.side) for round_ in found.rounds[:1] for step in round_.steps)


def _settled(rounds: Sequence[FirstRound], aim: FirstRound) -> int | None:
    off = [number for number, round_ in enumerate(rounds) if round_ != aim]
    first = off[-1] + 1 if off else 0
    return first if first < len(rounds) else None


def _line(v: Vignette, given: Mapping[str, Any], told: Told, base: RuleBase) -> dict[str, Any]:
    seen = dict(_complaint(v)) if told == "complaint" else {}
    known: dict[str, Any] = {}
    for name, answer in given.items():
        (known if name in base.entries.questions else seen)[name] = answer
    return {**v.line, "seen": seen, "known": known}


def _complaint(v: Vignette) -> dict[str, Any]:
    """The signs that are there, which she names unasked."""
    return {name: sign for name, sign in v.answers.get("seen", {}).items() if sign is not False}


def _answer(v: Vignette, name: str, base: RuleBase) -> Any:
    told = {**v.answers.get("seen", {}), **v.answers.get("known", {})}
    return told[name] if name in told else answer_to(v, name, is_question=name in base.entries.questions)


def summary(needed: Sequence[Needed]) -> str:
    """One line of figures."""
    counted = [one.counted for one in needed]
    within = sum(one.settled is not None and one.settled <= 10 for one in needed)
    return (
        f"mean {statistics.mean(counted):.1f}, median {statistics.median(counted):g}, settled within ten "
        f"{within}/{len(needed)}, within {MOST} {sum(one.settled is not None for one in needed)}/{len(needed)}; "
        f"put till nothing more is asked: mean {statistics.mean(one.put for one in needed):.1f}, "
        f"median {statistics.median(one.put for one in needed):g}"
    )


def report(base: RuleBase) -> Iterator[str]:
    """The figures of both ways from both beginnings."""
    vignettes, matcher = read_vignettes(), matcher_for(base)
    for told in ("complaint", "readings"):
        for way in ("by effect", "fixed order"):
            yield f"from the {told}, {way}: {summary(measure(vignettes, base, matcher, told, way, exact=True))}"


if __name__ == "__main__":
    for line in report(load_rulebase()):
        print(line, flush=True)
