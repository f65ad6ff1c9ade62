"""The rounds of a case side by side, in words and as data; every figure is put there by hand."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from typing import Any

import pytest

from diagnose.casebook import History, HistoryRound, HistoryStation, PatternVersion, StepDone
from diagnose.casebook.case import Done
from diagnose.model.case_files import Skipped
from diagnose.model.stations import Station
from diagnose.pattern.outline import Pattern
from diagnose.plan.give import Give
from diagnose.rulebase.base import RuleBase
from diagnose.sheets.words.history_text import history_lines, history_to_json
from diagnose.sheets.words.parts import plain_lines

IN = 25.4
NIPPED = StepDone(2, 1, "1.1", "nip-waist")
NOT_DONE = Skipped(step="1.2", why="no time", date="2026-03-03")


def station(gap: float, target: float | None = 2 * IN, predicted: float | None = None, **more: Any) -> HistoryStation:
    miss = None if predicted is None else gap - predicted
    return HistoryStation(gap, more.get("at_least", False), target, predicted, miss, more.get("flagged", False))


def round_(number: int = 1, stations: Mapping[str, HistoryStation] | None = None, **more: Any) -> HistoryRound:
    kept: dict[str, Any] = dict.fromkeys(("done", "undone", "skipped", "came", "went", "not_looked_for"), ())
    return HistoryRound(number, "2026-03-03", number, stations or {}, **{**kept, "went_back": False, **more})


def history(pattern: Pattern, *rounds: HistoryRound, **more: Any) -> History:
    first = PatternVersion(1, None, "2026-03-02", Done(), pattern)
    return History("wren", "in", rounds, (first, *more.get("later", ())), more.get("since", ()))


def told(found: History, base: RuleBase, give: Mapping[Station, Give] | None = None) -> list[str]:
    return [" ".join(line.split()) for line in plain_lines(history_lines(found, base, give or {}))]


def said(found: History, base: RuleBase, give: Mapping[Station, Give] | None = None) -> str:
    return " ".join(told(found, base, give))


def test_a_case_with_no_tryon_shows_its_versions_alone(base: RuleBase, corset: Pattern) -> None:
    assert told(history(corset), base) == ["wren", "", "Pattern versions", "1 2026-03-02, as brought in"]


@pytest.mark.parametrize(
    ("one", "row"),
    [
        (station(IN), "waist 1 in 2 in -"),
        (station(IN, None), "waist 1 in - -"),
        (station(IN, predicted=IN), "waist 1 in 2 in 1 in"),
        (station(-IN), "waist laps over 1 in 2 in -"),
        (station(0.0, at_least=True), "waist closed 2 in -"),
        (station(0.0), "waist closed 2 in -"),
        (station(IN, predicted=2 * IN, flagged=True), "waist 1 in 2 in 2 in !"),
    ],
)
def test_a_station_shows_gap_target_and_what_was_foreseen(
    one: HistoryStation, row: str, base: RuleBase, corset: Pattern
) -> None:
    lines = told(history(corset, round_(stations={"waist": one})), base)
    shown = lines[lines.index("at the gap aimed at foreseen in small") + 1]
    assert re.sub(r" [:|][:| !]*", "", shown) == row.removesuffix(" !")
    assert shown.endswith("!") is row.endswith("!")
    assert any(line.startswith("! The gap missed") for line in lines) is one.flagged


def test_a_tryon_without_a_reading_has_no_heads_of_columns(base: RuleBase, corset: Pattern) -> None:
    assert "aimed at" not in said(history(corset, round_()), base)


def test_steps_done_before_are_told_by_title_and_one_the_rules_do_not_know_by_its_id(
    base: RuleBase, corset: Pattern
) -> None:
    done = (NIPPED, StepDone(3, 1, "1.2", "of-other-rules"))
    lines = told(history(corset, round_(2, done=done)), base)
    assert f"done before it: {base.entries.alterations['nip-waist'].title} (step 1.1, version 2)" in lines
    assert "done before it: Of other rules (step 1.2, version 3)" in lines


def test_an_older_version_taken_up_again_is_told_at_the_tryon(base: RuleBase, corset: Pattern) -> None:
    back = "an older version was taken up again before it"
    assert back in told(history(corset, round_(2, went_back=True)), base)
    assert back not in told(history(corset, round_(2)), base)
    title = base.entries.alterations["nip-waist"].title
    without = f"{back}, without: {title[:1].lower()}{title[1:]} (step 1.1); step 1.2"
    undone = (NIPPED, StepDone(2, 1, "1.2", ""))
    assert without in said(history(corset, round_(2, went_back=True, undone=undone)), base)


def test_signs_that_came_went_and_were_not_looked_for_stand_by_their_titles(base: RuleBase, corset: Pattern) -> None:
    """Signs worked out from the gap, and those that the rules do not know, are not told."""
    assert "gap-closed" in base.derived
    one = round_(came=("rides-up", "gap-closed", "of-other-rules", "slides-down"), went=("gap-closed",),
                 not_looked_for=("hem-flares",))  # fmt: skip
    title = {name: base.entries.symptoms[name].title.lower() for name in ("rides-up", "slides-down", "hem-flares")}
    lines = told(history(corset, one), base)
    assert f"came: {title['rides-up']}; {title['slides-down']}" in lines
    assert f"not looked for: {title['hem-flares']}" in lines
    assert not any(line.startswith("went:") for line in lines)


def test_a_step_not_done_stands_with_its_reason(base: RuleBase, corset: Pattern) -> None:
    assert "skipped after it: step 1.2: no time" in told(history(corset, round_(skipped=(NOT_DONE,))), base)


@pytest.mark.parametrize(
    ("give", "words"),
    [
        (Give(0.57, 0.11), "0.57 ± 0.11 of a change shows in the gap; the next amount there allows for it"),
        (Give(0.95, 0.11), "0.95 ± 0.11 of a change shows in the gap; plain arithmetic stands"),
        (Give(0.2, 0.7), "0.20 ± 0.70 of a change shows in the gap; plain arithmetic stands"),
    ],
)
def test_what_the_rounds_teach_is_told_with_whether_it_is_used(
    give: Give, words: str, base: RuleBase, corset: Pattern
) -> None:
    """It is used when it is sure (± 0.15 in the bundled settings or less) and further from 1 than it is unsure."""
    assert give.sd > base.settings.mm("give-sure") or give.sd == 0.11
    found = said(history(corset, round_()), base, {"waist": give})
    assert f"What the rounds teach of this body at the waist {words}" in found
    assert "TEACH" not in said(history(corset, round_()), base)


def test_a_version_says_what_it_was_made_from_by_what_and_how(base: RuleBase, corset: Pattern) -> None:
    fold, strap = {"op": "fold"}, {"op": "strap"}
    later = (
        PatternVersion(2, 1, "2026-03-04", Done((fold,), ("1.1",)), corset),
        PatternVersion(3, 2, "2026-03-05", Done((fold, fold, strap)), corset),
        PatternVersion(4, 1, "2026-03-06", Done(back=True), corset),
        PatternVersion(5, 4, "2026-03-07", Done((strap,), ("2.1", "2.2")), corset),
        PatternVersion(6, 5, "2026-03-08", Done((strap,), ("3.1",)), corset),
    )
    since = (StepDone(5, 1, "2.1", "of-other-rules"), StepDone(6, 1, "3.1", "release-hip"))
    lines = told(history(corset, round_(2, done=(NIPPED,)), later=later, since=since), base)
    title = {name: base.entries.alterations[name].title.lower() for name in ("nip-waist", "release-hip")}
    assert lines[lines.index("Pattern versions") + 1 :] == [
        "1 2026-03-02, as brought in",
        f"2 2026-03-04, from version 1: {title['nip-waist']} (step 1.1)",
        "3 2026-03-05, from version 2: by hand, a fold and the strap moved",
        "4 2026-03-06, version 1 taken up again",
        "5 2026-03-07, from version 4: of other rules (step 2.1)",
        f"6 2026-03-08, from version 5: {title['release-hip']} (step 3.1)",
        "Done since the last try-on: of other rules (step 2.1); release the hip and lower",
        "edge (step 3.1).",
    ]


@pytest.mark.parametrize(
    ("gap", "target", "small"),
    [(2.0, 2.0, f"|{' ' * 8}|"), (1.0, 2.0, ": |    | :"), (3.0, 2.0, "| :        : |"), (0.0, 1.0, ": || :")],
)
def test_the_gap_is_shown_small_a_cell_for_a_quarter_of_an_inch(
    gap: float, target: float, small: str, base: RuleBase, corset: Pattern
) -> None:
    one = round_(stations={"waist": station(gap * IN, target * IN)})
    assert small in "\n".join(map(str, history_lines(history(corset, one), base, {})))


def test_a_step_by_hand_one_left_open_and_one_skipped_are_told_in_her_words(base: RuleBase, corset: Pattern) -> None:
    title = {name: base.entries.alterations[name].title for name in ("repair-the-toile", "nip-waist", "release-hip")}
    done = (StepDone(1, 1, "1.1", "repair-the-toile", drawn={"drawn": False}),)
    one = round_(2, done=done, left={"1.3": "release-hip"}, planned={"1.2": "nip-waist"}, skipped=(NOT_DONE,))
    lines = said(history(corset, one), base)
    assert f"done by hand before it: {title['repair-the-toile']} (step 1.1, version 1)" in lines
    assert f"planned before it: {title['release-hip']} (step 1.3): whether it was done was not told" in lines
    assert f"skipped after it: {title['nip-waist']} (step 1.2): no time" in lines


def test_the_same_as_data_holds_every_figure_in_mm(base: RuleBase, corset: Pattern) -> None:
    one = round_(2, {"waist": station(IN, predicted=2 * IN, flagged=True)}, done=(NIPPED,), came=("rides-up",),
                 skipped=(NOT_DONE,), undone=(StepDone(2, 1, "1.3", "take-in"),))  # fmt: skip
    second = PatternVersion(2, 1, "2026-03-04", Done(({"op": "fold"},), ("1.1",)), corset)
    data = json.loads(json.dumps(history_to_json(history(corset, one, later=(second,)), {"waist": Give(0.5678, 0.1)})))
    gap = {"gap_mm": 25.4, "at_least": False, "target_mm": 50.8, "predicted_mm": 50.8, "miss_mm": -25.4}
    assert data["tryons"] == [
        {"tryon": 2, "date": "2026-03-03", "pattern_version": 2, "gap": {"waist": {**gap, "flagged": True}},
         "done": [{"step": "1.1", "version": 2, "alteration": "nip-waist", "by_hand": False}], "left": [],
         "undone": [{"step": "1.3", "version": 2, "alteration": "take-in"}],
         "skipped": [{"step": "1.2", "why": "no time", "alteration": None}], "came": ["rides-up"], "went": []}
    ]  # fmt: skip
    made = {"made_from": 1, "date": "2026-03-04", "back": False, "steps": ["1.1"], "operations": [{"op": "fold"}]}
    assert data["versions"][1] == {"number": 2, **made}
    assert (data["name"], data["newest"], data["give"]) == ("wren", 2, {"waist": {"share": 0.568, "sd": 0.1}})
