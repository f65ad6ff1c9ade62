"""What is noted with a case, all of it or none: girths taped anew, steps done and not done; and what is cut already."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence

from diagnose import casebook
from diagnose.casebook import Case, StoredTryOn
from diagnose.casebook.case_reading import check_about
from diagnose.casebook.jsonfile import json_text, read_object, table
from diagnose.casebook.lock import locked
from diagnose.casebook.safely import write_text
from diagnose.casework.next_version import alter_case, done_since
from diagnose.casework.working import last_tryon, usual_base
from diagnose.errors import FitError, Mistake, gathered, nearest

__all__ = ["note_case", "ticked", "with_ticks"]

TICKS_NAME = "cutting-ticks.json"
MOST_TICKS = 500


def note_case(case: Case, measured: Mapping[str, str], skipped: Mapping[str, str], done: Sequence[str]) -> None:
    """Keep what is noted.

    Args:
        case: whose.
        measured: girths as given, by name.
        skipped: for each step of the last plan that was not done, why.
        done: the steps of it that were done by hand.

    Raises:
        FitError: with everything that is wrong; nothing is kept then.
    """
    mistakes: list[Mistake] = []
    if measured:
        with gathered(mistakes):
            check_about({}, None, [measured], unit=case.unit, vocabulary=usual_base(case.unit).vocabulary)
    if skipped or done:
        with gathered(mistakes):
            mistakes += _wrong_steps(case, last_tryon(case), skipped, done=done)
    if mistakes:
        raise FitError(mistakes)
    if measured:
        case = casebook.add_measuring(case, measured)
    for step, why in skipped.items():
        case = casebook.note_skipped(case, last_tryon(case).number, step, why=why)
    if done:
        alter_case(case.folder, [], by_hand=done)


def _wrong_steps(case: Case, stored: StoredTryOn, skipped: Collection[str], done: Collection[str]) -> Iterator[Mistake]:
    drawn = done_since(case, stored)
    for step in dict.fromkeys([*skipped, *done]):
        where = "--skipped" if step in skipped else "--done"
        if step not in stored.step_ids:
            yield Mistake(
                where, f"The plan has no step “{step[:40]}”.", nearest(step, stored.step_ids), code="no-such-step"
            )
        elif step in drawn:
            what = f"Step {step} is in version {case.newest.number} already."
            typed = f"Leave it out; diagnose back CASE {stored.pattern_version} goes back to the pattern without it."
            yield Mistake(where, what, "", typed=typed, code="step-drawn")
        elif step in skipped and step in done:
            yield Mistake(
                where, f"Step {step} is said to be done and not done.", "Say the one or the other.", code="done-and-not"
            )


def ticked(case: Case, version: int) -> frozenset[str]:
    """The lines of a version's cutting list that she has ticked."""
    return frozenset(_read(case).get(str(version), ()))


def with_ticks(case: Case, version: int, lines: frozenset[str]) -> None:
    """Keep which lines are ticked.

    Raises:
        FitError: when they can't be kept.
    """
    with locked(case.folder):
        kept = {**_read(case), str(version): sorted(lines)[:MOST_TICKS]}
        value = {"format": "fit-cutting-ticks", "version": 1, "ticked": kept}
        write_text(case.folder / TICKS_NAME, json_text(value, TICKS_NAME))


def _read(case: Case) -> dict[str, list[str]]:
    """All ticks by version; none where there is no such file, or it is not as written: they are soon set again."""
    try:
        rows = table(read_object(case.folder / TICKS_NAME, TICKS_NAME).get("ticked"))
    except FitError:
        return {}
    return {str(key): [str(one) for one in value] for key, value in rows.items() if isinstance(value, list)}
