"""Answers kept: while a list of operations is done the same few values are asked the same things over and over."""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache
from typing import ParamSpec, TypeVar, cast

__all__ = ["forget", "kept"]

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


def forget() -> None:
    """Let go of every answer kept, so that all is worked out again (for measuring how long that takes)."""
    for clear in _forgetting:
        clear()
