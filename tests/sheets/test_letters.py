"""How wide words are, held to the font's own widths as reportlab has them."""

from __future__ import annotations

import string

import pytest

from diagnose.sheets.drawn.letters import lines_within, words_wide

pdfmetrics = pytest.importorskip("reportlab.pdfbase.pdfmetrics")
SENTENCE = "From where the back top meets the strap-back end measure 5/8 in (16 mm) along it and mark A; rule A–B."


@pytest.mark.parametrize("letter", [*string.ascii_letters, *string.digits, *" .,;:()/-'\"·–…“”’½%+"])
def test_a_letter_is_as_wide_as_in_the_font_oracle(letter: str) -> None:
    assert words_wide(letter, 10.0) == pytest.approx(pdfmetrics.stringWidth(letter, "Helvetica", 10.0), abs=0.01)


@pytest.mark.parametrize("words", [SENTENCE, "third panel", "1 3/16 in", "Take in evenly", "gore 5/8 in", "bodies"])
def test_bold_words_are_never_wider_than_said_oracle(words: str) -> None:
    wide = pdfmetrics.stringWidth(words, "Helvetica-Bold", 10.0)
    assert 0.98 * wide <= words_wide(words, 10.0, bold=True) <= 1.1 * wide


@pytest.mark.parametrize("wide_mm", [40.0, 90.0, 190.0])
def test_lines_keep_within_the_width_and_lose_no_word(wide_mm: float) -> None:
    lines = [*lines_within(SENTENCE, wide_mm, 3.7, hang="    ")]
    assert all(pdfmetrics.stringWidth(line, "Helvetica", 3.7) <= wide_mm for line in lines)
    assert " ".join(" ".join(lines).split()) == SENTENCE
    assert all(line.startswith("    ") for line in lines[1:])
