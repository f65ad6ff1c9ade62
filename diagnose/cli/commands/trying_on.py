"""``diagnose tryon``: the try-on at the mirror, asked in the terminal or on a page, or read from a file."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterable, Iterator
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from diagnose.cli import options as o
from diagnose.cli.printing import putting, show, taking, talk
from diagnose.cli.stopping import STOPPED, StoppedError

if TYPE_CHECKING:
    from diagnose.casebook import Case
    from diagnose.casework.working import WorkedOut
    from diagnose.interview import Value
    from diagnose.sheets.words.parts import Said

__all__ = ["tryon"]

AnswersOption = Annotated[
    Path | None, typer.Option("--answers", metavar="FILE", help="Read the answers (JSON or YAML) instead of asking.")
]
PageOption = Annotated[bool, typer.Option("--page", help="Ask on a page in the browser, on this machine only.")]
OpenOption = Annotated[
    bool | None, typer.Option("--open/--no-open", help="With --page: open the browser, or only print the address.")
]

MOST_NAMED = 20
"""The longest case folder that is written into a command within the width of a line; a longer one is called CASE."""


def tryon(
    case: o.CaseArgument, answers: AnswersOption = None, page: PageOption = False, open_: OpenOption = None,
    json: o.Json = False,
) -> None:  # fmt: skip
    """Go through a try-on: what is seen and measured, then what to do now."""
    from diagnose.casework.working import check_answers, store_tryon
    from diagnose.cli.asking.answers_file import placed, read_answers

    if answers is not None:
        o.check_apart("--answers", {"--page": page, "--open": open_, "--no-open": open_ is False})
        with placed(answers):
            stored = store_tryon(case, read_answers(answers, partial(check_answers, case)))
        _tell(stored, case, json)
        return
    if not page:
        o.check_apart("questions in the terminal", {"--open": open_, "--no-open": open_ is False})
    from diagnose import casebook

    folder = casebook.open_case(case).folder
    try:
        if page:
            worked = _on_page(folder, open_ is not False)
        else:
            with casebook.asking(folder):
                worked = _in_terminal(casebook.open_case(folder), json)
    except (KeyboardInterrupt, StoppedError, EOFError) as stopped:
        talk("Stopped. What was answered so far is kept; start it again to go on.")
        raise typer.Exit(2 if isinstance(stopped, EOFError) else STOPPED) from None
    if worked is None:
        talk("The answers are kept. Start it again to go on with them.")
        return
    _tell(worked, case, json)


def _in_terminal(case: Case, as_json: bool) -> WorkedOut | None:
    """The try-on asked in the terminal and stored; None when the answers are only kept."""
    from diagnose import casebook
    from diagnose.casework.under_way import interview_for
    from diagnose.casework.working import store_tryon
    from diagnose.cli.asking.mirror import Mirror
    from diagnose.interview import draft_of

    out = sys.stderr if as_json else sys.stdout
    put, take = putting(out), taking(out)
    put([_title(case)])
    replies = _resumed(case, put, take)
    mirror = Mirror(
        interview_for(case), replies, put, take=take,
        keep=lambda given, answers: casebook.save_draft(case, draft_of(given, answers)),
    )  # fmt: skip
    walk = mirror.hold()
    return None if walk is None else store_tryon(case.folder, walk.answers)


def _on_page(folder: Path, open_: bool) -> WorkedOut | None:
    """The try-on answered in the workroom; None when it was ended before, and the answers are only kept."""
    from urllib.parse import quote

    from diagnose import casebook
    from diagnose.casework.working import work_out
    from diagnose.cli.commands.workroom import has_screen, in_browser
    from diagnose.workroom import hold_workroom

    folder = folder.resolve()
    before = len(casebook.open_case(folder).tryons)
    try:
        hold_workroom(
            folder.parent, talk, in_browser if open_ and has_screen() else None,
            start=f"/case/{quote(folder.name, safe='')}/tryon", until=lambda: _tryons(folder) > before,
        )  # fmt: skip
    except (KeyboardInterrupt, StoppedError):
        if _tryons(folder) == before:
            raise
    case = casebook.open_case(folder)
    if len(case.tryons) == before:
        return None
    stored = case.tryons[-1]
    return work_out(case, stored.answers, stored.number, version=stored.pattern_version)


def _tryons(folder: Path) -> int:
    from diagnose.casebook.layout import TRYONS, last_number

    return last_number(folder / TRYONS)


def _title(case: Case) -> str:
    return f"{case.name}: try-on {len(case.tryons) + 1}, of pattern version {case.newest.number}"


def _resumed(case: Case, put: Callable[[Iterable[Said]], None], take: Callable[[str], str]) -> dict[str, Value]:
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


def _tell(worked: WorkedOut, folder: Path, as_json: bool) -> None:
    from diagnose.sheets.json_out import diagnosis_to_json

    diagnosis = worked.diagnosis
    data = {**diagnosis_to_json(diagnosis), "tryon": worked.number}
    show(_lines(worked, folder), data, as_json)
    if not (diagnosis.stop or diagnosis.causes or diagnosis.gap.stations):
        raise typer.Exit(1)


def _lines(worked: WorkedOut, folder: Path) -> Iterator[Said]:
    """What a try-on came to in short, and what can be done with it."""
    from diagnose.casework.sheeting import words_of
    from diagnose.sheets.words.text import brief_lines

    yield ""
    yield from brief_lines(words_of(worked, worked.case.tryons[-1].date))
    yield ""
    yield f"Stored as try-on {worked.number}."
    if worked.diagnosis.stop:
        return
    case = folder if len(str(folder)) <= MOST_NAMED else "CASE"
    yield f"All of it, with reasons and lines to draw: diagnose plan {case}"
    if worked.operations:
        yield f"To draw the steps into the pattern:        diagnose alter {case}"
