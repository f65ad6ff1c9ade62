"""The draft held against the body before any cloth is cut."""

from __future__ import annotations

from diagnose.plan.draft.held import Draft, Sign, StationHeld, hold_draft
from diagnose.plan.draft.seams_checked import Checked

__all__ = ["Checked", "Draft", "Sign", "StationHeld", "hold_draft"]
