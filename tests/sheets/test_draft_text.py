"""The draft held against the body, in words: what is less than the ruler shows is not told."""

from __future__ import annotations

import re

import pytest
from msgspec.structs import replace

from diagnose.casework.working import usual_base
from diagnose.engine.matching import matcher_for
from diagnose.pattern.brought import load_pattern
from diagnose.places import bundled_cases
from diagnose.plan.draft import Draft, hold_draft
from diagnose.sheets.words.draft_text import draft_parts, last_line

GIRTHS = {"bust": "37 in", "underbust": "30 in", "waist": "26 in", "hip": "38 in", "planned_reduction": "2 in"}
ABOUT = {"garment": {"style": "corset", "closure": "back"}, "target": "2 in", "wearer": GIRTHS}


@pytest.fixture(scope="module")
def draft() -> Draft:
    base = usual_base()
    pattern = load_pattern(bundled_cases() / "patterns" / "six-panel-corset.json")
    return hold_draft(pattern, ABOUT, base, matcher_for(base))


def test_an_amount_less_than_the_ruler_shows_is_no_figure(draft: Draft) -> None:
    base = usual_base()
    assert draft.diagnosis is not None
    first, *others = draft.diagnosis.rounds
    step = next(one for one in first.steps if len(one.amount.by_station_mm) > 1)
    (much, _), (less, _) = list(step.amount.by_station_mm.items())[:2]
    changed = replace(step, amount=replace(step.amount, by_station_mm={much: 25.4, less: -0.3}))
    found = replace(draft, diagnosis=replace(draft.diagnosis, rounds=(replace(first, steps=(changed,)), *others)))
    assert f"(take in: {much} 1 in)" in last_line(found, base, "in")
    nothing = replace(step, amount=replace(step.amount, by_station_mm={less: 0.2}, whole_mm=0.2))
    found = replace(draft, diagnosis=replace(draft.diagnosis, rounds=(replace(first, steps=(nothing,)), *others)))
    assert not re.search(r"\d", last_line(found, base, "in"))


def test_what_is_to_be_mended_stands_in_one_sentence(draft: Draft) -> None:
    base = usual_base()
    assert draft.diagnosis is not None
    first, *others = draft.diagnosis.rounds
    (step, *_) = first.steps
    named = [replace(step, alteration=id_) for id_ in ("start-from-another-size", "release-hip")]
    found = replace(draft, diagnosis=replace(draft.diagnosis, rounds=(replace(first, steps=tuple(named)), *others)))
    said = last_line(found, base, "in")
    assert said.startswith("Mend this first: start from another base size")
    assert "; release the hip and lower edge" in said
    assert not re.search(r"[;:] [A-Z]", said)


def test_edges_that_just_meet_do_not_lap_by_nothing(draft: Draft) -> None:
    rows = tuple(replace(one, gap_mm=-0.3) for one in draft.stations)
    said = "\n".join(str(part) for part in draft_parts(replace(draft, stations=rows), usual_base(), "in"))
    assert "0 in over" not in said
    assert "shut, 1 in over" in "\n".join(
        str(part)
        for part in draft_parts(
            replace(draft, stations=(replace(draft.stations[0], gap_mm=-25.4),)), usual_base(), "in"
        )
    )
