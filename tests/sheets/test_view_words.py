"""What a sheet says of each standing of a diagnosis: nothing to do, a miss, a closed gap, a stop flag."""

from __future__ import annotations

from typing import Any

import pytest
from made_up import answers, diagnosis, drawn, stopped
from msgspec.structs import replace

from diagnose.gap.reading import read_gap
from diagnose.model.diagnosis import Amount, Reopened
from diagnose.model.tryon_reading import read_tryon
from diagnose.pattern.outline import Pattern
from diagnose.plan.planned import Diagnosis, Round, StepPlan
from diagnose.plan.whole import diagnose
from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.neutral import Matcher
from diagnose.sheets.view_model import FROM_THE_GAP, Fact, SheetView, Tried
from diagnose.sheets.words.view_words import predicted_gap, view_in_words

IN = 25.4


@pytest.fixture
def found(base: RuleBase) -> Diagnosis:
    return diagnosis(base, answers(base))


def view(base: RuleBase, found: Diagnosis, **more: Any) -> SheetView:
    return view_in_words(Tried("wren", answers(base, **more), found, base, "in", "2026-03-09", "version 1"))


def with_step(found: Diagnosis, **more: Any) -> Diagnosis:
    (step,) = found.first_steps
    return replace(found, rounds=(replace(found.rounds[0], steps=(replace(step, **more),)),))


BELOW = " Answer what is asked below, and look again."
SETTLED = "Nothing is left to alter: the gap is as near its target as it can be read, and no fault was seen."


@pytest.mark.parametrize(
    ("without", "finish", "says"),
    [
        ((), (), ""),
        (("rounds",), (), f"Nothing is sure enough to cut for.{BELOW}"),
        (("rounds", "ask"), (), "Nothing is sure enough to cut for."),
        (("rounds", "ask"), ("Cut the cloth.",), "Nothing is sure enough to cut for."),
        (("rounds", "causes"), ("Cut the cloth.",), SETTLED),
        (("rounds", "causes"), (),
         f"Nothing that was seen calls for an alteration. Leave the pattern as it is.{BELOW}"),
        (("rounds", "causes", "ask"), (),
         "Nothing that was seen calls for an alteration. Leave the pattern as it is."),
    ],
)  # fmt: skip
def test_where_nothing_is_to_be_done_it_says_why(
    without: tuple[str, ...], finish: tuple[str, ...], says: str, base: RuleBase, found: Diagnosis
) -> None:
    bare: dict[str, Any] = dict.fromkeys(without, ())
    assert view(base, replace(found, finish=finish, **bare)).nothing == says


def test_without_a_reading_it_says_that_the_gap_is_wanting_above_all(base: RuleBase, found: Diagnosis) -> None:
    unread = read_gap(answers(base, gap={}), base.settings)
    bare = replace(found, gap=unread, rounds=(), causes=())
    says = "Too little is known to say what to do: above all, the gap was not read."
    assert view(base, bare, gap={}).nothing == says + BELOW
    assert view(base, replace(bare, ask=()), gap={}).nothing == says


def test_a_stop_flag_says_what_to_do_and_whom_to_see_and_leaves_all_else_out(base: RuleBase) -> None:
    shown = view(base, stopped(base, answers(base)))
    flag = base.entries.symptoms["breath-short"]
    assert shown.stop is not None
    assert shown.stop.flags == (Fact(flag.title, f"{flag.now} {flag.see_whom}"),)
    assert (shown.nothing, shown.first, shown.lacing) == ("", (), ())


@pytest.mark.parametrize(
    ("miss", "said"),
    [
        ({"top": 0.6 * IN, "waist": 0.1 * IN}, "at the top 5/8 in (15 mm) wider"),
        ({"top": 0.75 * IN, "waist": -IN}, "at the top 3/4 in (19 mm) wider; at the waist 1 in (25 mm) narrower"),
    ],
)
def test_a_gap_not_as_foreseen_says_where_and_by_how_much_and_what_is_in_doubt(
    miss: dict[str, float], said: str, base: RuleBase, found: Diagnosis
) -> None:
    again = Reopened(miss, ("too-big-at-waist",), ("Does the cloth give? It may have stretched.",))
    first, doubt, explained = view(base, replace(found, reopened=again)).reopened
    assert first == f"The gap is not what was foreseen: {said}."
    title = base.entries.causes["too-big-at-waist"].title.lower()
    assert doubt == f"So this is in doubt again: {title}."
    assert explained == "Does the cloth give? It may have stretched."
    (alone,) = view(base, replace(found, reopened=Reopened(miss, (), ()))).reopened
    assert alone == first
    assert view(base, found).reopened == ()


def test_a_miss_inside_a_dead_band_of_her_own_that_is_wide_still_says_where(base: RuleBase, found: Diagnosis) -> None:
    """A case may keep a dead-band wider than the miss that reopens a cause; then the greatest miss is told."""
    wide = base.with_settings(base.settings.with_value("dead-band", IN))
    again = Reopened({"top": -0.75 * IN, "waist": 0.5 * IN}, (), ())
    (first,) = view(wide, replace(found, reopened=again)).reopened
    assert first == "The gap is not what was foreseen: at the top 3/4 in (19 mm) narrower."


CLOSED = "At least: the gap was closed. Lace on again and read it before cutting the cloth."


@pytest.mark.parametrize(
    ("more", "remarks"),
    [
        ({}, ()),
        ({"at_least": True}, (CLOSED,)),
        ({"capped": True}, ("More is wanted than one round should take.",)),
        ({"at_least": True, "capped": True, "beyond": "Then look again."},
         (CLOSED, "More is wanted than one round should take. Then look again.")),
        ({"notes": ("a", "b"), "taught": ("b",), "on_paper": True}, ("b",)),
        ({"notes": ("a", "b"), "taught": ("b",)}, ("a", "b")),
    ],
)  # fmt: skip
def test_a_step_says_what_to_beware_of_and_what_is_drawn_stands_with_the_paper(
    more: dict[str, Any], remarks: tuple[str, ...], base: RuleBase, found: Diagnosis, bodies: Pattern
) -> None:
    on_paper = drawn(bodies) if more.get("on_paper") else None
    shown = view(base, with_step(found, **more | {"on_paper": on_paper}))
    assert shown.first[0].remarks == remarks
    assert shown.paper == tuple(note for note in more.get("notes", ()) if on_paper and note not in remarks)


@pytest.mark.parametrize(
    ("after", "foreseen"),
    [
        ({"top": 76.2, "waist": 76.2, "bottom": 76.2}, {"top": 76.2, "waist": 76.2, "bottom": 76.2}),
        ({"waist": 76.2, "hip": 50.0}, {"waist": 76.2}),
        ({"top": 31.75, "waist": 38.1, "bottom": 70.4}, {"top": 31.75, "waist": 38.1, "bottom": 70.4}),
        ({"top": 31.75, "waist": 38.1, "bottom": 70.3}, {}),
        ({}, {}),
    ],
)
def test_a_gap_is_foreseen_where_it_was_read_and_only_when_the_round_changes_it(
    after: dict[Any, float], foreseen: dict[str, float], found: Diagnosis
) -> None:
    """Read were 31.75, 38.1 and 69.85; half a millimetre is no change."""
    assert predicted_gap(with_step(found, predicted_gap_mm=after).first_steps, found.gap) == foreseen
    assert predicted_gap((), found.gap) == {}


def test_an_overlap_is_shown_in_place_of_a_closed_gap(base: RuleBase, found: Diagnosis) -> None:
    tryon = answers(base, gap={"top": 0, "waist": 0}, overlap={"top": "1/2 in"})
    rows = view(base, replace(found, gap=read_gap(tryon, base.settings))).gap
    assert [row.read for row in rows] == ["laps over 1/2 in (13 mm)", "closed"]


def test_signs_seen_stand_with_their_side_and_those_worked_out_say_whence(base: RuleBase, found: Diagnosis) -> None:
    shown = view(base, found)
    assert [fact.more for fact in shown.findings] == ["", "right side", FROM_THE_GAP]
    assert shown.findings[1].text.endswith(": 5/8 in (16 mm)")
    assert shown.absent == (base.entries.symptoms["hem-flares"].title,)


def test_a_later_round_and_what_is_held_back_stand_with_their_side(base: RuleBase, found: Diagnosis) -> None:
    later = StepPlan(
        "2.1", "lower-underarm", "underarm-edge-too-high", "right", Amount(length_mm=0.5 * IN), "There.",
        False, False, "It digs.", "", {},
    )  # fmt: skip
    shown = view(base, replace(found, rounds=(*found.rounds, Round(2, (later,), "try on"))))
    (second,) = shown.later
    assert (second.number, second.steps[0].side) == (2, "right side")
    title = base.entries.alterations["lower-underarm"].title
    assert shown.held == (Fact(f"{title} (right side)", "Waits until the girth is settled. It drops now."),)
    both = replace(found, held_back=(replace(found.held_back[0], side="both"),))
    assert view(base, both).held[0].text == title


def test_causes_at_two_heights_are_said_to_be_each_its_own(base: RuleBase, matcher: Matcher) -> None:
    def near(**gap: str) -> str:
        line = {"id": "n", "garment": {"style": "corset", "closure": "back", "seams_per_half": 4}, "target": "2 in",
                "gap": gap, "tension": "working", "known": {"relaced-from-waist": True}}  # fmt: skip
        tryon = read_tryon(line, base.vocabulary)
        found = diagnose(tryon, base, matcher)
        return view_in_words(Tried("wren", tryon, found, base, "in", "2026-03-09", "version 1")).near

    said = near(top="1/4 in", waist="3/4 in", bottom="2 in")
    assert "1 3/4 in (44 mm) at the top and 1 1/4 in (32 mm) at the waist: neither explains the other" in said
    assert near(top="1/4 in", waist="2 in", bottom="2 in") == ""


def test_what_front_and_back_are_each_given_is_said_apart(base: RuleBase, found: Diagnosis) -> None:
    parts = {"front": {"top": -IN, "waist": 0.0, "hip": IN}, "back": {"top": IN, "waist": 0.0, "hip": -IN}}
    nothing = Amount(whole_mm=IN, per_half_mm=IN / 2, by_station_mm={"top": 0.0, "waist": 0.0})
    shown = view(base, with_step(found, parts=parts, amount=nothing))
    (step,) = shown.first
    assert (step.figure, step.figure_of) == ("1/2 in (13 mm)", "at most on each half, front and back apart")
    said = "front let out 1/2 in (13 mm), back take in 1/2 in (13 mm)"
    assert step.rows == (("top", said), ("waist", "front nothing, back nothing"))
    assert shown.halves["top"] == said
