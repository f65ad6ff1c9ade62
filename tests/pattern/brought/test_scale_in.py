from __future__ import annotations

import pytest
from drawings import bring, plain_svg, said, svg

from diagnose.errors import FitError
from diagnose.pattern.brought import Terms
from diagnose.pattern.brought import bring as bring_file
from diagnose.pattern.brought.understood.labels import NO_LABELS, Labels


def refusal(length: str, data: bytes | None = None) -> str:
    with pytest.raises(FitError) as caught:
        bring(data or plain_svg(), length=length)
    return str(caught.value)


@pytest.mark.parametrize("length", [
    "piece-1=320 mm", "1=320 mm", "piece-1.hem=120 mm", "piece-1/hem=4.72 in", "centre-back=310mm", "1.hem=12 cm",
    "piece-1.hem=119.5 mm",
])  # fmt: skip
def test_a_true_length_is_confirmed(length: str) -> None:
    brought = bring_file(plain_svg(), "x.svg", Terms("in"), NO_LABELS, length)
    assert "Scale checked" in brought.said[-1]


def test_a_length_without_a_unit_takes_the_usual_one() -> None:
    assert "Scale checked" in bring_file(plain_svg(), "x.svg", Terms("cm"), NO_LABELS, "piece-1.hem=12").said[-1]


@pytest.mark.parametrize(
    ("stated_mm", "words"),
    [
        (120 / 25.4, "drawn in mm and was read as inches"),
        (120 * 25.4, "drawn in inches and was read as mm"),
        (120 / 2.54, "drawn in cm and was read as inches"),
        (120 * 2.54, "drawn in inches and was read as cm"),
        (120 * 96 / 72, "drawn in points (72 to the inch) and was read as pixels"),
        (120 * 72 / 96, "drawn in pixels (96 to the inch) and was read as points"),
        (120 * 96 / 90, "drawn with 90 pixels to the inch and read with 96"),
        (120 * 96 / 25.4, "drawn in mm and was read as pixels"),
        (120 * 10, "drawn in cm and was read as mm"),
        (240, "half size"),
    ],
)
def test_a_wrong_scale_is_refused_with_the_mistake_of_unit_that_explains_it(stated_mm: float, words: str) -> None:
    text = refusal(f"piece-1.hem={stated_mm:.3f} mm")
    assert words in text
    assert f"{120 / stated_mm:.4g} times" in text


def test_the_remedy_offered_mends_the_scale() -> None:
    data = svg(plain_svg().decode().partition(">")[2].removesuffix("</svg>"), 'viewBox="0 0 400 400"')
    text = refusal("piece-1.hem=120 mm", data)
    assert "scale: 1 mm" in text
    mended = bring(data, labels=Labels(scale_mm=1.0), length="piece-1.hem=120 mm")
    assert mended.pieces[0].name == "piece-1"
    assert "96 to the inch" in said(data)


def test_a_difference_no_unit_explains_says_so() -> None:
    assert "No mistake of unit explains it" in refusal("piece-1.hem=131 mm")


@pytest.mark.parametrize("length", ["piece-1.hem=119 mm", "piece-1.hem=121 mm"])
def test_more_than_half_a_percent_off_is_refused(length: str) -> None:
    assert "in the drawing, but you state" in refusal(length)


@pytest.mark.parametrize(
    ("length", "words"),
    [
        ("hem", "gives no length"),
        ("hem=4 in", "Several edges are called “hem”"),
        ("nape=4 in", "no edge or piece “nape”"),
        ("piece-1.hem=0 mm", "no length to check by"),
        ("piece-1.hem=long", "not a length"),
        ("=4 in", "gives no length"),
    ],
)
def test_a_length_that_names_nothing_is_refused(length: str, words: str) -> None:
    assert words in refusal(length)
