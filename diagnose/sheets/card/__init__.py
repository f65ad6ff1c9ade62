"""The card that is laid beside a paper pattern before it is photographed: board, rules to measure, six drawn steps."""

from __future__ import annotations

from diagnose.sheets.card.card import write_card

__all__ = ["write_card"]
