"""A draft held against the body: at each station the garment, the gap aimed at and the spring against the body's girth.

The laced body at a station is the body's girth less the reduction planned there, plus the spring that is left for it
(`garment waist = N - R - G`, N the natural waist, R the reduction, G the gap: geometry). What the lacing would leave
open is that less the garment; its difference from the gap aimed at is what is to be taken in (positive) or let out. The
same rules and network that read a try-on are run on those gaps: forward, for the signs that a toile would show, and
back, for the alteration that mends the draft. All lengths are millimetres, girths of the whole.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, Literal, cast

from msgspec import Struct

from diagnose.engine.findings import find_sides
from diagnose.gap.reading import read_gap
from diagnose.model.settings import Settings
from diagnose.model.stations import STATIONS, Station
from diagnose.model.tryon import Seen, TryOn, Wearer, garment_word
from diagnose.model.tryon_reading import read_tryon
from diagnose.pattern.measure import garment_girth, opens_at
from diagnose.pattern.outline import Pattern
from diagnose.pattern.told_otherwise import told_otherwise
from diagnose.plan.draft.body import check_heights, check_reduction, girth_below, height_of
from diagnose.plan.draft.seams_checked import Checked, checks_of_paper
from diagnose.plan.planned import Diagnosis
from diagnose.plan.whole import diagnose
from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.neutral import Matcher
from diagnose.units import Unit, both

__all__ = ["Draft", "Sign", "StationHeld", "hold_draft"]

MOST_SIGNS = 6
_GATES = ("toile", "lacing", "scale", "cloth")
Verdict = Literal["measure", "mend", "cut"]


class StationHeld(Struct, frozen=True):
    """One station: garment and body, and the gap that a toile would show there; below 0 its edges would lap."""

    station: Station
    garment_mm: float
    body_mm: float
    reduction_mm: float
    spring_mm: float
    gap_mm: float
    target_mm: float

    @property
    def change_mm(self) -> float:
        """What is to be taken in (positive) or let out of the whole girth."""
        return self.target_mm - self.gap_mm


class Sign(Struct, frozen=True):
    """A sign that the toile would show, and how likely."""

    id: str
    chance: float


class Draft(Struct, frozen=True):
    """Everything that is said of a draft before cloth.

    Attributes:
        stations: those at which garment and body are known.
        checks: lengths, heights, reduction, seams, edges and bones.
        missing: girths that are wanted before anything can be said.
        unknown: measures that would tell more.
        signs: what the toile would likely show besides the gap, likeliest first.
        diagnosis: the plan that mends it; None where a girth is missing or nothing is off.
        verdict: measure first, mend this first, or cut the toile.
        presumed: what was supposed.
    """

    stations: tuple[StationHeld, ...]
    checks: tuple[Checked, ...]
    missing: tuple[str, ...]
    unknown: tuple[str, ...]
    signs: tuple[Sign, ...]
    diagnosis: Diagnosis | None
    verdict: Verdict
    presumed: tuple[str, ...] = ()

    @property
    def mended(self) -> Pattern | None:
        """The pattern with the first round of the plan drawn into it; None where nothing is drawn."""
        rounds = self.diagnosis.rounds if self.diagnosis is not None else ()
        drawn = rounds[0].on_paper if rounds else None
        return drawn.after if drawn is not None else None


def hold_draft(
    pattern: Pattern, about: Mapping[str, Any], base: RuleBase, matcher: Matcher, unit: Unit = "in"
) -> Draft:
    """The pattern held against the wearer.

    Args:
        pattern: the draft.
        about: garment, target and wearer, as in a try-on.
        base: the rule base, under the case's settings.
        matcher: compiled from it.
        unit: hers.

    Raises:
        FitError: when something told is wrong.
    """
    told = {key: value for key in ("garment", "target", "wearer") if (value := about.get(key)) is not None}
    asked = read_tryon({"id": "draft", **told}, base.vocabulary, unit)
    body = asked.wearer
    settings = base.settings
    held, missing, presumed = _held(pattern, asked, body, settings=settings, unit=unit)
    presumed = (*told_otherwise(pattern, asked.garment), *presumed)
    heights, unknown = check_heights(pattern, body, settings, unit=unit)
    checks = (*check_reduction(body, settings, unit), *heights, *checks_of_paper(pattern, settings, unit))
    if missing or not held:
        return Draft(
            held, checks, missing, unknown=unknown, signs=(), diagnosis=None, verdict="measure", presumed=presumed
        )
    tryon = _as_tryon(asked, held, base)
    signs = _signs(tryon, base, matcher)
    off = any(abs(one.change_mm) > settings.mm("dead-band") for one in held)
    found = diagnose(tryon, base, matcher, pattern=pattern) if off else None
    wrong = off or any(check.state == "mend" for check in checks)
    return Draft(
        held,
        checks,
        missing,
        unknown=unknown,
        signs=signs if off else (),
        diagnosis=found,
        verdict="mend" if wrong else "cut",
        presumed=presumed,
    )


def _held(
    pattern: Pattern, tryon: TryOn, body: Wearer, settings: Settings, *, unit: Unit
) -> tuple[tuple[StationHeld, ...], tuple[str, ...], tuple[str, ...]]:
    """The stations, the girths that are wanted for them, and what was presumed."""
    wants, presumed = _girths(pattern, body, settings, unit=unit)
    if body.planned_reduction_mm is None:
        presumed = (*presumed, "No reduction of the waist is planned: it was taken as 0.")
    missing = tuple(
        name for name in dict.fromkeys(name for name, _ in wants.values()) if getattr(body, f"{name}_mm") is None
    )
    targets = {str(s): one.target_mm for s, one in read_gap(_with_gaps(tryon, dict.fromkeys(wants, 0.0)), settings)
               .stations.items()}  # fmt: skip
    rows = []
    for station, (_, girth) in wants.items():
        garment = garment_girth(pattern, station)
        if girth is None or garment is None:
            continue
        reduction = (body.planned_reduction_mm or 0.0) if station == "waist" else 0.0
        spring = settings.mm(f"spring-{station}") if station != "waist" else 0.0
        gap = girth - reduction + spring - garment
        rows.append(
            StationHeld(
                station,
                garment,
                girth,
                reduction_mm=reduction,
                spring_mm=spring,
                gap_mm=gap,
                target_mm=targets[station],
            )
        )
    return tuple(rows), missing, presumed


def _girths(
    pattern: Pattern, body: Wearer, settings: Settings, unit: Unit
) -> tuple[dict[Station, tuple[str, float | None]], tuple[str, ...]]:
    """For each station of the pattern the measure it is held against, and the body's girth there."""
    heights = {station: up for station in STATIONS if (up := height_of(pattern, station)) is not None}
    waist_up = heights.get("waist", 0.0)
    wants: dict[Station, tuple[str, float | None]] = {}
    presumed = _left_out(pattern, heights)
    for station, up in heights.items():
        if station == "top":
            least = settings.mm("height-top") * settings.mm("bust-covered-from")
            over_bust = "underbust" in heights or up - waist_up > least
            wants[station] = ("bust", body.bust_mm) if over_bust else ("underbust", body.underbust_mm)
            if not over_bust:
                presumed.append(f"The top, {both(up - waist_up, unit)} over the waist, was held against the underbust.")
        elif station in ("underbust", "waist"):
            wants[station] = (station, getattr(body, f"{station}_mm"))
        else:
            wants[station] = ("hip", girth_below(body, waist_up - up))
    if {"hip", "bottom"} & set(wants) and body.hip_mm is not None and body.waist_to_hip_mm is None:
        deepest = "bottom" if "bottom" in wants else "hip"
        if "hip" in wants and deepest == "bottom":
            del wants["bottom"]
            deepest = "hip"
        depth = both(waist_up - heights[cast(Station, deepest)], unit)
        presumed.append(
            f"How deep the hip was measured is not known: it was held against the {deepest} of the pattern, {depth} "
            "below the waist. If it was taken lower down, measure how deep."
        )
    return wants, tuple(presumed)


def _left_out(pattern: Pattern, heights: dict[Station, float]) -> list[str]:
    """Takes out the stations at which the paper does not go round her, and says which and why.

    Slits that stand open, as between tabs, spread when it is worn; a level that a piece of the half lacks is no girth.
    """
    said: list[str] = []
    filled = {(ref.piece, ref.edge) for seam in pattern.seams for ref in seam.refs}
    half = [piece for piece in pattern.pieces if "waist" in piece.levels]
    for station in tuple(heights):
        if any(
            opens_at(piece.levels[station], slit) and (piece.name, f"slit:{slit.name}") not in filled
            for piece in pattern.pieces if station in piece.levels for slit in piece.slits
        ):  # fmt: skip
            said.append(f"At the {station} slits stand open, and spread when it is worn: it was not held there.")
            del heights[station]
            continue
        bare = [piece.name for piece in half if station not in piece.levels]
        if bare:
            names = ", ".join(f"“{name}”" for name in bare)
            said.append(f"The {station} is not drawn on {names}: it was not held there.")
            del heights[station]
    return said


def _with_gaps(tryon: TryOn, gaps: Mapping[Station, float]) -> TryOn:
    """The try-on with those gaps; below 0 the edges lap."""
    gap: dict[Station, float] = {station: max(0.0, mm) for station, mm in gaps.items()}
    laps: dict[Station, float] = {station: -mm for station, mm in gaps.items() if mm < 0.0}
    return tryon.model_copy(update={"gap": gap, "overlap": laps})


def _as_tryon(tryon: TryOn, held: Sequence[StationHeld], base: RuleBase) -> TryOn:
    """The try-on that a sound toile of this draft, well laced, would come to."""
    known = {q.id: q.good for q in base.entries.questions.values() if q.gate in _GATES and q.good is not None}
    if tryon.garment.meant_to_meet is None:
        known["meant-to-meet"] = False
    laced = _with_gaps(tryon, {one.station: one.gap_mm for one in held})
    return laced.model_copy(update={"known": known, "tension": "working"})


def _signs(tryon: TryOn, base: RuleBase, matcher: Matcher) -> tuple[Sign, ...]:
    """The signs that the causes found would show: each cause by its chance, each link by its strength."""
    reading = read_gap(tryon, base.settings)
    chances = find_sides(tryon, reading, base, matcher=matcher)["left"].chances.probability
    # The links to every sign are those that would hold were every sign to show.
    seen = {name: Seen(shown=True) for name in base.entries.symptoms if name not in base.derived | base.stop_flags}
    links = find_sides(tryon.model_copy(update={"seen": seen}), reading, base, matcher=matcher)["left"].by_finding
    rows: list[Sign] = []
    for finding in seen:
        if not _may_show(finding, tryon, base):
            continue
        missed = 1.0 - base.leaks.get(finding, 0.0)
        for link in links.get(finding, ()):
            missed *= 1.0 - link.strength * chances.get(link.cause, 0.0)
        rows.append(Sign(finding, 1.0 - missed))
    likely = base.entries.words.thresholds["act"]
    return tuple(
        sorted((one for one in rows if one.chance >= likely), key=lambda one: (-one.chance, one.id))[:MOST_SIGNS]
    )


def _may_show(sign: str, tryon: TryOn, base: RuleBase) -> bool:
    """Whether the garment has the part that a sign is of, or is likely to where nothing is said of it."""
    facts = base.parts.get(sign, {})
    return all((garment_word(tryon.garment, fact) or base.usual.get(fact)) in (None, *words)
               for fact, words in facts.items())  # fmt: skip
