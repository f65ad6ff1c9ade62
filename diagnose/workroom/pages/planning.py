"""The plan of a try-on as a page: the drawing before and after, the steps, and what argues for them."""

from __future__ import annotations

from collections.abc import Sequence

from msgspec import Struct
from starlette.responses import Response

from diagnose import casebook
from diagnose.casebook import Case, StoredTryOn
from diagnose.casework.next_version import alter_case, done_since
from diagnose.casework.sheeting import view_of
from diagnose.casework.working import WorkedOut
from diagnose.errors import FitError
from diagnose.sheets.view_model import SheetView
from diagnose.workroom.asked import WRONG, Asked, html, to
from diagnose.workroom.drawings import as_sheet, told_of
from diagnose.workroom.pages.overruling import asked_ways, told_ways
from diagnose.workroom.room import Room
from diagnose.workroom.views import page, query_of

__all__ = ["by_hand", "draw_steps", "plan", "skip_step"]


class StepOnPage(Struct, frozen=True):
    """A step of round 1 on the page: whether it is drawn, in the pattern already, or not done; how many ways it has."""

    id: str
    alteration: str
    cause: str
    drawn: bool
    done: bool
    skipped: str
    ways: int


def plan(room: Room, asked: Asked) -> Response:
    """The plan of a try-on: the last, or the one that the address names."""
    return html(_plan(room, room.case(asked.path["case"]), asked))


def draw_steps(room: Room, asked: Asked) -> Response:
    """Draw the steps that are picked into the newest version, and store the next."""
    case = room.case(asked.path["case"])
    try:
        steps = asked.all("step")
        if not steps:
            raise FitError.of("", "No step is picked.", "Pick those that are to be drawn.", code="nothing-picked")
        with room.changing:
            left = _left(room, case, steps)
            ways = {step: way for step, way in asked_ways(asked).items() if step in left}
            if left:
                room.work(lambda: alter_case(case.folder, left, ways=ways))
    except FitError as error:
        return html(_plan(room, room.case(case.folder.name), asked, wrong=error), WRONG)
    return to("case", case.folder.name, "versions")


def _left(room: Room, case: Case, steps: Sequence[str]) -> list[str]:
    """Those of the steps that are in the pattern by no other tap, window or device yet."""
    now = room.case(case.folder.name)
    done = done_since(now, now.tryons[-1]) if now.tryons else ()
    return [step for step in steps if step not in done]


def skip_step(room: Room, asked: Asked) -> Response:
    """Note that a step is not done, and why; or take that back."""
    case = room.case(asked.path["case"])
    try:
        is_back = bool(asked.one("back"))
        if not asked.one("why") and not is_back:
            raise FitError.of(
                "", "The reason is missing.", "Say why it is not done: the next plan is read with it.", code="missing"
            )
        with room.changing:
            casebook.note_skipped(case, len(case.tryons), asked.one("step"), why=None if is_back else asked.one("why"))
    except FitError as error:
        return html(_plan(room, case, asked, wrong=error), WRONG)
    return _again(case, asked)


def _again(case: Case, asked: Asked) -> Response:
    """The plan anew, with the ways taken of its other steps."""
    rest = {step: way for step, way in asked_ways(asked).items() if step != asked.one("step")}
    return to("case", case.folder.name, "plan", query=f"?{query_of(told_ways(rest))}" if rest else "")


def _plan(room: Room, case: Case, asked: Asked, wrong: FitError | None = None) -> str:
    if not case.tryons:
        return page("no-plan.html.j2", title="No try-on yet", case=case, here="plan")
    number = asked.number("tryon", len(case.tryons))
    stored = case.tryon(number)
    last = number == len(case.tryons)
    ways = asked_ways(asked) if last else {}
    worked = room.worked(case, number, ways)
    view: SheetView = room.kept(
        ("view", asked.screen), lambda: view_of(worked, stored.date, wall=False, screen=asked.screen), of=worked,
    )  # fmt: skip
    steps = _steps(case, stored, worked)
    changed_from = worked.before if worked.after else None
    waiting = [one for one in steps if one.drawn and not one.done and not one.skipped]
    return page(
        "plan.html.j2", title="Stop. Unlace now." if view.stop else "What to do now" if last else f"Try-on {number}",
        case=case, here="plan", view=view, tryon=number, last=last,
        pairs=list(zip(steps, view.first, strict=False)), waiting=waiting, taken=told_ways(ways),
        causes=[c.id for c in worked.diagnosis.causes],
        sheet=as_sheet(
            view.pattern_picture, case.unit, told_of(worked.after or worked.before, changed_from), screen=asked.screen
        ) if view.pattern_picture else None,
        gap_picture=view.gap_picture, wrong=wrong.mistakes if wrong else (), linked=room.terms(case).linked,
    )  # fmt: skip


def _steps(case: Case, stored: StoredTryOn, worked: WorkedOut) -> list[StepOnPage]:
    """The steps of the plan's first round, in order."""
    done = done_since(case, stored)
    skipped = {one.step: one.why for one in stored.skipped}
    return [
        StepOnPage(
            id=step.id, alteration=step.alteration, cause=step.cause, drawn=step.drawn and step.on_paper is not None,
            done=step.id in done, skipped=skipped.get(step.id, ""), ways=len(step.ways),
        )
        for step in worked.diagnosis.first_steps
    ]  # fmt: skip


def by_hand(room: Room, asked: Asked) -> Response:
    """She has done a step by hand: it is stored as done."""
    case = room.case(asked.path["case"])
    try:
        with room.changing:
            left = _left(room, case, [asked.one("step")])
            if left:
                room.work(lambda: alter_case(case.folder, [], by_hand=left))
    except FitError as error:
        return html(_plan(room, case, asked, wrong=error), WRONG)
    return _again(case, asked)
