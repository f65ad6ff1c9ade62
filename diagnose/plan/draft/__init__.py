"""The draft held against the body before any cloth is cut."""

from __future__ import annotations

from diagnose.plan.draft.held import Draft, StationHeld, hold_draft

__all__ = ["Draft", "StationHeld", "hold_draft"]
