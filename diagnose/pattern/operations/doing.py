"""Operations done to a pattern, in order, all or none; a refusal says how much there is room for.

What is refused because it asks for too much works when it asks for almost nothing; the most that works is then found by
halving, and said in place of the remedy.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial, reduce

from msgspec.structs import replace

from diagnose.errors import FitError, Mistake
from diagnose.pattern.altered import Altered
from diagnose.pattern.finish.faults import seams_broken
from diagnose.pattern.finish.finished import Cuts, finished
from diagnose.pattern.finish.sound_bones import bones_sound
from diagnose.pattern.finish.walking import name_before
from diagnose.pattern.form.checks import piece_mistakes
from diagnose.pattern.in_words import numbered, piece_words
from diagnose.pattern.moved.bones import channels_in_slits
from diagnose.pattern.operations.operation import Operation
from diagnose.pattern.outline import Pattern

__all__ = ["do", "do_part", "finish", "with_room"]

HALVINGS = 9
LEAST_PART = 1 / 128
Operations = Sequence[Operation]


def do(pattern: Pattern, operations: Operations, where: str = "do", *, whole: bool = True) -> Altered:
    """The pattern after all the operations, with everything they had to say.

    Args:
        pattern: the pattern they are done to; it stays as it is.
        operations: what to do, in order.
        where: the name of the list in an error.
        whole: that this is all of an alteration: partners are walked, match marks set to them, hem and top edge squared
            to the seams, and a seam that would come apart is refused. False for a part of it, done step by step.

    Raises:
        FitError: when one cannot be done or would leave a piece that could not be stored; it names the step and the
            most there is room for, and nothing has been done.
    """
    try:
        return _sound(pattern, operations, whole=whole)
    except FitError as error:
        raise _explained(pattern, operations, where, error=error, whole=whole) from None


def do_part(pattern: Pattern, operations: Operations, cuts: Cuts) -> tuple[tuple[Altered, ...], Cuts]:
    """A part of an alteration, done as `do` does it but not finished: what each operation did, and what the cuts of all
    parts come to.

    Args:
        pattern: the pattern as the parts before have left it.
        operations: what to do, in order.
        cuts: what the cuts of the parts before have put out of true.

    Raises:
        FitError: as `do`.
    """
    try:
        made, cuts = _done(pattern, operations, cuts)
        _unbroken(pattern, reduce(Altered.then, made, Altered(pattern)), whole=False)
        return made, cuts
    except FitError as error:
        raise _explained(pattern, operations, "do", error=error, whole=False) from None


def finish(before: Pattern, made: Altered, cuts: Cuts) -> Altered:
    """What parts done one by one came to, finished as one alteration.

    Args:
        before: the pattern before the first of them.
        made: what they came to.
        cuts: what their cuts have put out of true.

    Raises:
        FitError: when a piece could not be stored or a seam would come apart.
    """
    return _unbroken(before, finished(before, made, cuts), whole=True)


def _sound(pattern: Pattern, operations: Operations, *, whole: bool) -> Altered:
    """The operations done one after the other, the whole finished, and what came of it looked at once."""
    made, cuts = _done(pattern, operations, Cuts())
    altered = reduce(Altered.then, made, Altered(pattern))
    if whole and operations:
        return finish(pattern, altered, cuts)
    return _unbroken(pattern, altered, whole=whole)


def _done(pattern: Pattern, operations: Operations, cuts: Cuts) -> tuple[tuple[Altered, ...], Cuts]:
    made = list[Altered]()
    for operation in operations:
        done = _marks_kept(pattern, operation.done(pattern))
        if operation.cuts:
            cuts = cuts.with_cut(pattern, done.pattern)
        made.append(done)
        pattern = done.pattern
    return tuple(made), cuts


def _marks_kept(before: Pattern, done: Altered) -> Altered:
    """What was done, with the bones of every changed piece lying soundly, and what levels are gone from it said."""
    for piece in done.pattern.pieces:
        name = name_before(piece.name, before)
        was = before.piece(name) if name else piece
        if was is piece:
            continue
        made, notes = bones_sound(was, piece) if piece.channels else (piece, ())
        gone = [station for station in was.levels if station not in piece.levels]
        notes += tuple(f"The {station} level no longer crosses {piece_words(piece.name)}." for station in gone)
        done = done.then(Altered(done.pattern.with_piece(made), notes)) if notes else done
    return done


def _unbroken(before: Pattern, made: Altered, *, whole: bool) -> Altered:
    broken = [*_broken(before, made.pattern), *(seams_broken(before, made.pattern) if whole else ())]
    if broken:
        raise numbered(FitError(broken), before)
    return made


def _explained(pattern: Pattern, operations: Operations, where: str, error: FitError, *, whole: bool) -> FitError:
    """The refusal again, with the step it comes from, where it is one step's, and the most there is room for."""
    before, error = pattern, numbered(error, pattern)
    for index, operation in enumerate(operations):
        attempt = partial(_sound, before, whole=False)
        try:
            before = attempt([operation]).pattern
        except FitError as own:
            step = f"{where}[{index}]" if len(operations) > 1 else where
            return _placed(step, with_room(attempt, [operation], numbered(own, pattern)))
    return _placed(where, with_room(partial(_sound, pattern, whole=whole), operations, error))


def _placed(step: str, error: FitError) -> FitError:
    return FitError(replace(m, where=f"{step}, {m.where}" if m.where else step) for m in error.mistakes)


def _broken(before: Pattern, after: Pattern) -> list[Mistake]:
    """What is wrong with the pieces that were changed and was not so before."""
    old = {piece.name: piece for piece in before.pieces}
    found: list[Mistake] = []
    for piece in after.pieces:
        was = old.get(piece.name)
        if was is piece:
            continue
        where = f"piece {piece.name}"
        mistakes = piece_mistakes(piece, where)
        known = {(m.where, m.code) for m in piece_mistakes(was, where)} if mistakes and was else set()
        found += [
            replace(
                m, what=f"It would spoil the piece. {m.what}", do="Do less of it, or set it elsewhere on the piece."
            )
            for m in mistakes
            if (m.where, m.code) not in known
        ]
        found += channels_in_slits(was, piece)
    return found


def with_room(attempt: Callable[[Operations], object], operations: Operations, error: FitError) -> FitError:
    """The refusal, saying how much there is room for where it was the amount that was too large.

    Args:
        attempt: does the operations, or refuses them.
        operations: what was refused.
        error: the refusal.
    """
    part = _largest_part(lambda k: attempt([one.in_part(k) for one in operations]))
    amounts = list(operations[0].in_part(part).amounts()) if len(operations) == 1 else []
    if part < LEAST_PART or not (amounts or len(operations) > 1):
        return error
    most = ", ".join(amounts)
    room = f"The most there is room for is {'' if most.startswith('under ') else 'about '}{most}."
    room = room if amounts else f"About {100 * part:.0f} hundredths of every amount would do."
    return FitError(replace(mistake, do=room) for mistake in error.mistakes)


def _largest_part(attempt: Callable[[float], object]) -> float:
    """The largest part, 0 to 1, of what was asked that works (by halving); 0 when not even the least does."""
    low, high, middle = 0.0, 1.0, 0.5**HALVINGS
    for _ in range(HALVINGS + 1):
        try:
            attempt(middle)
        except FitError:
            if low == 0.0:
                return 0.0
            high = middle
        else:
            low = middle
        middle = (low + high) / 2.0
    return low
