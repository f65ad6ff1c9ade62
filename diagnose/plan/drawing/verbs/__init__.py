"""How each verb of a rule is drawn into a pattern: one table of the verbs."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from diagnose.plan.drawing.board import Board, Task
from diagnose.plan.drawing.verbs.at_hem import gores, strap, tabs
from diagnose.plan.drawing.verbs.bust_room import bust_over_seam
from diagnose.plan.drawing.verbs.front_lines import front_line, stomacher
from diagnose.plan.drawing.verbs.laid_channels import channels
from diagnose.plan.drawing.verbs.lengths import length
from diagnose.plan.drawing.verbs.marks_alone import eyelets, grain
from diagnose.plan.drawing.verbs.moved_seams import lacing_edge, seams, split_share
from diagnose.plan.drawing.verbs.panel_folds import panel_fold
from diagnose.plan.drawing.verbs.redrawn_edges import edge
from diagnose.plan.drawing.verbs.shoulders import armhole_raise, shoulder
from diagnose.plan.drawing.verbs.slid_shapes import bust_shift, front_straight, waist_slide
from diagnose.plan.drawing.verbs.wedges import back_wedge, bust_slash, split_all
from diagnose.rulebase.reading.moves import Move

__all__ = ["VERBS", "Verb"]

Verb = Callable[[Move, Task, Board], Board]


def _note(move: Move, task: Task, board: Board) -> Board:
    """A move that is only said: the board as it is, and why nothing is drawn."""
    return board.say(f"For the hand. {move.why}")


VERBS: Mapping[str, Verb] = {
    "seams": seams,
    "lacing-edge": lacing_edge,
    "panel-fold": panel_fold,
    "split-share": split_share,
    "length": length,
    "edge": edge,
    "back-wedge": back_wedge,
    "bust-slash": bust_slash,
    "gores": gores,
    "tabs": tabs,
    "strap": strap,
    "channels": channels,
    "split-sides": split_all,
    "note": _note,
    "bust-over-seam": bust_over_seam,
    "bust-shift": bust_shift,
    "waist-slide": waist_slide,
    "front-straight": front_straight,
    "grain": grain,
    "front-line": front_line,
    "stomacher": stomacher,
    "shoulder": shoulder,
    "armhole-raise": armhole_raise,
    "eyelets": eyelets,
}
