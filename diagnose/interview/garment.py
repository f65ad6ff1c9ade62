"""What is asked of the garment when a case is begun, from ``garment.yaml``: what it is, and what parts it has."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import lru_cache
from pathlib import Path
from typing import Any

import yaml

from diagnose.interview.body_places import may_have
from diagnose.interview.flow import Interview, Replies
from diagnose.interview.question import Kind, Option, Question, Value

__all__ = ["AboutGarment", "garment_questions"]

PART = "The garment"


def garment_questions(told: Mapping[str, Any], given: Mapping[str, Value]) -> Iterator[Question]:
    """The questions about a garment, in order; one that another fact closes is passed over.

    Args:
        told: the facts known already, which are not asked.
        given: the replies so far, by question id (``garment.FACT``).
    """
    for row in _rows():
        known = {**{id_.partition(".")[2]: value for id_, value in given.items()}, **told}
        if row["fact"] not in told and may_have(known, row.get("only_if", {})):
            options = tuple(Option(word, text) for word, text in row.get("options", {}).items())
            kind: Kind = "choice" if options else "yes-no"
            yield Question(f"garment.{row['fact']}", PART, kind, text=row["text"], why=row["why"], options=options)


class AboutGarment(Interview, frozen=True):
    """The talk about the garment alone; what it comes to stands under ``garment`` of its answers."""

    def _questions(self, replies: Replies, given: dict[str, Value]) -> Iterator[Question]:
        yield from garment_questions(self.known.garment, given)

    def _left(self, given: Mapping[str, Value]) -> int:
        return sum(question.id not in given for question in garment_questions(self.known.garment, given))


@lru_cache(maxsize=1)
def _rows() -> list[dict[str, Any]]:
    rows: list[dict[str, Any]] = yaml.safe_load(Path(__file__).with_name("garment.yaml").read_text(encoding="utf-8"))
    return rows
