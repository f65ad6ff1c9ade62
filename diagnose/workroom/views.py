"""The pages as text, from what the try-on stands at."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from pathlib import Path
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined

from diagnose.errors import Mistake
from diagnose.interview import Question, Walk, said
from diagnose.interview.signs import FOLLOWING
from diagnose.sheets.view import SheetView
from diagnose.workroom.gap_view import gap_view
from diagnose.workroom.holding import Holding

__all__ = ["View"]

TEMPLATES = Path(__file__).parent / "templates"


class View:
    """Makes each page of one try-on."""

    def __init__(self, holding: Holding) -> None:
        self._holding = holding

    def question(self, question: Question, walk: Walk, typed: str | None = None, wrong: Sequence[Mistake] = ()) -> str:
        """One question.

        Args:
            question: what is asked; walk: where the try-on stands.
            typed: what was typed and refused; wrong: why.
        """
        values = {q.id: value for q, value in walk.answered}
        answered = question.id in values
        unit = self._holding.interview.known.unit
        before = walk.before(question.id)
        return self._made(
            "question.html.j2", title=question.text, question=question, wrong=wrong, answered=answered,
            number=[*values].index(question.id) + 1 if answered else walk.number,
            about=walk.at_most if question.part == FOLLOWING else max(walk.about, walk.number),
            value=values.get(question.id), typed=_written(question, values, typed),
            was=said(question, values[question.id], unit) if answered else "",
            last="" if question.last is None else said(question, question.last, unit),
            before=before.id if before else None, unit=unit, late=question.part == FOLLOWING,
            gap=gap_view(question, walk, self._holding.interview, unit) if question.station else None,
        )  # fmt: skip

    def answers(self, walk: Walk, wrong: Sequence[Mistake] = ()) -> str:
        """All answers so far."""
        unit = self._holding.interview.known.unit
        rows = [(question, said(question, value, unit)) for question, value in walk.answered]
        ready = walk.next is None and not walk.trouble
        title = "That is all that is needed" if ready else "Your answers so far"
        return self._made("answers.html.j2", title=title, rows=rows, ready=ready, wrong=(*wrong, *walk.trouble))

    def resume(self) -> str:
        """Whether to go on with what was kept."""
        return self._made("resume.html.j2", title="Go on with the answers kept?", count=self._holding.resumed)

    def plan(self, sheet: SheetView) -> str:
        """What it came to, in short."""
        title = "Stop. Unlace now." if sheet.stop else "What to do now"
        return self._made("plan.html.j2", title=title, sheet=sheet)

    def message(self, title: str, text: str) -> str:
        """A page that only says something."""
        return self._made("message.html.j2", title=title, text=text)

    def _made(self, template: str, **values: Any) -> str:
        return _templates().get_template(template).render(case=self._holding.title, **values)


def _written(question: Question, values: dict[str, Any], typed: str | None) -> str:
    """What stands in the box to type in."""
    if typed is not None:
        return typed
    value = values.get(question.id)
    return (
        "" if value is None or isinstance(value, bool | list) else f"{value:g}" if isinstance(value, float) else value
    )


@lru_cache(maxsize=1)
def _templates() -> Environment:
    loader = FileSystemLoader(TEMPLATES)
    return Environment(loader=loader, autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True)
