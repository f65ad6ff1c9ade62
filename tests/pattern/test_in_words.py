"""Pieces and edges are called as a maker says them, whatever their stored names are."""

from __future__ import annotations

import pytest

from diagnose.pattern.in_words import edge_title
from diagnose.pattern.outline import Edge, Role


@pytest.mark.parametrize(
    ("name", "role", "said"),
    [
        ("hem", "bottom", "hem"), ("back-seam", "seam", "back seam"), ("back-seam-3", "seam", "back seam 3"),
        ("lacing", "lacing", "lacing edge"), ("bust", "seam", "bust seam"), ("bust-12", "seam", "bust seam 12"),
        ("3", "seam", "seam 3"), ("edge-2", "top", "edge 2"), ("top", "top", "top"),
    ],
)  # fmt: skip
def test_an_edge_is_said_with_its_noun_once_and_its_number_last(name: str, role: Role, said: str) -> None:
    assert edge_title(Edge(name, role, ())) == said
