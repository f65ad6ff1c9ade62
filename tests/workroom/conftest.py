"""One server for all tests of this folder that need no server of their own."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from itertools import count
from pathlib import Path

import pytest
from msgspec.structs import replace
from room_here import Served, at_rest, begun, served

from diagnose.interview import Value


@pytest.fixture(scope="package", autouse=True)
def _left_at_rest() -> Iterator[None]:
    """Nothing of this folder goes on beside the tests of another."""
    yield
    at_rest()


@pytest.fixture(scope="package")
def serve(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Callable[..., Served]]:
    """Adds a case of its own to one workroom, with the replies given so far; the workroom as seen from that case."""
    with served(tmp_path_factory.mktemp("cases")) as room:
        numbers = count(1)

        def serving(replies: Mapping[str, Value] | None = None) -> Served:
            name = f"wren-{next(numbers)}"
            begun(room.folder, replies, name)
            return replace(room, name=name)

        yield serving


@pytest.fixture
def room(tmp_path: Path) -> Iterator[Served]:
    """A workroom of its own, with no case in it yet."""
    with served(tmp_path) as room:
        yield room
