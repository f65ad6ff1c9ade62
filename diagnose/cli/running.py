"""Running one command line to its exit code, with every error shown as a sentence."""

from __future__ import annotations

import os
import sys
import traceback
from collections.abc import Sequence
from io import TextIOWrapper

from diagnose.cli.printing import talk
from diagnose.cli.stopping import STOPPED, StoppedError
from diagnose.errors import FitError

__all__ = ["run"]

DONE, USER_CAN_MEND, OUR_FAULT = 0, 2, 3


def run(arguments: Sequence[str]) -> int:
    """The exit code of a command line; errors are told on stderr, never as a traceback."""
    _ready_streams()
    try:
        from diagnose.cli.app import app

        try:
            app(args=list(arguments), prog_name="diagnose")
        finally:
            sys.stdout.flush()
    except FitError as error:
        for mistake in error.mistakes:
            talk(str(mistake))
        return USER_CAN_MEND
    except SystemExit as ended:
        if isinstance(ended.__context__, BrokenPipeError):  # the framework's own end of it, which is no mistake
            return DONE
        return ended.code if isinstance(ended.code, int) else DONE
    except (KeyboardInterrupt, StoppedError) as stopped:
        talk(str(stopped) or str(StoppedError()))
        return STOPPED
    except BrokenPipeError:
        _say_no_more()
        return DONE
    except OSError as error:  # the maker's files have sentences of their own, so this is mostly what stdout leads to
        _say_no_more()
        talk(f"{error.filename or 'The result'} can't be read or written ({error.strerror}). Look at the disk.")
        return USER_CAN_MEND
    except Exception as error:  # the one place where what nobody foresaw is turned into a sentence
        if os.environ.get("DIAGNOSE_TRACE"):
            traceback.print_exc()
        talk(f"Something broke in the program itself ({type(error).__name__}: {error}).")
        talk("Run it again with DIAGNOSE_TRACE=1 set and send us what it prints.")
        return OUR_FAULT
    return DONE


def _ready_streams() -> None:
    """Streams that are closed lead nowhere; what a terminal's encoding lacks is shown as ``?``."""
    for name, mode in (("stdin", "r"), ("stdout", "w"), ("stderr", "w")):
        stream = getattr(sys, name)
        if stream is None:
            setattr(sys, name, open(os.devnull, mode, encoding="utf-8"))  # noqa: SIM115 - it stays open
        elif mode == "w" and isinstance(stream, TextIOWrapper):
            stream.reconfigure(errors="replace")


def _say_no_more() -> None:
    """Send what is still to be written nowhere, so that the end of the program does not trip over it."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), 1)
