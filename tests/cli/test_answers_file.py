"""Answers written by hand: in YAML a length says its unit, so that no 2 is taken for what she did not mean."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from diagnose.cli.asking.answers_file import read_answers
from diagnose.errors import FitError


def read(tmp_path: Path, text: str, name: str = "answers.yaml") -> dict[str, Any]:
    (tmp_path / name).write_text(text, encoding="utf-8")
    return read_answers(tmp_path / name)


@pytest.mark.parametrize(
    ("text", "where", "spelt"),
    [
        ("gap: {top: 2}", "answers.yaml:1: gap.top is “2”, without a unit.", "2 in, 2 cm or 2 mm"),
        ("gap: {top: 010}", "answers.yaml:1: gap.top is “010”, without a unit.", "10 in, 10 cm or 10 mm"),
        ("gap: {top: 1:30}", "answers.yaml:1: gap.top is “1:30”, without a unit.", "like 1 1/2 in, 38 mm or 5.1 cm"),
        ("gap:\n  waist: 010\n", "answers.yaml:2: gap.waist is “010”", "10 in"),
        ("overlap: {top: 1:30}", "overlap.top is “1:30”", ""),
        ("target: 2.5", "target is “2.5”", "2.5 cm"),
        ("wearer: {waist: 27, today: usual}", "wearer.waist is “27”", "27 in"),
        ("garment: {allowance: 1}", "garment.allowance is “1”", "1 cm"),
        ("seen: {digs-under-arm: {amount: 5}}", "seen.digs-under-arm.amount is “5”", "5 mm"),
        ("gap: {top: 2026-03-01}", "gap.top is “2026-03-01”", ""),
    ],
)
def test_a_bare_number_is_refused_with_its_line_and_the_spellings(
    text: str, where: str, spelt: str, tmp_path: Path
) -> None:
    with pytest.raises(FitError) as refused:
        read(tmp_path, text)
    assert where in str(refused.value)
    assert spelt in str(refused.value)
    assert refused.value.codes == {"bare-number"}


def test_all_of_a_file_are_told_at_once(tmp_path: Path) -> None:
    with pytest.raises(FitError) as refused:
        read(tmp_path, "gap: {top: 2, waist: 3, bottom: 0}\ntarget: {top: 1}\n")
    assert len(refused.value.mistakes) == 3


@pytest.mark.parametrize(
    "text",
    [
        "gap: {top: 0, waist: 0.0, bottom: 2 in, hip: '2,5 cm'}",
        "garment: {seams_per_half: 4, meant_to_meet: false}",
        "seen: {digs-under-arm: {grade: 2}, slides-down: true}",
        "wearer: {today: usual}",
        "gap: {top: null}",
        "gap: {top: 2,5 cm, waist: 3,5 cm}",
    ],
)
def test_nought_counts_words_and_lengths_with_their_unit_are_taken(text: str, tmp_path: Path) -> None:
    assert read(tmp_path, text)


def test_a_number_in_json_is_millimetres(tmp_path: Path) -> None:
    assert read(tmp_path, '{"gap": {"top": 50}}', "answers.json") == {"gap": {"top": 50}}


def test_a_decimal_comma_does_not_end_a_length_in_braces_and_words_keep_their_commas(tmp_path: Path) -> None:
    text = "gap: {top: 2,5 cm, waist: 3,5 cm }\ntarget: 5,1 cm # as she wears it\nnote: 'x: 2,5 cm'\n"
    assert read(tmp_path, text) == {
        "gap": {"top": "2.5 cm", "waist": "3.5 cm"},
        "target": "5.1 cm",
        "note": "x: 2,5 cm",
    }


def test_what_is_wrong_besides_a_bare_number_is_told_with_it_and_its_line(tmp_path: Path) -> None:
    def check(told: dict[str, Any]) -> None:
        assert told["gap"] == {}
        raise FitError.of("seen.no-sign", "No sign is called so.", code="unknown-name")

    path = tmp_path / "answers.yaml"
    path.write_text("gap: {top: 2}\nseen:\n  no-sign: true\n", encoding="utf-8")
    with pytest.raises(FitError) as refused:
        read_answers(path, check)
    assert [mistake.where for mistake in refused.value.mistakes] == ["answers.yaml:1", "answers.yaml:3: seen.no-sign"]
