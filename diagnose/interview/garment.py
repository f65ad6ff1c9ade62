"""What is asked of the garment when a case is begun, from ``garment.yaml``: what it is, and what parts it has."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from diagnose.interview.body_places import may_have, rows_of
from diagnose.interview.flow import Interview
from diagnose.interview.question import Given, Kind, Option, Question, Value

__all__ = ["AboutGarment", "garment_questions"]

PART = "The garment"


def garment_questions(told: Mapping[str, Any], given: Given) -> Iterator[Question]:
    """The questions about a garment, in order; one that another fact closes is passed over.

    Args:
        told: the facts known already, which are not asked.
        given: the replies so far, by question id (``garment.FACT``).
    """
    for row in rows_of("garment.yaml"):
        known = {**{id_.partition(".")[2]: value for id_, value in given.items()}, **told}
        if row["fact"] not in told and may_have(known, row.get("only_if", {})):
            options = tuple(Option(word, text) for word, text in row.get("options", {}).items())
            kind: Kind = "choice" if options else "yes-no"
            yield Question(f"garment.{row['fact']}", PART, kind, text=row["text"], why=row["why"], options=options)


class AboutGarment(Interview, frozen=True):
    """The talk about the garment alone; what it comes to stands under ``garment`` of its answers."""

    def _questions(self, replies: Given, given: dict[str, Value]) -> Iterator[Question]:
        yield from garment_questions(self.known.garment, given)

    def _left(self, given: Given) -> int:
        return sum(question.id not in given for question in garment_questions(self.known.garment, given))
