"""Two windows that note at once lose nothing of each other's."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

from diagnose import casebook
from diagnose.casebook.bundled import bundled_case

GIRTHS = ("waist=27 in", "hip=38 in", "bust=39 in", "underbust=32 in")


def test_girths_noted_at_once_are_all_kept(tmp_path: Path) -> None:
    bundled = bundled_case("dancer")
    case = casebook.create(tmp_path / "dancer", bundled.pattern, date="2026-03-02", **bundled.about)
    command = [sys.executable, "-m", "diagnose", "note", str(case.folder), "--measured"]
    running = [subprocess.Popen([*command, girth], stdout=subprocess.DEVNULL) for girth in GIRTHS]
    assert [one.wait(120) for one in running] == [0] * len(GIRTHS)
    now = casebook.open_case(case.folder)
    assert len(now.measurings) == 1 + len(GIRTHS)
    assert {name: now.wearer[name] for name in ("waist", "hip", "bust", "underbust")} == dict(
        girth.split("=") for girth in GIRTHS
    )
