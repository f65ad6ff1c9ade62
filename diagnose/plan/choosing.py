"""From the causes acted on to the alterations wanted, each with its amount, limit and profile."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from typing import Literal

from msgspec import Struct, field
from msgspec.structs import replace

from diagnose.gap.reading import change_facts
from diagnose.gap.shares import share_out
from diagnose.model.diagnosis import Amount, CauseFound, Side
from diagnose.model.settings import Settings
from diagnose.model.tryon import STATIONS, Station
from diagnose.plan.profiles import NOISE_MM, Profile, named_stations, profile_of
from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.checking.firing_examples import holds
from diagnose.rulebase.compiling import cause_fact
from diagnose.rulebase.neutral import Matcher
from diagnose.rulebase.reading.formula import parse_formula
from diagnose.rulebase.reading.moves import moves_for
from diagnose.rulebase.reading.schema import Alteration, AlterationChoice
from diagnose.units import both, on_ruler

__all__ = [
    "Part", "Unmeasured", "Wanted", "choose", "few", "is_the_rounds", "limited", "on_a_line", "on_few_seams",
    "options_of", "seams_moved",
]  # fmt: skip

Facts = Mapping[str, str | float]
Part = Literal["front", "back"]
LEANS = "lacing-edge-leans"
"""The sign that the halves differ in girth, and by how much."""
LEANS_BELOW = "leans-most-below"
"""The question at which end they differ most."""
SIGNS_FOR_A_SIDE = 2


class Wanted(Struct, frozen=True):
    """An alteration wanted for a cause on a side, and how much of it in this round.

    Attributes:
        profile: the change of the whole girth at each station, take in positive.
        capped: whether more is wanted than a round may take.
        read: where a gap was read.
        seams: how many seams a half has; None where nobody knows.
        asked: the change of girth before it was cut to its limit.
        others: the other alterations that the cause names for it, in their order.
        part: the front's or the back's pieces alone, of a garment that laces front and back.
        parts: what each of the two takes, where each gap is answered for itself.
        exchanged: one half is given what the other gives up, so that the whole gap stays where it is.
        overdoes: with what is wanted before it, it takes more at a station than its gap asks for.
    """

    alteration: Alteration
    choice: AlterationChoice
    cause: CauseFound
    side: Side
    amount: Amount
    profile: Profile
    capped: bool
    read: frozenset[Station] = frozenset()
    seams: int | None = None
    asked: Mapping[Station, float] = field(default_factory=dict)
    others: tuple[Wanted, ...] = ()
    part: Part | None = None
    parts: Mapping[Part, Profile] = field(default_factory=dict)
    exchanged: bool = False
    overdoes: bool = False

    @property
    def moves(self) -> tuple[Mapping[str, object], ...]:
        """What is done to the outline: of the alteration's moves those that the choice that led to it means."""
        shown = [line.fact for line in self.choice.only_if if line.comparison == "is" and line.value == "yes"]
        return moves_for(self.alteration.does, shown, [evidence.finding for evidence in self.cause.for_])


class Unmeasured(Struct, frozen=True):
    """An alteration whose amount waits for a measurement."""

    alteration: Alteration
    choice: AlterationChoice
    cause: CauseFound
    side: Side
    missing: tuple[str, ...]


def choose(
    causes: Iterable[CauseFound], facts_of: Mapping[Side, Facts], base: RuleBase, matcher: Matcher,
    others: Sequence[CauseFound] = (),
) -> tuple[list[Wanted], list[Unmeasured]]:  # fmt: skip
    """The alterations wanted, in the order of work; what an earlier one mends is not mended twice.

    A gap that was read off its target is never passed over: where no cause acted on answers for a station, the
    likeliest other cause of that reading is acted on for it.

    Args:
        causes: the causes acted on, most probable first.
        others: the other causes of the try-on, most probable first.
        facts_of: the facts that hold on each side ("both" has those of the left, or the shared run).
        base: the rule base.
        matcher: compiled from the same base.
    """
    wanted: list[Wanted] = []
    unmeasured: list[Unmeasured] = []
    remaining: dict[str, str | float] = {}
    leaning = _leaning(facts_of)
    for cause, options in _in_order(causes, facts_of, base, matcher):
        facts = {**facts_of[cause.side], **remaining}
        still = options_of([cause], facts, base, matcher).get(cause.id, []) if remaining else options
        found = _first_that_does(cause, still, facts, base)
        if isinstance(found, Unmeasured):
            unmeasured.append(found)
        elif found is not None:
            found = _of_the_whole(found, leaning, facts_of, base.settings)
            lean = leaning if _leans_there(found, facts) else None
            exchange = _exchanged(found, base) if leaning is not None else []
            made = exchange or on_their_sides(found, lean or _one_sided(found, facts_of), base.settings)
            leaning = None if lean is not None and any(item.side != "both" for item in made) else leaning
            wanted += made
            for item in made:
                if item.alteration.kind == "girth":
                    remaining |= _left_over({**facts, **remaining}, item.profile)
                    remaining |= {LEANS: "no"} if item.side != "both" else {}
    if others:
        wanted += _for_stations_left(wanted, {**facts_of["both"], **remaining}, others, base, matcher)
        wanted.sort(key=lambda item: base.step_rank[item.alteration.step])
    return _not_twice(_merged(wanted), facts_of["both"], base.settings), unmeasured


def _not_twice(wanted: Sequence[Wanted], facts: Facts, settings: Settings) -> list[Wanted]:
    """The alterations, those marked that take again at a station what those before them have answered there."""
    changes, band = _changes(facts), settings.mm("dead-band")
    done = dict.fromkeys(changes, 0.0)
    kept: list[Wanted] = []
    for item in wanted:
        more = {s: done[s] + item.profile[s] for s in changes} if item.alteration.kind == "girth" else {}
        again = any(
            done[s] * item.profile[s] > 0.0 and abs(all_) > abs(changes[s]) + band and abs(item.profile[s]) > band
            for s, all_ in more.items()
        )
        kept.append(replace(item, overdoes=True) if again else item)
        done |= {} if again else more
    return kept


def on_their_sides(item: Wanted, leaning: Leaning | None, settings: Settings) -> list[Wanted]:
    """A change of girth given to the sides that lack it: as a rule to both alike.

    Where one lacing edge leans, the halves differ by what it leans, and the leaning one has met more body: of a change
    c (take in above 0) and a difference d it takes (c - d) / 2 and the other side (c + d) / 2. A share within the
    dead-band is left.
    """
    if leaning is None or item.side != "both" or item.alteration.kind != "girth" or item.profile["waist"]:
        return [item]
    most = max(item.asked.values(), key=abs)
    leans = leaning.by_mm if leaning.by_mm is not None else abs(most)
    other: Side = "right" if leaning.side == "left" else "left"
    shares: list[tuple[Side, float]] = [(leaning.side, (most - leans) / 2.0), (other, (most + leans) / 2.0)]
    least = settings.mm("dead-band") / 2.0 + NOISE_MM
    meant = [(side, mm / most) for side, mm in shares if abs(mm) > least and mm * most > 0.0]
    made = [_on_side(item, side, part, settings) for side, part in meant]
    return [one for one in made if any(one.profile.values())] or [item]


def _of_the_whole(
    item: Wanted, leaning: Leaning | None, facts_of: Mapping[Side, Facts], settings: Settings
) -> Wanted:  # fmt: skip
    """A change of girth that the gap asks for, on both sides alike: the gap is of the whole garment.

    One sign on one side does not put it there; a lacing edge that leans to that side does, or several signs.
    """
    if item.side == "both" or not item.read or LEANS in item.choice.amount:
        return item
    sided = leaning or _one_sided(item, facts_of)
    if sided is not None and sided.side == item.side:
        return item
    others = tuple(_whole(one, settings) for one in item.others)
    return replace(_whole(item, settings), others=others)


def _whole(item: Wanted, settings: Settings) -> Wanted:
    return limited(replace(item, side="both", profile=dict(item.asked), capped=False), settings) if item.read else item


def _leans_there(item: Wanted, facts: Facts) -> bool:
    """Whether the lean may be where a change of girth is made; which end it is at may not be known."""
    below = facts.get(LEANS_BELOW)
    most = max(item.profile, key=lambda station: abs(item.profile[station]))
    if item.alteration.kind != "girth" or below is None or most == "waist":
        return True
    return (below == "yes") == (most in ("hip", "bottom"))


def _exchanged(item: Wanted, base: RuleBase) -> list[Wanted]:
    """What a leaning half is given, and as much given up by the other half at the same stations.

    Nothing where the change is not worked out from the lean, or no alteration does the opposite.
    """
    if item.side == "both" or LEANS not in item.choice.amount:
        return []
    way = {"in": "out", "out": "in"}.get(item.alteration.direction)
    named = named_stations(item.alteration)
    back = next(
        (
            one for one in base.entries.alterations.values()
            if one.kind == "girth" and one.direction == way and named and named_stations(one) == named
        ),
        None,
    )  # fmt: skip
    if back is None:
        return []
    profile = {station: -change for station, change in item.asked.items()}
    choice = item.choice.model_copy(update={"alteration": back.id})
    side: Side = "right" if item.side == "left" else "left"
    other = replace(item, alteration=back, choice=choice, side=side, profile=profile, asked=profile, others=())
    own = replace(item, others=(), exchanged=True)
    return [own, limited(replace(other, exchanged=True), base.settings)]


class Leaning(Struct, frozen=True):
    """The side whose lacing edge leans, and by how much more than the other's; None where nobody measured it."""

    side: Side
    by_mm: float | None


def _one_sided(item: Wanted, facts_of: Mapping[Side, Facts]) -> Leaning | None:
    """The side on which alone all the sided signs of a cause show, where there are at least two of them."""
    if not {"left", "right"} <= facts_of.keys():
        return None
    shown = [
        {side for side in ("left", "right") if facts_of[side].get(one.finding) == "yes"} for one in item.cause.for_
    ]
    for side in ("left", "right"):
        if sum(sides == {side} for sides in shown) >= SIGNS_FOR_A_SIDE:
            other = "right" if side == "left" else "left"
            if {other} not in shown:
                return Leaning("left" if side == "left" else "right", None)
    return None


def _leaning(facts_of: Mapping[Side, Facts]) -> Leaning | None:
    sides: tuple[Side, ...] = ("left", "right")
    found = [side for side in sides if facts_of.get(side, {}).get(LEANS) == "yes"]
    if len(found) != 1:
        return None
    by_mm = facts_of[found[0]].get(f"{LEANS}.amount")
    return Leaning(found[0], by_mm if isinstance(by_mm, float) else None)


def _on_side(item: Wanted, side: Side, share: float, settings: Settings) -> Wanted:
    profile = {station: change * share for station, change in item.asked.items()}
    others = tuple(_on_side(one, side, share, settings) for one in item.others if one.alteration.kind == "girth")
    sided = replace(item, side=side, profile=profile, asked=profile, capped=False, others=others)
    return limited(sided, settings)


def _for_stations_left(
    wanted: Sequence[Wanted], facts: Facts, others: Sequence[CauseFound], base: RuleBase, matcher: Matcher
) -> list[Wanted]:
    """What brings the stations to their target for which no alteration wanted does it, from the top down."""
    found: list[Wanted] = []
    for station in STATIONS:
        left = _changes(facts).get(station, 0.0)
        causes = base.behind_readings.get((station, left > 0), ())
        within = abs(left) <= base.settings.mm("dead-band") + NOISE_MM
        if within or _answered(station, left, [*wanted, *found], causes):
            continue
        of_this = [cause for cause in others if cause.id in causes]
        of_this.sort(key=lambda cause: (not cause.for_, causes.index(cause.id)))
        options = options_of(of_this, facts, base, matcher)
        tried = (_first_that_does(cause, options.get(cause.id, []), facts, base) for cause in of_this)
        helps = (item for item in tried if isinstance(item, Wanted) and _helps(item, station, facts, base.settings))
        if (item := next(helps, None)) is not None:
            found.append(item)
            facts = {**facts, **_left_over(facts, item.profile)}
    return found


def _helps(item: Wanted, station: Station, facts: Facts, settings: Settings) -> bool:
    """Whether it is one of girth that brings the station nearer to its target and takes no other from its own."""
    if item.alteration.kind != "girth":
        return False
    before = _changes(facts)
    after = {other: change - item.profile[other] for other, change in before.items()}
    most = {other: max(abs(change), settings.mm("dead-band") + NOISE_MM) for other, change in before.items()}
    return abs(after[station]) < abs(before[station]) and all(abs(after[other]) <= most[other] for other in after)


def _answered(station: Station, left: float, wanted: Iterable[Wanted], causes: Collection[str]) -> bool:
    """Whether the rest at a station waits for the next round, or one of its causes is mended other than by girth."""
    for item in wanted:
        if item.alteration.kind == "girth":
            if item.capped and item.profile[station] * left > 0.0:
                return True
        elif item.cause.id in causes:
            return True
    return False


def _in_order(
    causes: Iterable[CauseFound], facts_of: Mapping[Side, Facts], base: RuleBase, matcher: Matcher
) -> list[tuple[CauseFound, list[AlterationChoice]]]:
    """The causes that something mends, each with its choices, in the order of work, then by probability."""
    by_side: dict[Side, list[CauseFound]] = {}
    for cause in causes:
        by_side.setdefault(cause.side, []).append(cause)
    found = []
    for side, own in by_side.items():
        options = options_of(own, facts_of[side], base, matcher)
        for cause in own:
            if cause.id in options:
                rank = base.step_rank[base.entries.alterations[options[cause.id][0].alteration].step]
                found.append((rank, -cause.probability, cause.id, cause, options[cause.id]))
    found.sort(key=lambda item: item[:3])
    return [(cause, options) for _rank, _probability, _id, cause, options in found]


def options_of(
    causes: Sequence[CauseFound], facts: Facts, base: RuleBase, matcher: Matcher
) -> dict[str, list[AlterationChoice]]:
    """By cause, its choices whose conditions hold, the first choice first; a cause without any is left out."""
    found: dict[str, list[AlterationChoice]] = {}
    if causes:
        acted: dict[str, str | float] = {cause_fact(cause.id): "yes" for cause in causes}
        for firing in matcher.match("mends", {**facts, **on_a_line(facts), **acted}):
            cause, choice = base.mends[firing.rule]
            found.setdefault(cause, []).append(choice)
    return found


def on_a_line(facts: Facts) -> dict[str, float]:
    """The change at the bottom shared over all stitching lines of the garment; nothing where there are none."""
    change, seams = facts.get("change-bottom"), facts.get("seams-per-half")
    if not isinstance(change, float) or not isinstance(seams, float) or seams < 1.0:
        return {}
    return {"bottom-change-on-a-line": change / (4.0 * seams)}


def _first_that_does(
    cause: CauseFound, options: Iterable[AlterationChoice], facts: Facts, base: RuleBase
) -> Wanted | Unmeasured | None:
    """The first choice whose amount is known and worth drawing, with the others; else the first that waits."""
    waiting: Unmeasured | None = None
    found: dict[tuple[str, int], Wanted] = {}
    for choice in options:
        alteration = base.entries.alterations[choice.alteration]
        made = _wanted_by(choice, alteration, cause, facts, base)
        if isinstance(made, Unmeasured):
            waiting = waiting or made
        elif made is not None:
            found.setdefault((alteration.id, len(made.moves)), made)
    if not found:
        return waiting
    for choice in base.entries.causes[cause.id].alterations:
        alteration = base.entries.alterations[choice.alteration]
        if all(one.alteration.id != alteration.id for one in found.values()) and _may_be(choice, facts, base):
            made = _wanted_by(choice, alteration, cause, facts, base)
            if isinstance(made, Wanted) and alteration.kind == next(iter(found.values())).alteration.kind:
                found[alteration.id, len(made.moves)] = made
    first, *others = found.values()
    return replace(first, others=tuple(one for one in others if one.alteration.kind == first.alteration.kind))


def _may_be(choice: AlterationChoice, facts: Facts, base: RuleBase) -> bool:
    """Whether a choice could be taken for the cause although its own signs do not show: the garment allows it."""
    return all(
        line.fact not in facts or line.fact.partition(".")[0] in base.entries.symptoms or holds(line, facts)
        for line in choice.only_if
    )


def _wanted_by(
    choice: AlterationChoice, alteration: Alteration, cause: CauseFound, facts: Facts, base: RuleBase
) -> Wanted | Unmeasured | None:
    """What one choice asks for; None where it is too little to draw."""
    if choice.amount == "none" and alteration.kind == "girth":
        return None  # worked out from the two lacings
    if choice.amount == "none":
        return Wanted(
            alteration=alteration, choice=choice, cause=cause, side=cause.side, amount=Amount(),
            profile=dict.fromkeys(STATIONS, 0.0), capped=False,
        )  # fmt: skip
    formula = parse_formula(choice.amount)
    amount = formula.value(facts)
    if amount is None:
        return Unmeasured(alteration, choice, cause, cause.side, formula.missing(facts))
    return _sized(cause, choice, alteration, amount, facts, base.settings) if _worth(amount, alteration) else None


def _worth(amount: float, alteration: Alteration) -> bool:
    if abs(amount) < max((alteration.smallest or 0.0) - NOISE_MM, NOISE_MM):
        return False
    if alteration.direction == "in" and alteration.kind == "girth":
        return amount > 0
    if alteration.direction == "out" and alteration.kind == "girth":
        return amount < 0
    return amount > 0 or alteration.direction == "either"


def _sized(
    cause: CauseFound, choice: AlterationChoice, alteration: Alteration, amount: float, facts: Facts, settings: Settings
) -> Wanted:
    seams = facts.get("seams-per-half")
    item = Wanted(
        alteration=alteration, choice=choice, cause=cause, side=cause.side, amount=Amount(),
        profile=dict.fromkeys(STATIONS, 0.0), capped=False, seams=int(seams) if isinstance(seams, float) else None,
    )  # fmt: skip
    if alteration.kind == "girth":
        by_the_gap = any(word in choice.amount for word in ("change-", "gap-"))
        changes = _changes(facts) if by_the_gap else {}
        profile = profile_of(amount, changes, alteration, choice, settings)
        return limited(replace(item, profile=profile, asked=profile, read=frozenset(changes)), settings)
    limit = choice.limit if choice.limit_on != "-" else None
    within = max(-limit, min(limit, amount)) if limit is not None else amount
    capped = limit is not None and abs(amount) > limit + NOISE_MM
    return replace(item, amount=Amount(length_mm=on_ruler(within, settings.ruler_mm)), capped=capped)


def limited(item: Wanted, settings: Settings) -> Wanted:
    """A girth change cut to its limit at each station and rounded so that a half is in divisions of the ruler."""
    halves, most = (2 if item.side == "both" else 1), _most_of_a_half(item, settings)
    wanted = {station: change / halves for station, change in item.profile.items()}
    capped = item.capped or any(abs(half) > most + NOISE_MM for half in wanted.values())
    half = {s: on_ruler(max(-most, min(most, mm)), settings.ruler_mm) for s, mm in wanted.items()}
    greatest = max(half.values(), key=abs)
    count = seams_moved(item, greatest, settings)
    lines = {s: share_out(mm, 2 * count, settings.ruler_mm) for s, mm in half.items()} if count else {}
    profile: Profile = {station: halves * mm for station, mm in half.items()}
    amount = Amount(
        whole_mm=halves * greatest,
        per_half_mm=greatest,
        per_seam_mm=greatest / count if count else None,
        per_edge_mm=greatest / (2 * count) if count else None,
        by_station_mm=profile,
        edges_mm=lines,
    )
    return replace(item, profile=profile, amount=amount, capped=capped)


def seams_moved(item: Wanted, half_mm: float, settings: Settings) -> int | None:
    """How many seams of a half share a change of so much; None where the alteration shares nothing over seams.

    Few are moved far enough to be seen and sewn, rather than many by a pencil line: no more than leaves each stitching
    line the setting `least-on-a-line`.
    """
    which = next((str(move["which"]) for move in item.alteration.does if move.get("do") == "seams"), None)
    if which is None or not item.seams:
        return None
    count = _named(item.part or which, item.seams)
    return few(count, half_mm, settings)


def on_few_seams(item: Wanted, amount: Amount, settings: Settings) -> str:
    """Which of the seams meant share a change, in a sentence, where it is not all of them; nothing where it is."""
    which = next((str(move["which"]) for move in item.alteration.does if move.get("do") == "seams"), None)
    if which is None or not item.seams or not amount.per_seam_mm or not amount.per_half_mm:
        return ""
    moved, meant = round(amount.per_half_mm / amount.per_seam_mm), _named(item.part or which, item.seams)
    if moved >= meant:
        return ""
    on = "one of them alone, that" if moved == 1 else f"{NUMBERS.get(moved, str(moved))} of them, those"
    least = both(settings.mm("least-on-a-line"), settings.unit)
    return f"On {on} nearest to the side: {least} or more on a line can be seen and sewn; over all {meant} it is lost."


NUMBERS = {2: "two", 3: "three", 4: "four", 5: "five", 6: "six"}


def few(count: int, half_mm: float, settings: Settings) -> int:
    """Of so many seams, over how many a change of one half is shared."""
    least = settings.mm("least-on-a-line")
    return max(1, min(count, int(abs(half_mm) / (2 * least) + NOISE_MM))) if least > 0.0 else count


def _named(which: str, seams: int) -> int:
    """How many of a half's seams a move means, where no pattern shows them."""
    return {"side": 1, "bust": 1, "belly": min(2, max(1, seams // 2)), "front": max(1, seams // 2),
            "back": max(1, seams // 2)}.get(which, seams)  # fmt: skip


def _most_of_a_half(item: Wanted, settings: Settings) -> float:
    """The most that one half may change at a station in one round.

    A limit on a line or a seam counts the seams that are meant, and is never more than a round may take at all.
    """
    limit, on, round_most = item.choice.limit, item.choice.limit_on, settings.mm("round-most") / 2.0
    if limit is None or on in ("-", "length"):
        return round_most
    if on in ("half", "whole"):
        return limit if on == "half" else limit / 2.0
    which = next((str(move["which"]) for move in item.alteration.does if move.get("do") == "seams"), "all")
    count = _named(which, item.seams) if item.seams else 0
    return min(round_most, limit * count * (2 if on == "edge" else 1)) if count else round_most


def is_the_rounds(item: Wanted, settings: Settings) -> bool:
    """Whether what limits a change of girth is the most that a round may take, and not its own limit."""
    own = item.choice.limit_on in ("half", "whole") and item.choice.limit is not None
    most = _most_of_a_half(item, settings)
    return item.alteration.kind == "girth" and not own and most >= settings.mm("round-most") / 2.0 - NOISE_MM


def _changes(facts: Facts) -> dict[Station, float]:
    return {s: value for s in STATIONS if isinstance(value := facts.get(f"change-{s}"), float)}


def _left_over(facts: Facts, profile: Profile) -> dict[str, float]:
    """The facts of change after a girth step: what is still wanted at each station of what was read there.

    No step answers a step: what one takes too much, or takes where nothing was wanted, is not wanted back of another.
    """
    left = {station: _still(change, profile[station]) for station, change in _changes(facts).items()}
    if not left:
        return {}
    read = {station: facts.get(f"gap-{station}") for station in left}
    gaps = {f"gap-{station}": gap + profile[station] for station, gap in read.items() if isinstance(gap, float)}
    own = {f"change-{station}": change for station, change in left.items()}
    return {**own, **gaps, **change_facts(list(left.values()))}


def _still(change: float, done: float) -> float:
    """What is left of a change wanted, never more than it and never the other way."""
    return min(max(change - done, min(change, 0.0)), max(change, 0.0))


def _merged(wanted: list[Wanted]) -> list[Wanted]:
    """One step an alteration, side and act; the most probable of its causes gives it its name.

    Two causes may ask one alteration for different acts (tabs flared, tabs shortened): each keeps its own amount.
    """
    kept: list[Wanted] = []
    for item in wanted:
        at = next((n for n, other in enumerate(kept) if _one_step(item, other)), None)
        if at is None:
            kept.append(item)
        elif item.cause.probability > kept[at].cause.probability:
            kept[at] = replace(kept[at], cause=item.cause, choice=item.choice)
    return kept


def _one_step(one: Wanted, other: Wanted) -> bool:
    return (one.alteration.id, one.side, one.moves) == (other.alteration.id, other.side, other.moves)
