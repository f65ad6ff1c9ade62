"""A try-on talked through without a terminal: typed words in, the walk out."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from diagnose.interview import Interview, Known, Value, Walk, read_reply
from diagnose.model.diagnosis import Ask
from diagnose.rulebase.base import RuleBase

__all__ = ["asks", "interview", "talk"]

QUICK = {"stop": "n", "tension": "1", "ready": "y", "today": "?", "where": "n", "looked": "n", "at.once-off": "n"}


def asks(*ids: str) -> Sequence[Ask]:
    """What would change the plan, in this order."""
    return [Ask(id_, "?", "", "", ()) for id_ in ids]


def interview(base: RuleBase, *wanted: str, **known: Any) -> Interview:
    """An interview of a back-laced garment in which these ids would change the plan until they are known."""
    about = Known(**{"garment": {"closure": "back"}, "target": "2 in", **known})

    def ask(answers: Mapping[str, Any]) -> Sequence[Ask]:
        told = {**answers.get("seen", {}), **answers.get("known", {})}
        return asks(*(id_ for id_ in wanted if id_ not in told))

    return Interview(base, about, ask)


def talk(
    held: Interview, typed: Mapping[str, str], replies: dict[str, Value] | None = None, quick: bool = True
) -> tuple[Walk, dict[str, Value]]:
    """Answer question after question with what is typed for its id, as far as there is something."""
    given = dict(replies or {})
    words = {**(QUICK if quick else {}), **typed}
    while True:
        walk = held.walk(given)
        if walk.next is None or walk.next.id not in words:
            return walk, given
        given[walk.next.id] = read_reply(walk.next, words[walk.next.id], held.known.unit)
