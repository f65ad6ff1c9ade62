"""What to look at next, so that the plan stands on more: first the gap, then what would change round 1 most."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from diagnose.engine.asking import next_questions
from diagnose.engine.findings import BodySide, SideFindings
from diagnose.model.diagnosis import Ask, CauseFound
from diagnose.model.tryon import TryOn
from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.compiling import Link

__all__ = ["candidates", "questions_to_ask"]

MOST_ASKED = 3
MOST_NAMED = 3
MOST_WEIGHED = 12
"""How many candidates are weighed in the quick form: those that touch a cause most in doubt."""
DOUBT_SHARE = 0.1
"""A cause brings up candidates when it is at least so much in doubt as the one most in doubt: its chance times that of
its absence, times what it counts for."""
ALIKE = 0.01
"""Chances of a cause that differ no more than this on the two sides are taken as the same in the quick form."""
LATER = 0.15
"""What a cause counts for that is acted on later than round 1."""
GAP_QUESTION = Ask(
    "gap",
    "How wide is the gap, edge to edge, at the top, at the waist and at the bottom?",
    "Every girth is judged by the gap; without it no amount can be given.",
    "Stand at ease, laced at the working tension, and lay a tape across from edge to edge at each height.",
    (),
)


def questions_to_ask(
    tryon: TryOn,
    found: Mapping[BodySide, SideFindings],
    causes: Sequence[CauseFound],
    base: RuleBase,
    exact: bool,
    first_rank: int | None = None,
) -> tuple[Ask, ...]:
    """The next questions, best first; none when no remaining answer would change round 1.

    Args:
        tryon: the try-on; found: its findings by side; causes: as ranked.
        base: the rule base.
        exact: weigh every candidate by full inference; otherwise the likeliest ones in closed form.
        first_rank: the place in the order of work of the first step of round 1; None when nothing is planned, so that
            whatever is to be done first is still open.
    """
    deciding = matters = None
    if first_rank is not None:
        deciding = {cause for cause, rank in base.first_step.items() if rank <= first_rank}
        matters = {cause: 1.0 if cause in deciding else LATER for cause in base.first_step}
    thresholds = base.entries.words.thresholds
    names = candidates(found, base, matters or {}, None if exact else MOST_WEIGHED)
    asked: dict[str, float] = {}
    for findings, open_ in _by_side(found, names, base, exact):
        for value in next_questions(
            findings.chances, open_, accept=thresholds["act"], lead_from=thresholds["maybe"], matters=matters,
            deciding=deciding, most=MOST_ASKED, exact=exact,
        ):  # fmt: skip
            name = base.askable[value.finding].name
            asked[name] = max(value.value, asked.get(name, 0.0))
    first = [] if tryon.gap else [GAP_QUESTION]
    best = sorted(asked, key=lambda name: (-asked[name], name))[: MOST_ASKED - len(first)]
    return (*first, *(_ask(name, causes, base) for name in best))


def _by_side(
    found: Mapping[BodySide, SideFindings], names: Sequence[str], base: RuleBase, exact: bool
) -> Iterator[tuple[SideFindings, dict[str, tuple[Link, ...]]]]:
    """What to weigh on each side: on the second, in the quick form, only what stands otherwise there."""
    first, *others = found.values()
    yield first, {name: base.askable[name].in_play(first.facts) for name in names}
    for findings in others:
        differs = {
            cause
            for cause, chance in findings.chances.probability.items()
            if exact or abs(chance - first.chances.probability[cause]) > ALIKE
        }
        open_ = {name: base.askable[name] for name in names}
        yield findings, {
            name: askable.in_play(findings.facts)
            for name, askable in open_.items()
            if not differs.isdisjoint(askable.causes)
        }  # fmt: skip


def candidates(
    found: Mapping[BodySide, SideFindings], base: RuleBase, matters: Mapping[str, float], most: int | None
) -> list[str]:
    """The findings that could still be looked for, those first that would settle most of one cause's doubt.

    Args:
        found: what is known by side; base: the rule base.
        matters: what each cause counts for; 1 for those not named.
        most: how many to give at most.

    A finding that often shows by itself settles less. The doubt of several causes does not add up: what touches each a
    little takes none of them across the line.
    """
    first, *others = [one.chances.probability for one in found.values()]
    doubts = {cause: chance * (1.0 - chance) * matters.get(cause, 1.0) for cause, chance in first.items()}
    for other in others:
        for cause, chance in other.items():
            doubts[cause] = max(doubts[cause], chance * (1.0 - chance) * matters.get(cause, 1.0))
    least = DOUBT_SHARE * max(doubts.values())
    touched: dict[str, float] = {}
    for cause, doubt in doubts.items():
        if doubt >= least:
            for finding, strength in base.pointing[cause]:
                touched[finding] = max(touched.get(finding, 0.0), strength * doubt)
    known = next(iter(found.values())).facts
    unknown = [finding for finding in touched if base.askable[finding].name not in known]
    return sorted(unknown, key=lambda finding: (touched[finding] * (base.leaks[finding] - 1.0), finding))[:most]


def _ask(name: str, causes: Sequence[CauseFound], base: RuleBase) -> Ask:
    probable = [cause.id for cause in causes]
    question = base.entries.questions.get(name)
    if question is not None:
        settles = {link.cause for link in question.points_to}
        return Ask(name, question.ask, question.why, question.how, tuple(c for c in probable if c in settles))
    symptom = base.entries.symptoms[name]
    settles = {link.cause for link in symptom.causes}
    named = [base.entries.causes[cause].title.lower() for cause in probable if cause in settles][:MOST_NAMED]
    why = f"Yes or no, it weighs on these: {'; '.join(named)}."
    return Ask(name, symptom.ask, why, symptom.how, tuple(c for c in probable if c in settles))
