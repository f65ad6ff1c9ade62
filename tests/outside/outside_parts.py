"""Figures of lace, bones, gores, stomachers, fronts, shoulders and sleeves."""

from __future__ import annotations

import math

from registry import INCH, alone, base, figures_of, settings

from diagnose.model.settings import Settings
from diagnose.pattern.brought import load_pattern
from diagnose.pattern.geometry.plane import distance
from diagnose.pattern.measure import slit_length
from diagnose.pattern.operations import Eyelets, InsertGore, RecutGore
from diagnose.pattern.outline import Edge, Line, Pattern, Piece, Point
from diagnose.places import bundled_cases
from diagnose.rulebase.reading.formula import parse_formula
from diagnose.sheets.cutting.cutting_list import cutting_list


def wanted(cause: str, number: int, **inches: float) -> tuple[float, float]:
    """The amount of a cause's choice on facts given in inches (`__` stands for a full stop): whole, and in a round."""
    choice = base().entries.causes[cause].alterations[number]
    facts = {name.replace("__", ".").replace("_", "-"): value * INCH for name, value in inches.items()}
    amount = parse_formula(choice.amount).value(facts)
    assert amount is not None
    limit = choice.limit if choice.limit is not None else math.inf
    return amount, math.copysign(min(abs(amount), limit), amount)


def oblong(wide: float, high: float, back_role: str = "seam") -> Piece:
    """An oblong in inches, its waist half way up."""
    corners = [Point(0, 0), Point(wide * INCH, 0), Point(wide * INCH, high * INCH), Point(0, high * INCH)]
    names = (("hem", "bottom"), ("back", back_role), ("neck", "top"), ("front", "seam"))
    edges = tuple(
        Edge(name, role, (Line(corners[n], corners[(n + 1) % 4]),))  # type: ignore[arg-type]
        for n, (name, role) in enumerate(names)
    )
    waist = (Point(0, high / 2 * INCH), Point(wide * INCH, high / 2 * INCH))
    return Piece("sheet", "pair", "both", edges, levels={"waist": waist})


def laced(opening: float, holes: int, pitch: float, inset: float, ends: float) -> float:
    """The lace of the cutting list, mm, for a lacing edge of so many holes; inches."""
    changed: Settings = settings()
    figures = {"lace-open": opening, "eyelet-pitch": pitch, "eyelet-inset": inset, "lace-ends": ends}
    for name, value in figures.items():
        changed = changed.with_value(name, value * INCH)
    high = (holes - 1) * pitch + 2 * settings().mm("eyelet-end") / INCH
    (lacing,) = cutting_list(alone(oblong(4, high, "lacing")), changed).lacing
    assert len(lacing.eyelets_mm) == holes
    return lacing.lace_mm


@figures_of("lace-for-an-opening")
def lace_for_an_opening() -> tuple[float, ...]:
    low, high = 1.0, 7.0
    for _ in range(40):
        middle = (low + high) / 2
        low, high = (middle, high) if laced(middle, 16, 0.75, 0.375, 36) < 180 * INCH else (low, middle)
    return laced(7, 16, 0.75, 0.375, 36), low * INCH


@figures_of("eyelets-at-half-the-distance")
def eyelets_at_half_the_distance() -> tuple[float, ...]:
    pattern = alone(oblong(4, 13, "lacing"))
    changed = settings().with_value("eyelet-pitch", INCH)
    closer = Eyelets(piece="sheet", edge="back", span=2 * INCH).done(pattern).pattern
    (before,), (after,) = cutting_list(pattern, changed).lacing, cutting_list(closer, changed).lacing
    least = min(b - a for a, b in zip(after.eyelets_mm, after.eyelets_mm[1:], strict=False))
    return float(len(after.eyelets_mm) - len(before.eyelets_mm)), least


@figures_of("reduction-of-a-waist-of-26")
def reduction_of_a_waist_of_26() -> tuple[float, ...]:
    whole, now = wanted("reduction-too-great", 1, planned_reduction=4, waist=26)
    return now, whole


@figures_of("spring-of-four-inches")
def spring_of_four_inches() -> tuple[float, ...]:
    return (wanted("reduction-too-great", 0, fronts_spring_apart__amount=4)[1],)


@figures_of("bone-of-its-channel")
def bone_of_its_channel() -> tuple[float, ...]:
    return (wanted("bones-too-long", 2, bone_end_pokes__amount=0)[1],)


@figures_of("stay-over-the-corset")
def stay_over_the_corset() -> tuple[float, ...]:
    return (-wanted("waist-stay-wrong", 0, waist_stay_bites_or_hangs__amount=(25 - 0.5) - 26)[1],)


@figures_of("shoulder-loose-at-the-arm")
def shoulder_loose_at_the_arm() -> tuple[float, ...]:
    edge = wanted("shoulder-slope-wrong", 0, shoulder_folds__amount=0.75)[1]
    return edge, math.degrees(math.atan2(edge, 5 * INCH))


@figures_of("armhole-for-a-sleeve")
def armhole_for_a_sleeve() -> tuple[float, ...]:
    return wanted("armhole-wrong-for-sleeve", 0, sleeve_drags__amount=1.25, digs_under_arm__amount=1.5)


def spread_deg(gore: Piece) -> float:
    """The angle between the legs: twice the arc sine of half the hem over the leg."""
    hem = next(edge for edge in gore.edges if edge.role == "bottom")
    leg = next(edge for edge in gore.edges if edge.role == "seam")
    return 2 * math.degrees(math.asin(distance(hem.start, hem.end) / 2 / distance(leg.start, leg.end)))


@figures_of("gore-whose-tip-is-low")
def gore_whose_tip_is_low() -> tuple[float, ...]:
    slit = InsertGore("sheet", Point(3 * INCH, 0), Point(3 * INCH, 6 * INCH), 2.5 * INCH)
    before = slit.done(alone(oblong(6, 12))).pattern
    amount = wanted("gore-wrong", 0, gore_tip_strains__amount=-0.75)[1]
    after = RecutGore("gore-1", -amount).done(before).pattern
    size = slit_length(after.piece("sheet").slits[0])
    spread = spread_deg(after.piece("gore-1"))
    there = 2 * (size - 6 * INCH) * math.sin(math.radians(spread / 2))
    return size, there, spread_deg(before.piece("gore-1")), spread


def gored() -> Pattern:
    return load_pattern(bundled_cases() / "patterns" / "gored-corset.json")


@figures_of("gore-that-flutes")
def gore_that_flutes() -> tuple[float, ...]:
    whole = -wanted("gore-wrong", 1, gore_flutes__amount=0.5)[1]
    return whole, whole / 2


@figures_of("gores-for-a-hip")
def gores_for_a_hip() -> tuple[float, ...]:
    short = 40 - 35.5 - 2.0
    half = wanted("gore-wrong", 5, change_bottom=-short)[1]
    gores = [piece for piece in gored().pieces if piece.name.startswith("hip-gore")]
    return short * INCH, half / len(gores)


@figures_of("stomacher-bare-on-one-side")
def stomacher_bare_on_one_side() -> tuple[float, ...]:
    both = wanted("stomacher-wrong", 0, stomacher_edge_shows__amount=0.5, stomacher_laps_unevenly__amount=0.75)
    return both[1], wanted("stomacher-wrong", 0, stomacher_edge_shows__amount=0.5)[1]


@figures_of("front-tipped-by-an-inch")
def front_tipped_by_an_inch() -> tuple[float, ...]:
    return wanted("front-line-wrong", 2, tipped_forward__amount=1, waist=26)


@figures_of("front-that-stands-off")
def front_that_stands_off() -> tuple[float, ...]:
    tent = 2 * (math.hypot(3, 1) - 3) * INCH
    return tent, wanted("front-line-wrong", 0, front_stands_off_below_bust__amount=1)[1]
