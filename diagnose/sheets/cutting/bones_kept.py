"""Bones already cut for one version, used again for the next. Lengths in mm."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from typing import Literal

from msgspec import Struct

from diagnose.pattern.outline import pair_and_side

__all__ = ["Bone", "BoneChange", "CutDown", "Reuse", "bone_changes", "reused"]

Size = tuple[float, float]
DECIMALS = 4


class Bone(Struct, frozen=True):
    """The bone of one channel (piece.channel), as often as the garment has it."""

    name: str
    length_mm: float
    width_mm: float
    count: int

    @property
    def size(self) -> Size:
        """Channel width and length: bones of one size are interchangeable."""
        return round(self.width_mm, DECIMALS), round(self.length_mm, DECIMALS)


class BoneChange(Struct, frozen=True):
    """What became of one channel's bone; a length is None where there is no such channel."""

    name: str
    before_mm: float | None
    after_mm: float | None
    what: Literal["new", "gone", "longer", "shorter", "wider", "narrower"]


class CutDown(Struct, frozen=True):
    """So many old bones shortened from one length to another."""

    from_mm: float
    to_mm: float
    count: int


class Reuse(Struct, frozen=True):
    """What to do with the bones that were cut: so many kept, some cut down, some cut new, some left over.

    `new` and `left` hold (length, how many), the longest first.
    """

    kept: int
    cut_down: tuple[CutDown, ...]
    new: tuple[tuple[float, int], ...]
    left: tuple[tuple[float, int], ...]


def bone_changes(before: Sequence[Bone], after: Sequence[Bone]) -> tuple[BoneChange, ...]:
    """The channels whose bone is no longer what it was, in the order of the new ones, those that are gone last.

    The channels of a pair that has been split since are compared with the pair's.
    """
    return tuple(_changes({bone.name: bone for bone in before}, after))


def _changes(old: dict[str, Bone], after: Sequence[Bone]) -> Iterator[BoneChange]:
    for bone in after:
        was = old.get(bone.name) or old.get(_of_the_pair(bone.name))
        if was is None:
            yield BoneChange(bone.name, None, bone.length_mm, what="new")
        elif was.size[1] != bone.size[1]:
            what: Literal["longer", "shorter"] = "longer" if bone.length_mm > was.length_mm else "shorter"
            yield BoneChange(bone.name, was.length_mm, bone.length_mm, what=what)
        elif was.size[0] != bone.size[0]:
            wide: Literal["wider", "narrower"] = "wider" if bone.width_mm > was.width_mm else "narrower"
            yield BoneChange(bone.name, was.length_mm, bone.length_mm, what=wide)
    names = {name for bone in after for name in (bone.name, _of_the_pair(bone.name))}
    yield from (BoneChange(name, bone.length_mm, None, what="gone") for name, bone in old.items() if name not in names)


def _of_the_pair(name: str) -> str:
    """The name of the bone before its pair of pieces was split into a left and a right one."""
    piece, dot, channel = name.rpartition(".")
    return f"{pair_and_side(piece)[0]}{dot}{channel}"


def reused(before: Sequence[Bone], after: Sequence[Bone]) -> Reuse:
    """How the old bones serve the new channels with the fewest cut new.

    Bones of the same size are kept. Then each new bone, the longest first, is cut from the shortest old one that is
    left, long enough and meant for a channel as wide; so a short one never takes what a long one needs.
    """
    have, want = _count(before), _count(after)
    kept = have & want
    have, want = have - kept, want - kept
    cut: Counter[tuple[float, float]] = Counter()
    new: Counter[float] = Counter()
    for size in sorted(want.elements(), reverse=True):
        source = min((old for old in have if have[old] and old[0] == size[0] and old[1] > size[1]), default=None)
        if source is None:
            new[size[1]] += 1
        else:
            have[source] -= 1
            cut[(source[1], size[1])] += 1
    downs = tuple(CutDown(a, b, count) for (a, b), count in sorted(cut.items(), reverse=True))
    left: Counter[float] = Counter()
    for old, count in (+have).items():
        left[old[1]] += count
    return Reuse(kept.total(), downs, _by_length(new), left=_by_length(left))


def _count(bones: Sequence[Bone]) -> Counter[Size]:
    found: Counter[Size] = Counter()
    for bone in bones:
        if bone.length_mm > 0.0:
            found[bone.size] += bone.count
    return found


def _by_length(found: Counter[float]) -> tuple[tuple[float, int], ...]:
    return tuple(sorted(found.items(), reverse=True))
