from __future__ import annotations

import copy
import json
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from stored_forms import two_panels_json

from diagnose.errors import FitError
from diagnose.pattern.brought import load_pattern
from diagnose.pattern.form.reader import read_pattern
from diagnose.pattern.form.writer import to_json
from diagnose.pattern.outline import Cubic, EdgeRef, Line, Pattern, Point

Raw = dict[str, Any]
Spoil = Callable[[Raw], object]


def mistakes(raw: object) -> list[tuple[str, str, str]]:
    with pytest.raises(FitError) as caught:
        read_pattern(raw)
    return [(m.where, m.what, m.remedy) for m in caught.value.mistakes]


def test_the_two_bundled_patterns_have_what_a_maker_looks_for(bodies: Pattern, corset: Pattern) -> None:
    (body,) = bodies.pieces
    assert (len(body.slits), len(body.channels), body.cut) == (4, 14, "fold")
    assert {"bust-point", "strap-front", "strap-back", "underarm"} <= set(body.landmarks)
    assert len(corset.pieces) == 6
    assert all(set(piece.levels) == {"top", "underbust", "waist", "hip", "bottom"} for piece in corset.pieces)
    assert corset.pieces[0].edge("centre-front").role == "opening"
    assert corset.pieces[-1].edge("centre-back").role == "lacing"


def test_what_is_read_is_what_was_written_down(raw: Raw) -> None:
    raw["pieces"][0]["edges"][0]["path"] = [["C", 30, -102, 90, -102, 120, -100]]
    pattern = read_pattern(raw)
    front = pattern.piece("front")
    assert front.edge("hem").segments == (Cubic(Point(0, -100), Point(30, -102), Point(90, -102), Point(120, -100)),)
    assert front.edge("back-edge").segments == (Line(Point(120, -100), Point(120, 200)),)
    assert front.edges[-1].end == front.edges[0].start
    assert front.channels[0].width == 9.5
    assert front.notches[0].at == 100.0
    assert front.grain == (Point(40, -50), Point(40, 150))
    assert pattern.seams[0].a == EdgeRef("front", "back-edge")


def test_a_length_may_be_text_with_a_unit_and_takes_the_unit_given_where_it_names_none(raw: Raw) -> None:
    raw["pieces"][0]["notches"][0]["at"] = "3 in"
    raw["pieces"][0]["channels"][0]["width"] = "3/8"
    assert read_pattern(raw).pieces[0].notches[0].at == pytest.approx(76.2)
    assert read_pattern(raw).pieces[0].channels[0].width == pytest.approx(9.525)
    raw["pieces"][0]["channels"][0]["width"] = "9.5"
    assert read_pattern(raw, unit="mm").pieces[0].channels[0].width == 9.5


def test_an_outline_that_misses_its_start_by_a_hair_is_closed_exactly(raw: Raw) -> None:
    raw["pieces"][0]["edges"][3]["path"] = [["L", 0.006, -100.006]]
    front = read_pattern(raw).pieces[0]
    assert front.edges[-1].end == front.edges[0].start == Point(0, -100)


def test_unknown_keys_are_kept_wherever_they_stand(raw: Raw) -> None:
    raw["maker"] = {"note": [1, 2.5, None, True, "x"]}
    raw["pieces"][0]["cloth"] = "coutil"
    raw["pieces"][0]["edges"][1]["tape"] = True
    raw["pieces"][0]["channels"][0]["bone"] = "1/4 in"
    raw["pieces"][0]["slits"][0]["bind"] = 1
    raw["pieces"][0]["notches"][0]["kind"] = "double"
    raw["seams"][0]["stitch"] = "lapped"
    written = to_json(read_pattern(raw))
    assert written["maker"] == raw["maker"]
    front = written["pieces"][0]  # type: ignore[index]
    assert front["cloth"] == "coutil"
    assert front["edges"][1]["tape"] is True
    assert front["channels"][0]["bone"] == "1/4 in"
    assert front["slits"][0]["bind"] == 1
    assert front["notches"][0]["kind"] == "double"
    assert written["seams"][0]["stitch"] == "lapped"  # type: ignore[index]


def piece(raw: Raw) -> Raw:
    found: Raw = raw["pieces"][0]
    return found


def edge(raw: Raw, number: int) -> Raw:
    found: Raw = raw["pieces"][0]["edges"][number]
    return found


SPOILT: dict[str, tuple[Spoil, str, str]] = {
    "format": (lambda r: r.update(format="dxf"), "", "The format is “dxf”"),
    "no format": (lambda r: r.pop("format"), "", "The format is missing"),
    "version": (lambda r: r.update(version=2), "", "The version is “2”"),
    "version true": (lambda r: r.update(version=True), "", "The version is “true”"),
    "version text": (lambda r: r.update(version="1"), "", "The version is “1”"),
    "closure": (lambda r: r.update(closure="side"), "", "“side” is no known closure"),
    "no name": (lambda r: r.update(name=" "), "", "does not do as a name"),
    "control character": (lambda r: r.update(name="a\x1b[31m"), "", "“a?[31m” does not do as a name"),
    "no pieces": (lambda r: r.update(pieces=[], seams=[]), "", "“pieces” holds 0 entries"),
    "pieces no list": (lambda r: r.update(pieces={}, seams=[]), "", "not a list"),
    "a piece that is text": (lambda r: r["pieces"].append("x"), "piece 3", "an object {…} is wanted"),
    "too many pieces": (lambda r: r.update(pieces=[1] * 501, seams=[]), "", "holds 501 entries"),
    "twin pieces": (lambda r: r["pieces"].append(copy.deepcopy(piece(r))), "", "2 pieces are named “front”"),
    "twin edges": (lambda r: edge(r, 0).update(name="top-edge"), "piece front", "2 edges are named"),
    "slit: edge": (lambda r: edge(r, 0).update(name="slit:a"), "piece front, edge slit:a", "can't begin"),
    "cut": (lambda r: piece(r).update(cut="pairs"), "piece front", "“pairs” is no known cut"),
    "side": (lambda r: piece(r).update(side="west"), "piece front", "“west” is no known side"),
    "one side of a pair": (lambda r: piece(r).update(side="left"), "piece front", "can't be the left one"),
    "role": (lambda r: edge(r, 1).update(role="hem"), "piece front, edge back-edge", "is no known role"),
    "no role": (lambda r: edge(r, 1).pop("role"), "piece front, edge back-edge", "The role is missing"),
    "NaN": (
        lambda r: edge(r, 1).update(path=[["L", 120, 0], ["L", float("nan"), 200]]),
        "piece front, edge back-edge, step 2",
        "“nan” is not a length anyone can measure",
    ),
    "infinity": (lambda r: piece(r).update(start=[0, float("-inf")]), "piece front, start", "“-inf”"),
    "true": (lambda r: piece(r).update(start=[0, True]), "piece front, start", "“true” is not a length"),
    "huge whole number": (lambda r: piece(r).update(start=[0, 10**400]), "piece front, start", "many digits"),
    "nonsense text": (lambda r: piece(r).update(start=[0, "wide"]), "piece front, start", "“wide” is not a"),
    "null": (lambda r: piece(r).update(start=[0, None]), "piece front, start", "is not a length"),
    "no start": (lambda r: piece(r).pop("start"), "piece front, start", "is not a point"),
    "no edges": (lambda r: piece(r).update(edges=[]), "piece front", "“edges” holds 0 entries"),
    "empty path": (lambda r: edge(r, 1).update(path=[]), "piece front, edge back-edge", "holds 0 entries"),
    "step of an unknown letter": (
        lambda r: edge(r, 1).update(path=[["Q", 1, 2, 3, 4]]), "piece front, edge back-edge, step 1",
        "“Q” with 4 numbers is no step",
    ),
    "step too short": (
        lambda r: edge(r, 1).update(path=[["C", 1, 2, 3, 4]]), "piece front, edge back-edge, step 1", "is no step",
    ),
    "step that goes nowhere": (
        lambda r: edge(r, 1)["path"].insert(0, ["L", 120, -100]), "piece front, edge back-edge, step 1",
        "goes nowhere",
    ),
    "not closed": (lambda r: edge(r, 3).update(path=[["L", 5, -100]]), "piece front, edge front-edge", "not close"),
    "edges swapped": (
        lambda r: piece(r)["edges"].insert(0, piece(r)["edges"].pop(1)), "piece front", "crosses or touches itself",
    ),
    "clockwise": (lambda r: clockwise(piece(r)), "piece front", "runs clockwise"),
    "roles swapped": (
        lambda r: (edge(r, 0).update(role="top"), edge(r, 2).update(role="bottom")), "piece front",
        "edges are out of order",
    ),
    "no paper": (
        lambda r: (piece(r)["edges"].pop(2), edge(r, 1).update(path=[["L", 60, -100]]), piece(r).update(notches=[])),
        "piece front", "crosses or touches itself",
    ),
    "over 5 m": (
        lambda r: [edge(r, n).update(path=[["L", 5200, y]]) for n, y in ((0, -100), (1, 200))], "piece front",
        "5200 mm wide",
    ),
    "station": (lambda r: piece(r)["levels"].update(waste=[[0, 0], [9, 0]]), "piece front, levels", "“waste”"),
    "level of one point": (lambda r: piece(r)["levels"].update(waist=[[0, 0]]), "piece front, level waist", "no"),
    "level of a bad point": (
        lambda r: piece(r)["levels"].update(waist=[[0, 0], [None, 0]]), "piece front, level waist, point 2",
        "“null” is not a length",
    ),
    "level of no length": (
        lambda r: piece(r)["levels"].update(waist=[[0, 0], [0, 0]]), "piece front, level waist", "one and the same",
    ),
    "level off the piece": (
        lambda r: piece(r)["levels"].update(hip=[[0, -300], [120, -300]]), "piece front, level hip", "misses",
    ),
    "level half way": (
        lambda r: piece(r)["levels"].update(waist=[[0, 0], [60, 0]]), "piece front, level waist",
        "stops 2 3/8 in (60 mm) inside",
    ),
    "levels a list": (lambda r: piece(r).update(levels=[]), "piece front, levels", "an object {…} is wanted"),
    "landmark of three": (
        lambda r: piece(r)["landmarks"].update(a=[1, 2, 3]), "piece front, landmark a", "is not a point",
    ),
    "channel of one point": (
        lambda r: piece(r)["channels"][0].update(line=[[1, 2]]), "piece front, channel f1, line", "not a line",
    ),
    "channel without width": (
        lambda r: piece(r)["channels"][0].pop("width"), "piece front, channel f1, width", "is not a length",
    ),
    "channel of no width": (
        lambda r: piece(r)["channels"][0].update(width=0), "piece front, channel f1, width", "holds no bone",
    ),
    "slit foot off the hem": (
        lambda r: piece(r)["slits"][0].update(line=[[80, -90], [80, 0]]), "piece front, slit s1",
        "foot, 3 1/8 in (80 mm) out and 3 9/16 in (90 mm) down, is 3/8 in (10 mm) off",
    ),
    "notch beyond its edge": (
        lambda r: piece(r)["notches"][0].update(at=301), "piece front, notch 1", "lies at 301.0 mm",
    ),
    "notch before its edge": (lambda r: piece(r)["notches"][0].update(at=-1), "piece front, notch 1", "-1.0 mm"),
    "notch on no edge": (lambda r: piece(r)["notches"][0].update(edge="x"), "piece front, notch 1", "no edge “x”"),
    "grain of three": (
        lambda r: piece(r).update(grain=[[0, 0], [1, 1], [2, 2]]), "piece front, grain", "is not a line",
    ),
    "seam of an unknown piece": (lambda r: r["seams"][0].update(b=["bak", "x"]), "seam side", "no piece “bak”"),
    "seam of an unknown edge": (lambda r: r["seams"][0].update(b=["back", "x"]), "seam side", "no edge “x”"),
    "seam of an unknown slit": (
        lambda r: r["seams"][0].update(b=["front", "slit:z"]), "seam side", "no edge “slit:z”",
    ),
    "seam that names no edge": (lambda r: r["seams"][0].update(a="front"), "seam side, a", "names no edge"),
    "seam without a side": (lambda r: r["seams"][0].pop("b"), "seam side, b", "It is missing"),
    "seam of two lengths": (
        lambda r: r["seams"][0].update(ease=4), "seam side", "differ by 3/16 in (4 mm) beyond the ease of 4.0 mm",
    ),
    "edge in two seams": (
        lambda r: r["seams"].append({**r["seams"][0], "name": "again"}), "", "in more than one seam: side, again",
    ),
    "added key with NaN": (lambda r: piece(r).update(note=[float("nan")]), "piece front", "“note”"),
    "added key too deep": (lambda r: r.update(deep=nested(40)), "", "“deep”"),
}  # fmt: skip


def clockwise(raw: Raw) -> None:
    start = raw["start"]
    corners = [e["path"][-1][1:] for e in raw["edges"]]
    names = [(e["name"], e["role"]) for e in raw["edges"]]
    places = [corners[-2], *reversed(corners[:-2]), start]
    raw["edges"] = [
        {"name": n, "role": r, "path": [["L", *p]]} for (n, r), p in zip(reversed(names), places, strict=True)
    ]


def nested(depth: int) -> object:
    return [nested(depth - 1)] if depth else 0


@pytest.mark.parametrize("fault", SPOILT)
def test_each_fault_is_refused_with_its_place_its_words_and_a_remedy(raw: Raw, fault: str) -> None:
    spoil, where, what = SPOILT[fault]
    spoil(raw)
    found = mistakes(raw)
    place = f"pattern, {where}".removesuffix(", ")
    assert {at for at, words, _ in found if what in words} == {place}, found
    assert all(do.endswith((".", "?", "]")) for _, _, do in found)


def test_all_mistakes_of_a_pattern_come_at_once(raw: Raw) -> None:
    raw["closure"] = "no"
    edge(raw, 1)["path"] = [["L", "x", 200]]
    raw["pieces"][1]["levels"]["waist"] = [[0, 900], [10, 900]]
    raw["seams"][0]["b"] = ["sleeve", "x"]
    assert sorted(where for where, _, _ in mistakes(raw)) == [
        "pattern",
        "pattern, piece back, level waist",
        "pattern, piece front, edge back-edge, step 1",
        "pattern, seam side",
    ]


def test_a_seam_of_a_faulty_piece_is_not_blamed_as_well(raw: Raw) -> None:
    piece(raw)["cut"] = "x"
    assert [where for where, _, _ in mistakes(raw)] == ["pattern, piece front"]


def test_a_flood_of_mistakes_is_cut_and_counted(raw: Raw) -> None:
    edge(raw, 1)["path"] = [["L", None, 1]] * 500
    found = mistakes(raw)
    assert len(found) == 101
    assert found[-1][1] == "There are 400 mistakes more."


def test_a_slit_may_be_sewn_along_both_its_lips_but_no_third_time(raw: Raw) -> None:
    gore = {
        "name": "gore", "cut": "pair", "start": [0, 0],
        "edges": [
            {"name": "hem", "role": "bottom", "path": [["L", 40, 0]]},
            {"name": "leg-back", "role": "seam", "path": [["L", 20, 78]]},
            {"name": "leg-front", "role": "seam", "path": [["L", 0, 0]]},
        ],
    }  # fmt: skip
    raw["pieces"].append(gore)
    for leg in ("leg-front", "leg-back"):
        raw["seams"].append({"name": leg, "a": ["gore", leg], "b": ["front", "slit:s1"]})
    read_pattern(raw)
    raw["seams"].append({"name": "third", "a": ["back", "hem"], "b": ["front", "slit:s1"], "ease": 20})
    assert ["Front, slit 1 is sewn" in what for _, what, _ in mistakes(raw)] == [True]


def test_an_edge_may_be_sewn_to_a_left_and_a_right_piece(raw: Raw) -> None:
    back = raw["pieces"].pop()
    raw["pieces"] += [{**back, "name": f"back-{side}", "cut": "single", "side": side} for side in ("left", "right")]
    raw["seams"] = [
        {"name": f"side-{side}", "a": ["front", "back-edge"], "b": [f"back-{side}", "front-edge"]}
        for side in ("left", "right")
    ]
    assert len(read_pattern(raw).seams) == 2


def test_partner_edges_may_differ_by_an_eighth_of_an_inch_and_no_more(raw: Raw) -> None:
    raw["seams"][0]["ease"] = 3.175
    read_pattern(raw)
    raw["seams"][0]["ease"] = 3.3
    assert len(mistakes(raw)) == 1


def test_awkward_but_sound_outlines_are_read(awkward: Pattern) -> None:
    assert read_pattern(to_json(awkward)) == awkward


@pytest.mark.parametrize("value", [None, 7, "x", [], True, {}, {"pieces": None}, {"seams": 3, "pieces": [[]]}])
def test_what_is_no_pattern_at_all_is_refused_in_words(value: object) -> None:
    assert mistakes(value)


JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=5),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=5), inner, max_size=4),
    max_leaves=12,
)


@settings(max_examples=150, deadline=None)
@given(data=st.data())
def test_any_value_put_anywhere_is_read_or_refused_in_words(data: st.DataObject) -> None:
    raw = two_panels_json()
    holder: Any = raw
    while True:
        keys = list(holder) if isinstance(holder, dict) else list(range(len(holder)))
        key = data.draw(st.sampled_from(keys))
        if isinstance(holder[key], dict | list) and holder[key] and data.draw(st.booleans()):
            holder = holder[key]
            continue
        holder[key] = data.draw(JSON)
        break
    try:
        read_pattern(raw)
    except FitError as refused:
        assert all(m.where and m.what for m in refused.mistakes)  # noqa: PT017


def test_a_file_is_read_and_its_name_stands_in_its_mistakes(raw: Raw, tmp_path: Path) -> None:
    path = tmp_path / "trial.json"
    path.write_text(json.dumps(raw), encoding="utf-8-sig")
    assert load_pattern(path).name == "trial"
    raw["closure"] = "x"
    path.write_text(json.dumps(raw))
    with pytest.raises(FitError, match=r"^trial\.json: “x” is no known closure"):
        load_pattern(path)


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"{", "line 1, column 2: This is not JSON"),
        (b"", "This is not JSON"),
        (b"\xff\xfe\x00", "not text in UTF-8"),
        (b"[" * 100_000, "nested too deeply"),
        (b"1" * 5000, "too many digits"),
        (b'{"format": "stays-pattern", "format": "x"}', "“format” stands twice"),
    ],
)
def test_a_file_that_holds_no_pattern_is_refused_in_words(tmp_path: Path, content: bytes, words: str) -> None:
    path = tmp_path / "bad.json"
    path.write_bytes(content)
    with pytest.raises(FitError, match=words):
        load_pattern(path)


def test_a_missing_file_and_a_folder_are_refused_in_words(tmp_path: Path) -> None:
    for path in (tmp_path / "none.json", tmp_path):
        with pytest.raises(FitError, match="The file can't be read"):
            load_pattern(path)


def test_a_file_too_large_for_a_pattern_is_not_opened(tmp_path: Path) -> None:
    path = tmp_path / "large.json"
    with path.open("wb") as file:
        file.truncate(20_000_001)
    with pytest.raises(FitError, match="larger than 20 MB"):
        load_pattern(path)


def test_a_notch_may_lie_farther_along_a_curve_than_its_chord_is_long(raw: Raw) -> None:
    edge(raw, 2)["path"] = [["C", 120, 260, 0, 260, 0, 200]]
    piece(raw)["notches"] = [{"edge": "top-edge", "at": 150}]
    assert read_pattern(raw).pieces[0].notches[0].at == 150
    piece(raw)["notches"][0]["at"] = 170
    assert "runs from 0 to 167.4 mm" in mistakes(raw)[0][1]


def test_a_json_file_with_nan_is_refused_at_its_place(raw: Raw, tmp_path: Path) -> None:
    piece(raw)["landmarks"]["a"] = [float("nan"), 1]
    path = tmp_path / "nan.json"
    path.write_text(json.dumps(raw))
    with pytest.raises(FitError, match=r"nan\.json, piece front, landmark a: “nan”"):
        load_pattern(path)


def test_twenty_thousand_steps_are_read_in_a_few_seconds(raw: Raw) -> None:
    steps = [["L", 120 + (n % 2) * 0.25, -100 + n * 300 / 20_000] for n in range(1, 20_000)] + [["L", 120, 200]]
    edge(raw, 1)["path"] = steps
    raw["seams"] = []
    began = time.process_time()
    read_pattern(raw)
    assert time.process_time() - began < 5.0
    edge(raw, 1)["path"] = [*steps, ["L", 119, 200]]
    assert "holds 20001 entries" in mistakes(raw)[0][1]


def test_a_six_panel_pattern_is_read_in_less_than_a_tenth_of_a_second(corset: Pattern) -> None:
    raw = to_json(corset)
    timed = []
    for _ in range(10):
        began = time.process_time()
        read_pattern(raw)
        timed.append(time.process_time() - began)
    assert min(timed) < 0.1
