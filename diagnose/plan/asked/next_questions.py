"""What to look at next, so that the plan stands on more: the gap and its pull, the gates, what would change round 1."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence

from diagnose.engine.asking import LEAST_GAIN, next_questions
from diagnose.engine.findings import BodySide, SideFindings
from diagnose.model.diagnosis import Ask, CauseFound
from diagnose.model.tryon import Seen, TryOn, of_no_part
from diagnose.plan.asked.deciding import gates_due, parting_signs
from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.compiling import Link
from diagnose.rulebase.reading.entries import Question
from diagnose.sentences import lower_first

__all__ = ["candidates", "question_text", "questions_to_ask"]

MOST_ASKED = 3
MOST_GATES = 2
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
PARTING_SHARE = 0.3
"""What a sign is worth that parts the choices for one cause, beside one that brings in another cause."""
GAP_QUESTION = Ask(
    "gap",
    "How wide is the gap, edge to edge, at the top, at the waist and at the bottom?",
    "Every girth is judged by the gap; without it no amount can be given.",
    how="Stand at ease, laced at the working tension, and lay a tape across from edge to edge at each height.",
    settles=(),
)
PULL_QUESTION = Ask(
    "tension",
    "At what pull of the lace was the gap read: loose, working or hard?",
    "A gap says nothing without the pull that made it.",
    how="Lace it firmly and evenly, as you could wear it for an hour, and read the gap again at that pull.",
    settles=(),
)


def questions_to_ask(
    tryon: TryOn,
    found: Mapping[BodySide, SideFindings],
    causes: Sequence[CauseFound],
    base: RuleBase,
    exact: bool,
    first_rank: int | None = None,
    acted: Sequence[CauseFound] = (),
) -> tuple[Ask, ...]:
    """The next questions, best first; none when no remaining answer would change round 1.

    Left out is what she has said she can't tell, and a question about signs of which none shows.

    Args:
        tryon: the try-on; found: its findings by side; causes: as ranked.
        base: the rule base.
        exact: weigh every candidate by full inference; otherwise the likeliest ones in closed form.
        first_rank: the place in the order of work of the first step of round 1; None when nothing is planned, so that
            whatever is to be done first is still open.
        acted: the causes that are acted on.
    """
    deciding = matters = None
    if first_rank is not None:
        deciding = {cause for cause, rank in base.first_step.items() if rank <= first_rank}
        matters = {cause: 1.0 if cause in deciding else LATER for cause in base.first_step}
    thresholds = base.entries.words.thresholds
    left_out = _left_out(tryon, base)
    names = candidates(found, base, matters or {}, most=None if exact else MOST_WEIGHED, leave_out=left_out)
    asked: dict[str, float] = {}
    for findings, open_ in _by_side(found, names, base, exact=exact):
        for value in next_questions(
            findings.chances, open_, accept=thresholds["act"], lead_from=thresholds["maybe"], matters=matters,
            deciding=deciding, most=MOST_ASKED, exact=exact,
        ):  # fmt: skip
            name = base.askable[value.finding].name
            asked[name] = max(value.value, asked.get(name, 0.0))
    for name, likely in parting_signs(acted, first_rank, found, base=base, exact=exact).items():
        if PARTING_SHARE * likely >= LEAST_GAIN and name not in left_out:
            asked[name] = max(PARTING_SHARE * likely, asked.get(name, 0.0))
    alters = first_rank is not None and bool(acted) and base.outside.isdisjoint(cause.id for cause in acted)
    gates = [name for name in gates_due(found, base, exact) if name not in left_out][:MOST_GATES] if alters else []
    first = _readings(tryon, alters)
    best = [name for name in sorted(asked, key=lambda name: (-asked[name], name)) if name not in gates]
    names = [*gates, *best[: MOST_ASKED - len(first)]]
    return (*first, *(_ask(name, causes, base, tryon=tryon) for name in names))


def _readings(tryon: TryOn, alters: bool) -> list[Ask]:
    """What is wanting of the gap: the reading itself, or the pull at which it was read where it is to be acted on."""
    if not tryon.gap:
        return [GAP_QUESTION]
    laced = tryon.garment.fastening in (None, "laced")
    return [PULL_QUESTION] if alters and laced and tryon.tension is None else []


def question_text(question: Question, signs: Sequence[str], base: RuleBase) -> str:
    """A question that tells causes apart, after the signs it is about: “Straps dig. Do more than two fingers …?”"""
    titles = [base.entries.symptoms[sign].title for sign in signs]
    named = [titles[0], *map(lower_first, titles[1:])] if titles else []
    return f"{'; '.join(named)}. {question.ask}" if named else question.ask


def _left_out(tryon: TryOn, base: RuleBase) -> set[str]:
    """What must not be asked: what she can't tell, questions about signs of which none shows, and what is of a part
    that the garment has not, or is not likely to have where nothing is said of it."""
    shown = {sign for sign, seen in tryon.seen.items() if seen.shown}
    pointless = {question for question, about in base.about.items() if about.isdisjoint(shown)}
    return pointless.union(tryon.cant_tell, of_no_part(tryon.garment, base.parts, base.usual))


def _shown_of(question: Question, seen: Mapping[str, Seen]) -> tuple[str, ...]:
    """Of the signs that a question is about, those that show."""
    return tuple(sign for sign in question.about if sign in seen and seen[sign].shown)


def _by_side(
    found: Mapping[BodySide, SideFindings], names: Sequence[str], base: RuleBase, exact: bool
) -> Iterator[tuple[SideFindings, dict[str, tuple[Link, ...]]]]:
    """What to weigh on each side: on the second, in the quick form, only what stands otherwise there."""
    first, *others = found.values()
    yield first, {name: base.askable[name].in_play(first.facts) for name in names}
    chances = first.chances.probability
    for findings in others:
        differs = {
            cause
            for cause, chance in findings.chances.probability.items()
            if exact or abs(chance - chances[cause]) > ALIKE
        }
        open_ = {name: base.askable[name] for name in names}
        yield findings, {
            name: askable.in_play(findings.facts)
            for name, askable in open_.items()
            if not differs.isdisjoint(askable.causes)
        }  # fmt: skip


def candidates(
    found: Mapping[BodySide, SideFindings],
    base: RuleBase,
    matters: Mapping[str, float],
    most: int | None,
    leave_out: Collection[str] = (),
) -> list[str]:
    """The findings that could still be looked for, those first that would settle most of one cause's doubt.

    Args:
        found: what is known by side; base: the rule base.
        matters: what each cause counts for; 1 for those not named.
        most: how many to give at most.
        leave_out: signs and questions that must not be asked.

    A finding that often shows by itself settles less. The doubt of several causes does not add up: what touches each a
    little takes none of them across the line.
    """
    first, *others = [one.chances.probability for one in found.values()]
    doubts = {cause: chance * (1.0 - chance) * matters.get(cause, 1.0) for cause, chance in first.items()}
    for other in others:
        for cause, chance in other.items():
            doubts[cause] = max(doubts[cause], chance * (1.0 - chance) * matters.get(cause, 1.0))
    least = DOUBT_SHARE * max(doubts.values())
    touched = [-1.0] * len(base.unlike)
    for cause, doubt in doubts.items():
        if doubt >= least:
            for place, strength in base.pointing[cause]:
                if strength * doubt > touched[place]:
                    touched[place] = strength * doubt
    known = next(iter(found.values())).facts
    settling = sorted([
        (most_settled * seldom, finding)
        for most_settled, (finding, name, seldom) in zip(touched, base.unlike, strict=True)
        if most_settled >= 0.0 and name not in known and name not in leave_out
    ])  # fmt: skip
    return [finding for _, finding in settling[:most]]


def _ask(name: str, causes: Sequence[CauseFound], base: RuleBase, tryon: TryOn) -> Ask:
    probable = [cause.id for cause in causes]
    question = base.entries.questions.get(name)
    if question is not None:
        settles = {link.cause for link in question.points_to}
        text = question_text(question, _shown_of(question, tryon.seen), base)
        return Ask(name, text, question.why, how=question.how, settles=tuple(c for c in probable if c in settles))
    symptom = base.entries.symptoms[name]
    settles = {link.cause for link in symptom.causes}
    named = [base.entries.causes[cause].title.lower() for cause in probable if cause in settles][:MOST_NAMED]
    why = f"Yes or no, it weighs on these: {'; '.join(named)}."
    return Ask(name, symptom.ask, why, how=symptom.how, settles=tuple(c for c in probable if c in settles))
