"""Plan steps drawn into the newest version of a case, or done by hand, and stored as the next one."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import reduce
from pathlib import Path
from typing import Any

from msgspec import Struct
from msgspec.structs import replace

from diagnose import casebook
from diagnose.casebook import Case, StoredTryOn
from diagnose.casework.working import last_tryon, work_out
from diagnose.errors import FitError, nearest
from diagnose.pattern.in_words import Bones, Note, bone_numbers, notes_said
from diagnose.pattern.operations import Operation
from diagnose.pattern.outline import Pattern
from diagnose.pattern.report import change_report
from diagnose.plan.drawing.paper import OnPaper
from diagnose.plan.planned import StepPlan
from diagnose.rulebase.base import RuleBase
from diagnose.sheets.json_out import step_to_json
from diagnose.sheets.words.change_text import change_lines
from diagnose.sheets.words.parts import Said, hanging

__all__ = ["NextVersion", "alter_case", "done_since"]

HAND = "For the hand: it is done on the toile, the bones or the lacing, not on the paper."


class NextVersion(Struct, frozen=True):
    """What became of the steps that were to be drawn.

    Attributes:
        case: the case as it is now.
        before: the case as it was.
        after: the pattern with the steps drawn in; as it was where none is drawn.
        base: the rules that the plan was made by.
        done: the ids of the steps that are stored as done; with none, no version was stored.
        left: the steps that are for the hand and not said to be done.
        operations: what was drawn.
        notes: what the drawing had to say.
    """

    case: Case
    before: Case
    after: Pattern
    base: RuleBase
    done: tuple[str, ...]
    left: tuple[StepPlan, ...]
    operations: tuple[Operation, ...] = ()
    notes: tuple[Note, ...] = ()

    @property
    def bones(self) -> Bones:
        """What the bones are numbered on her sheets."""
        return bone_numbers(self.before.pattern, self.after)

    def said(self) -> list[Said]:
        """What is shown of it, in lines."""
        old = self.before.pattern
        titles, bones = self.base.entries.alterations, self.bones
        for_hand = [
            f"{step.id} {titles[step.alteration].title}: {' '.join(notes_said(step.notes, bones)) or HAND}"
            for step in self.left
        ]
        if not self.done:
            hand = f" --by-hand {self.left[0].id}" if self.left else ""
            say = f"When it is done, say so with: diagnose alter CASE{hand}"
            return ["Nothing is drawn. What is to be done is for the hand:", *hanging(for_hand), "", say]
        made, of = self.case.newest.number, self.before.newest.number
        changes = change_lines(change_report(old, self.after), old, self.after, unit=self.case.unit)
        notes = (f"Note: {note}" for note in notes_said(self.notes, bones))
        head = f"Version {made} stored, made from version {of} by: {', '.join(self.done)}."
        return [head, "", *hanging([*changes, *notes, *for_hand])]

    def to_json(self) -> dict[str, Any]:
        """What is told of it as data; lengths in mm."""
        data: dict[str, Any] = {
            "version_stored": self.case.newest.number if self.done else None,
            "made_from": self.before.newest.number,
            "steps": list(self.done),
            "for_the_hand": [step.id for step in self.left],
            "operations": [one.to_json() for one in self.operations],
            "notes": notes_said(self.notes or [note for step in self.left for note in step.notes], self.bones),
        }
        return data | ({"report": change_report(self.before.pattern, self.after).to_json()} if self.done else {})


def alter_case(
    folder: Path, steps: Sequence[str], date: str | None = None, *, ways: Mapping[str, str] | None = None,
    by_hand: Sequence[str] = (),
) -> NextVersion:  # fmt: skip
    """Draw plan steps into the newest version and store the next.

    What is for the hand is told and not stored as done; with `by_hand` she says that she has done it.

    Args:
        folder: the case's.
        steps: ids of plan steps; round 1 unless given.
        date: the day.
        ways: for a step by its id, the way she asks for instead of the first.
        by_hand: ids of the steps that she has done by hand.

    Raises:
        FitError: when there is no plan, no such step, or a step is in the pattern already.
    """
    case = casebook.open_case(folder)
    stored = last_tryon(case)
    ways = ways or {}
    chosen = _chosen(stored, [*steps, *by_hand], done_since(case, stored))
    for step in ways:
        if step not in chosen:
            raise FitError.of(
                "--way", f"The plan has no step “{step[:40]}” to draw now.", nearest(step, chosen), code="no-such-step"
            )
    worked = work_out(case, stored.answers, stored.number, version=case.newest.number, only=chosen, ways=ways)
    planned = [step for round_ in worked.diagnosis.rounds for step in round_.steps if step.id in chosen]
    drawn = [step for step in planned if step.on_paper is not None and step.id not in by_hand]
    left = tuple(step for step in planned if step not in drawn and step.id not in by_hand)
    done = tuple(step.id for step in planned if step not in left)
    made = NextVersion(case=case, before=case, after=case.pattern, base=worked.base, done=done, left=left)
    if not done:
        return made
    papers = [step.on_paper for step in drawn if step.on_paper is not None]
    whole = reduce(OnPaper.then, papers) if papers else None
    made = replace(
        made,
        after=whole.after if whole is not None else case.pattern,
        operations=whole.operations if whole is not None else (),
        notes=tuple(dict.fromkeys(note for step in drawn for note in step.notes)),
    )
    otherwise = [step_to_json(step) | {"way": ways.get(step.id, step.alteration)} for step in drawn] if ways else []
    new = casebook.add_version(
        case,
        made.after,
        case.newest.number,
        operations=made.operations,
        steps=done,
        notes=notes_said(made.notes, made.bones),
        date=date,
        otherwise=otherwise,
    )
    return replace(made, case=new)


def done_since(case: Case, stored: StoredTryOn) -> set[str]:
    """The steps of the last plan that the newest version holds already."""
    tried = case.version(stored.pattern_version)
    return {step.step for step in casebook.steps_beyond(case, case.newest, tried) if step.tryon == stored.number}


def _chosen(stored: StoredTryOn, steps: Sequence[str], done: set[str]) -> list[str]:
    known = stored.step_ids
    if not known:
        raise FitError.of("plan", "The last try-on has no step to apply.", "Answer another try-on.", code="no-steps")
    if not steps:
        first = known[0].split(".")[0]
        skipped = {one.step for one in stored.skipped}
        left = [step for step in known if step.split(".")[0] == first and step not in done | skipped]
        if not left:
            raise FitError.of(
                "plan",
                f"Round {first} is in the pattern already{', or noted as not done' if skipped else ''}.",
                "Sew, try on and answer again.",
                code="done-already",
            )
        return left
    for step in steps:
        if step not in known:
            raise FitError.of(step, f"The plan has no step “{step}”.", nearest(step, known), code="no-such-step")
        if step in done:
            raise FitError.of(
                step,
                "This step is in the newest version already.",
                typed="Go back with: diagnose back CASE N",
                code="done-already",
            )
    return [step for step in known if step in steps]
