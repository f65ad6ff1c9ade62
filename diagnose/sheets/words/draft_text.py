"""A draft held against the body, in words: station by station, what was looked at, and one line to end on."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from msgspec import to_builtins

from diagnose.model.tryon import BODY_FACTS
from diagnose.plan.draft import Draft, StationHeld
from diagnose.plan.planned import StepPlan
from diagnose.rulebase.base import RuleBase
from diagnose.sentences import lower_first
from diagnose.sheets.json_out import amount_to_json
from diagnose.sheets.words.parts import Said, hanging, heading, item, table
from diagnose.units import Unit, both, on_ruler, short

__all__ = ["draft_detail", "draft_parts", "draft_to_json", "last_line"]

_MARKS: Mapping[str, str] = {"right": "-", "mend": "!", "unknown": "?"}


def draft_parts(draft: Draft, base: RuleBase, unit: Unit) -> Iterator[Said]:
    """All that is said of the draft, and one line to end on."""
    yield from draft_detail(draft, base, unit)
    joined = [name for name in (*draft.missing, *draft.unknown) if "_" in name]
    if joined:
        yield from hanging([f"In the file that --about names these words are joined: {', '.join(joined)}."])
    yield ""
    yield from hanging([last_line(draft, base, unit)])


def draft_detail(draft: Draft, base: RuleBase, unit: Unit) -> Iterator[Said]:
    """What was held against the body and looked at, before the one line."""
    if draft.missing:
        yield from heading("Measure first")
        yield from _measures(draft.missing, base)
    if draft.stations:
        yield from heading("Station by station, the whole girth")
        yield from table(_HEADS, [_row(one, base, unit) for one in draft.stations])
        yield from hanging(["Body: less the reduction planned, and with the spring that is left for it."])
    yield from heading("Looked at")
    for check in draft.checks:
        yield from item(f"{check.says} {check.do}".strip(), _MARKS[check.state])
    if draft.verdict == "mend" and draft.stations:
        yield from _foreseen(draft, base, unit)
    if draft.unknown:
        yield from heading("Not known; it would tell more")
        yield from _measures(draft.unknown, base)
    if draft.presumed:
        yield from heading("Presumed")
        for sentence in draft.presumed:
            yield from item(sentence)


_HEADS = ("", "garment", "body", "gap shown", "aimed at", "")


def _row(one: StationHeld, base: RuleBase, unit: Unit) -> tuple[str, ...]:
    body = one.body_mm - one.reduction_mm + one.spring_mm
    gap = short(max(0.0, one.gap_mm), unit)
    if on_ruler(one.gap_mm, base.settings.ruler_mm) < 0.0:
        gap = f"shut, {short(-one.gap_mm, unit)} over"
    return (
        one.station, short(one.garment_mm, unit), short(body, unit), gap, short(one.target_mm, unit),
        _change(one, base, unit),
    )  # fmt: skip


def _change(one: StationHeld, base: RuleBase, unit: Unit) -> str:
    if abs(one.change_mm) <= base.settings.mm("dead-band"):
        return "right"
    return f"{short(abs(one.change_mm), unit)} too {'large' if one.change_mm > 0.0 else 'small'}"


def _measures(missing: Iterable[str], base: RuleBase) -> Iterator[Said]:
    for name in missing:
        yield from item(f"{_named(name)}: {lower_first(_taken(name, base))}", "?")


def _taken(measure: str, base: RuleBase) -> str:
    """How a measure of the wearer is taken."""
    return base.entries.facts[BODY_FACTS[measure]].how


def _named(measure: str) -> str:
    """A measure as it is spoken of."""
    return measure.replace("_", " ")


def _foreseen(draft: Draft, base: RuleBase, unit: Unit) -> Iterator[Said]:
    yield from heading("What the toile would likely show as it stands")
    off = [one for one in draft.stations if abs(one.change_mm) > base.settings.mm("dead-band")]
    for one in off:
        shut = one.gap_mm < base.settings.ruler_mm
        at = "the edges shut" if shut else f"a gap of {both(one.gap_mm, unit)}"
        yield from item(f"At the {one.station} {at}, where {both(one.target_mm, unit)} is aimed at.")
    for sign in draft.signs:
        yield from item(f"{base.entries.symptoms[sign.id].see} ({sign.chance:.0%})")


def last_line(draft: Draft, base: RuleBase, unit: Unit) -> str:
    """Cut the toile, or what comes first."""
    if draft.verdict == "measure":
        wanted = ", ".join(map(_named, draft.missing))
        return f"Measure first: {wanted or 'the pattern has no level to hold'}."
    if draft.verdict == "cut":
        return "Cut the toile."
    steps = draft.diagnosis.first_steps if draft.diagnosis is not None else ()
    todo = [_step(step, base, unit) for step in steps] + [c.do.rstrip(".") for c in draft.checks if c.state == "mend"]
    if not todo and draft.diagnosis is not None and draft.diagnosis.ask:
        todo = [f"settle this: {draft.diagnosis.ask[0].question}"]
    return f"Mend this first: {'; '.join(map(lower_first, todo)) or 'see what is marked above'}."


def _step(step: StepPlan, base: RuleBase, unit: Unit) -> str:
    """What is to be done; what is less than the ruler shows is not told."""
    title, ruler_mm = base.entries.alterations[step.alteration].title, base.settings.ruler_mm
    mm = step.amount.whole_mm if step.amount.whole_mm is not None else step.amount.length_mm
    ways = (("take in", 1.0), ("let out", -1.0))
    parts = [
        (way, [f"{station} {short(abs(by), unit)}" for station, by in step.amount.by_station_mm.items()
               if on_ruler(by, ruler_mm) * sign > 0.0])
        for way, sign in ways
    ]  # fmt: skip
    where = "; ".join(f"{way}: {', '.join(rows)}" for way, rows in parts if rows)
    if not where and mm is not None and on_ruler(mm, ruler_mm):
        where = short(abs(mm), unit)
    return f"{title} ({where})" if where else title


def draft_to_json(draft: Draft, base: RuleBase, unit: Unit) -> dict[str, Any]:
    """The draft as data; lengths are millimetres."""
    return {
        "verdict": draft.verdict,
        "says": last_line(draft, base, unit),
        "stations": {
            one.station: {
                "garment_mm": round(one.garment_mm, 3), "body_mm": round(one.body_mm, 3),
                "reduction_mm": round(one.reduction_mm, 3), "spring_mm": round(one.spring_mm, 3),
                "gap_mm": round(one.gap_mm, 3), "target_mm": round(one.target_mm, 3),
                "change_mm": round(one.change_mm, 3),
            }
            for one in draft.stations
        },
        "checks": to_builtins(draft.checks),
        "missing": [{"name": name, "how": _taken(name, base)} for name in draft.missing],
        "unknown": [{"name": name, "how": _taken(name, base)} for name in draft.unknown],
        "signs": [{"symptom": one.id, "chance": round(one.chance, 4)} for one in draft.signs],
        "steps": [
            {
                "alteration": step.alteration, "cause": step.cause, "drawn": step.drawn, "why": step.why,
                "amount_mm": amount_to_json(step.amount), "operations": [one.to_json() for one in step.operations],
                "predicted_gap_mm": {str(s): round(mm, 3) for s, mm in step.predicted_gap_mm.items()},
            }
            for step in (draft.diagnosis.first_steps if draft.diagnosis is not None else ())
        ],
        "presumed": list(draft.presumed),
    }  # fmt: skip
