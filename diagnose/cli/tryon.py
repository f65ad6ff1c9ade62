"""``diagnose tryon``: the try-on at the mirror, asked in the terminal or on a page, or read from a file."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterable, Iterator, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from diagnose.cli import options as o
from diagnose.cli.printing import clean, show, talk
from diagnose.errors import FitError

if TYPE_CHECKING:
    from diagnose.casebook import Case
    from diagnose.cli.cases import WorkedOut
    from diagnose.interview import Interview, Outcome, Value

__all__ = ["tryon"]

CaseArgument = Annotated[Path, typer.Argument(metavar="CASE", help="A case folder.")]
AnswersOption = Annotated[
    Path | None, typer.Option("--answers", metavar="FILE", help="Read the answers (JSON or YAML) instead of asking.")
]
PageOption = Annotated[bool, typer.Option("--page", help="Ask on a page in the browser, on this machine only.")]


def tryon(case: CaseArgument, answers: AnswersOption = None, page: PageOption = False, json: o.Json = False) -> None:
    """Go through a try-on: what is seen and measured, then what to do now."""
    if answers is not None:
        if page:
            raise FitError.of("tryon", "--answers and --page don't go together.", "Give the one or the other.")
        from diagnose.cli.cases import read_answers

        raw: Mapping[str, Any] | None = read_answers(answers)
    else:
        raw = _asked(case, page, json)
    if raw is None:
        talk("The answers are kept. Start it again to go on with them.")
        return
    from diagnose.cli.cases import store_tryon

    _tell(store_tryon(case, raw), json)


def interview_for(case: Case) -> Interview:
    """The interview of a case's next try-on."""
    from diagnose.cli.cases import base_for, work_out
    from diagnose.interview import Interview, Known

    number = len(case.tryons) + 1
    return Interview(base_for(case), Known.of_case(case), lambda answers: work_out(case, answers, number).diagnosis.ask)


def _asked(folder: Path, page: bool, as_json: bool) -> Mapping[str, Any] | None:
    """Her answers; None when they are only kept. Breaking off or closing the terminal keeps them too."""
    try:
        return _from_page(folder) if page else _from_terminal(folder, as_json)
    except (KeyboardInterrupt, EOFError):
        talk("Stopped. What was answered so far is kept; start it again to go on.")
        raise typer.Exit(2) from None


def _from_terminal(folder: Path, as_json: bool) -> Mapping[str, Any] | None:
    from diagnose import casebook
    from diagnose.cli.mirror import Mirror
    from diagnose.interview import draft_of

    case = casebook.open_case(folder)
    out = sys.stderr if as_json else sys.stdout
    put, take = _putting(out), _taking(out)
    put([f"{case.name}: try-on {len(case.tryons) + 1}, of pattern version {case.newest.number}"])
    replies = _resumed(case, put, take)
    mirror = Mirror(
        interview_for(case), replies, put, take,
        lambda given, answers: casebook.save_draft(case, draft_of(given, answers)),
    )  # fmt: skip
    walk = mirror.hold()
    return None if walk is None else walk.answers


def _putting(out: Any) -> Callable[[Iterable[str]], None]:
    def put(lines: Iterable[str]) -> None:
        for line in lines:
            out.write(clean(line.rstrip()) + "\n")
        out.flush()

    return put


def _taking(out: Any) -> Callable[[str], str]:
    def take(prompt: str) -> str:
        out.write(prompt)
        out.flush()
        line = sys.stdin.readline()
        if not line:
            out.write("\n")
            raise EOFError
        return line

    return take


def _resumed(case: Case, put: Callable[[Iterable[str]], None], take: Callable[[str], str]) -> dict[str, Value]:
    """The replies of a try-on that was broken off, if she wants to go on with them."""
    from diagnose import casebook
    from diagnose.interview import replies_of

    replies = replies_of(casebook.load_draft(case))
    if not replies:
        return {}
    put(["", f"{len(replies)} answers are kept from a try-on that was broken off. Go on with them? (y or n)"])
    while (word := take("> ").strip().casefold()) not in ("y", "yes", "n", "no"):
        put(["Type y to go on with them, or n to drop them and begin afresh."])
    if word in ("y", "yes"):
        return replies
    casebook.drop_draft(case)
    return {}


def _from_page(folder: Path) -> Mapping[str, Any] | None:
    from diagnose import casebook
    from diagnose.page import hold_page

    case = casebook.open_case(folder)
    return hold_page(case, interview_for(case), talk)


def _tell(worked: WorkedOut, as_json: bool) -> None:
    from diagnose.sheets.json_out import diagnosis_to_json

    diagnosis = worked.diagnosis
    data = {**diagnosis_to_json(diagnosis), "tryon": worked.number}
    show(_lines(worked), data, as_json)
    if not (diagnosis.stop or diagnosis.causes or diagnosis.gap.stations):
        raise typer.Exit(1)


def _lines(worked: WorkedOut) -> Iterator[str]:
    """What a try-on came to, in plain lines."""
    from diagnose.interview import outcome_of
    from diagnose.sheets.gap_text import gap_lines, wrapped

    outcome = outcome_of(worked.diagnosis, worked.base, worked.case.unit)
    if outcome.stop:
        yield ""
        yield "STOP. UNLACE NOW."
        yield from wrapped("; ".join(outcome.stop) + ".")
        yield ""
        yield from wrapped(outcome.stop_do)
        yield ""
        yield "This is stored. Nothing is said of the pattern until it is clear."
        return
    yield ""
    if worked.diagnosis.gap.stations:
        yield from gap_lines(worked.diagnosis.gap, worked.tryon.garment.seams_per_half, worked.base.settings)
        yield ""
    yield from _outcome_lines(outcome)
    yield f"Stored as try-on {worked.number}."
    if any(step.operations for step in worked.round_one):
        yield "To draw the steps into the pattern: diagnose alter CASE"


def _outcome_lines(outcome: Outcome) -> Iterator[str]:
    from diagnose.sheets.gap_text import wrapped

    for title, items in (("What is seen", outcome.findings), ("What it comes from", outcome.causes)):
        yield from _part(title, items)
    yield "Do this now"
    if not outcome.now:
        nothing = "Nothing fits what was seen." if not outcome.causes else "Nothing is sure enough to alter for."
        yield from wrapped(nothing, "  ")
    for step in outcome.now:
        side = "" if step.side == "both sides" else f", {step.side}"
        yield from wrapped(f"{step.title}{side}", f"  {step.id}  ")
        for text in (*step.amount, step.where):
            yield from wrapped(text, "       ")
        yield from wrapped(f"Why: {step.why}", "       ")
        for text in step.more:
            yield from wrapped(f"Note: {text}", "       ")
    yield ""
    yield from _part("The next try-on should show", (*outcome.expect, *_predicted(outcome)))
    yield from _part("Later, if it is still wanted", outcome.later)
    yield from _part("Held back", outcome.held)
    yield from _part("Still worth looking at", outcome.ask)
    yield from _part("Taken for granted", outcome.presumed)
    yield from _part("Mind", outcome.cautions)


def _predicted(outcome: Outcome) -> tuple[str, ...]:
    gaps = ", ".join(f"{name} {words}" for name, words in outcome.predicted)
    return (f"The gap: {gaps}.",) if gaps else ()


def _part(title: str, items: Iterable[str]) -> Iterator[str]:
    from diagnose.sheets.gap_text import wrapped

    rows = [line for item in items for line in wrapped(item, "  - ")]
    if rows:
        yield title
        yield from rows
        yield ""
