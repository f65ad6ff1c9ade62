"""Figures of the lacing gap, of halving, and of the limits of reduction, spring and marks."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from itertools import pairwise
from typing import Any

from registry import INCH, alone, base, diagnosis, figures_of, reading, settings, take_in, tryon

from diagnose.engine.findings import garment_facts
from diagnose.gap.reading import usual_targets
from diagnose.gap.shares import share, share_out
from diagnose.model.stations import Station
from diagnose.pattern.brought import load_pattern
from diagnose.pattern.measure import garment_girth, station_width
from diagnose.pattern.operations import do
from diagnose.pattern.outline import Edge, Line, Piece, Point
from diagnose.places import bundled_cases
from diagnose.plan.profiles import station_heights
from diagnose.units import parse_length

EIGHTH = INCH / 8
SIXTEENTH = INCH / 16


def spaces(bust: float, waist: float, hip: float) -> dict[str, float]:
    return {"top": bust * INCH, "waist": waist * INCH, "hip": hip * INCH}


def as_planned(planned: Mapping[str, float], **more: Any) -> tuple[str, str]:
    """The shape of a gap that reads as planned, and where it is altered."""
    raw = {"gap": planned, "target": planned, **more}
    return str(reading(**raw).shape), take_in(4, **raw).place


# Source: corsetière training manual, 1910s, ch. 13: what is deducted from bust, waist and hip for the lacing.
@figures_of("spaces-laced-behind")
def laced_behind() -> tuple[float | str, ...]:
    flat = reading(gap=spaces(3, 2, 3), target="2 in")
    shaped = settings().with_value("target-wider-top", INCH).with_value("target-wider-bottom", INCH)
    usual = usual_targets(shaped)
    return (*as_planned(spaces(3, 2, 3)), str(flat.shape), *(usual[name] for name in ("top", "waist", "bottom")))


@figures_of("spaces-laced-before")
def laced_before() -> tuple[float | str, ...]:
    return as_planned(spaces(2, 2, 1), garment={"closure": "front"})


@figures_of("spaces-laced-before-and-behind")
def laced_both() -> tuple[float | str, ...]:
    front = {name: mm / 2 for name, mm in spaces(3, 3, 3).items()}
    return as_planned(spaces(3, 3, 3), garment={"closure": "both"}, gap_front=front)


@figures_of("spaces-laced-before-and-partly-behind")
def laced_partly() -> tuple[float | str, ...]:
    return as_planned(spaces(2, 2, 3), garment={"closure": "both"}, gap_front=spaces(1, 1, 1))


def half_pattern(half_widths: Mapping[str, float]) -> Piece:
    """A half in one piece, straight in front, whose back runs through the widths at bust, waist and hip."""
    heights = {"hip": 0.0, "waist": 8 * INCH, "top": 16 * INCH}
    back = [Point(half_widths[name], height) for name, height in heights.items()]
    top, low = Point(0.0, heights["top"]), Point(0.0, 0.0)
    edges = (
        Edge("hem", "bottom", (Line(low, back[0]),)),
        Edge("back", "lacing", (Line(back[0], back[1]), Line(back[1], back[2]))),
        Edge("neck", "top", (Line(back[2], top),)),
        Edge("front", "opening", (Line(top, low),)),
    )
    levels = {name: (Point(0.0, y), Point(half_widths[name], y)) for name, y in heights.items()}
    return Piece("half", "pair", "both", edges, levels)


# Source: the same chapter, its rule on a body of 36, 25 and 38 in. 33, 23 and 35 are worked by hand.
@figures_of("garment-is-body-less-spaces")
def body_less_spaces() -> tuple[float | str, ...]:
    body = {"top": 36 * INCH, "waist": 25 * INCH, "hip": 38 * INCH}
    planned = spaces(3, 2, 3)
    pattern = alone(half_pattern({name: (body[name] - planned[name]) / 2 for name in body}))
    girths = [garment_girth(pattern, name) or 0.0 for name in body]
    gap = {name: body[name] - girth for name, girth in zip(body, girths, strict=True)}
    return (*girths, take_in(4, gap=gap, target=planned).place)


# Source: "Practical Instructions in Stay Making", Godey's Lady's Book, August 1857: backs end 1 1/2 in short of the
# middle and must not meet.
@figures_of("stays-of-1857")
def stays_of_1857() -> tuple[float | str, ...]:
    planned = dict.fromkeys(("top", "waist", "bottom"), 3 * INCH)
    met = dict.fromkeys(planned, 0.0)
    return (
        take_in(4, gap=planned, target=planned).place,
        share(3 * INCH, None, SIXTEENTH).per_half_mm,
        "yes" if reading(gap=met, target=planned).settled(settings().mm("dead-band")) else "no",
    )


# Common practice, no source: 2 to 4 in as pattern instructions have it; over 4 in a ridge of flesh.
@figures_of("usual-gap")
def usual_gap() -> tuple[float | str, ...]:
    return settings().mm("target-gap"), settings().mm("gap-widest")


# Source: How to Adjust ..., wearer's leaflet, 1913: 6 to 8 in of spacing let out before putting on.
@figures_of("opening-before-putting-on")
def opening() -> tuple[float | str, ...]:
    return (settings().mm("lace-open"),)


# Geometry, worked by hand: 2 in over two halves, four seams, two stitching lines each.
@figures_of("halving-take-in")
def halving_take_in() -> tuple[float | str, ...]:
    closed = dict.fromkeys(("top", "waist", "bottom"), 0.0)
    part = take_in(4, gap=closed, overlap=closed, target="2 in").shares["waist"]
    assert part.per_seam_mm is not None
    assert part.per_edge_mm is not None
    lines = 2 * sum(part.edges_mm)  # both halves
    return part.per_half_mm, part.per_seam_mm, part.per_edge_mm, float(2 * len(part.edges_mm)), lines


# Geometry, worked by hand: 3/32 in on each of 20 lines would leave the gap at 2 1/8 in; the remainder is shared out.
@figures_of("halving-let-out")
def halving_let_out() -> tuple[float | str, ...]:
    part = take_in(5, gap=dict.fromkeys(("top", "waist", "bottom"), 4 * INCH), target="2 in").shares["waist"]
    assert part.per_seam_mm is not None
    assert part.per_edge_mm is not None
    return -part.per_half_mm, -part.per_seam_mm, -part.per_edge_mm, 4 * INCH + 2 * sum(part.edges_mm)


# Geometry, worked by hand: 1 in above, 3 in below, 13 in of lacing edge.
@figures_of("gap-like-an-a")
def a_gap() -> tuple[float | str, ...]:
    raw: dict[str, Any] = {"gap": {"top": "1 in", "bottom": "3 in"}, "target": "2 in", "garment": {"seams_per_half": 4}}
    shares = take_in(4, **raw).shares
    top, bottom = shares["top"], shares["bottom"]
    assert top.per_edge_mm is not None
    slant = (top.per_half_mm - bottom.per_half_mm) / (settings().mm("height-top") + settings().mm("height-bottom"))
    step = diagnosis(**raw).rounds[0].steps[0]
    return (
        str(reading(**raw).shape), top.per_edge_mm, math.degrees(math.atan(slant)),
        settings().mm("height-top") - height_of_no_change(step.amount.by_station_mm),
        step.predicted_gap_mm["top"], step.predicted_gap_mm["bottom"],
    )  # fmt: skip


def height_of_no_change(by_station: Mapping[Station, float]) -> float:
    """How high over the waist a planned change of girth passes from in to out."""
    heights = station_heights(settings())
    for upper, lower in pairwise(by_station):
        high, low = by_station[upper], by_station[lower]
        if high >= 0 >= low and high != low:
            return heights[upper] + (heights[lower] - heights[upper]) * high / (high - low)
    raise AssertionError("the change does not pass from in to out")


# Common practice, no source (a period drafting page deducts so and writes roughly 3/8 in); the loss is arithmetic.
@figures_of("five-pieces-and-a-remainder")
def remainder() -> tuple[float | str, ...]:
    shared = share_out(2 * INCH, 5, EIGHTH)
    lost = 2 * INCH - 5 * min(shared)
    return min(shared), lost, sum(shared)


# Geometry, worked by hand: the side seam hangs 3/8 in behind the body's line while the girth is right.
@figures_of("front-and-back-shares")
def front_and_back() -> tuple[float | str, ...]:
    pattern = load_pattern(bundled_cases() / "patterns" / "six-panel-corset.json")
    seen = {"side-seam-off-line": {"amount": "3/8 in"}, "spill-at-side-bust": True}
    planned = dict.fromkeys(("top", "waist", "bottom"), "2 in")
    steps = diagnosis(pattern, gap=planned, target="2 in", seen=seen).rounds[0].steps
    step = next(step for step in steps if step.alteration == "shift-side-seam")
    after = do(pattern, step.operations).pattern
    grown = [station_width(new, "waist") - station_width(old, "waist")
             for old, new in zip(pattern.pieces, after.pieces, strict=True)]  # fmt: skip
    return sum(grown[:3]), sum(grown[3:]), sum(grown)


# Geometry, worked by hand: 2 in more at the hem, running out 6 in higher at the waist.
@figures_of("hip-released")
def hip_released() -> tuple[float | str, ...]:
    part = share(-2 * INCH, 4, SIXTEENTH)
    assert part.per_seam_mm is not None
    assert part.per_edge_mm is not None
    turn = math.degrees(math.atan(-part.per_edge_mm / (6 * INCH)))
    limit = next(
        choice for choice in base().entries.causes["too-small-at-hip"].alterations
        if choice.alteration == "release-hip"
    )  # fmt: skip
    assert limit.limit is not None
    return -part.per_seam_mm, -part.per_edge_mm, turn, limit.limit * 4 * 4


# Geometry: the stitching 1/16 in too deep on two lines of ten seams.
@figures_of("seams-a-hair-too-deep")
def hair_too_deep() -> tuple[float | str, ...]:
    whole = 10 * 2 * SIXTEENTH
    found = share(whole, 5, SIXTEENTH).per_edge_mm
    assert found is not None
    return whole, found


# Source: C. R. Gau's study of corseted re-enactors, abstract: no more than 10 % of the waist.
@figures_of("reduction-at-most-a-tenth")
def reduction() -> tuple[float | str, ...]:
    most = settings().mm("reduction-most")
    wearer = tryon(wearer={"waist": "24 in", "planned_reduction": "4 in"})
    planned = garment_facts(wearer)["reduction-ratio"]
    assert isinstance(planned, float)
    return most, 24 * INCH * most, 30 * INCH * most, "more" if planned > most else "no more"


# Source: R. L. Dickinson, Toleration of the Corset, 1910: 2 1/2 in the most to be borne; 4 in is 65 mmHg and over.
@figures_of("spring-of-the-front")
def spring() -> tuple[float | str, ...]:
    words = re.search(r"more than (.*? in)", base().entries.symptoms["fronts-spring-apart"].see)
    assert words is not None
    limit = parse_length(words[1])
    assert limit is not None
    stops = ["stop" if diagnosis(seen={"fronts-spring-apart": {"amount": inches}}).stop else "no stop"
             for inches in ("2 1/2 in", "4 in")]  # fmt: skip
    return limit, *stops


# Source: three children's-hospital hand-outs on wearing a brace: a mark must have faded after half an hour.
@figures_of("marks-on-the-skin")
def marks() -> tuple[float | str, ...]:
    stops = [bool(diagnosis(seen={"marks-on-skin": {"amount": minutes}}).stop) for minutes in range(1, 61)]
    assert stops == sorted(stops)
    return float(stops.index(True)), float(stops.index(True) + 1)
