"""The one printer: a command's result laid out by rich, or as one JSON object on stdout."""

from __future__ import annotations

import json
import sys
from collections.abc import Callable, Iterable
from typing import TYPE_CHECKING, Any

from diagnose.errors import printable

if TYPE_CHECKING:
    from diagnose.sheets.words.parts import Said

__all__ = ["json_line", "put", "putting", "show", "taking", "talk"]

WIDEST = 100
"""A terminal may be wider; lines longer than this are hard to follow."""


def json_line(data: Any) -> str:
    """JSON on one line. What does not print is escaped; so is all but ASCII where stdout is not in Unicode."""
    text = json.dumps(data, ensure_ascii=not _in_unicode(), allow_nan=False)
    return text if text.isprintable() else "".join(c if c.isprintable() else json.dumps(c)[1:-1] for c in text)


def _in_unicode() -> bool:
    return (getattr(sys.stdout, "encoding", None) or "utf-8").lower().startswith("utf")


def show(said: Iterable[Said], data: dict[str, Any], as_json: bool) -> None:
    """A result on stdout: what is said of it, or its data as one JSON object."""
    if as_json:
        sys.stdout.write(json_line({"version": 1, **data}) + "\n")
    else:
        put(said, sys.stdout)


def put(said: Iterable[Said], stream: Any) -> None:
    """What is said, laid out on a stream: for a terminal in its width and with weight, else plain."""
    from diagnose.sheets.words.parts import plain_lines  # here, for what answers in JSON needs no layout

    if not stream.isatty():
        stream.writelines(f"{line}\n" for line in plain_lines(said))
        return
    from rich.console import Console
    from rich.text import Text

    console = Console(file=stream, highlight=False, markup=False, emoji=False)
    console.width = min(console.width, WIDEST)
    for part in said:
        if isinstance(part, str):  # a line as it stands: a path or a command that is to be copied whole
            console.print(Text(printable(part, but="\n")), soft_wrap=True)
        else:
            console.print(part)


def putting(out: Any) -> Callable[[Iterable[Said]], None]:
    """What shows what is said on a stream."""

    def put_and_flush(said: Iterable[Said]) -> None:
        put(said, out)
        out.flush()

    return put_and_flush


def taking(out: Any) -> Callable[[str], str]:
    """What waits for a line after a prompt on a stream."""

    def take(prompt: str) -> str:
        out.write(prompt)
        out.flush()
        line = sys.stdin.readline()
        if not line:
            out.write("\n")
            raise EOFError
        return line

    return take


def talk(text: str) -> None:
    """A sentence beside the result, on stderr; in a terminal it breaks between words."""
    if sys.stderr.isatty():
        from diagnose.sheets.words.parts import hanging

        put(hanging(text.split("\n")), sys.stderr)
    else:
        print(printable(text, but="\n"), file=sys.stderr)
