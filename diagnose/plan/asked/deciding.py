"""What else round 1 hangs on, beside which causes there are: gates not yet looked at, and signs that part the choices.

A gate question is due when round 1 would alter the pattern, its answer is not known, and its bad answer would mean that
something other than the pattern is to be put right first. It is asked however unlikely that is: a line drawn after a
false reading is drawn for nothing. A sign parts the choices when a cause is acted on, and an alteration that would be
done for it before the one chosen now waits only on whether that sign is there.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence

from diagnose.engine.asking import look_ahead
from diagnose.engine.findings import BodySide, SideFindings
from diagnose.model.diagnosis import CauseFound
from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.neutral import Facts
from diagnose.rulebase.reading.entries import Cause

__all__ = ["gates_due", "parting_signs"]

Found = Mapping[BodySide, SideFindings]


def gates_due(found: Found, base: RuleBase, exact: bool) -> list[str]:
    """The gate questions due before the pattern is altered, those whose bad answer is likeliest first."""
    likely: dict[str, float] = {}
    for side in found.values():
        for finding in base.gate_findings:
            name = base.askable[finding].name
            if name not in side.facts:
                chance = _shutting(finding, side, base, exact=exact)
                if chance is not None:
                    likely[name] = max(chance, likely.get(name, 0.0))
    return sorted(likely, key=lambda name: (-round(likely[name], 12), name))


def _shutting(finding: str, side: SideFindings, base: RuleBase, exact: bool) -> float | None:
    """How likely an answer is that would shut its gate; None when it would not."""
    links = base.askable[finding].in_play(side.facts)
    outside = base.outside.intersection([link.cause for link in links])
    look = look_ahead(side.chances, finding, links, exact=exact)
    none_of_them = math.prod([1.0 - seen for cause, _, seen, _ in look.moved if cause in outside])
    return look.likely if 1.0 - none_of_them >= base.entries.words.thresholds["act"] else None


def parting_signs(
    acted: Sequence[CauseFound], first_rank: int | None, found: Found, base: RuleBase, exact: bool
) -> dict[str, float]:
    """By name, the signs and questions that part the choices of what is acted on now, with the chance of a change.

    Args:
        acted: the causes acted on.
        first_rank: the place in the order of work of the first step of round 1; None when nothing is planned.
        found: the findings by side; base: the rule base; exact: as for `look_ahead`.
    """
    parting: dict[str, float] = {}
    for cause in acted:
        if first_rank is None or base.first_step[cause.id] <= first_rank:
            side = found["right" if cause.side == "right" and "right" in found else "left"]
            for finding in _open_signs(base.entries.causes[cause.id], side.facts, base):
                look = look_ahead(side.chances, finding, base.askable[finding].in_play(side.facts), exact=exact)
                name = base.askable[finding].name
                parting[name] = max(parting.get(name, 0.0), cause.probability * look.likely)
    return parting


def _open_signs(cause: Cause, facts: Facts, base: RuleBase) -> Iterator[str]:
    """The findings not yet known on which the choices wait, down to the first choice that waits on none."""
    for choice in cause.alterations:
        if all(line.holds(facts) for line in choice.only_if if line.fact in facts):
            waits = [line for line in choice.only_if if line.fact not in facts]
            if not waits:
                return
            yield from _findings([line.fact for line in waits if line.value != "no"], base)


def _findings(names: Iterable[str], base: RuleBase) -> Iterator[str]:
    """Those of the facts that are signs (or amounts of signs) or questions which can be asked."""
    for name in names:
        sign = name.partition(".")[0]
        if sign in base.askable:
            yield sign
        elif f"{sign}=yes" in base.askable:
            yield f"{sign}=yes"
