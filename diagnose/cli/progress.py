"""How far a piece of work is, on stderr, where that is a terminal; silent elsewhere."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager

__all__ = ["Told", "progress"]

Told = Callable[[int, int | None], None]
"""Called with how much is done, and of how much where that is known."""


@contextmanager
def progress(doing: str, *, writing: bool = False) -> Iterator[Told]:
    """While the work is done: a bar with its words, which is gone when it ends.

    Args:
        doing: what is being done, as a short phrase.
        writing: whether results go to stdout meanwhile; then it is silent where that is a terminal too.
    """
    if not sys.stderr.isatty() or (writing and sys.stdout.isatty()):
        yield lambda done, of: None
        return
    from rich.console import Console  # late: where no one watches it is never needed
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeElapsedColumn

    columns = (TextColumn("{task.description}"), BarColumn(), MofNCompleteColumn(), TimeElapsedColumn())
    with Progress(*columns, console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task(doing, total=None)

        def told(done: int, of: int | None) -> None:
            bar.update(task, completed=done, total=of)

        yield told
