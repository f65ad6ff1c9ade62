"""The card, read back by a PDF reader, rasterised, and found by the library that the board's method comes from."""

from __future__ import annotations

import io
import shutil
import subprocess
from pathlib import Path

import pytest
from pypdf import PdfReader

from diagnose.cli.running import run
from diagnose.errors import FitError
from diagnose.pattern.brought.photo import chequers as b
from diagnose.sheets.card import BOARD_LEFT_MM, RULER_LEFT_MM, board_bottom_mm, write_card
from diagnose.sheets.writers.paper_sizes import PAPERS

cv2 = pytest.importorskip("cv2")
np = pytest.importorskip("numpy")
DPI = 150


def _raster(data: bytes, page: int, folder: Path) -> np.ndarray:
    if shutil.which("pdftoppm") is None:
        pytest.skip("needs Debian's poppler-utils")
    (folder / "card.pdf").write_bytes(data)
    run = ["pdftoppm", "-r", str(DPI), "-gray", "-png", "-f", str(page), "-l", str(page), "card.pdf", "card"]
    subprocess.run(run, cwd=folder, check=True, timeout=120)
    return cv2.imread(str(next(folder.glob("card-*.png"))), cv2.IMREAD_GRAYSCALE)


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_the_card_is_one_sheet_of_its_paper_and_asks_not_to_be_scaled(paper: str) -> None:
    reader = PdfReader(io.BytesIO(write_card(paper)))
    box = reader.pages[0].mediabox
    size = PAPERS[paper]
    assert len(reader.pages) == 1
    assert (float(box.width), float(box.height)) == pytest.approx(
        (size.width_mm * 72 / 25.4, size.height_mm * 72 / 25.4), abs=0.01
    )
    assert reader.viewer_preferences.print_scaling == "/None"


def test_the_card_says_its_rules_and_how_to_photograph() -> None:
    words = PdfReader(io.BytesIO(write_card())).pages[0].extract_text()
    for said in ("200 mm, or 7 7/8 in", "92 mm, 3 5/8 in", "with the picture", "second,", "begin a new case"):
        assert said in words


@pytest.mark.parametrize(("paper", "card"), [("a4", 1), ("letter", 2)])
def test_oracle_every_printed_corner_lies_where_it_should_at_true_scale(paper: str, card: int, tmp_path: Path) -> None:
    picture = _raster(write_card(paper, card), card, tmp_path)
    corners, ids, _, found = cv2.aruco.CharucoDetector(b.board(card)).detectBoard(picture)
    assert len(found) == len(list(b.markers(card)))
    rows = {int(n): at for n, at in zip(ids.ravel(), corners.reshape(-1, 2), strict=True)}
    assert set(rows) >= b.real_corners()
    size = PAPERS[paper]
    for number in b.real_corners():
        x, y = (rows[number] + 0.5) * 25.4 / DPI
        wanted = b.corner_places()[number] + [BOARD_LEFT_MM, board_bottom_mm(size)]
        assert (x, size.height_mm - y) == pytest.approx(tuple(wanted), abs=0.12)


def test_oracle_the_rule_is_200_mm_long_on_paper(tmp_path: Path) -> None:
    picture = _raster(write_card(), 1, tmp_path)
    mm = 25.4 / DPI
    column = picture[:, int(RULER_LEFT_MM / mm) + 2 : int((RULER_LEFT_MM + 2.5) / mm)].max(axis=1)
    dark = np.flatnonzero(column < 128)
    assert (dark[-1] - dark[0]) * mm == pytest.approx(b.RULER_MM, abs=0.5)


def test_cards_differ_and_there_is_an_end_of_them() -> None:
    sets = [{number for number, _, _ in b.markers(card)} for card in range(1, b.CARDS + 1)]
    assert sum(map(len, sets)) == len(set().union(*sets))
    with pytest.raises(FitError, match="Ask for 1 to"):
        write_card(cards=b.CARDS + 1)


def test_the_command_writes_a_pdf_and_refuses_another_form(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = tmp_path / "card.pdf"
    assert run(["card", "--out", str(out), "--paper", "letter", "--cards", "2"]) == 0
    assert len(PdfReader(out).pages) == 2
    assert run(["card", "--out", str(tmp_path / "card.png")]) == 2
    assert "End it in .pdf" in capsys.readouterr().err
