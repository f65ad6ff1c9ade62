"""Her files are hers, and no option is passed over in silence: whatever command writes, whatever was told beside it."""

from __future__ import annotations

from collections.abc import Callable
from itertools import islice
from pathlib import Path

import pytest
from begun import begun

from diagnose.cli.running import run
from diagnose.sheets import handbook

CORSET = str(Path(__file__).parents[2] / "cases" / "patterns" / "six-panel-corset.json")
ABOUT = """garment: {style: corset, closure: back, boning: full}
wearer: {bust: 36 1/2 in, underbust: 31 in, waist: 27 in, hip: 35 in, planned_reduction: 2 in}
target: 3 in
"""
SHORTEN = '{"op": "length", "at": {"station": "waist", "offset": 40}, "amount": -5}'
Said = pytest.CaptureFixture[str]
Writing = Callable[[Path, Path], list[str]]


def _about(room: Path) -> str:
    path = room / "about.yaml"
    path.write_text(ABOUT, encoding="utf-8")
    return str(path)


WRITING: dict[str, tuple[str, Writing]] = {
    "card": ("card.pdf", lambda room, out: ["card", "--out", str(out)]),
    "draft": ("mended.json", lambda room, out: [
        "draft", "--pattern", CORSET, "--about", _about(room), "--out", str(out)]),
    "alter": ("new.json", lambda room, out: [
        "alter", "--pattern", CORSET, "--do", SHORTEN, "--out", str(out)]),
    "pattern": ("pattern.svg", lambda room, out: ["pattern", str(_case(room)), "--out", str(out)]),
    "sheet": ("sheet.svg", lambda room, out: ["sheet", str(_case(room)), "--out", str(out)]),
}  # fmt: skip


def _case(room: Path) -> Path:
    folder = room / "dancer"
    return folder if folder.exists() else begun(folder, "dancer")


@pytest.mark.parametrize("command", WRITING)
def test_a_command_replaces_what_it_wrote_itself_and_nothing_else(command: str, tmp_path: Path, capsys: Said) -> None:
    name, arguments = WRITING[command]
    out = tmp_path / name
    out.write_text("hers", encoding="utf-8")
    assert run(arguments(tmp_path, out)) == 2
    assert "not written by this program" in capsys.readouterr().err
    assert out.read_text(encoding="utf-8") == "hers"
    assert run([*arguments(tmp_path, out), "--replace"]) == 0
    assert run(arguments(tmp_path, out)) == 0, "it is ours now"
    out.write_bytes(out.read_bytes() + b" ")
    assert run(arguments(tmp_path, out)) == 2, "she has changed it since"


def test_a_handbook_page_that_she_changed_is_not_written_over(
    tmp_path: Path, capsys: Said, monkeypatch: pytest.MonkeyPatch
) -> None:
    whole = handbook.pages.pages  # of whose pages the first are made: tests/sheets makes them all
    monkeypatch.setattr(handbook.pages, "pages", lambda base: islice(whole(base), 12))
    book = tmp_path / "book"
    assert run(["rules", "handbook", "--out", str(book)]) == 0
    assert run(["rules", "handbook", "--out", str(book)]) == 0
    (book / "index.html").write_text("my own front page", encoding="utf-8")
    assert run(["rules", "handbook", "--out", str(book)]) == 2
    assert "index.html" in capsys.readouterr().err
    assert (book / "index.html").read_text(encoding="utf-8") == "my own front page"
    assert run(["rules", "handbook", "--out", str(book), "--replace"]) == 0


@pytest.mark.parametrize(
    ("arguments", "named"),
    [
        (["alter", "CASE", "--unit", "cm"], "--unit"),
        (["alter", "CASE", "--do", SHORTEN], "--do"),
        (["alter", "--pattern", CORSET, "--do", SHORTEN, "--out", "x.json", "--way", "1.1=nip-waist"], "--way"),
        (["alter", "--pattern", CORSET, "--do", SHORTEN, "--out", "x.json", "--by-hand", "1.1"], "--by-hand"),
        (["alter", "--pattern", CORSET, "--do", SHORTEN, "--out", "x.svg"], "stored form"),
        (["draft", "--pattern", CORSET, "--replace"], "--replace"),
        (["draft", "CASE", "--unit", "cm"], "--unit"),
        (["draft", "CASE", "--out", "x.pdf"], "stored form"),
        (["new", "x", "--pattern", "case.zip", "--unit", "cm"], "--unit"),
        (["new", "x", "--pattern", CORSET, "--ruler", "200 mm"], "--ruler"),
        (["new", "x", "--pattern", CORSET, "--length", "p1=3 in"], "--length"),
        (["new", "x", "--pattern", CORSET, "--sure", "everything"], "everything"),
        (["pattern", "CASE", "--out", "x.svg", "--paper", "a4"], "--paper"),
        (["pattern", "CASE", "--out", "x.json", "--allow", "seam=1 in"], "--allow"),
        (["pattern", "CASE", "--out", "x.pdf", "--allow", "nonsense=1 in"], "nonsense"),
        (["sheet", "CASE", "--out", "x.html", "--paper", "a4"], "--paper"),
        (["sheet", "CASE", "--out", "x.pdf", "--paper", "napkin"], "napkin"),
        (["plan", "CASE", "--ways", "1.1", "--all"], "--all"),
        (["plan", "CASE", "--why", "nip-waist", "--ways", "1.1"], "--why"),
        (["tryon", "CASE", "--answers", "a.yaml", "--page"], "--page"),
        (["tryon", "CASE", "--no-open"], "--no-open"),
        (["card", "--out", "x.pdf", "--paper", "napkin"], "napkin"),
        (["back", "CASE", "x"], "“x” is no number"),
        (["cutting", "CASE", "--since", "x"], "“x” is no number"),
        (["pattern", "CASE", "--out", "x.svg", "--version", "two"], "“two” is no number"),
        (["gap", "--waist", "1 in", "--seams", "many"], "“many” is no number"),
        (["new", "", "--pattern", CORSET], "names no folder"),
        (["history", " "], "names no folder"),
    ],
)
def test_an_option_that_does_not_apply_is_refused(
    arguments: list[str], named: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: Said
) -> None:
    case = _case(tmp_path)
    monkeypatch.chdir(tmp_path)
    before = sorted(path.name for path in tmp_path.iterdir())
    assert run([str(case) if one == "CASE" else one for one in arguments]) == 2
    assert named in capsys.readouterr().err
    assert sorted(path.name for path in tmp_path.iterdir()) == before
