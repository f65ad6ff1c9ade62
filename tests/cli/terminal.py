"""A real pseudo-terminal with `diagnose` in it, driven as a maker drives it: read until she sees, type, read on."""

from __future__ import annotations

import os
import pty
import select
import signal
import sys
import time
from codecs import getincrementaldecoder
from types import TracebackType

import pytest

__all__ = ["Terminal"]

PATIENCE_S = 60.0


class Terminal:
    """`diagnose` with these arguments, on a terminal of 80 columns that knows no colour.

    Attributes:
        seen: what has come up and has not been passed over; everything: all that has come up.
    """

    def __init__(self, *arguments: str) -> None:
        self.seen = self.everything = ""
        self._text = getincrementaldecoder("utf-8")("replace")
        try:
            self.pid, self.handle = pty.fork()
        except OSError as error:
            pytest.skip(f"this machine gives no terminal ({error})")
        if self.pid == 0:
            environment = {**os.environ, "TERM": "dumb", "COLUMNS": "80", "NO_COLOR": "1"}
            os.execvpe(sys.executable, [sys.executable, "-m", "diagnose", *arguments], environment)

    def __enter__(self) -> Terminal:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        if self.pid:
            os.kill(self.pid, signal.SIGKILL)
            os.waitpid(self.pid, 0)
        os.close(self.handle)

    def until(self, text: str) -> str:
        """What comes up to and with `text`."""
        ends = time.monotonic() + PATIENCE_S
        while text not in self.seen:
            ready, _, _ = select.select([self.handle], [], [], max(0.0, ends - time.monotonic()))
            assert ready, f"“{text}” never came; last seen:\n{self.seen[-1500:]}"
            assert self._read(), f"it ended before “{text}” came; last seen:\n{self.seen[-1500:]}"
        before, _, self.seen = self.seen.partition(text)
        return before + text

    def type(self, *lines: str) -> None:
        """Type lines, each when its prompt is there."""
        for line in lines:
            self.until("> ")
            os.write(self.handle, line.encode() + b"\n")

    def press(self, key: bytes) -> None:
        os.write(self.handle, key)

    def hang_up(self) -> None:
        """Close the terminal window."""
        os.kill(self.pid, signal.SIGHUP)

    def end(self) -> tuple[int, str]:
        """The exit code, and the rest that was shown."""
        ends = time.monotonic() + PATIENCE_S
        while True:
            ready, _, _ = select.select([self.handle], [], [], max(0.0, ends - time.monotonic()))
            assert ready, f"it did not end; last seen:\n{self.seen[-1500:]}"
            if not self._read():
                break
        _, status = os.waitpid(self.pid, 0)
        self.pid = 0
        return os.waitstatus_to_exitcode(status), self.seen

    def _read(self) -> bool:
        """Take what has come up; False when the other end is closed."""
        try:
            came = os.read(self.handle, 65536)
        except OSError:
            came = b""
        piece = self._text.decode(came)
        # A letter, or the end of a line, may come in two pieces.
        self.seen = (self.seen + piece).replace("\r\n", "\n")
        self.everything = (self.everything + piece).replace("\r\n", "\n")
        return bool(came)
