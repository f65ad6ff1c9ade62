"""What to look at next, so that the plan stands on more: first the gap, then what would change round 1 most."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from diagnose.engine.asking import QuestionValue, next_questions
from diagnose.engine.findings import BodySide, SideFindings
from diagnose.model.diagnosis import Ask, CauseFound
from diagnose.model.tryon import TryOn
from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.compiling import Link

__all__ = ["candidates", "questions_to_ask"]

MOST_ASKED = 3
MOST_WEIGHED = 12
"""How many candidates are weighed in the quick form: those that touch most doubt."""
LEAST_DOUBT = 0.01
"""A cause less in doubt than this (its chance times that of its absence) brings up no candidate."""
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
    asked: dict[str, float] = {}
    for findings in found.values():
        for value in _weighed(findings, base, exact, first_rank):
            name = base.askable[value.finding].name
            asked[name] = max(value.value, asked.get(name, 0.0))
    first = [] if tryon.gap else [GAP_QUESTION]
    best = sorted(asked, key=lambda name: (-asked[name], name))[: MOST_ASKED - len(first)]
    return (*first, *(_ask(name, causes, base) for name in best))


def _weighed(
    findings: SideFindings, base: RuleBase, exact: bool, first_rank: int | None
) -> tuple[QuestionValue, ...]:
    """The best questions about one side; causes acted on later than round 1 count for little and decide nothing."""
    deciding = matters = None
    if first_rank is not None:
        deciding = {cause for cause, rank in base.first_step.items() if rank <= first_rank}
        matters = {cause: 1.0 if cause in deciding else LATER for cause in base.first_step}
    return next_questions(
        findings.chances, candidates(findings, base, matters or {}, None if exact else MOST_WEIGHED),
        accept=base.entries.words.thresholds["act"], lead_from=base.entries.words.thresholds["maybe"],
        matters=matters, deciding=deciding, most=MOST_ASKED, exact=exact,
    )  # fmt: skip


def candidates(
    findings: SideFindings, base: RuleBase, matters: Mapping[str, float], most: int | None
) -> dict[str, tuple[Link, ...]]:
    """The findings that could still be looked for, each with the links it would bring.

    Args:
        findings: what is known; base: the rule base.
        matters: what each cause counts for; 1 for those not named.
        most: how many to give at most: those that touch most doubt.
    """
    touched: dict[str, float] = {}
    for cause, chance in findings.chances.probability.items():
        doubt = chance * (1.0 - chance) * matters.get(cause, 1.0)
        if doubt >= LEAST_DOUBT:
            for finding, _, strength, _ in base.pointing[cause]:
                touched[finding] = touched.get(finding, 0.0) + strength * doubt
    unknown = [finding for finding in touched if base.askable[finding].name not in findings.facts]
    best = sorted(unknown, key=lambda finding: (-touched[finding], finding))[:most]
    return {finding: base.askable[finding].in_play(findings.facts) for finding in best}


def _ask(name: str, causes: Sequence[CauseFound], base: RuleBase) -> Ask:
    probable = [cause.id for cause in causes]
    question = base.entries.questions.get(name)
    if question is not None:
        settles = {link.cause for link in question.points_to}
        return Ask(name, question.ask, question.why, question.how, tuple(c for c in probable if c in settles))
    symptom = base.entries.symptoms[name]
    settles = {link.cause for link in symptom.causes}
    why = f"It would tell {' from '.join(base.entries.causes[c].title.lower() for c in probable if c in settles)}."
    return Ask(name, symptom.ask, why, symptom.how, tuple(c for c in probable if c in settles))
