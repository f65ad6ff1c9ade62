"""``diagnose card``: the card that is laid beside a paper pattern before it is photographed."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from diagnose.cli import options as o
from diagnose.cli.printing import show
from diagnose.errors import FitError

__all__ = ["card"]

OutOption = Annotated[Path, typer.Option("--out", metavar="FILE", help="A PDF.")]
PaperOption = Annotated[str, typer.Option("--paper", help="a4 or letter.")]
CardsOption = Annotated[
    int,
    typer.Option(
        "--cards", metavar="N", parser=o.whole("--cards", 1), help="Several cards, each different, a sheet each."
    ),
]


def card(
    out: OutOption,
    paper: PaperOption = "a4",
    cards: CardsOption = 1,
    replace: o.ReplaceOption = False,
    json: o.Json = False,
) -> None:
    """Print the card to lay beside a paper pattern before photographing it."""
    from diagnose.casework.own.own_files import check_own, write_own
    from diagnose.sheets.card import write_card

    if out.suffix.lower() != ".pdf":
        raise FitError.of(str(out), f"“{out.suffix}” is no form of card.", "End it in .pdf", code="unknown-form")
    check_own(out, replace=replace)
    write_own(out, write_card(paper, cards), replace=replace)
    lines = [
        f"Written: {out}",
        "Print it at full size and measure the rule along its side: 200 mm, or 7 7/8 in.",
        "Where it is not, give what it measures with --ruler.",
        "Lay it flat beside the pattern and photograph both; then:",
        "  diagnose new CASE --pattern PHOTO.jpg",
    ]
    show(lines, {"out": str(out), "paper": paper, "cards": cards}, json)
