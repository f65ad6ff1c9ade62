"""The ways of a step side by side, drawn, each with what it costs and what it leaves; one shared between two places."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from fractions import Fraction

from markupsafe import Markup
from msgspec import Struct
from starlette.responses import Response

from diagnose.casebook import Case
from diagnose.errors import FitError
from diagnose.pattern.in_words import bone_numbers, notes_said
from diagnose.plan.planned import StepPlan
from diagnose.plan.stepping import ways_of
from diagnose.plan.ways import Way
from diagnose.rulebase.base import RuleBase
from diagnose.sheets.drawn.screens import Screen
from diagnose.sheets.words.ways_text import cost_said, left_said
from diagnose.sheets.words.wording import big_figure, step_title, way_title
from diagnose.workroom.asked import Asked, html
from diagnose.workroom.drawings import Sheet, drawn
from diagnose.workroom.pages.gap_view import small_gap
from diagnose.workroom.room import NoSuchPageError, Room
from diagnose.workroom.views import page

__all__ = ["asked_ways", "told_ways", "ways"]

PARTS = 8
"""A step is shared by eighths."""


class WayOnPage(Struct, frozen=True):
    """A way as it stands on the page.

    Attributes:
        name: as it is asked for; title: in words.
        figure: how much; where: at which place.
        drawn: whether it is drawn; sheet: the drawing; gap: foreseen, against its target.
        costs, leaves: in words; notes: what to know.
        query: the ways that stand in the plan's address when it is taken.
    """

    name: str
    title: str
    figure: str
    where: str
    drawn: bool
    sheet: Sheet | None
    gap: Markup
    costs: str
    leaves: str
    notes: tuple[str, ...]
    query: Sequence[str]


def asked_ways(asked: Asked) -> dict[str, str]:
    """The ways asked for in an address or a form, by the step's id: ``way=1.1=ALTERATION``."""
    rows = asked.fields.get("way") or asked.listed("way")
    return {step: way for step, _, way in (row.partition("=") for row in rows[:20]) if step and way}


def told_ways(ways: Mapping[str, str]) -> list[str]:
    """The value as it stands in a form."""
    return [f"{step}={way}" for step, way in ways.items()]


def ways(room: Room, asked: Asked) -> Response:
    """The ways of one step, best first; with two named, the step shared between them."""
    case = room.case(asked.path["case"])
    if not case.tryons:
        raise NoSuchPageError
    taken = asked_ways(asked)
    worked = room.worked(case, len(case.tryons), taken)
    id_ = asked.query.get("step", "")
    step = next((one for one in worked.diagnosis.first_steps if one.id == id_), None)
    if step is None:
        raise NoSuchPageError
    shared, wrong = _shared(room, case, step, base=worked.base, asked=asked, taken=taken)
    if asked.lively:
        return html(page("shared.html.j2", case=case, shared=shared, wrong=wrong, linked=room.terms(case).linked))
    found = room.kept("ways", lambda: ways_of(step), of=step)
    shown = [_shown(room, case, step, way=way, base=worked.base, taken=taken, screen=asked.screen) for way in found]
    title = f"Ways of “{step_title(worked.base.entries, step.alteration)}”"
    return html(page(
        "ways.html.j2", title=title, case=case, here="plan", step=step, ways=shown, shared=shared, wrong=wrong,
        one=asked.query.get("one", ""), other=asked.query.get("other", ""), part=_part(asked), parts=PARTS,
        taken=told_ways(taken), can_share=[way for way in shown if way.drawn],
        linked=room.terms(case).linked,
    ))  # fmt: skip


def _part(asked: Asked) -> int:
    return min(PARTS - 1, max(1, asked.number("part", PARTS // 2)))


def _shared(
    room: Room, case: Case, step: StepPlan, base: RuleBase, asked: Asked, taken: Mapping[str, str]
) -> tuple[WayOnPage | None, tuple[object, ...]]:
    """The step shared between the two places that are named; None when none are."""
    one, other = asked.query.get("one", ""), asked.query.get("other", "")
    if not one or not other or one == other:
        return None, ()
    share = Fraction(_part(asked), PARTS)
    name = f"{one}:{share}+{other}:{1 - share}"
    try:
        found = room.kept(("way", name), lambda: ways_of(step, name), of=step)
    except FitError as error:
        return None, tuple(error.mistakes)
    return (_shown(room, case, step, way=found[0], base=base, taken=taken, screen=asked.screen) if found else None), ()


def _shown(
    room: Room, case: Case, step: StepPlan, way: Way, base: RuleBase, *, taken: Mapping[str, str], screen: Screen
) -> WayOnPage:
    rules, unit = base.entries, case.unit
    entry = rules.alterations.get(way.parts[0].alteration)
    figure, of = big_figure(way.amount, unit, entry.ways if entry else None, side=step.side)
    before = step.started.pattern if step.started else None
    after = way.paper.pattern if way.paper else None
    sheet = room.kept(
        ("way drawn", unit, screen), lambda: drawn(after, before, unit, only_changed=True, screen=screen), of=way
    ) if after and before and way.drawn else None  # fmt: skip
    target = {name: way.predicted_gap_mm[name] - left for name, left in way.leaves_mm.items()}
    noted = notes_said(way.notes, bone_numbers(case.pattern, after))
    read = dict(step.before.gap_mm) if step.before else {}
    return WayOnPage(
        name=way.name, title=way_title(rules, way.name), figure=f"{figure} {of}".strip(), where=way.at, drawn=way.drawn,
        sheet=sheet, gap=small_gap(read, target, way.predicted_gap_mm, unit=unit), costs=cost_said(way, unit),
        leaves=left_said(way, unit), notes=noted, query=told_ways({**taken, step.id: way.name}),
    )  # fmt: skip
