"""A try-on held by lines without a terminal: what is typed goes in, what is shown after each line comes out."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Any

from msgspec import Struct

from diagnose.cli.asking.mirror import Mirror
from diagnose.interview import Interview, Known, Value, Walk
from diagnose.model.diagnosis import Ask
from diagnose.rulebase.base import RuleBase

__all__ = ["Held", "hold"]


class Held(Struct):
    """A try-on that was held: what it came to, what was shown after each line typed, and what was kept at each reply.

    `walk` is None when she left; it is "asked on" when more was asked than was typed.
    """

    walk: Walk | str | None
    shown: list[str]
    replies: dict[str, Value]
    kept: list[tuple[dict[str, Value], Mapping[str, Any]]]

    def after(self, number: int) -> str:
        """What was shown after so many lines had been typed, as one run of words."""
        return " ".join(self.shown[number].split())

    @property
    def last(self) -> str:
        return self.after(-1)


def hold(
    base: RuleBase, *typed: str, ask: Callable[[Mapping[str, Any]], Sequence[Ask]] = lambda _: (),
    replies: Mapping[str, Value] | None = None, **known: Any,
) -> Held:  # fmt: skip
    """Hold a try-on of a back-laced garment by typing these lines."""
    held = Held("asked on", [""], dict(replies or {}), [])
    lines = iter(typed)

    def put(shown: Iterable[str]) -> None:
        held.shown[-1] += "".join(f"{line}\n" for line in shown)

    def take(prompt: str) -> str:
        held.shown[-1] += prompt
        line = next(lines, None)
        if line is None:
            raise EOFError
        held.shown.append("")
        return f"{line}\n"

    about = Known(**{"garment": {"closure": "back"}, "target": "2 in", **known})
    mirror = Mirror(
        Interview(base, about, ask), held.replies, put, take, lambda given, made: held.kept.append((dict(given), made))
    )
    try:
        held.walk = mirror.hold()
    except EOFError:
        assert next(lines, None) is None
    return held
