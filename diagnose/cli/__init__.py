"""The command line: a command parses, calls one function and hands its result to one printer."""

from __future__ import annotations

import gc
import os
import sys
from collections.abc import Sequence

__all__ = ["main"]

GOING_ON = ("batch", "demo", "rules", "tryon", "workroom")


def main() -> None:
    """Run a command and end the process: 0 done; 1 nothing could be said; 2 the user can put it right; 3 our fault."""
    if _ends_soon(sys.argv[1:]):
        # Nearly all that a short command loads is wanted to its end: to search it for what is not only costs time.
        gc.disable()
    # Looking for plugins of its own, the package that checks types would read every installed package's papers.
    os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "__all__")
    from diagnose.cli.running import run

    ended = run(sys.argv[1:])
    # What is left is given back with the process: to search it once more for what is not wanted takes a tenth of a run.
    gc.freeze()
    sys.exit(ended)


def _ends_soon(arguments: Sequence[str]) -> bool:
    """Whether the command does one thing and is done, and does not go on for as long as it is fed."""
    return bool(arguments) and (arguments[0] not in GOING_ON or (arguments[0] == "tryon" and "--answers" in arguments))
