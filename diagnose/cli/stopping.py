"""Ctrl-C, met wherever it comes: while the program loads, while it works, and where Python can raise nothing."""

from __future__ import annotations

import os
import sys
from types import FrameType

__all__ = ["STOPPED", "StoppedError", "hear_ctrl_c", "hear_no_more"]

_PYDANTIC = f"{os.sep}pydantic{os.sep}"

STOPPED = 130
"""The exit code of a command that Ctrl-C has stopped."""


class StoppedError(BaseException):
    """Ctrl-C was typed.

    Not the KeyboardInterrupt that Python would raise: libraries catch that one, and some forget it while they load.
    """

    def __str__(self) -> str:
        return "Stopped. What was stored before stands, and nothing is half-written."


def hear_ctrl_c() -> None:
    """From here on Ctrl-C raises `StoppedError`."""
    import signal
    import threading  # noqa: F401 - for `_stop`, which may be called while it would still be loading

    signal.signal(signal.SIGINT, _stop)
    sys.unraisablehook = _unraised


def hear_no_more() -> None:
    """From here on Ctrl-C does nothing: all is said and written, and what is left is to end."""
    import signal

    signal.signal(signal.SIGINT, signal.SIG_IGN)


def _stop(_: int, frame: FrameType | None) -> None:
    """Stop by an error; a moment later where the error would be lost or turned into another."""
    if _out_of_hearing(frame):
        _stop_again()
    else:
        raise StoppedError


def _stop_again() -> None:
    """Have the same come a moment later, once what runs now is done."""
    from signal import SIGINT, raise_signal
    from threading import Timer

    again = Timer(0.002, raise_signal, (SIGINT,))
    again.daemon = True
    again.start()


def _out_of_hearing(frame: FrameType | None) -> bool:
    """Whether a package loads, pydantic works, or what was lost is still being told, as it may on a busy machine.

    pydantic turns every error that comes while it builds a validator into one of its own.
    """
    while frame is not None:
        file = frame.f_code.co_filename
        if file.startswith("<frozen importlib") or _PYDANTIC in file or frame.f_code is _unraised.__code__:
            return True
        frame = frame.f_back
    return False


def _unraised(lost: sys.UnraisableHookArgs) -> None:
    """Ctrl-C that came where Python can raise nothing (in a callback of the collector, say) comes again.

    Not at once: raised in here it would be lost in the same way, and told with a traceback.
    """
    if isinstance(lost.exc_value, StoppedError):
        _stop_again()
    else:
        sys.__unraisablehook__(lost)
