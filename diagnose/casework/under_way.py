"""A try-on under way, answered in several places: each reply is put among those on disk, so that none is lost."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any

from diagnose import casebook
from diagnose.casebook import Case
from diagnose.casework.working import base_for, learnt_of, matcher_of, tryon_of
from diagnose.interview import Interview, Known, Value, draft_of, replies_of
from diagnose.model.diagnosis import Ask
from diagnose.plan.whole import late_questions

__all__ = ["change_replies", "interview_for", "replies_now"]


def interview_for(case: Case) -> Interview:
    """The interview of a case's next try-on."""
    base, number = base_for(case), len(case.tryons) + 1

    def ask(answers: Mapping[str, Any]) -> Sequence[Ask]:
        tryon = tryon_of(case, answers, number, base=base)
        learnt = learnt_of(case, number, answers, tryon=tryon, base=base)
        matcher = matcher_of(base)  # the asking thread's own
        return late_questions(tryon, base, matcher, pattern=case.newest.pattern, learnt=learnt)

    return Interview(base, Known.of_case(case), ask)


def replies_now(case: Case) -> dict[str, Value]:
    """The replies kept of the next try-on, in the order given."""
    return replies_of(casebook.load_draft(case))


def change_replies(case: Case, interview: Interview, change: Callable[[dict[str, Value]], None]) -> dict[str, Value]:
    """Change the replies on disk, and give them as they are then. One caller at a time: see `casebook.asking`.

    Args:
        case: the case as it is now.
        interview: of its next try-on.
        change: what is changed in the replies; it may raise, and then nothing is.

    Raises:
        FitError: when they are being answered elsewhere, or can't be kept.
    """
    with casebook.asking(case.folder):
        replies = replies_now(case)
        change(replies)
        casebook.save_draft(case, draft_of(replies, interview.answers(replies)))
    return replies
