"""From the causes acted on to the alterations wanted, each with its amount, limit and profile."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence

from msgspec.structs import replace

from diagnose.gap.reading import change_facts
from diagnose.model.diagnosis import Amount, CauseFound, Side
from diagnose.model.settings import Settings
from diagnose.model.stations import STATIONS, Station
from diagnose.pattern.tolerances import NOISE_MM
from diagnose.plan.profiles import Profile, profile_of
from diagnose.plan.sides import LEANS, leaning_of, sided
from diagnose.plan.wanted import Unmeasured, Wanted, limited
from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.compiling import cause_fact
from diagnose.rulebase.neutral import Facts, Matcher
from diagnose.rulebase.reading.entries import Alteration, AlterationChoice
from diagnose.rulebase.reading.formula import parse_formula
from diagnose.units import on_ruler

__all__ = ["choose", "on_a_line", "options_of"]


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
    leaning = leaning_of(facts_of)
    for cause, options in _in_order(causes, facts_of, base, matcher=matcher):
        facts = {**facts_of[cause.side], **remaining}
        still = options_of([cause], facts, base, matcher=matcher).get(cause.id, []) if remaining else options
        found = _first_that_does(cause, still, facts, base=base)
        if isinstance(found, Unmeasured):
            unmeasured.append(found)
        elif found is not None:
            made, leaning = sided(found, leaning, facts, facts_of=facts_of, base=base)
            wanted += made
            for item in made:
                if item.alteration.kind == "girth":
                    remaining |= _left_over({**facts, **remaining}, item.profile)
                    remaining |= {LEANS: "no"} if item.side != "both" else {}
    if others:
        wanted += _for_stations_left(wanted, {**facts_of["both"], **remaining}, others, base=base, matcher=matcher)
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


def _for_stations_left(
    wanted: Sequence[Wanted], facts: Facts, others: Sequence[CauseFound], base: RuleBase, matcher: Matcher
) -> list[Wanted]:
    """What brings the stations to their target for which no alteration wanted does it, from the top down."""
    found: list[Wanted] = []
    for station in STATIONS:
        left = _changes(facts).get(station, 0.0)
        causes = base.behind_readings.get((station, left > 0), ())
        within = abs(left) <= base.settings.mm("dead-band") + NOISE_MM
        if within or _answered(station, left, [*wanted, *found], causes=causes):
            continue
        of_this = [cause for cause in others if cause.id in causes]
        of_this.sort(key=lambda cause: (not cause.for_, causes.index(cause.id)))
        options = options_of(of_this, facts, base, matcher=matcher)
        tried = (_first_that_does(cause, options.get(cause.id, []), facts, base=base) for cause in of_this)
        helps = (
            item for item in tried if isinstance(item, Wanted) and _helps(item, station, facts, settings=base.settings)
        )
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
        options = options_of(own, facts_of[side], base, matcher=matcher)
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
        made = _wanted_by(choice, alteration, cause, facts=facts, base=base)
        if isinstance(made, Unmeasured):
            waiting = waiting or made
        elif made is not None:
            found.setdefault((alteration.id, len(made.moves)), made)
    if not found:
        return waiting
    for choice in base.entries.causes[cause.id].alterations:
        alteration = base.entries.alterations[choice.alteration]
        if all(one.alteration.id != alteration.id for one in found.values()) and _may_be(choice, facts, base):
            made = _wanted_by(choice, alteration, cause, facts=facts, base=base)
            if isinstance(made, Wanted) and alteration.kind == next(iter(found.values())).alteration.kind:
                found[alteration.id, len(made.moves)] = made
    first, *others = found.values()
    return replace(first, others=tuple(one for one in others if one.alteration.kind == first.alteration.kind))


def _may_be(choice: AlterationChoice, facts: Facts, base: RuleBase) -> bool:
    """Whether a choice could be taken for the cause although its own signs do not show: the garment allows it."""
    return all(
        line.fact not in facts or line.fact.partition(".")[0] in base.entries.symptoms or line.holds(facts)
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
        return Unmeasured(alteration, choice, cause, side=cause.side, missing=formula.missing(facts))
    return (
        _sized(cause, choice, alteration, amount=amount, facts=facts, settings=base.settings)
        if _worth(amount, alteration)
        else None
    )


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
        profile = profile_of(amount, changes, alteration, choice=choice, settings=settings)
        return limited(replace(item, profile=profile, asked=profile, read=frozenset(changes)), settings)
    limit = choice.limit if choice.limit_on != "-" else None
    within = max(-limit, min(limit, amount)) if limit is not None else amount
    capped = limit is not None and abs(amount) > limit + NOISE_MM
    return replace(item, amount=Amount(length_mm=on_ruler(within, settings.ruler_mm)), capped=capped)


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
