"""What a case is begun with and was not told, asked in a terminal; Enter leaves a thing unsaid."""

from __future__ import annotations

import sys
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

import typer

from diagnose.cli.printing import put, putting, taking, talk
from diagnose.errors import FitError
from diagnose.units import UNITS, Unit, read_length

if TYPE_CHECKING:
    from diagnose.pattern.brought import Understood

__all__ = ["asked_about", "asked_of_garment", "asked_of_wearer", "asked_target", "asked_unit", "check_believable"]

GIRTHS = {
    "bust": "Her bust, over the shift", "underbust": "Her underbust", "waist": "Her waist, unlaced",
    "hip": "Her hip, level, at the depth where the garment ends",
    "waist_to_hip": "How far below the waist that was, down the side",
    "planned_reduction": "How much the waist is to be laced in, in all",
}  # fmt: skip


def asked_unit() -> Unit:
    """The unit she works in."""
    while (word := _line("Do you work in inches, centimetres or millimetres? (in, cm, mm; Enter: in)")) not in (
        "", *UNITS,
    ):  # fmt: skip
        talk("Type in, cm or mm.")
    return word or "in"  # type: ignore[return-value]


def asked_target(unit: Unit, usual: str) -> str | None:
    """The gap aimed at; None for the usual one."""
    return _length(f"How wide is the lacing gap to stand? (a length, or Enter: {usual})", "target", unit)


def asked_of_wearer(unit: Unit) -> dict[str, str] | None:
    """Her girths, each as she gives it; None when she gives none."""
    talk("Her girths help to see what the pattern must do. Enter leaves one unsaid.")
    given: dict[str, str] = {}
    for name, words in GIRTHS.items():
        # How deep a hip was taken is not asked where none was.
        text = _length(words, name, unit) if name != "waist_to_hip" or "hip" in given else None
        given |= {name: text} if text is not None else {}
    return given or None


def _length(words: str, where: str, unit: Unit) -> str | None:
    """A length as it was typed, once it is one."""
    while (text := _line(words)) not in ("", "?"):  # ? means that she can't tell, as in every question
        try:
            read_length(text, where, unit)
            check_believable({"wearer": {where: text}} if where in GIRTHS else {where: text}, unit)
        except FitError as error:
            talk(str(error))
        else:
            return text
    return None


def check_believable(about: Mapping[str, Any], unit: Unit) -> None:
    """See that the gap aimed at and her girths, as far as they are told, are such as a try-on will take.

    Raises:
        FitError: with every one that is not.
    """
    from diagnose.casebook.case_reading import check_about
    from diagnose.rulebase.loading import load_rulebase

    target, wearer = about.get("target"), about.get("wearer")
    if target or wearer:
        check_about({}, target, [wearer or {}], unit=unit, vocabulary=load_rulebase().vocabulary)


def _line(words: str) -> str:
    return str(typer.prompt(words, default="", show_default=False, err=True)).strip()


def asked_about(understood: Understood, unit: Unit, sure: list[str]) -> Understood:
    """The pattern with what is beyond belief asked about, where a terminal is there to answer; else as it was.

    The words for what is so are added to `sure`, so that nothing is asked twice.
    """
    from diagnose.casework.pattern_in import doubts_in, sure_of, understood_parts

    doubts = doubts_in(understood)
    if not doubts or not (sys.stdin.isatty() and sys.stderr.isatty()):
        return understood
    put(understood_parts(understood, unit), sys.stderr)
    words = []
    for doubt in doubts:
        talk(f"\n{doubt.what} {doubt.remedy}")
        if typer.confirm("Is it so?", default=False, err=True):
            words.append(doubt.sure_word)
    sure += words
    return sure_of(understood, words)


def asked_of_garment(unit: Unit, shown: Mapping[str, Any]) -> dict[str, Any] | None:
    """What the garment is and which parts it has, asked in the terminal, but for what the pattern shows; None when
    nothing is known of it."""
    from diagnose.cli.asking.mirror import Mirror
    from diagnose.interview import AboutGarment, Known
    from diagnose.rulebase.loading import load_rulebase

    talk = AboutGarment(load_rulebase(), Known(garment=shown, unit=unit), lambda _: ())
    mirror = Mirror(
        talk, {}, putting(sys.stdout), take=taking(sys.stdout), keep=lambda _given, _answers: None, comes="the case",
        kept=False
    )  # fmt: skip
    walk = mirror.hold()
    return {**shown, **(walk.answers.get("garment", {}) if walk else {})} or None
