"""The command line: a command parses, calls one function and hands its result to one printer."""

from __future__ import annotations

import gc
import os
import sys

from diagnose.cli.stopping import STOPPED, StoppedError, hear_ctrl_c, hear_no_more

__all__ = ["main"]

OBJECTS_BETWEEN_LOOKS = 200_000
"""So many objects more than were let go, and Python looks for what goes in circles, instead of at every 700: nearly all
that a command makes stays to its end, and what does not is let go by itself (a batch of any length makes no circle)."""


def main() -> None:
    """Run a command and end the process.

    Exit codes: 0 done; 1 nothing could be said; 2 the user can put it right; 3 our fault; 130 stopped by Ctrl-C.
    """
    gc.set_threshold(OBJECTS_BETWEEN_LOOKS)
    # What else is installed beside this program has no part in it: pydantic need not look there for plugins.
    os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "__all__")
    try:
        hear_ctrl_c()
        # Here, and not above, so that Ctrl-C while all this loads is met too.
        from diagnose.cli.running import run

        ended = run(sys.argv[1:])
        hear_no_more()
    except (KeyboardInterrupt, StoppedError):
        print(StoppedError(), file=sys.stderr)
        ended = STOPPED
    gc.freeze()  # all that is left is let go with the process: nothing of it is looked through once more
    sys.exit(ended)
