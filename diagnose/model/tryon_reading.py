"""A try-on read: every mistake of its form, unknown names, what contradicts itself, and what is beyond belief."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any, Literal

from msgspec import Struct, field
from pydantic import ValidationError

from diagnose.errors import FitError, Mistake, first_ones, nearest, quoted, shown
from diagnose.model.believable import outside
from diagnose.model.stations import Station
from diagnose.model.tryon import BODY_FACTS, Garment, Parts, Seen, TryOn, Wearer, of_no_part
from diagnose.units import Unit, both, read_length

__all__ = ["NO_WORDS", "Vocabulary", "read_tryon"]

MOST_VALUES = 5000
MOST_MINUTES = 100_000


class Vocabulary(Struct, frozen=True):
    """The signs and questions that a rule base knows, and what is believable.

    Attributes:
        signs: for each the measure of its amount, low and high.
        questions: the ids of those that tell causes apart.
        ranges: for each fact that is a reading its low and high, in mm; what has none is not held.
        titles: of each sign that is of a part of the garment, what it is called.
        parts: for each such sign, and each question about a part, the facts of the garment that say whether the part is
            there, each with the words for which it is.
    """

    signs: Mapping[str, tuple[Literal["length", "minutes", "none"], float | None, float | None]]
    questions: frozenset[str]
    ranges: Mapping[str, tuple[float | None, float | None]] = field(default_factory=dict)
    titles: Mapping[str, str] = field(default_factory=dict)
    parts: Parts = field(default_factory=dict)


NO_WORDS = Vocabulary({}, frozenset())
"""What is read without the rules: it names no sign and no question."""


def read_tryon(raw: object, vocabulary: Vocabulary, unit: Unit = "in") -> TryOn:
    """The try-on of decoded JSON (or YAML).

    Args:
        raw: the decoded object.
        vocabulary: the signs and questions that may be named.
        unit: what a length written without a unit is in.

    Raises:
        FitError: with every mistake: an unknown key, sign or question, a length that is none, a contradiction.
    """
    _check_size(raw)
    try:
        tryon = TryOn.model_validate(raw, context={"unit": unit})
    except ValidationError as error:
        wrong = [_mistake(each) for each in error.errors(include_url=False)]
        raise FitError(
            first_ones([*wrong, *_unknown(raw, vocabulary), *_wrong_amounts(raw, vocabulary, unit)])
        ) from None
    lacking = of_no_part(tryon.garment, vocabulary.parts)
    mistakes = [*_unknown(raw, vocabulary), *_contradictions(tryon), *_unbelievable(tryon, vocabulary, unit)]
    seen_there = [name for name in lacking if name in tryon.seen and tryon.seen[name].shown]
    mistakes += [_not_there(name, *lacking[name], vocabulary) for name in seen_there]
    there = {name: seen for name, seen in tryon.seen.items() if name not in lacking}
    known = {name: answer for name, answer in tryon.known.items() if name not in lacking}
    seen = {name: _with_amount(name, seen, vocabulary, unit=unit, mistakes=mistakes) for name, seen in there.items()}
    if mistakes:
        raise FitError(first_ones(mistakes))
    return tryon.model_copy(update={"seen": seen, "known": known})


def _check_size(raw: object) -> None:
    """Refuse at once what holds more than any try-on does, the pattern apart; nearly all of it would be wrong."""
    parts = [raw[key] for key in raw if key != "pattern"] if isinstance(raw, dict) else []
    inner = [value for part in parts if isinstance(part, dict) for value in part.values()]
    if len(parts) + sum(len(one) for one in (*parts, *inner) if isinstance(one, dict | list)) > MOST_VALUES:
        raise FitError.of(
            "", f"It holds more than {MOST_VALUES} values.", "See the README for an example.", code="too-many"
        )


_KEYS = {
    "": tuple(TryOn.model_fields),
    "garment": tuple(f.alias or name for name, f in Garment.model_fields.items()),
    "wearer": tuple(f.alias or name for name, f in Wearer.model_fields.items()),
}


def _mistake(wrong: Any) -> Mistake:
    loc = [str(part) for part in wrong["loc"] if part != "[key]"]
    where = ".".join(shown(part) for part in loc)
    kind, context = wrong["type"], wrong.get("ctx") or {}
    if kind == "refused":
        return Mistake(where, context["what"], context["do"], code="refused")
    if kind == "extra_forbidden":
        known = _KEYS.get(".".join(loc[:-1]), ("side", "grade", "amount"))
        return Mistake(where, f"There is no {quoted(loc[-1])} here.", nearest(loc[-1], known), code="unknown-name")
    if kind == "literal_error":
        return Mistake(
            where,
            f"{quoted(wrong['input'])} is not one of the words here.",
            f"It is {context['expected']}.",
            code="not-a-word",
        )
    if kind == "missing":
        return Mistake(where, "It is missing.", "Give it.", code="missing")
    if kind in ("model_type", "dict_type"):
        return Mistake(
            where, "A group of named values is wanted here.", "See the README for an example.", code="not-a-group"
        )
    if kind in ("bool_type", "bool_parsing"):
        return Mistake(
            where, f"{quoted(wrong['input'])} is no answer here.", "Write true or false.", code="not-an-answer"
        )
    if kind in ("greater_than_equal", "less_than_equal"):
        word, most = ("at least", context.get("ge")) if kind == "greater_than_equal" else ("at most", context.get("le"))
        return Mistake(
            where, f"It is {quoted(wrong['input'])}, and may be {word} {most}.", "Put it right.", code="out-of-range"
        )
    return Mistake(where, f"{wrong['msg']}.", "See the README for an example.", code="not-as-wanted")


def _unknown(raw: object, vocabulary: Vocabulary) -> Iterator[Mistake]:
    """The names that no rule knows, looked for in what was given: a mistake elsewhere must not hide them."""
    signs, questions = set(vocabulary.signs), set(vocabulary.questions)
    kinds = (
        ("seen", "sign", signs),
        ("known", "question", questions),
        ("cant_tell", "sign or question", signs | questions),
    )
    for group, kind, known in kinds:
        for number, name in enumerate(_named(raw, group)):
            if name not in known:
                where = f"{group}.{number if group == 'cant_tell' else shown(name)}"
                what = f"No {kind} is called {quoted(name)}."
                yield Mistake(where, what, nearest(name, known), code="unknown-name")


def _named(raw: object, group: str) -> list[str]:
    names = raw.get(group) if isinstance(raw, Mapping) else None
    return [name for name in names if isinstance(name, str)] if isinstance(names, Mapping | list | tuple) else []


def _contradictions(tryon: TryOn) -> Iterator[Mistake]:
    for station, lap_mm in tryon.overlap.items():
        if lap_mm > 0 and tryon.gap.get(station, 0.0) > 0:
            say = f"The edges cannot lap by {both(lap_mm)} and stand {both(tryon.gap[station])} apart."
            yield Mistake(f"overlap.{station}", say, "Give the gap as 0, or drop the overlap.", code="contradiction")
    for station, front_mm in tryon.gap_front.items():
        if front_mm > tryon.gap.get(station, float("inf")):
            say = f"The front's part, {both(front_mm)}, is more than the whole gap, {both(tryon.gap[station])}."
            yield Mistake(
                f"gap_front.{station}", say, "gap is the front's and the back's added up.", code="contradiction"
            )
    if tryon.gap_front and tryon.garment.closure not in (None, "both"):
        yield Mistake(
            "gap_front",
            "A front gap needs a garment that laces front and back.",
            "Set closure to both.",
            code="contradiction",
        )
    meet = tryon.known.get("meant-to-meet")
    if meet is not None and tryon.garment.meant_to_meet not in (None, meet):
        say = "garment.meant_to_meet says the opposite."
        yield Mistake("known.meant-to-meet", say, "Say it once, or say the same.", code="contradiction")
    for name, seen in tryon.seen.items():
        if not seen.shown and (seen.amount is not None or seen.grade is not None):
            yield Mistake(
                f"seen.{name}",
                "It is said to be absent, and measured.",
                "Drop the amount, or say true.",
                code="contradiction",
            )


def _not_there(name: str, fact: str, word: str, vocabulary: Vocabulary) -> Mistake:
    said = {"yes": "true", "no": "false"}.get(word, word)
    what = (
        f"“{vocabulary.titles[name]}” is seen on a part that the garment is said not to have: garment.{fact} is {said}."
    )
    return Mistake(f"seen.{name}", what, f"Drop this sign, or correct garment.{fact}.", code="part-not-there")


def _unbelievable(tryon: TryOn, vocabulary: Vocabulary, unit: Unit) -> Iterator[Mistake]:
    """Readings outside the believable range of their facts; a lap is a gap below 0."""
    ranges = vocabulary.ranges
    for where, station, gap_mm in _gaps(tryon):
        low, high = ranges.get(f"gap-{station}", (None, None))
        wrong = outside(gap_mm, 0.0, None if low is None else -low, unit=unit) if where == "overlap" else (
            outside(gap_mm, 0.0, high, unit=unit)
        )  # fmt: skip
        if wrong is not None:
            yield Mistake(f"{where}.{station}", *wrong, code="out-of-range")
    for name, fact in BODY_FACTS.items():
        amount = getattr(tryon.wearer, f"{name}_mm")
        wrong = None if amount is None else outside(amount, *ranges.get(fact, (None, None)), unit=unit)
        if wrong is not None:
            yield Mistake(f"wearer.{name}", *wrong, code="out-of-range")


def _gaps(tryon: TryOn) -> Iterator[tuple[str, Station, float]]:
    groups = {"gap": tryon.gap, "gap_front": tryon.gap_front, "overlap": tryon.overlap, "target": tryon.target or {}}
    for where, group in groups.items():
        for station, gap_mm in group.items():
            yield where, station, gap_mm


def _with_amount(name: str, seen: Seen, vocabulary: Vocabulary, unit: Unit, mistakes: list[Mistake]) -> Seen:
    if seen.amount is None or name not in vocabulary.signs:
        return seen
    measure, low, high = vocabulary.signs[name]
    where = f"seen.{name}.amount"
    try:
        amount = _amount(seen.amount, measure, where, unit=unit)
    except FitError as error:
        mistakes += error.mistakes
        return seen
    wrong = outside(amount, low or 0.0, high, measure=measure, unit=unit)
    if wrong is not None:
        mistakes.append(Mistake(where, *wrong, code="out-of-range"))
    return seen.model_copy(update={"amount": amount})


def _wrong_amounts(raw: object, vocabulary: Vocabulary, unit: Unit) -> Iterator[Mistake]:
    """The amounts of signs that can't be read, where something else is wrong too."""
    signs = raw.get("seen") if isinstance(raw, Mapping) else None
    for name, sign in signs.items() if isinstance(signs, Mapping) else ():
        if name in vocabulary.signs and isinstance(sign, Mapping) and sign.get("amount") is not None:
            mistakes: list[Mistake] = []
            _with_amount(
                name, Seen.model_construct(shown=True, amount=sign["amount"]), vocabulary, unit=unit, mistakes=mistakes
            )
            yield from mistakes


def _amount(value: object, measure: str, where: str, unit: Unit) -> float:
    if measure == "length":
        return read_length(value, where, unit)
    if measure == "none":
        raise FitError.of(where, "No number is recorded for this sign.", "Drop the amount.", code="no-number-taken")
    if isinstance(value, bool) or not isinstance(value, int | float) or not abs(value) <= MOST_MINUTES:
        raise FitError.of(
            where, f"{quoted(value)} is not a number of minutes.", "Give the minutes, like 25.", code="not-a-number"
        )
    return float(value)
