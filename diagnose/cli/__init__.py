"""The command line: a command parses, calls one function and hands its result to one printer."""

from __future__ import annotations

import sys

__all__ = ["main"]


def main() -> None:
    """Run a command and end the process: 0 done; 1 nothing could be said; 2 the user can put it right; 3 our fault."""
    from diagnose.cli.running import run

    sys.exit(run(sys.argv[1:]))
