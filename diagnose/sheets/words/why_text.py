"""The argument for one cause or alteration of a plan: what speaks for it, what against, and what the rules say."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from diagnose.errors import FitError, nearest
from diagnose.model.diagnosis import CauseFound, Evidence
from diagnose.pattern.in_words import bone_numbers, notes_said
from diagnose.pattern.outline import Pattern
from diagnose.plan.planned import Diagnosis, StepPlan
from diagnose.rulebase.base import RuleBase
from diagnose.sheets.json_out import cause_to_json
from diagnose.sheets.words.parts import Said, wrapped
from diagnose.sheets.words.rule_text import entry_lines
from diagnose.sheets.words.wording import NEARLY, evidence_words

__all__ = ["why_lines", "why_to_json"]


def why_lines(diagnosis: Diagnosis, base: RuleBase, name: str, *patterns: Pattern | None) -> Iterator[Said]:
    """The argument in lines; `patterns` are the versions that it speaks of, the oldest first.

    Raises:
        FitError: when the name is neither a cause nor an alteration, or this try-on says nothing of it.
    """
    causes, steps = _about(diagnosis, base, name)
    bones = bone_numbers(*patterns)
    for step in steps:
        yield from wrapped(step.why, f"Step {step.id}: ")
        yield from wrapped(step.at, "  Where: ")
        for note in notes_said(step.notes, bones):
            yield from wrapped(note, "  ")
    for held in diagnosis.held_back:
        if name in (held.alteration, held.cause):
            yield from wrapped(f"{held.because} It waits until {held.until}.", "Held back: ")
    if causes and not diagnosis.exact:
        yield from wrapped(NEARLY)
    for cause in causes:
        yield ""
        side = "" if cause.side == "both" else f", {cause.side} side"
        yield from wrapped(f"{base.entries.causes[cause.id].title}: {cause.probability:.0%} sure{side}.")
        yield from _evidence("for", cause.for_, base)
        yield from _evidence("against", cause.against, base)
    yield ""
    yield from entry_lines(base.entries, name)


def _about(diagnosis: Diagnosis, base: RuleBase, name: str) -> tuple[list[CauseFound], list[StepPlan]]:
    steps = [step for round_ in diagnosis.rounds for step in round_.steps if name in (step.alteration, step.cause)]
    named = {name, *(step.cause for step in steps)}
    causes = [cause for cause in diagnosis.causes if cause.id in named]
    held = any(name in (held.alteration, held.cause) for held in diagnosis.held_back)
    if not causes and not steps and not held:
        known = {*(c.id for c in diagnosis.causes), *(s.alteration for r in diagnosis.rounds for s in r.steps)}
        known |= {held.alteration for held in diagnosis.held_back}
        in_base = name in base.entries.causes or name in base.entries.alterations
        what = "This try-on says nothing of" if in_base else "No cause or alteration is called"
        raise FitError.of(
            "--why", f"{what} '{name}'.", nearest(name, known) if known else "The plan is empty.", code="no-such-entry"
        )
    return causes, steps


def _evidence(word: str, items: Sequence[Evidence], base: RuleBase) -> Iterator[Said]:
    for item in items:
        name, _, answer = item.as_given.partition("=")
        asked = f"“{base.entries.questions[name].ask}” {answer}" if answer else ""
        said = asked or evidence_words(base.entries, item)
        times = f"the odds {'rise' if word == 'for' else 'fall'} {item.weight:.2g} times by it"
        yield from wrapped(f"{said}: {times} ({item.rule})", f"  {word}: ")


def why_to_json(diagnosis: Diagnosis, base: RuleBase, name: str) -> dict[str, Any]:
    """What argues for a cause or an alteration, as data."""
    causes, steps = _about(diagnosis, base, name)
    return {
        "id": name,
        "causes": [cause_to_json(cause) for cause in causes],
        "steps": [{"id": step.id, "alteration": step.alteration, "why": step.why} for step in steps],
        "held_back": [
            {"alteration": h.alteration, "until": h.until, "because": h.because}
            for h in diagnosis.held_back
            if name in (h.alteration, h.cause)
        ],
    }  # fmt: skip
