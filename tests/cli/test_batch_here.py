"""A batch in this process, and what each of several processes does for its part."""

from __future__ import annotations

import io
import json
import os
import signal
from collections.abc import Iterator
from typing import Any

import pytest

from diagnose.cli import batching
from diagnose.cli.batching import MOST_LINES, Block, answer_block, blocks_of
from diagnose.cli.running import run
from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.neutral import Matcher

GOOD = json.dumps({"id": "a", "target": "2 in", "gap": {"waist": "1 in"}}).encode()
Said = pytest.CaptureFixture[str]


@pytest.fixture
def own(monkeypatch: pytest.MonkeyPatch) -> Iterator[list[Any]]:
    """The rule base and matcher of this process, as if it were one of several; its signals are put back."""
    before = signal.getsignal(signal.SIGINT)
    kept: list[Any] = []
    monkeypatch.setattr(batching, "_own", kept)
    yield kept
    signal.signal(signal.SIGINT, before)


def fed(monkeypatch: pytest.MonkeyPatch, *lines: bytes) -> None:
    monkeypatch.setattr("sys.stdin", io.TextIOWrapper(io.BytesIO(b"\n".join(lines))))


def test_lines_are_answered_one_by_one_and_one_that_is_wrong_ends_with_two(
    monkeypatch: pytest.MonkeyPatch, capsys: Said
) -> None:
    fed(monkeypatch, GOOD, b"", b"no JSON", GOOD)
    assert run(["batch"]) == 2
    found = [json.loads(line) for line in capsys.readouterr().out.splitlines()]
    assert [row.get("id") for row in found] == ["a", None, "a"]
    assert found[1]["error"]["where"] == "line 3"
    assert found[0] == found[2]


def test_a_block_is_answered_as_its_lines_alone_and_its_mistakes_bear_the_numbers_of_the_whole(
    base: RuleBase, matcher: Matcher
) -> None:
    alone = answer_block(Block(1, (GOOD,)), base, matcher)
    assert alone.wrong is False
    block = answer_block(Block(33, (GOOD, b"\n", b"{", GOOD)), base, matcher)
    first, wrong, last = block.text.splitlines(keepends=True)
    assert first == last == alone.text
    assert block.wrong is True
    assert json.loads(wrong)["error"]["where"] == "line 35"


@pytest.mark.parametrize(
    ("count", "sizes"), [(0, []), (1, [1]), (MOST_LINES, [MOST_LINES]), (MOST_LINES + 1, [MOST_LINES, 1])]
)
def test_no_block_is_empty_and_none_is_lost(count: int, sizes: list[int]) -> None:
    blocks = list(blocks_of([b"x\n"] * count))
    assert [len(block.lines) for block in blocks] == sizes
    assert [block.first for block in blocks] == [1 + MOST_LINES * n for n in range(len(sizes))]


def test_a_process_makes_its_own_rules_once_and_leaves_ctrl_c_to_the_first(
    own: list[Any], base: RuleBase, matcher: Matcher
) -> None:
    made: list[int] = []

    def making() -> tuple[RuleBase, Matcher]:
        made.append(1)
        return base, matcher

    batching._start(making)
    assert signal.getsignal(signal.SIGINT) is signal.SIG_IGN
    blocks = [Block(1, (GOOD,)), Block(2, (GOOD,))]
    one, two = map(batching._answer, blocks)
    assert one == two == answer_block(blocks[0], base, matcher)
    assert len(made) == 1


def test_a_process_ends_with_the_one_that_started_it_and_the_first_has_none(monkeypatch: pytest.MonkeyPatch) -> None:
    done: list[object] = []

    class Parent:
        def join(self) -> None:
            done.append("joined")

    monkeypatch.setattr(os, "_exit", done.append)
    monkeypatch.setattr(batching, "parent_process", lambda: None)
    batching._end_with_parent()
    assert done == []
    monkeypatch.setattr(batching, "parent_process", Parent)
    batching._end_with_parent()
    assert done == ["joined", 1]
