"""The plan of a try-on as a page: the drawing before and after, the steps, and what argues for them."""

from __future__ import annotations

from msgspec import Struct
from starlette.responses import Response

from diagnose import casebook
from diagnose.casebook import Case, StoredTryOn
from diagnose.casework.sheeting import view_of
from diagnose.casework.working import alter_case, done_since
from diagnose.errors import FitError
from diagnose.sheets.view import SheetView
from diagnose.workroom.asked import Asked, html, to
from diagnose.workroom.drawings import as_sheet
from diagnose.workroom.room import Room
from diagnose.workroom.views import page

__all__ = ["draw_steps", "plan", "skip_step"]

WRONG = 422


class StepOnPage(Struct, frozen=True):
    """A step of round 1 on the page: its id, whether it is drawn, in the pattern already, or was not done and why."""

    id: str
    alteration: str
    cause: str
    drawn: bool
    done: bool
    skipped: str


def plan(room: Room, asked: Asked) -> Response:
    """The plan of a try-on: the last, or the one that the address names."""
    return html(_plan(room, room.case(asked.path["case"]), asked))


def draw_steps(room: Room, asked: Asked) -> Response:
    """Draw the steps that are picked into the newest version, and store the next."""
    case = room.case(asked.path["case"])
    try:
        steps = asked.all("step")
        if not steps:
            raise FitError.of("", "No step is picked.", "Pick those that are to be drawn.")
        with room.changing:
            room.work(lambda: alter_case(case.folder, steps))
    except FitError as error:
        return html(_plan(room, case, asked, error), WRONG)
    return to("case", case.folder.name, "versions")


def skip_step(room: Room, asked: Asked) -> Response:
    """Note that a step is not done, and why."""
    case = room.case(asked.path["case"])
    try:
        if not asked.one("why"):
            raise FitError.of("", "The reason is missing.", "Say why it is not done: the next plan is read with it.")
        with room.changing:
            casebook.note_skipped(case, len(case.tryons), asked.one("step"), asked.one("why"))
    except FitError as error:
        return html(_plan(room, case, asked, error), WRONG)
    return to("case", case.folder.name, "plan")


def _plan(room: Room, case: Case, asked: Asked, wrong: FitError | None = None) -> str:
    if not case.tryons:
        return page("no-plan.html.j2", title="No try-on yet", case=case, here="plan")
    number = asked.number("tryon", len(case.tryons))
    stored = case.tryon(number)
    worked = room.worked(case, number)
    key = ("view", case.folder.name, case.created, number, stored.pattern_version, repr(stored.answers))
    view: SheetView = room.kept(key, lambda: view_of(worked, stored.date), engine=True)
    last = number == len(case.tryons)
    steps = _steps(case, stored)
    waiting = [one for one in steps if one.drawn and not one.done and not one.skipped]
    return page(
        "plan.html.j2", title="Stop. Unlace now." if view.stop else "What to do now" if last else f"Try-on {number}",
        case=case, here="plan", view=view, tryon=number, last=last,
        pairs=list(zip(steps, view.first, strict=False)), waiting=waiting,
        causes=[c.id for c in worked.diagnosis.causes],
        sheet=as_sheet(view.pattern_picture, case.unit, "The pattern, the new line bold over the old")
        if view.pattern_picture else None,
        gap_picture=view.gap_picture, wrong=wrong.mistakes if wrong else (), linked=room.terms(case).linked,
    )  # fmt: skip


def _steps(case: Case, stored: StoredTryOn) -> list[StepOnPage]:
    """The steps of the plan's first round, in order."""
    done = done_since(case, stored)
    skipped = {one.step: one.why for one in stored.skipped}
    first = stored.first_round
    return [
        StepOnPage(
            str(step.get("id")), str(step.get("alteration")), str(step.get("cause")), bool(step.get("operations")),
            str(step.get("id")) in done, skipped.get(str(step.get("id")), ""),
        )
        for step in first
    ]  # fmt: skip
