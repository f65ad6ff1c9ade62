"""Answers kept: while a list of operations is done the same few values are asked the same things over and over."""

from __future__ import annotations

from collections import deque
from collections.abc import Callable
from functools import lru_cache
from typing import Generic, ParamSpec, TypeVar, cast

__all__ = ["OfLate", "forget", "kept"]

Given = ParamSpec("Given")
Answer = TypeVar("Answer")
_forgetting: list[Callable[[], None]] = []


def kept(most: int) -> Callable[[Callable[Given, Answer]], Callable[Given, Answer]]:
    """Keep the last `most` answers of a pure function of values."""

    def keeping(function: Callable[Given, Answer]) -> Callable[Given, Answer]:
        cached = lru_cache(maxsize=most)(function)
        _forgetting.append(cached.cache_clear)
        return cast(Callable[Given, Answer], cached)

    return keeping


class OfLate(Generic[Answer]):
    """The last answers to questions of which part is too large to be compared: it must be the very same objects.

    Args:
        most: how many are kept.
    """

    def __init__(self, most: int) -> None:
        self._rows: deque[tuple[tuple[object, ...], object, Answer]] = deque(maxlen=most)
        _forgetting.append(self._rows.clear)

    def get(self, same: tuple[object, ...], alike: object, work_out: Callable[[], Answer]) -> Answer:
        """The answer kept, or worked out and kept.

        Args:
            same: what must be the very same objects.
            alike: what must be equal.
            work_out: gives the answer.
        """
        for objects, other, answer in tuple(self._rows):
            if all(a is b for a, b in zip(objects, same, strict=True)) and other == alike:
                return answer
        answer = work_out()
        self._rows.append((same, alike, answer))
        return answer


def forget() -> None:
    """Let go of every answer kept, so that all is worked out again (for measuring how long that takes)."""
    for clear in _forgetting:
        clear()
