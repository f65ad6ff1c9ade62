"""Which finding to look for next: the one whose answer is expected to change the plan most.

The plan stands on the causes that are accepted (probable enough to act on) and on the lead (the most probable one). It
is worth how far the accepted causes lie above the chance of acceptance, and how probable the lead is, each weighed by
how much the cause matters. A question gains what the plan is expected to be worth once answered, less what it is worth
now: nothing unless an answer takes a cause across the line or changes the lead, and little when it only just does. A
small share of how far the answer moves the chances is added, to part candidates that would change the plan alike.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from typing import NamedTuple

from msgspec import Struct

from diagnose.engine.inference.noisy_or import Links, Posteriors
from diagnose.errors import FitError, Mistake, nearest
from diagnose.rulebase.compiling import Link

__all__ = ["LEAST_GAIN", "SHIFT_SHARE", "SHORTLIST", "Outlook", "QuestionValue", "look_ahead", "next_questions"]

LEAST_GAIN = 0.01
"""A question that gains less is dropped: one answer in twenty that takes a cause a fifth of the way past the line."""

SHIFT_SHARE = 0.05
"""How much of the expected shift of the chances counts beside the gain of the plan."""

SHORTLIST = 24
"""How many candidates are inferred anew: those worth most when causes are taken as independent."""

_TIE_DIGITS = 12


class QuestionValue(Struct, frozen=True):
    """What it is worth to look for one finding.

    Attributes:
        finding: the finding not yet known.
        likely: the chance (0 to 1) that it turns out present.
        gain: how much the plan is expected to gain by the answer (0 or more, in chances times what causes matter).
        value: the gain, and a share of the expected shift of the chances; the order is by this.
    """

    finding: str
    likely: float
    gain: float
    value: float


class _Stand(NamedTuple):
    """How things stand before the question.

    Attributes:
        before: the chance of each cause now; counts: what each counts for.
        leads: what each cause comes to as the lead, highest first; only those above `lead_from`.
        accept, lead_from: as for `next_questions`.
    """

    before: Mapping[str, float]
    counts: Mapping[str, float]
    leads: Sequence[tuple[float, str]]
    accept: float
    lead_from: float


class Outlook(NamedTuple):
    """How likely a finding is; and of each cause that it would move, its chance now, if present and if absent."""

    likely: float
    moved: Sequence[tuple[str, float, float, float]]


def next_questions(
    found: Posteriors,
    candidates: Links,
    *,
    accept: float,
    lead_from: float,
    matters: Mapping[str, float] | None = None,
    deciding: Collection[str] | None = None,
    most: int,
    exact: bool = True,
) -> tuple[QuestionValue, ...]:
    """The findings most worth looking for, best first, equals by id; none when no answer would change the plan.

    Args:
        found: what the findings already known say.
        candidates: by finding, the links that come into play once it is known; those known already are passed over.
        accept: the chance from which a cause is acted on.
        lead_from: the chance from which the most probable cause leads; below it there is nothing to act on.
        matters: what it counts for the plan that a cause comes in or goes out, 0 or more; 1 for those not named.
        deciding: the causes that settle what is done now; a question must gain enough by these alone. All, if None.
        most: how many to give at most.
        exact: infer anew for each candidate of the shortlist; otherwise take the causes as independent of each other
            at the chances they have now, which is far quicker and orders simple cases alike.

    Raises:
        FitError: a candidate without a leak, or with links of another finding.
    """
    _check(found, candidates)
    known = {*found.given.present, *found.given.absent}
    counts = dict.fromkeys(found.probability, 1.0) | dict(matters or {})
    stand = _stand(found.probability, counts, accept, lead_from=lead_from)
    looks = {
        finding: look_ahead(found, finding, links, exact=False)
        for finding, links in candidates.items()
        if finding not in known
    }
    values = [_value(finding, look, stand) for finding, look in looks.items()]
    if exact:
        shortlist = [value.finding for value in _best_first(values)[:SHORTLIST]]
        looks = {finding: look_ahead(found, finding, candidates[finding], exact=True) for finding in shortlist}
        values = [_value(finding, look, stand) for finding, look in looks.items()]
    return tuple(_worth_asking(_best_first(values), looks, stand, deciding=deciding, most=most))


def look_ahead(found: Posteriors, finding: str, links: tuple[Link, ...], *, exact: bool) -> Outlook:
    """How likely a finding not yet known is, and what it would do to the causes.

    Args:
        found: what the findings already known say.
        finding: the finding; links: those that come into play once it is known.
        exact: infer anew; otherwise take the causes as independent at the chances they have now.
    """
    if exact:
        return _told_apart(finding, links, found)
    return _taken_as_independent(found.given.network.leaks[finding], links, found.probability)


def _worth_asking(
    values: Iterable[QuestionValue], looks: Mapping[str, Outlook], stand: _Stand, deciding: Collection[str] | None,
    most: int,
) -> Iterator[QuestionValue]:  # fmt: skip
    """The first few that gain enough, by all causes and by the deciding ones."""
    gaining = [value for value in values if value.gain >= LEAST_GAIN]
    firm = stand
    if gaining and deciding is not None:
        counts = {cause: count if cause in deciding else 0.0 for cause, count in stand.counts.items()}
        firm = _stand(stand.before, counts, stand.accept, lead_from=stand.lead_from)
    for value in gaining:
        if most <= 0:
            return
        if deciding is None or _value(value.finding, looks[value.finding], firm).gain >= LEAST_GAIN:
            most -= 1
            yield value


def _stand(before: Mapping[str, float], counts: Mapping[str, float], accept: float, lead_from: float) -> _Stand:
    as_lead = [(counts[cause] * chance, cause) for cause, chance in before.items()]
    leads = sorted([one for one in as_lead if one[0] > lead_from], reverse=True)
    return _Stand(before, counts, leads, accept=accept, lead_from=lead_from)


def _best_first(values: Iterable[QuestionValue]) -> list[QuestionValue]:
    return sorted(values, key=lambda one: (-round(one.value, _TIE_DIGITS), one.finding))


def _check(found: Posteriors, candidates: Links) -> None:
    mistakes = []
    leaks = found.given.network.leaks
    for finding, links in candidates.items():
        if finding in leaks and {link.finding for link in links} <= {finding}:
            continue
        if finding not in leaks:
            mistakes.append(Mistake(f"finding {finding}", "it has no leak.", nearest(finding, leaks), code="no-leak"))
        for named, _, _, rule in links:
            if named != finding:
                do = "Give each finding its own links."
                mistakes.append(Mistake(f"rule {rule}", f"it links '{named}', not '{finding}'.", do, code="wrong-link"))
    if mistakes:
        raise FitError(mistakes)


def _told_apart(finding: str, links: tuple[Link, ...], found: Posteriors) -> Outlook:
    """The chances if the finding is absent, from those now and those if it is present: the first are their mean."""
    seen = found.and_seen(finding, links)
    likely = seen.expected(finding)
    own = {link.cause for link in links}
    moved = []
    for cause, now in found.probability.items():
        here = seen.probability[cause]
        if here == now and cause not in own:
            continue
        moved.append((cause, now, here, _within((now - likely * here) / (1.0 - likely)) if likely < 1.0 else here))
    return Outlook(likely, moved)


def _taken_as_independent(leak: float, links: Iterable[Link], before: Mapping[str, float]) -> Outlook:
    """What an answer would move, in closed form, for causes that hang together in no other way than by this finding."""
    absent, parts = 1.0 - leak, []
    for _, cause, strength, _ in links:
        now = before[cause]
        shown = now * strength
        absent *= 1.0 - shown
        parts.append((cause, now, (now - shown) / (1.0 - shown) if shown < 1.0 else 0.0))
    likely = 1.0 - absent
    return Outlook(likely, [(cause, now, (now - absent * gone) / likely, gone) for cause, now, gone in parts])


def _within(chance: float) -> float:
    return min(1.0, max(0.0, chance))


def _value(finding: str, outlook: Outlook, stand: _Stand) -> QuestionValue:
    """Expected worth after less worth now; causes that are not moved are worth the same before and after."""
    _, counts, _, accept, _ = stand
    likely, moved = outlook
    least_lead = lead = lead_seen = lead_missed = _lead_of_others(moved, stand)
    seen_worth = missed_worth = now_worth = shift = 0.0
    for cause, now, seen, missed in moved:
        counted = counts[cause]
        shift += counted * abs(seen - now)
        high = seen if seen > missed else missed
        if high <= accept and counted * high <= least_lead:
            continue  # neither comes in nor leads; the chance now lies between the two
        if counted * now > lead:
            lead = counted * now
        if counted * seen > lead_seen:
            lead_seen = counted * seen
        if counted * missed > lead_missed:
            lead_missed = counted * missed
        if seen > accept:
            seen_worth += counted * (seen - accept)
        if missed > accept:
            missed_worth += counted * (missed - accept)
        if now > accept:
            now_worth += counted * (now - accept)
    gain = likely * (seen_worth + lead_seen) + (1.0 - likely) * (missed_worth + lead_missed) - now_worth - lead
    # The chance now is the mean of those after either answer, so both answers shift it as much.
    return QuestionValue(finding, likely, max(0.0, gain), value=max(0.0, gain) + SHIFT_SHARE * 2.0 * likely * shift)


def _lead_of_others(moved: Iterable[tuple[str, float, float, float]], stand: _Stand) -> float:
    """What the most probable cause that is not moved counts for, at least the chance from which one leads."""
    if stand.leads:
        names = {cause for cause, _, _, _ in moved}
        for lead, cause in stand.leads:
            if cause not in names:
                return lead
    return stand.lead_from
