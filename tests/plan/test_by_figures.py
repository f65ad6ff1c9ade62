"""What is told with a step that is done by hand: which figures, its rule says."""

from __future__ import annotations

import pytest
from drawing_bench import IN, USUAL, alteration, length, panels
from msgspec.structs import replace

from diagnose.gap.reading import GapReading, Readings, gap_of
from diagnose.model.diagnosis import Evidence
from diagnose.pattern.outline import Channel, Pattern, Point
from diagnose.plan.by_figures import by_the_figures
from diagnose.plan.wanted import Wanted
from diagnose.rulebase.reading.entries import FiguresTold


@pytest.fixture(scope="module")
def boned() -> Pattern:
    """Two panels of 4 in and 5 in, each with a channel of 8 1/2 in in its middle."""
    paper = panels(4 * IN, 5 * IN)
    for piece in paper.pieces:
        x = (piece.levels["waist"][0].x + piece.levels["waist"][-1].x) / 2.0
        bone = Channel("c", (Point(x, -IN), Point(x, 7.5 * IN)), 9.5)
        paper = paper.with_piece(replace(piece, channels=(bone,)))
    return paper


def told(figures: FiguresTold | None, paper: Pattern | None, *signs: str) -> str:
    wanted = length(alteration({"do": "note", "why": "By hand."}), 0.0)
    choice = wanted.choice.model_copy(update={"figures": figures})
    shown = tuple(Evidence(sign, "rule", 2.0) for sign in signs)
    item: Wanted = replace(wanted, choice=choice, cause=replace(wanted.cause, for_=shown))
    reading: GapReading = gap_of(Readings({"waist": 3 * IN}, target={"waist": 2 * IN}), USUAL)
    return " ".join(by_the_figures(item, reading, paper, USUAL))


@pytest.mark.parametrize(
    ("what", "said"),
    [
        ("size", "waist 19 in (483 mm), 1 in (25 mm) more than now"),
        ("flat", "At the waist, between the stitching lines: first panel 4 in (102 mm), second panel 5 in (127 mm)"),
        ("walked", "By the paper each edge of a seam measures"),
        ("aims", "hold it against what is aimed at: waist 2 in (51 mm)"),
        ("bones", "The bones in every channel, cut to their channels less what stays empty"),
    ],
)
def test_the_figures_that_the_rule_names_are_told(what: str, said: str, boned: Pattern) -> None:
    found = told(FiguresTold.model_validate({"what": what}), boned)
    assert said in found, found


def test_where_the_rule_names_none_none_are_told(boned: Pattern) -> None:
    assert told(None, boned) == ""


def test_without_a_pattern_only_what_needs_none_is_told() -> None:
    said = {what: told(FiguresTold.model_validate({"what": what}), None) for what in ("aims", "size", "flat", "bones")}
    assert {what for what, one in said.items() if one} == {"aims", "size"}


def test_bones_are_those_by_the_edge_that_closes_but_all_where_such_a_sign_shows(boned: Pattern) -> None:
    figures = FiguresTold(what="bones", everywhere_for=("bone-end-pokes",))
    by_the_edge, everywhere = told(figures, boned, "lacing-edge-rolls"), told(figures, boned, "bone-end-pokes")
    assert "beside the edge that closes" in by_the_edge
    assert "in every channel" in everywhere
    assert everywhere.count("8 in (203 mm)") == 2 * by_the_edge.count("8 in (203 mm)") == 2
