"""How far a long piece of work is: told on a terminal, and nowhere else."""

from __future__ import annotations

import io
import sys

import pytest

from diagnose.cli.progress import progress


class Screen(io.StringIO):
    """Text that takes itself for a terminal."""

    def isatty(self) -> bool:
        return True


def test_on_a_terminal_the_work_and_how_much_is_done_are_told_and_gone_at_the_end(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    screen = Screen()
    monkeypatch.setenv("TERM", "xterm")
    monkeypatch.setattr(sys, "stderr", screen)
    with progress("Drawing the pages") as told:
        for page in range(1, 8):
            told(page, 7)
    assert "Drawing the pages" in screen.getvalue()
    assert "7/7" in screen.getvalue()
    assert screen.getvalue().rstrip().endswith("\x1b[2K")


def test_where_stderr_is_a_file_nothing_is_written(monkeypatch: pytest.MonkeyPatch) -> None:
    log = io.StringIO()
    monkeypatch.setattr(sys, "stderr", log)
    with progress("Drawing the pages") as told:
        told(1, 7)
    assert log.getvalue() == ""


def test_results_written_to_the_same_terminal_are_not_mixed_with_it(monkeypatch: pytest.MonkeyPatch) -> None:
    screen = Screen()
    monkeypatch.setattr(sys, "stderr", screen)
    monkeypatch.setattr(sys, "stdout", Screen())
    with progress("Try-ons answered", writing=True) as told:
        told(1, None)
    assert screen.getvalue() == ""
