"""The cutting list in words for the terminal, and as data."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import Any

from msgspec import to_builtins
from msgspec.structs import replace

from diagnose.pattern.in_words import bone_number, bone_numbers, place_title
from diagnose.pattern.outline import Pattern, pair_and_side
from diagnose.sentences import listed, unbroken
from diagnose.sheets.cutting.bones_kept import BoneChange, Reuse
from diagnose.sheets.cutting.cutting_list import CuttingList, Lacing
from diagnose.sheets.words.parts import Said, Words, heading, wrapped
from diagnose.units import Unit, both, in_inches

__all__ = ["Remark", "cutting_lines", "cutting_to_json"]

VERSION = 1
YARD_MM = 914.4
DECIMALS = 3


class Remark(Words, frozen=True):
    """A line that only tells something: there is nothing of it to be cut."""


def _remark(text: str) -> Iterator[Said]:
    yield Remark(text, "  ", None)


def cutting_lines(
    found: CuttingList, unit: Unit = "in", pattern: Pattern | None = None, before: Pattern | None = None
) -> Iterator[Said]:
    """The list, for the whole garment and one layer of cloth.

    Args:
        found: what is to be cut.
        unit: the maker's unit.
        pattern: whose list it is, for the names that edges have and the numbers that bones have on the sheets.
        before: the version that bones were last cut for.
    """
    found = _in_her_words(found, pattern, before) if pattern else found
    yield from wrapped(f"Cutting list: {found.pattern}", style="bold")
    yield Remark("For the whole garment, both halves, one layer of cloth.")
    yield from _bones(found, unit)
    yield from _metal_and_lace(found, unit)
    yield from _edges(found, unit)
    yield from _cloth(found, unit)
    if found.reuse is not None:
        yield from _reuse(found.changes, found.reuse, unit)


def _in_her_words(found: CuttingList, pattern: Pattern, before: Pattern | None) -> CuttingList:
    """The list with bones called by their numbers, and edges as in running words."""
    bones = bone_numbers(before, pattern)

    def bone(name: str) -> str:
        piece, _, channel = name.partition(".")
        return f"bone {bone_number(bones, piece, channel)} {pair_and_side(piece)[1]}".rstrip()

    return replace(
        found,
        bones=tuple(replace(one, channels=tuple(map(bone, one.channels))) for one in found.bones),
        too_short=tuple(bone(name).replace("bone", "channel") for name in found.too_short),
        lacing=tuple(replace(one, edge=place_title(pattern, *one.edge.split(".", 1))) for one in found.lacing),
        changes=tuple(replace(one, name=bone(one.name)) for one in found.changes),
    )


def _bones(found: CuttingList, unit: Unit) -> Iterator[Said]:
    widths = dict.fromkeys(group.channel_width_mm for group in found.bones)
    for width in sorted(widths, reverse=True):
        yield from heading(f"Bones for channels {both(width, unit)} wide")
        for group in found.bones:
            if group.channel_width_mm == width:
                lead = f"  {group.count:3} of {both(group.length_mm, unit):21}"
                yield from wrapped(_numbered(group.channels), lead)
    if not found.bones:
        yield from heading("Bones")
        yield from _remark("none: the pattern has no channel that takes one")
    for name in found.too_short:
        yield from _remark(f"{name} is too short for a bone")


def _numbered(channels: Sequence[str]) -> str:
    """Bones in a row; the word is said once, and the side only where the other is not among them."""
    numbers = [name.removeprefix("bone ") for name in channels]
    paired = {number.removesuffix(" left") for number in numbers if number.removesuffix(" left") + " right" in numbers}
    bare = all(name != number for name, number in zip(channels, numbers, strict=True))
    said = list(dict.fromkeys(alone if (alone := n.split(" ")[0]) in paired else n for n in numbers))
    return f"bone{'s' if len(said) > 1 else ''} {listed(said)}" if bare else ", ".join(channels)


def _metal_and_lace(found: CuttingList, unit: Unit) -> Iterator[Said]:
    if found.busk is not None:
        yield from heading("Busk")
        yield f"  {both(found.busk.length_mm, unit)} long, at the most"
        lengths = {round(length, 1) for _, length in found.busk.edges}
        if len(lengths) > 1:
            yield from _remark("The opening edges are not alike; the shortest was taken.")
    alike: dict[tuple[float, ...], list[Lacing]] = {}
    for lacing in found.lacing:
        alike.setdefault(tuple(round(mm, 1) for mm in (lacing.length_mm, *lacing.eyelets_mm)), []).append(lacing)
    for row in alike.values():
        yield from heading(f"Lacing, {' and '.join(lacing.edge for lacing in row)}")
        yield from _lacing(row[0], unit)
        if sum(lacing.copies for lacing in row) > 1:
            yield f"  lace: about {_run(row[0].lace_mm, unit)}"
    single = [lacing.lace_mm for row in alike.values() for lacing in row if len(row) == lacing.copies == 1]
    if single:
        yield f"  lace for both: about {_run(max(single), unit)}"


def _lacing(lacing: Lacing, unit: Unit) -> Iterator[Said]:
    count = len(lacing.eyelets_mm)
    apart = {round(after - before, 1) for before, after in pairwise(lacing.eyelets_mm)}
    closer = ", closer at the waist" if len(apart) > 1 else ""
    pitch = both(lacing.pitch_mm, unit)
    yield f"  {count} eyelets on each edge, {pitch} apart{closer}, on {both(lacing.length_mm, unit)}"
    marks = [in_inches(mm) if unit == "in" else both(mm, unit) for mm in lacing.eyelets_mm]
    yield from _remark(f"from the upper end: {', '.join(map(unbroken, marks))}")


def _edges(found: CuttingList, unit: Unit) -> Iterator[Said]:
    yield from heading("Tape, binding, straps")
    if found.waist_tape_mm is not None:
        yield f"  waist tape: {both(found.waist_tape_mm, unit)}, the finished waist; turnings are extra"
    binding = found.binding
    slits = f", slits {both(binding.slits_mm, unit)}" if binding.slits_mm else ""
    yield f"  binding: {_run(binding.total_mm, unit)}; turnings are extra"
    yield from wrapped(f"top {both(binding.top_mm, unit)}, bottom {both(binding.bottom_mm, unit)}{slits}", "    ")
    for strap in found.straps:
        wide = f"{both(strap.front_mm, unit)} wide"
        if abs(strap.front_mm - strap.back_mm) > 1.0:
            wide = f"{wide} at the front and {both(strap.back_mm, unit)} at the back"
        long = both(strap.length_mm, unit)
        yield from wrapped(f"straps: {strap.count}, {wide}, {long} long; cut them shorter at the fitting", "  ")


def _cloth(found: CuttingList, unit: Unit) -> Iterator[Said]:
    yield from heading("Cloth, a layer")
    cloth = found.cloth
    wide = both(cloth.width_mm, unit)
    if cloth.length_mm is None:
        yield from _remark(f"a piece is wider than the cloth of {wide}: turn it or use wider cloth")
    else:
        yield f"  {_run(cloth.length_mm, unit)} of cloth {wide} wide, in plain rows"
    area = f"{cloth.area_mm2 / 1e6:.2f} m²"
    square = f"{cloth.area_mm2 / YARD_MM**2:.2f} sq yd ({area})" if unit == "in" else area
    yield f"  pieces to cut: {cloth.pieces}; with allowances they take {square}"


def _run(length_mm: float, unit: Unit) -> str:
    """A long length: yards or metres beside it."""
    if unit != "in":
        return f"{length_mm / 1000:.2f} m"
    return f"{in_inches(length_mm, 2)}, {length_mm / YARD_MM:.2f} yd ({length_mm / 1000:.2f} m)"


def _reuse(changes: tuple[BoneChange, ...], reuse: Reuse, unit: Unit) -> Iterator[Said]:
    if not (reuse.kept or reuse.cut_down or reuse.new or reuse.left or changes):
        return
    yield from heading("Bones already cut for the version before")
    if reuse.kept:
        yield f"  keep {reuse.kept} as they are"
    for cut in reuse.cut_down:
        yield f"  cut {cut.count} down from {both(cut.from_mm, unit)} to {both(cut.to_mm, unit)}"
    for length, count in reuse.new:
        yield f"  cut {count} new of {both(length, unit)}"
    for length, count in reuse.left:
        yield from _remark(f"{count} of {both(length, unit)} left over")
    for change in changes:
        yield from wrapped(_changed(change, unit), "    ", "      ")


def _changed(change: BoneChange, unit: Unit) -> str:
    if change.before_mm is None or change.after_mm is None:
        length = change.after_mm if change.before_mm is None else change.before_mm
        word = "is new" if change.before_mm is None else "is gone"
        return f"{change.name} {word}, {both(length or 0.0, unit)}"
    if change.what in ("wider", "narrower"):
        return f"{change.name}: its channel is {change.what}"
    return f"{change.name}: {both(change.before_mm, unit)} to {both(change.after_mm, unit)}, {change.what}"


def cutting_to_json(found: CuttingList) -> dict[str, Any]:
    """The list as data: lengths in mm under keys that end in ``_mm``."""
    data: dict[str, Any] = {"version": VERSION, **_rounded(to_builtins(found))}
    data["binding"]["total_mm"] = round(found.binding.total_mm, DECIMALS)
    if data["busk"] is not None:
        data["busk"]["edges"] = [{"edge": name, "length_mm": size} for name, size in data["busk"]["edges"]]
    if data["reuse"] is not None:
        for key in ("new", "left"):
            data["reuse"][key] = [{"length_mm": size, "count": count} for size, count in data["reuse"][key]]
    return data


def _rounded(value: Any) -> Any:
    if isinstance(value, float):
        return round(value, DECIMALS)
    if isinstance(value, dict):
        return {key: _rounded(one) for key, one in value.items()}
    return [_rounded(one) for one in value] if isinstance(value, tuple) else value
