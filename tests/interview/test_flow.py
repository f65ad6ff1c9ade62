"""What is asked, in which order, and what a correction does to it."""

from __future__ import annotations

import re

import pytest
from talking import interview, talk

from diagnose.interview import draft_of, replies_of
from diagnose.interview.body_places import worn_for
from diagnose.interview.flow import ENOUGH, MOST_LATER
from diagnose.interview.signs import LATE
from diagnose.model.tryon_reading import read_tryon
from diagnose.rulebase.base import RuleBase

GAPS = {"gap.top": "1", "gap.waist": "2", "gap.bottom": "3"}


def test_stop_flags_come_first_then_gap_pull_gates_and_places(base: RuleBase) -> None:
    walk, _ = talk(interview(base), GAPS)
    asked = [question.id for question, _ in walk.answered]
    wanted = [
        "stop",
        "gap.top",
        "gap.waist",
        "gap.bottom",
        "tension",
        "ready",
        "today",
        "where",
        "looked",
        "at.once-off",
    ]
    assert asked == wanted
    assert walk.next is None


def test_questions_speak_in_her_unit_alone(base: RuleBase) -> None:
    walk, _ = talk(interview(base, *base.entries.symptoms, unit="cm"), GAPS)
    shown = [walk.next, *(question for question, _ in walk.answered)]
    told = [text for one in shown if one for text in (one.text, one.why, one.how, *(o.help for o in one.options))]
    assert any("10.2 cm" in text for text in told)
    assert not [text for text in told if re.search(r"\d in\b|\d mm\b", text)]
    assert any("4 in (102 mm)" in o.help for o in interview(base).walk({}).next.options)


def test_stop_flag_ends_everything(base: RuleBase) -> None:
    walk, _ = talk(interview(base, "fold-under-bust"), {**GAPS, "stop": "1"})
    assert walk.next is None
    assert len(walk.stop) == 1
    assert walk.answers["seen"][walk.stop[0]] is True
    assert "gap" not in walk.answers


def test_every_stop_flag_of_the_rules_is_on_the_first_screen(base: RuleBase) -> None:
    walk, _ = talk(interview(base), {}, quick=False)
    assert walk.next is not None
    assert {option.id for option in walk.next.options} == base.stop_flags


def test_lap_is_asked_only_after_a_closed_gap(base: RuleBase) -> None:
    walk, replies = talk(interview(base), {"gap.top": "closed"})
    assert walk.next is not None
    assert walk.next.id == "lap.top"
    assert "lap.waist" not in [question.id for question, _ in talk(interview(base), GAPS)[0].answered]
    walk, _ = talk(interview(base), {"lap.top": "1/2", "gap.waist": "2"}, replies)
    assert walk.answers["overlap"] == {"top": "1/2 in"}


def test_correcting_a_closed_gap_forgets_the_lap_and_taking_it_back_remembers_it(base: RuleBase) -> None:
    held = interview(base)
    _, replies = talk(held, {**GAPS, "gap.top": "0", "lap.top": "1/2"})
    corrected = held.walk({**replies, "gap.top": "1 in"})
    assert "overlap" not in corrected.answers
    assert "lap.top" not in [question.id for question, _ in corrected.answered]
    assert held.walk({**replies, "gap.top": "0 in"}).answers["overlap"] == {"top": "1/2 in"}


def test_garment_laced_front_and_back_is_asked_both_and_gives_the_sum(base: RuleBase) -> None:
    held = interview(base, garment={"closure": "both"}, stations=("waist",))
    walk, _ = talk(held, {"gap.waist": "1 in", "front.waist": "1/2 in"})
    assert walk.answers["gap"] == {"waist": pytest.approx(38.1)}
    assert walk.answers["gap_front"] == {"waist": pytest.approx(12.7)}


def test_front_gap_that_cannot_be_told_leaves_the_station_unknown(base: RuleBase) -> None:
    held = interview(base, garment={"closure": "both"}, stations=("waist",))
    walk, _ = talk(held, {"gap.waist": "1 in", "front.waist": "?"})
    assert "gap" not in walk.answers


def test_target_is_asked_only_when_the_case_has_none(base: RuleBase) -> None:
    assert talk(interview(base, target=None), {})[0].next.id == "target"  # type: ignore[union-attr]
    meets = interview(base, target=None, garment={"meant_to_meet": True})
    assert talk(meets, {})[0].next.id == "gap.top"  # type: ignore[union-attr]


def test_all_that_lets_the_toile_be_judged_is_one_question(base: RuleBase) -> None:
    walk, _ = talk(interview(base), GAPS)
    good = {name: walk.answers["known"][name] for name in ("toile-boned-at-back", "relaced-from-waist")}
    assert good == {"toile-boned-at-back": True, "relaced-from-waist": True}


def test_a_no_asks_which_and_takes_the_others_as_so(base: RuleBase) -> None:
    walk, _ = talk(interview(base), {**GAPS, "ready": "n", "unready": "toile-cloth-firm"})
    assert walk.answers["known"]["toile-cloth-firm"] is False
    assert walk.answers["known"]["toile-boned-at-back"] is True


def test_cannot_tell_goes_through_them_one_by_one(base: RuleBase) -> None:
    walk, _ = talk(interview(base), {**GAPS, "ready": "?"})
    assert walk.next is not None
    assert walk.next.id == "known.toile-boned-at-back"
    assert "known" not in walk.answers


def test_only_places_named_are_gone_into(base: RuleBase) -> None:
    walk, _ = talk(interview(base), {**GAPS, "where": "bust", "at.bust": "bust-flattened"})
    assert walk.next is not None
    assert walk.next.id == "side.bust-flattened"
    assert not any(question.id == "at.back" for question, _ in walk.answered)


def test_place_not_said_to_be_looked_at_says_nothing(base: RuleBase) -> None:
    walk, _ = talk(interview(base), GAPS)
    assert "fold-under-bust" not in walk.answers["seen"]


def test_place_looked_at_marks_its_signs_absent(base: RuleBase) -> None:
    details = {"at.bust": "bust-flattened", "side.bust-flattened": "left", "grade.bust-flattened": "2"}
    walk, _ = talk(interview(base), {**GAPS, "where": "bust", **details, "looked": "bust back"})
    seen = walk.answers["seen"]
    assert seen["bust-flattened"] == {"side": "left", "grade": 2}
    assert seen["fold-under-bust"] is False
    assert seen["roll-at-back-top"] is False
    assert "slides-down" not in seen


def test_place_where_she_could_not_tell_cannot_be_clean(base: RuleBase) -> None:
    walk, _ = talk(interview(base), {**GAPS, "where": "bust", "at.bust": "?", "looked": "all"})
    assert "fold-under-bust" not in walk.answers["seen"]


def test_side_is_asked_exactly_where_the_rules_say_that_sides_may_differ(base: RuleBase) -> None:
    for name, symptom in base.entries.symptoms.items():
        if name in base.derived | base.stop_flags:
            continue
        off = name if worn_for(name) == "off" else "n"
        held = interview(base, name, garment={"closure": "front"})
        walk, _ = talk(held, {**GAPS, f"sign.{name}": "y", "at.once-off": off})
        assert walk.next is not None
        kind = walk.next.id.partition(".")[0]
        assert (kind == "side") == (symptom.record.sides == "may-differ")


def test_late_questions_follow_until_nothing_would_change(base: RuleBase) -> None:
    held = interview(base, "fold-under-bust", "narrow-back")
    typed = {**GAPS, "sign.fold-under-bust": "n", "known.narrow-back": "y"}
    walk, _ = talk(held, typed)
    assert walk.next is None
    assert walk.answers["seen"]["fold-under-bust"] is False
    assert walk.answers["known"]["narrow-back"] is True


def test_what_she_cannot_tell_is_not_asked_twice(base: RuleBase) -> None:
    held = interview(base, "fold-under-bust", "narrow-back")
    walk, _ = talk(held, {**GAPS, "sign.fold-under-bust": "?"})
    assert walk.next is not None
    assert walk.next.id == "known.narrow-back"


def test_late_questions_end_when_she_has_had_enough(base: RuleBase) -> None:
    held = interview(base, "fold-under-bust")
    walk, replies = talk(held, GAPS)
    assert walk.next is not None
    assert held.walk({**replies, ENOUGH: True}).next is None


def test_late_questions_have_an_end_however_unsure_the_plan(base: RuleBase) -> None:
    names = [name for name, entry in base.entries.symptoms.items() if name not in base.derived | base.stop_flags]
    held = interview(base, *names)
    walk, _ = talk(held, {**GAPS, **{f"sign.{name}": "n" for name in names}})
    assert walk.next is None
    assert sum(question.id.startswith("sign.") for question, _ in walk.answered) == MOST_LATER


def test_mark_that_stays_over_half_an_hour_stops_at_once(base: RuleBase) -> None:
    typed = {**GAPS, "at.once-off": "marks-on-skin", "spots.marks-on-skin": "1", "side.marks-on-skin": "both"}
    walk, _ = talk(interview(base), {**typed, "amount.marks-on-skin": "31"})
    assert walk.stop == ("skin-broken",)
    assert walk.next is None
    walk, _ = talk(interview(base), {**typed, "amount.marks-on-skin": "30"})
    assert walk.stop == ()


def test_changing_body_is_asked_once_and_kept(base: RuleBase) -> None:
    walk, _ = talk(interview(base), {**GAPS, "today": "largest", "changes": "1 in"})
    assert walk.answers["wearer"] == {"today": "largest", "changes_by": "1 in"}
    assert walk.answers["known"]["largest-today"] is True
    walk, _ = talk(interview(base, wearer={"changes_by": "1 in"}), {**GAPS, "today": "largest"})
    assert "changes" not in [question.id for question, _ in walk.answered]


def test_straps_and_tabs_are_passed_over_when_there_are_none(base: RuleBase) -> None:
    held = interview(base, garment={"straps": "none", "tabs": "none"})
    walk, _ = talk(held, {**GAPS, "where": "hip-and-hem", "at.hip-and-hem": "?", "looked": "all"})
    assert not {"straps-slip", "tab-slits-gape"} & set(walk.answers["seen"])
    walk, _ = talk(interview(base, garment={"straps": "fixed", "tabs": "boned"}), {**GAPS, "looked": "all"})
    assert {"straps-slip", "tab-slits-gape"} <= set(walk.answers["seen"])


def test_number_of_questions_is_told_about_right(base: RuleBase) -> None:
    walk, _ = talk(interview(base), {}, quick=False)
    assert walk.next is not None
    assert walk.number(walk.next) == 1
    assert 9 <= walk.about <= 18
    walk, _ = talk(interview(base), GAPS)
    assert walk.about == len(walk.answered)


@pytest.mark.parametrize("gap", ["0", "1"])
def test_whatever_is_answered_can_be_read_as_a_tryon(base: RuleBase, gap: str) -> None:
    names = [name for name in base.entries.symptoms if name not in base.derived | base.stop_flags]
    typed = {f"gap.{s}": gap for s in ("top", "waist", "bottom")} | {
        f"lap.{s}": "1/4" for s in ("top", "waist", "bottom")
    }
    typed |= {"where": "all", "looked": "all", "today": "usual", "changes": "1/2"}
    typed |= {f"side.{n}": "left" for n in names} | {f"grade.{n}": "3" for n in names}
    typed |= {f"amount.{n}": "20" if n == "marks-on-skin" else "1/2" for n in names}
    held = interview(base, garment={"closure": "front"})
    walk, replies = talk(held, typed)
    while walk.next is not None and walk.next.id.startswith("at."):
        walk, replies = talk(held, {**typed, walk.next.id: "all"}, replies)
    assert walk.next is None
    tryon = read_tryon({"id": "t", **walk.answers}, base.vocabulary)
    assert set(names) <= set(tryon.seen)


def test_replies_survive_the_draft(base: RuleBase) -> None:
    held = interview(base, "fold-under-bust")
    walk, replies = talk(held, {**GAPS, "where": "bust", "at.bust": "1 2"})
    again = replies_of(draft_of(replies, walk.answers))
    assert list(again.items()) == list(replies.items())
    assert held.walk(again) == walk


@pytest.mark.parametrize(
    "spoilt",
    [
        None,
        {},
        {"replies": 3},
        {"replies": [1, {"question": 2}, {"question": "stop", "reply": {"a": 1}}]},
        {"replies": [{"question": "stop"}]},
    ],
)
def test_draft_that_holds_no_replies_gives_none(spoilt: dict[str, object] | None) -> None:
    assert replies_of(spoilt) == {}


@pytest.mark.parametrize("reply", ["lots", ["top"], True, "-1 in", float("nan"), 1e9])
def test_kept_reply_that_does_not_fit_its_question_is_asked_again(base: RuleBase, reply: object) -> None:
    walk = interview(base).walk({"stop": [], "gap.top": reply})  # type: ignore[dict-item]
    assert walk.next is not None
    assert walk.next.id == "gap.top"


SEEN_BEFORE = {"seen": {"digs-under-arm": {"side": "left"}, "slides-down": True, "rides-up": False}}


def test_what_was_seen_the_last_time_is_asked_before_anything_else_is_looked_for(base: RuleBase) -> None:
    held = interview(base, last=SEEN_BEFORE)
    walk, replies = talk(held, GAPS)
    assert walk.next is not None
    assert walk.next.id == "still"
    assert [option.id for option in walk.next.options] == ["digs-under-arm", "slides-down"]
    walk, _ = talk(held, {"still": "1", "side.digs-under-arm": "left", "amount.digs-under-arm": "1/2"}, replies)
    assert walk.answers["seen"]["digs-under-arm"] == {"side": "left", "amount": "1/2 in"}
    assert walk.answers["seen"]["slides-down"] is False


def test_what_has_been_said_to_have_stayed_or_gone_is_not_offered_again(base: RuleBase) -> None:
    walk, _ = talk(interview(base, last=SEEN_BEFORE), {**GAPS, "still": "n", "where": "3"})
    assert walk.next is not None
    assert "digs-under-arm" not in [option.id for option in walk.next.options]
    unsure, _ = talk(interview(base, last=SEEN_BEFORE), {**GAPS, "still": "?", "where": "3"})
    assert unsure.next is not None
    assert "digs-under-arm" in [option.id for option in unsure.next.options]


def test_what_she_could_not_tell_goes_with_the_answers(base: RuleBase) -> None:
    held = interview(base, "fold-under-bust", "bones-stay-bent", "slides-down")
    typed = {"sign.fold-under-bust": "?", "known.bones-stay-bent": "?", "sign.slides-down": "n"}
    walk, _ = talk(held, {**GAPS, "looked": "n", **typed})
    assert walk.answers["cant_tell"] == ["fold-under-bust", "bones-stay-bent", "largest-today"]


def test_what_needs_the_garment_off_is_asked_after_all_that_is_seen_while_it_is_on(base: RuleBase) -> None:
    wanted = ("changes-side-inside-out", "bones-stay-bent", "marks-on-skin", "fold-under-bust", "slides-down")
    typed = {"sign.fold-under-bust": "n", "sign.slides-down": "n", "at.once-off": "n", "known.bones-stay-bent": "n"}
    walk, _ = talk(interview(base, *wanted), {**GAPS, "looked": "n", **typed, "known.changes-side-inside-out": "n"})
    late = [(q.id, q.group) for q, _ in walk.answered if q.part in LATE]
    assert late == [
        ("sign.fold-under-bust", "While it is on"), ("sign.slides-down", "While it is on"),
        ("at.once-off", "Once it is off"), ("known.bones-stay-bent", "Once it is off"),
        ("known.changes-side-inside-out", "On again, another time"),
    ]  # fmt: skip
    assert {q.group for q, _ in walk.answered if q.part not in LATE} == {"While it is on"}
    assert len(walk.answered) <= walk.at_most
    assert walk.answers["seen"]["marks-on-skin"] is False


def test_once_it_is_off_nothing_is_asked_for_which_it_must_be_on(base: RuleBase) -> None:
    held = interview(base, "fold-under-bust", "bones-stay-bent")
    _, replies = talk(interview(base), GAPS)
    assert "at.once-off" in replies
    walk = held.walk(replies)
    assert walk.next is not None
    assert walk.next.id == "known.bones-stay-bent"


def test_enough_passes_over_what_needs_it_off_too(base: RuleBase) -> None:
    held = interview(base, "fold-under-bust")
    _, replies = talk(held, GAPS)
    assert held.walk({**replies, ENOUGH: True}).next is None


def test_a_mark_is_asked_where_it_lies_and_how_long_it_stays(base: RuleBase) -> None:
    held = interview(base, "marks-under-bone", "marks-in-armpit")
    typed = {"at.once-off": "marks-on-skin", "spots.marks-on-skin": "1 4", "side.marks-on-skin": "both"}
    walk, replies = talk(held, {**GAPS, **typed})
    assert walk.next is not None
    assert walk.next.text == "Red marks on the skin: how many minutes until faded?"
    walk, _ = talk(held, {"amount.marks-on-skin": "25"}, replies)
    known = walk.answers["known"]
    assert (known["marks-under-bone"], known["marks-round-ribs"], known["marks-in-armpit"]) == (True, True, False)
    assert walk.answers["seen"]["marks-on-skin"] == {"side": "both", "amount": 25.0}
    assert walk.next is None, "what was told of where is not asked again"


def test_the_laced_waist_is_added_up_and_not_asked(base: RuleBase) -> None:
    wearer = {"waist": "30 in", "planned_reduction": "2 in"}
    held = interview(base, "waist-not-as-small-as-planned", wearer=wearer, girths_mm={"waist": 26.5 * 25.4})
    walk, _ = talk(held, {**GAPS, "where": "waist", "at.waist": "?", "looked": "n"})
    shown = walk.question("at.waist")
    assert shown is not None
    assert "waist-not-as-small-as-planned" not in [option.id for option in shown.options]
    assert walk.next is None
    assert walk.answers["seen"]["waist-not-as-small-as-planned"] is True
    walk, _ = talk(held, {**GAPS, "gap.waist": "1 1/2", "where": "waist", "at.waist": "n", "looked": "n"})
    assert walk.answers["seen"]["waist-not-as-small-as-planned"] is False


def test_a_side_seam_off_on_one_side_only_is_not_asked_whether_both_are_alike(base: RuleBase) -> None:
    held = interview(base, "side-seam-same-both-sides")
    typed = {"where": "underarm", "at.underarm": "side-seam-off-line", "amount.side-seam-off-line": "1/2"}
    walk, _ = talk(held, {**GAPS, **typed, "side.side-seam-off-line": "left"})
    assert walk.next is None
    assert walk.answers["known"]["side-seam-same-both-sides"] is False
    walk, _ = talk(held, {**GAPS, **typed, "side.side-seam-off-line": "both"})
    assert walk.next is not None
    assert walk.next.id == "known.side-seam-same-both-sides"


def test_the_widths_to_compare_with_are_told_with_the_question(base: RuleBase) -> None:
    held = interview(base, "test-square-true", widths_mm={"waist": {"front": 76.2, "back": 50.8}})
    walk, _ = talk(held, GAPS)
    assert walk.next is not None
    assert walk.next.how.endswith("By the pattern, at the waist: front 3 in (76 mm); back 2 in (51 mm).")


def test_one_question_asks_one_thing(base: RuleBase) -> None:
    """Stop flags are a list of what may be so; two ends held against one middle are one thing."""
    contrasts = {"ends-slack-waist-tight", "waist-not-gripped"}
    asked = {**base.entries.symptoms, **base.entries.questions}
    doubled = {
        name for name, entry in asked.items()
        if name not in base.derived | base.stop_flags and {"or", "and"} & set(entry.ask.split())
    }  # fmt: skip
    assert doubled <= contrasts


def test_three_in_a_row_that_she_cannot_tell_end_the_closer_look(base: RuleBase) -> None:
    wanted = ("fold-under-bust", "slides-down", "rides-up", "hem-flares", "rib-soreness", "bust-flattened")
    held = interview(base, *wanted)
    unsure = {f"sign.{name}": "?" for name in wanted}
    walk, _ = talk(held, {**GAPS, **unsure})
    assert walk.next is None
    assert [q.id for q, _ in walk.answered if q.part in LATE][:-1] == [f"sign.{name}" for name in wanted[:3]]
    walk, _ = talk(held, {**GAPS, **unsure, "sign.slides-down": "n"})
    assert walk.later == 5


def test_a_question_that_tells_apart_names_the_sign_it_is_about(base: RuleBase) -> None:
    held = interview(base, "two-fingers-under-strap", garment={"closure": "back", "straps": "fixed"})
    typed = {
        "where": "9",
        "at.straps": "1 2",
        "looked": "n",
        **dict.fromkeys(("side.straps-slip", "side.straps-dig"), "3"),
    }
    details = dict.fromkeys(("grade.straps-dig", "amount.straps-dig", "grade.straps-slip", "amount.straps-slip"), "?")
    walk, _ = talk(held, {**GAPS, **typed, **details})
    assert walk.next is not None
    assert walk.next.text.startswith("Straps slip off the shoulder; straps dig. Do more than two fingers")
