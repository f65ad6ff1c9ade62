"""What every operation on a pattern has: a name, parameters, amounts, and the doing of it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import ClassVar, Self

from msgspec import Struct
from msgspec.structs import replace

from diagnose.errors import Mistake
from diagnose.pattern.altered import Altered
from diagnose.pattern.form.strict import Reading
from diagnose.pattern.operations.parameters import Kind, Parameter
from diagnose.pattern.outline import Pattern
from diagnose.sentences import listed
from diagnose.units import both

__all__ = ["OnPiece", "Operation", "named_amounts", "nothing_asked"]

_LESS = {"lengthen": "shorten", "widen": "narrow", "deepen": "make shallower", "flare": "draw in"}


class Operation(Struct, frozen=True):
    """One thing done to a pattern. Each operation is a file of this folder and a line of its table.

    Attributes:
        op: its name in JSON.
        called: what has been done, in a few words.
        parameters: what it takes, as it is read and written.
        sized: the attributes that are its amounts, which are less of each where it is done in part.
        cuts: whether it cuts paper apart, so that seams may have to be walked after it.
    """

    op: ClassVar[str]
    called: ClassVar[str]
    parameters: ClassVar[tuple[Parameter, ...]]
    sized: ClassVar[tuple[str, ...]] = ()
    cuts: ClassVar[bool] = False

    def done(self, pattern: Pattern) -> Altered:
        """The pattern with this done to it; the old one is untouched.

        Raises:
            FitError: when it cannot be done; the sentence says why and what to do.
        """
        raise NotImplementedError

    def in_part(self, part: float) -> Self:
        """The operation with its amounts times `part`; as it is where it has none."""
        return replace(self, **{name: getattr(self, name) * part for name in self.sized})

    def amounts(self) -> Iterator[str]:
        """The amounts in words, as they follow on “the most there is room for is about”."""
        yield from (both(amount) for name in self.sized if (amount := getattr(self, name)))

    @classmethod
    def read(cls, reading: Reading, table: Mapping[str, object], where: str) -> object:
        """The operation of a JSON object, or None once its mistakes are noted."""
        return Kind(cls, cls.parameters).read_table(reading, table, where)

    def to_json(self) -> dict[str, object]:
        """The operation as JSON, lengths in mm: reading it gives an equal operation. What is usual is left out."""
        return {"op": self.op, **Kind(type(self), self.parameters).shown(self)}


class OnPiece(Operation, frozen=True):
    """An operation on one piece, by its name."""

    piece: str

    @property
    def redrawn(self) -> tuple[str, ...]:
        """The edges of the piece that it draws anew as a whole, by name."""
        return ()


def nothing_asked(do: Operation, *names: str) -> Iterator[Mistake]:
    """A mistake where none of these attributes asks for anything."""
    if not any(getattr(do, name) for name in names):
        yield Mistake(do.op, "Nothing is asked for.", f"Give {listed(names, 'or')}.", code="nothing-asked")


def named_amounts(do: Operation) -> Iterator[str]:
    """The amounts that are not nothing, in words, where an amount is called by what it does."""
    for word in do.sized:
        if amount := getattr(do, word):
            yield f"{both(abs(amount))} to {word if amount > 0.0 else _LESS.get(word, f'{word} back')}"
