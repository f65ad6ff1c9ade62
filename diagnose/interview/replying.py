"""From what she says to a reply, and back to words. Every refusal says what was wrong and what would do."""

from __future__ import annotations

from collections.abc import Sequence

from diagnose.errors import FitError
from diagnose.interview.question import Option, Question, Value
from diagnose.model.believable import outside
from diagnose.units import Unit, both, parse_length, read_length

__all__ = ["amount_of", "doubt", "read_reply", "read_value", "said"]

CANT_TELL = frozenset({"?", "skip", "can't tell", "cant tell", "don't know", "not known"})
YES, NO = frozenset({"y", "yes"}), frozenset({"n", "no"})
CLOSED = frozenset({"closed", "shut", "0"})


def read_reply(question: Question, text: str, unit: Unit) -> Value:
    """The reply that a typed line makes.

    Args:
        question: what was asked; text: what she typed; unit: taken when a length names none.

    Raises:
        FitError: when it is no reply to this question.
    """
    word = " ".join(text.replace("’", "'").casefold().split())
    if word in CANT_TELL:
        return None
    if question.kind == "yes-no":
        return _yes_no(word, text)
    if question.kind == "choice":
        return _picked(question.options, word, text)
    if question.kind == "several":
        return _several(question, word)
    return _measured(question, word, unit)


def read_value(question: Question, value: object, unit: Unit) -> Value:
    """A reply that comes as data (from a draft), checked.

    Raises:
        FitError: when it is no reply to this question.
    """
    if value is None or (question.kind == "yes-no" and isinstance(value, bool)):
        return value
    if question.kind == "several" and isinstance(value, list):
        return [_picked(question.options, str(one), str(one)) for one in value]
    if question.kind == "minutes" and isinstance(value, int | float) and not isinstance(value, bool):
        return _within(question, float(value), unit)
    if question.kind in ("choice", "length", "minutes") and isinstance(value, str):
        return read_reply(question, value, unit)
    raise FitError.of(question.id, "This is no reply to the question.", "Answer it again.", code="no-reply")


def amount_of(question: Question, value: Value, unit: Unit) -> float:
    """The number of a reply to a length (mm) or minutes question."""
    if question.kind == "length":
        return read_length(value, question.id, unit)
    return float(value) if isinstance(value, str | int | float) else 0.0


def doubt(question: Question, value: Value, unit: Unit) -> str:
    """A sentence when a number is taken but hard to believe; otherwise nothing."""
    if value is None or question.usual is None:
        return ""
    amount = amount_of(question, value, unit)
    if amount <= question.usual:
        return ""
    usual = _shown(question, question.usual, unit)
    return f"{_shown(question, amount, unit)} is taken, but up to {usual} is usual. Measure again if it seems odd."


def said(question: Question, value: Value, unit: Unit) -> str:
    """A reply in words."""
    if value is None:
        return "can't tell"
    if isinstance(value, bool):
        return "yes" if value else "no"
    names = {option.id: option.text for option in question.options}
    if isinstance(value, list):
        return "; ".join(names.get(one, one) for one in value) or question.none
    if question.kind == "choice":
        return names.get(str(value), str(value))
    amount = amount_of(question, value, unit)
    if question.id.startswith("gap.") and amount == 0:
        return "closed"
    return _shown(question, amount, unit)


def _yes_no(word: str, text: str) -> bool:
    if word in YES or word in NO:
        return word in YES
    raise FitError.of(
        "",
        f"“{text.strip()[:40]}” is neither yes nor no.",
        "Type y, n, or ? when you can't tell.",
        code="not-yes-or-no",
    )


def _picked(options: Sequence[Option], word: str, text: str) -> str:
    exact = [option.id for number, option in enumerate(options, 1) if word in (str(number), option.id)]
    near = [option.id for option in options if word and option.text.casefold().startswith(word)]
    found = exact or near
    if len(found) == 1:
        return found[0]
    known = ", ".join(f"{number} {option.text}" for number, option in enumerate(options, 1))
    if len(options) > 4:
        known = f"the numbers 1 to {len(options)}"
    raise FitError.of(
        "", f"“{text.strip()[:40]}” is not one of these.", f"Type one of: {known}; or ?.", code="not-a-choice"
    )


def _several(question: Question, word: str) -> Value:
    if word == "all":
        return [option.id for option in question.options]
    if question.none and word in (*NO, "none", "nothing"):
        return []
    numbers = [one for one in word.replace(",", " ").split() if one != "and"]
    if not numbers:
        nothing = f"n ({question.none})" if question.none else "?"
        raise FitError.of("", "Nothing was typed.", f"Type their numbers, like 1 3; or {nothing}.", code="no-reply")
    picked = [_picked(question.options, number, number) for number in numbers]
    return list(dict.fromkeys(picked))


def _measured(question: Question, word: str, unit: Unit) -> Value:
    if question.kind == "minutes":
        return _within(question, _minutes(word), unit)
    if question.station is not None and word in CLOSED:
        return f"0 {unit}"
    length_mm = read_length(word, "", unit)
    _within(question, length_mm, unit)
    return word if parse_length(f"{word} {unit}") is None else f"{word} {unit}"


def _minutes(word: str) -> float:
    number = word.removesuffix("minutes").removesuffix("min").strip()
    if not number.isascii() or not number.isdigit() or len(number) > 4:
        raise FitError.of(
            "", f"“{word[:40]}” is not a number of minutes.", "Type the minutes alone, like 25.", code="not-a-number"
        )
    return float(number)


def _within(question: Question, amount: float, unit: Unit) -> float:
    if amount != amount:
        raise FitError.of(question.id, "This is no number.", "Answer it again.", code="not-a-number")
    if amount < 0 and question.station:
        less = f"{_shown(question, amount, unit)} is less than nothing."
        raise FitError.of("", less, "Type 0 when the edges meet; the lap is asked next.", code="below-nothing")
    wrong = outside(amount, question.least, question.most, measure=question.kind, unit=unit)
    if wrong is not None:
        raise FitError.of("", *wrong, code="out-of-range")
    return amount


def _shown(question: Question, amount: float, unit: Unit) -> str:
    return both(amount, unit) if question.kind == "length" else f"{amount:g} minutes"
