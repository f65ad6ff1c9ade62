"""The try-on as a conversation, without any input or output: what is asked next, and what the replies come to."""

from __future__ import annotations

from diagnose.interview.answers import answers_of, draft_of, replies_of
from diagnose.interview.flow import Interview, Walk
from diagnose.interview.garment import AboutGarment, garment_questions
from diagnose.interview.known import Known
from diagnose.interview.question import Option, Question, Value
from diagnose.interview.replying import doubt, read_reply, read_value, said

__all__ = [
    "AboutGarment", "Interview", "Known", "Option", "Question", "Value", "Walk", "answers_of", "doubt",
    "draft_of", "garment_questions", "read_reply", "read_value", "replies_of", "said",
]  # fmt: skip
