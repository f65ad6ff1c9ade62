"""The cutting list: bones, busk, lacing, tape, binding, straps and cloth for a pattern, and what changed.

Millimetres and square millimetres, for the whole garment and one layer of cloth. What is left to judgement (ends,
pitches, widths) comes from the settings.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterator, Sequence
from itertools import pairwise

from msgspec import Struct

from diagnose.model.settings import Settings
from diagnose.pattern.geometry.runs import run_nearest
from diagnose.pattern.measure import channel_length, edge_length, garment_girth, slit_length
from diagnose.pattern.operations.openings.eyelets import closer_at
from diagnose.pattern.outline import Channel, Pattern, Piece, lips_of
from diagnose.sheets.cutting.allowance import allowances_of
from diagnose.sheets.cutting.bones_kept import Bone, BoneChange, Reuse, bone_changes, reused
from diagnose.sheets.cutting.cloth import Cloth, StrapPiece, cloth_for, strap_pieces

__all__ = ["Binding", "BoneGroup", "Busk", "CuttingList", "Lacing", "bones_of", "cutting_list"]

ROUNDING_UP_MM = 1e-6


class BoneGroup(Struct, frozen=True):
    """Bones of one length for channels of one width: how many, and where they go (piece.channel)."""

    length_mm: float
    channel_width_mm: float
    count: int
    channels: tuple[str, ...]


class Busk(Struct, frozen=True):
    """The busk: the shortest opening edge less its allowance, and each opening edge's length."""

    length_mm: float
    edges: tuple[tuple[str, float], ...]


class Lacing(Struct, frozen=True):
    """One lacing edge's eyelets: how far each lies from the edge's upper end, the first and last being fixed.

    `copies` is how many such edges the garment has; `lace_mm` is the lace for a pair of them, laced crosswise.
    """

    edge: str
    copies: int
    length_mm: float
    pitch_mm: float
    eyelets_mm: tuple[float, ...]
    lace_mm: float


class Binding(Struct, frozen=True):
    """Binding for the whole garment: along the top, along the bottom, and both sides of the slits that stay open."""

    top_mm: float
    bottom_mm: float
    slits_mm: float

    @property
    def total_mm(self) -> float:
        """All of it."""
        return self.top_mm + self.bottom_mm + self.slits_mm


class CuttingList(Struct, frozen=True):
    """All that is to be cut beside the pieces themselves.

    `too_short` names channels that no bone fits into; `changes` and `reuse` are empty where there is no older version.
    """

    pattern: str
    bones: tuple[BoneGroup, ...]
    too_short: tuple[str, ...]
    busk: Busk | None
    lacing: tuple[Lacing, ...]
    waist_tape_mm: float | None
    binding: Binding
    straps: tuple[StrapPiece, ...]
    cloth: Cloth
    changes: tuple[BoneChange, ...] = ()
    reuse: Reuse | None = None


def cutting_list(pattern: Pattern, settings: Settings, before: Pattern | None = None) -> CuttingList:
    """The cutting list of a pattern.

    Args:
        pattern: the pattern as it is now.
        settings: the ends, pitches and widths left to judgement, and the ruler.
        before: the version that bones were last cut for.
    """
    bones = bones_of(pattern, settings)
    older = bones_of(before, settings) if before else None
    return CuttingList(
        pattern.name,
        _grouped(bones),
        tuple(bone.name for bone in bones if bone.length_mm <= 0.0),
        busk=_busk(pattern, settings),
        lacing=tuple(_lacings(pattern, settings)),
        waist_tape_mm=garment_girth(pattern, "waist"),
        binding=_binding(pattern),
        straps=strap_pieces(pattern, settings),
        cloth=cloth_for(pattern, allowances_of(settings), settings.mm("cloth-width")),
        changes=bone_changes(older, bones) if older is not None else (),
        reuse=reused(older, bones) if older is not None else None,
    )


def bones_of(pattern: Pattern, settings: Settings) -> tuple[Bone, ...]:
    """A bone for every channel, in the pattern's order."""
    return tuple(_bone(piece, channel, settings) for piece in pattern.pieces for channel in piece.channels)


def _bone(piece: Piece, channel: Channel, settings: Settings) -> Bone:
    """The channel less the end allowances, down to the mark of the ruler below: too long a bone cuts its way out."""
    room = channel_length(channel) - 2.0 * settings.mm("bone-end")
    length_mm = max(0.0, math.floor(room / settings.ruler_mm + ROUNDING_UP_MM) * settings.ruler_mm)
    count = 1 if _on_fold(piece, channel) else piece.copies
    return Bone(f"{piece.name}.{channel.name}", length_mm, channel.width, count=count)


def _on_fold(piece: Piece, channel: Channel) -> bool:
    """Whether the channel runs along the fold, and so is a single one in the whole garment."""
    folds = [edge for edge in piece.edges if edge.role == "fold"]
    near = channel.width / 2.0
    return any(all(run_nearest(edge.segments, p)[1] < near for p in channel.line) for edge in folds)


def _grouped(bones: tuple[Bone, ...]) -> tuple[BoneGroup, ...]:
    """Bones of a length and width together, the longest first."""
    groups: dict[tuple[float, float], list[Bone]] = defaultdict(list)
    for bone in bones:
        if bone.length_mm > 0.0:
            groups[bone.size].append(bone)
    return tuple(
        BoneGroup(
            found[0].length_mm, found[0].width_mm, sum(b.count for b in found), channels=tuple(b.name for b in found)
        )
        for _, found in sorted(groups.items(), key=lambda group: group[0][::-1], reverse=True)
    )


def _busk(pattern: Pattern, settings: Settings) -> Busk | None:
    edges = tuple(
        (f"{piece.name}.{edge.name}", edge_length(edge))
        for piece in pattern.pieces for edge in piece.edges if edge.role == "opening"
    )  # fmt: skip
    if not edges:
        return None
    room = min(length for _, length in edges) - 2.0 * settings.mm("busk-end")
    return Busk(max(0.0, math.floor(room / settings.ruler_mm + ROUNDING_UP_MM) * settings.ruler_mm), edges)


def _lacings(pattern: Pattern, settings: Settings) -> Iterator[Lacing]:
    for piece in pattern.pieces:
        for edge in (edge for edge in piece.edges if edge.role == "lacing"):
            length_mm = edge_length(edge)
            holes = _eyelets(length_mm, settings)
            pitch_mm = holes[1] - holes[0] if len(holes) > 1 else 0.0
            closer = closer_at(pattern, piece, edge)
            if closer is not None:
                span = closer.from_mm, closer.to_mm
                if edge.end.y > edge.start.y:  # eyelets are told from the upper end, the span from where it begins
                    span = length_mm - closer.to_mm, length_mm - closer.from_mm
                holes = tuple(_with_closer(holes, span, round(closer.times)))
            spread = settings.mm("lace-open") + 2.0 * settings.mm("eyelet-inset")
            crossings = sum(math.hypot(spread, after - before) for before, after in pairwise(holes))
            yield Lacing(
                f"{piece.name}.{edge.name}", piece.copies, length_mm, pitch_mm=pitch_mm, eyelets_mm=holes,
                lace_mm=spread + 2.0 * crossings + settings.mm("lace-ends"),
            )  # fmt: skip


def _eyelets(length_mm: float, settings: Settings) -> tuple[float, ...]:
    """Where the holes of an edge lie: the first and last fixed, those between as near the pitch as comes out even."""
    end = min(settings.mm("eyelet-end"), length_mm / 2.0)
    between = length_mm - 2.0 * end
    steps = max(1, round(between / settings.mm("eyelet-pitch"))) if between > 0.0 else 0
    return tuple(end + n * between / steps for n in range(steps + 1)) if steps else (end,)


def _with_closer(holes: Sequence[float], span: tuple[float, float], times: int) -> Iterator[float]:
    """More holes between each two that stand within the span."""
    yield holes[0]
    for before, after in pairwise(holes):
        steps = times if span[0] <= (before + after) / 2.0 <= span[1] else 1
        yield from (before + (after - before) * step / steps for step in range(1, steps + 1))


def _binding(pattern: Pattern) -> Binding:
    sewn = {lips for _, lips, _ in pattern.in_slits}
    slits = sum(
        2.0 * piece.copies * slit_length(slit)
        for piece in pattern.pieces for slit in piece.slits if lips_of(piece.name, slit.name) not in sewn
    )  # fmt: skip
    return Binding(_ends(pattern, "top"), _ends(pattern, "bottom"), slits)


def _ends(pattern: Pattern, role: str) -> float:
    return sum(
        piece.copies * edge_length(edge) for piece in pattern.pieces for edge in piece.edges if edge.role == role
    )  # fmt: skip
