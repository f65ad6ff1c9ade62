"""A try-on under way as it lies on disk: the replies by question, in order, and the answers they come to."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from diagnose.interview.question import Value

__all__ = ["draft_of", "replies_of"]


def draft_of(replies: Mapping[str, Value], answers: Mapping[str, Any]) -> dict[str, Any]:
    """What is kept of a try-on under way."""
    return {"replies": [{"question": id_, "reply": value} for id_, value in replies.items()], "answers": dict(answers)}


def replies_of(draft: Mapping[str, Any] | None) -> dict[str, Value]:
    """The replies kept in a draft; what is no reply is left out, and is then asked again."""
    rows = (draft or {}).get("replies")
    found: dict[str, Value] = {}
    for row in rows if isinstance(rows, list) else ():
        if not isinstance(row, dict) or not isinstance(row.get("question"), str):
            continue
        if "reply" in row and _is_reply(row["reply"]):
            found[row["question"]] = row["reply"]
    return found


def _is_reply(value: object) -> bool:
    if isinstance(value, list):
        return all(isinstance(one, str) for one in value)
    return value is None or isinstance(value, bool | str | int | float)
