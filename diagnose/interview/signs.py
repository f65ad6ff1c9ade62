"""The signs: where something is wrong, what it is, on which side and how much; then what would change the plan."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence

from diagnose.interview.adding_up import added_answers, added_signs
from diagnose.interview.body_places import ONCE_OFF, Place, Worn, may_have, places_for, worn_for
from diagnose.interview.known import Known
from diagnose.interview.opening import gate_question, sign_options
from diagnose.interview.question import GROUPS, Given, Option, Question, names_in
from diagnose.model.diagnosis import Ask
from diagnose.plan.asked.next_questions import question_text
from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.reading.entries import Symptom
from diagnose.sentences import lower_first
from diagnose.units import both

__all__ = [
    "ASKED_LATER", "LATE", "following", "looked_places", "places_on", "seen_before", "signs", "signs_off",
    "stops_by_amount",
]  # fmt: skip

Asking = Callable[[], Sequence[Ask]]
SIDES = (Option("left", "Left, the wearer's own"), Option("right", "Right"), Option("both", "Both sides"))
GRADES = (
    Option("1", "Slight", "Seen when looked for."),
    Option("2", "Plain", "Seen at once."),
    Option("3", "Severe", "Cannot be worn so."),
)
FOLLOWING = "A closer look"
OFF, AGAIN = GROUPS["off"], GROUPS["again"]
_LATE_PARTS: Mapping[Worn, str] = {"on": FOLLOWING, "off": OFF, "again": AGAIN}
LATE = frozenset(_LATE_PARTS.values())
"""The parts of the try-on that are asked by their effect on the plan."""
MOST_NAMED = 3
ASKED_LATER = ("known.", "sign.")


def signs(base: RuleBase, known: Known, given: Given) -> Iterator[Question]:
    """The signs by place: where, what, the details of each, and where she looked and found nothing."""
    before = seen_before(base, known)
    if before:
        yield _still(base, before)
        for name in names_in(given.get("still")):
            yield from details(base, base.entries.symptoms[name], "What you see and feel")
    places = places_on(base, known)
    yield Question(
        "where", "What you see and feel", "several",
        text="Where is anything else not right?" if before else "Where is something not right?",
        why="Only the places you name are gone into.",
        how="Look in the mirror from the front, the side and behind; then sit, bend and lift your arms.",
        options=tuple(Option(place.id, place.title, _seen_there(base, place)) for place in places),
        none="nothing anywhere",
    )  # fmt: skip
    where = names_in(given.get("where"))
    for place in places:
        added = added_signs(base, known, given)
        left = [
            name for name in place.signs if name not in added and (given.get("still") is None or name not in before)
        ]
        if place.id in where and left:
            yield _at(base, place.title, place.id, left=left)
            for name in names_in(given.get(f"at.{place.id}")):
                yield from details(base, base.entries.symptoms[name], place.title)
    if given.get("where") is not None:
        yield from _looked(base, known, given)


def places_on(base: RuleBase, known: Known) -> tuple[Place, ...]:
    """The places that are looked at while it is on."""
    return tuple(place for place in places_for(base, known.garment) if place.id != ONCE_OFF)


def signs_off(base: RuleBase, known: Known) -> tuple[str, ...]:
    """The signs that are looked for once it is off."""
    return next((place.signs for place in places_for(base, known.garment) if place.id == ONCE_OFF), ())


UNHOOKED = "fronts-spring-apart"
"""The sign for which it is unhooked before it is unlaced."""


def once_off(base: RuleBase, known: Known, given: Given) -> Iterator[Question]:
    """What is looked for as soon as it is off, as one question; then the details of what is there."""
    names = [name for name in signs_off(base, known) if f"sign.{name}" not in given]
    if not names:
        return
    yield Question(
        f"at.{ONCE_OFF}", OFF, "several",
        text=f"{'Unhook it as it is laced, then take' if UNHOOKED in names else 'Take'} it off. Which of these do you "
        "find?",
        why="All that is seen while it is on has been asked; these are seen only now.",
        how="What you don't name is taken as looked for and not there. A mark wants its time: answer once it has faded,"
        " or leave the answers until then.",
        options=sign_options(base, names), worn="off",
    )  # fmt: skip
    for name in names_in(given.get(f"at.{ONCE_OFF}")):
        yield from details(base, base.entries.symptoms[name], OFF)


def _seen_there(base: RuleBase, place: Place) -> str:
    return "; ".join(lower_first(base.entries.symptoms[name].title) for name in place.signs) + "."


def seen_before(base: RuleBase, known: Known) -> tuple[str, ...]:
    """The signs that showed at the try-on before, as far as they can be looked for now."""
    last = known.last.get("seen")
    shown = {name for name, seen in last.items() if seen} if isinstance(last, Mapping) else set()
    return tuple(sign for place in places_on(base, known) for sign in place.signs if sign in shown)


def _still(base: RuleBase, before: Sequence[str]) -> Question:
    return Question(
        "still", "What you see and feel", "several", text="These were seen the last time. Which are still there?",
        why="What has gone speaks for the last change, what has stayed speaks of what is left to do.",
        how="Look for each of them; what you don't name is taken as gone.",
        options=sign_options(base, before), none="none of them",
        every="all of them",
    )  # fmt: skip


def _at(base: RuleBase, title: str, id_: str, left: Sequence[str]) -> Question:
    return Question(
        f"at.{id_}", title, "several", text=f"{title}: which of these?",
        why="Each sign speaks for some causes and against others.", how="", options=sign_options(base, left),
    )  # fmt: skip


def details(base: RuleBase, symptom: Symptom, part: str) -> Iterator[Question]:
    """The side, where sides can differ; where it lies, where the rules ask it; then the one number recorded, or how bad
    where there is none."""
    worn = worn_for(symptom.id)
    if symptom.record.sides == "may-differ":
        yield Question(
            f"side.{symptom.id}", part, "choice", text=f"{symptom.title}: on which side?",
            why="What shows on one side only is not mended on both.", how=symptom.how, options=SIDES, worn=worn,
        )  # fmt: skip
    if symptom.spots:
        spots = [base.entries.questions[name] for name in symptom.spots]
        yield Question(
            f"spots.{symptom.id}", part, "several", text=f"{symptom.title}: which of these are they?",
            why="Where it lies says what it comes from.", how=symptom.how,
            options=tuple(Option(spot.id, spot.ask, spot.how) for spot in spots), worn=worn,
        )  # fmt: skip
    if symptom.record.amount == "none":
        yield Question(
            f"grade.{symptom.id}", part, "choice", text=f"{symptom.title}: how bad is it?",
            why="The next try-on is compared with it.", how=symptom.how, options=GRADES, worn=worn,
        )  # fmt: skip
    else:
        yield _amount(symptom, part)


def _amount(symptom: Symptom, part: str) -> Question:
    record, minutes = symptom.record, symptom.record.amount == "minutes"
    return Question(
        f"amount.{symptom.id}", part, "minutes" if minutes else "length", text=_how_much(symptom),
        why=f"Recorded is {record.means}." if record.means else "It gives the amount to alter.", how=symptom.how,
        least=record.low or 0.0, most=record.high, worn=worn_for(symptom.id),
    )  # fmt: skip


def _how_much(symptom: Symptom) -> str:
    """Where a number may be less than 0, what that says stands in the question itself."""
    if symptom.record.amount == "minutes":
        return f"{symptom.title}: how many {symptom.record.means or 'minutes'}?"
    signed = (symptom.record.low or 0.0) < 0
    return f"{symptom.title}: how much?{f' Wanted is {symptom.record.means}.' if signed else ''}"


def _looked(base: RuleBase, known: Known, given: Given) -> Iterator[Question]:
    places = looked_places(base, known, given)
    if places:
        where = names_in(given.get("where"))
        options = tuple(Option(p.id, f"{p.title}{': nothing else' if p.id in where else ''}") for p in places)
        yield Question(
            "looked", "What you see and feel", "several", text="Where did you look and find nothing (else)?",
            why="“Looked and not there” speaks against a cause; “not looked” says nothing.",
            how="Name only places that you really looked at.", options=options, none="I did not look",
            every="I looked everywhere",
        )  # fmt: skip


def looked_places(base: RuleBase, known: Known, given: Given) -> tuple[Place, ...]:
    """The places that may be clean: all but those gone into where she could not tell."""
    where = names_in(given.get("where"))
    unsure = {place for place in where if given.get(f"at.{place}") is None}
    return tuple(place for place in places_on(base, known) if place.id not in unsure)


def following(
    base: RuleBase, known: Known, given: Given, later: Sequence[str], asking: Asking, *, is_off: bool = False,
    enough: bool = False,
) -> Iterator[Question]:  # fmt: skip
    """What is asked by expected effect, until nothing would change: all that is seen while it is on, then what needs it
    off, then what needs it on again; within each as it was asked, then the next.

    Args:
        base: the rule base; known: what the case knows; given: the replies by question id.
        later: the ids of those asked here before, in order.
        asking: what would change the plan, on all replies; asked anew after each.
        is_off: whether it has come off: then nothing more is asked for which it must be on.
        enough: whether she has had enough.
    """
    ways: tuple[Worn, ...] = ("on", "off", "again")
    for way in ways:
        if way == "off" and (is_off or not enough):
            yield from once_off(base, known, given)
        for id_ in later:
            if worn_for(id_.partition(".")[2]) == way:
                yield from _one_more(base, known, id_, given=given)
        while not (way == "on" and is_off):
            ids = _ids(base, known, given)
            wanted = (ids[ask.id] for ask in asking() if ask.id in ids and worn_for(ask.id) == way)
            fresh = next((id_ for id_ in wanted if id_ not in given), None)
            if fresh is None:
                break
            yield from _one_more(base, known, fresh, given=given)


def _ids(base: RuleBase, known: Known, given: Given) -> Mapping[str, str]:
    """The question id of each thing of the rule base that may be asked late: signs that the garment can show, and
    questions about what it has; but for those that can be added up, and those that are told with a sign as where it
    lies."""
    spots = {spot for sign in base.entries.symptoms.values() for spot in sign.spots}
    told = {*added_signs(base, known, given), *added_answers(base, given), *spots}
    signs_ = {name: f"sign.{name}" for place in places_for(base, known.garment) for name in place.signs}
    questions = [name for name in base.entries.questions if may_have(known.garment, base.parts.get(name, {}))]
    ids = {**signs_, **{name: f"known.{name}" for name in questions}}
    return {name: id_ for name, id_ in ids.items() if name not in told}


def _one_more(base: RuleBase, known: Known, id_: str, given: Given) -> Iterator[Question]:
    """A question asked late, with its details when what it asks for shows; nothing when the base has none such."""
    question = _later(base, known, id_, given=given)
    if question is None or id_ in given:
        return
    yield question
    kind, _, name = id_.partition(".")
    if kind == "sign" and given.get(id_) is True:
        yield from details(base, base.entries.symptoms[name], _LATE_PARTS[worn_for(name)])


def _later(base: RuleBase, known: Known, id_: str, given: Given) -> Question | None:
    """The question of an id that is asked late; None when the rule base has no such thing (any more)."""
    kind, _, name = id_.partition(".")
    if kind == "known" and name in base.entries.questions:
        question = base.entries.questions[name]
        shown = {
            sign for one, value in given.items() if one.startswith("at.") or one == "still" for sign in names_in(value)
        }
        shown |= {one.partition(".")[2] for one, value in given.items() if one.startswith("sign.") and value is True}
        text = question_text(question, [sign for sign in question.about if sign in shown], base)
        part, how = _LATE_PARTS[worn_for(name)], question.how
        if question.beside is not None:
            how = f"{how}{_beside(known, question.beside)}"
        return gate_question(question, part, text=text, how=how, worn=worn_for(name))
    if kind == "sign" and name in base.entries.symptoms:
        symptom = base.entries.symptoms[name]
        causes = [base.entries.causes[link.cause].title for link in symptom.causes[:MOST_NAMED]]
        why = f"Yes or no, it bears on these: {'; '.join(lower_first(title) for title in causes)}."
        worn = worn_for(name)
        return Question(id_, _LATE_PARTS[worn], "yes-no", text=symptom.ask, why=why, how=symptom.how, worn=worn)
    return None


def _beside(known: Known, station: str) -> str:
    """The widths of the flat pattern there, so that nobody has to look them up or add them."""
    widths = known.widths_mm.get(station)
    if not widths:
        return ""
    named = "; ".join(f"{name} {both(mm, known.unit)}" for name, mm in widths.items())
    return f" By the pattern, at the {station}: {named}."


def stops_by_amount(base: RuleBase, amounts: Mapping[str, float]) -> tuple[str, ...]:
    """The stop flags that recorded numbers raise (a mark that has stayed too long)."""
    facts: dict[str, str | float] = {f"{name}.amount": amount for name, amount in amounts.items()}
    flags = [entry for entry in base.entries.symptoms.values() if entry.now is not None and entry.when]
    return tuple(flag.id for flag in flags if all(line.holds(facts) for line in flag.when))
