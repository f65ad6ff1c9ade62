"""The paper alterations are drawn into, one on the other, and what each of them did to it."""

from __future__ import annotations

from msgspec import Struct

from diagnose.pattern.altered import Altered
from diagnose.pattern.in_words import Note
from diagnose.pattern.kept import OfLate
from diagnose.pattern.operations import Cuts, Operation
from diagnose.pattern.outline import Pattern

__all__ = ["OnPaper", "Paper"]

MOST_KEPT = 30


class Paper(Struct, frozen=True):
    """A pattern into which alterations are drawn one after the other, to be stored as one version.

    Attributes:
        before: the pattern before the first of them.
        pattern: the pattern with all of them, finished.
        loose: the pattern with all of them, not yet finished; the next one is drawn on it.
        cuts: what their cuts have put out of true.
        notes: what finishing has said so far.
    """

    before: Pattern
    pattern: Pattern
    loose: Pattern
    cuts: Cuts
    notes: tuple[Note, ...] = ()

    @classmethod
    def of(cls, pattern: Pattern) -> Paper:
        """A pattern with nothing drawn into it; one pattern has one paper, so that what was drawn on it is found."""
        return _OF_LATE.get((pattern,), None, lambda: cls(before=pattern, pattern=pattern, loose=pattern, cuts=Cuts()))


_OF_LATE = OfLate[Paper](MOST_KEPT)


class OnPaper(Struct, frozen=True):
    """What was drawn into a pattern: the pattern before, the operations, what each did, and all of it finished."""

    before: Pattern
    altered: Altered
    operations: tuple[Operation, ...]
    made: tuple[Altered, ...] = ()

    @property
    def after(self) -> Pattern:
        """The pattern with it drawn in."""
        return self.altered.pattern

    def then(self, later: OnPaper) -> OnPaper:
        """This drawing and the one made on it afterwards, as one."""
        return OnPaper(
            before=self.before, altered=self.altered.then(later.altered),
            operations=(*self.operations, *later.operations), made=(*self.made, *later.made),
        )  # fmt: skip
