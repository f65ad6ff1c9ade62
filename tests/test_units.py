"""Lengths as a maker writes them."""

import re
from collections.abc import Iterator
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.errors import FitError, nearest
from diagnose.places import bundled_rules
from diagnose.units import Unit, both, in_her_unit, in_inches, on_ruler, parse_length, read_length


@pytest.mark.parametrize(
    ("text", "mm"),
    [
        ("1 1/2 in", 38.1), ('1-1/2"', 38.1), ("0.5in", 12.7), ('3/8"', 9.525), ("38 mm", 38.0), ("5.1 cm", 51.0),
        ("2", 50.8), ("½ in", 12.7), ("2½", 63.5), ("-1/4 in", -6.35), (".25 in", 6.35), ("1 1/2 inches", 38.1),
        ("0", 0.0), ("−1 in", -25.4), ("12 mm ", 12.0), 
        (" 2 in. ", 50.8), ("2 In", 50.8), ("5,1 CM", 51.0), ("3/8”", 9.525),
    ],
)  # fmt: skip
def test_the_spellings_of_a_maker_are_read(text: str, mm: float) -> None:
    assert parse_length(text) == pytest.approx(mm, abs=1e-12)


@pytest.mark.parametrize(
    "text",
    ["", "in", "x", "1 1/0 in", "1/2/3", "1e3", "nan", "inf", "1 in 2", "1,500 in", "٣ in", "0x10", "1 1 in",
     "9999999 in", "1/2 1 in", "--1 in", "1 ft", "$(1)", "1" * 41],
)  # fmt: skip
def test_anything_else_is_no_length(text: str) -> None:
    assert parse_length(text) is None


def test_a_refusal_quotes_the_text_and_says_which_spelling_would_do() -> None:
    with pytest.raises(FitError) as caught:
        read_length("two inches", "gap.top")
    assert "“two inches”" in str(caught.value)
    assert "1 1/2 in" in str(caught.value)
    assert str(caught.value).startswith("gap.top: ")


@pytest.mark.parametrize("value", [True, None, [], float("nan"), float("inf"), -float("inf"), 1e12, {}])
def test_what_is_no_length_in_json_is_refused(value: object) -> None:
    with pytest.raises(FitError):
        read_length(value, "x")


def test_a_json_number_is_millimetres_and_text_without_unit_takes_the_case_unit() -> None:
    assert read_length(25, "x") == 25.0
    assert read_length("25", "x", "mm") == 25.0
    assert read_length("2.5", "x", "cm") == 25.0


def test_lengths_are_shown_as_the_nearest_sixteenth_with_millimetres_beside() -> None:
    assert both(38.1) == "1 1/2 in (38 mm)"
    assert both(3.175) == "1/8 in (3 mm)"
    assert both(0) == "0 in (0 mm)"
    assert in_inches(-9.525) == "-3/8 in"
    assert in_inches(-0.1) == "0 in"
    assert both(38.1, "mm") == "38 mm"
    assert [both(mm, "mm") for mm in (6.5, 7.5, 523.5, -6.5, 6.4)] == [
        "6.5 mm",
        "7.5 mm",
        "523.5 mm",
        "-6.5 mm",
        "6 mm",
    ]
    assert [both(mm, "cm") for mm in (6.5, 63.5, 6.4, 3.2)] == ["0.65 cm", "6.35 cm", "0.6 cm", "0.3 cm"]
    assert both(63.5) == "2 1/2 in (63.5 mm)"
    assert both(38.1, "cm") == "3.8 cm"


@given(st.integers(0, 16 * 60))
def test_what_is_shown_in_inches_reads_back_to_the_same_sixteenth(sixteenths: int) -> None:
    mm = float(Fraction(sixteenths, 16) * Fraction(254, 10))
    assert parse_length(in_inches(mm)) == pytest.approx(mm, abs=1e-9)


@given(st.floats(-2000, 2000))
def test_rounding_to_the_ruler_moves_a_length_by_half_a_division_at_most(mm: float) -> None:
    assert abs(on_ruler(mm) - mm) <= 25.4 / 32 + 1e-9


@given(st.text(max_size=30))
def test_no_text_breaks_the_reader(text: str) -> None:
    read = parse_length(text)
    assert read is None or abs(read) <= 100_000


@pytest.mark.parametrize("unit", ["cm", "mm"])
@given(first=st.integers(1, 16 * 60), last=st.integers(1, 16 * 60), word=st.sampled_from(["to", "and", "or"]))
def test_a_sentence_in_inches_is_said_in_her_unit_without_a_figure_left_behind(
    unit: Unit, first: int, last: int, word: str
) -> None:
    one, other = (both(sixteenths * 25.4 / 16) for sixteenths in (first, last))
    bare_one, bare_other = (in_inches(sixteenths * 25.4 / 16) for sixteenths in (first, last))
    hers_one, hers_other = (both(sixteenths * 25.4 / 16, unit) for sixteenths in (first, last))
    assert in_her_unit(f"Out by {bare_one}.", unit) == f"Out by {hers_one}."
    said = in_her_unit(f"Out by {bare_one.removesuffix(' in')} {word} {bare_other}.", unit)
    assert said == f"Out by {hers_one.removesuffix(f' {unit}')} {word} {hers_other}."
    said = in_her_unit(f"Out by {one}, by {other}.", unit)
    assert re.fullmatch(rf"Out by [\d.]+ {unit}, by [\d.]+ {unit}\.", said)


def test_a_row_of_lengths_is_said_in_her_unit() -> None:
    said = in_her_unit("At the lacing 3, 2 and 3 13/16 in (76, 51 and 97 mm) at bust, waist and hip.", "cm")
    assert said == "At the lacing 7.6, 5.1 and 9.7 cm at bust, waist and hip."


@pytest.mark.parametrize(("inches", "mm"), [("1/16", "1.5"), ("1/8", "3"), ("3/16", "5"), ("1/4", "6"), ("3/8", "10")])
def test_a_length_of_the_ruler_has_one_figure_in_mm_and_the_same_in_cm_however_it_is_come_by(
    inches: str, mm: str
) -> None:
    length_mm = parse_length(f"{inches} in")
    assert length_mm is not None
    said = both(length_mm)
    assert said == f"{inches} in ({mm} mm)"
    assert in_her_unit(said, "mm") == both(length_mm, "mm")
    assert in_her_unit(said, "cm") == both(length_mm, "cm")


def test_the_rules_turn_inches_into_mm_as_the_program_does() -> None:
    found = [(m[0], m["inches"], m["mm"]) for text in _rule_texts() for m in WRITTEN.finditer(text)]
    assert len(found) > 150
    wrong = []
    for whole, inches, mm in found:
        lengths = [parse_length(f"{one} in") for one in re.findall(FIGURE, inches)]
        said = [both(one or 0.0, "mm").removesuffix(" mm") for one in lengths]
        wrong += [whole] if said != re.findall(r"[\d.]+", mm) else []
    assert wrong == []


FIGURE = r"(?:\d+ )?\d+/\d+|\d+"
LINKED = rf"(?:(?:{FIGURE}),? (?:to|and|or) |(?:{FIGURE}), )*"
WRITTEN = re.compile(rf"(?<![\d/.])(?P<inches>{LINKED}(?:{FIGURE})) in \((?P<mm>[\d., toandr]+) mm\)")


def _rule_texts() -> Iterator[str]:
    for file in bundled_rules().rglob("*.yaml"):
        text = " ".join(file.read_text(encoding="utf-8").split())
        # What is said of two inches and a half may be one row: "6 in, 6 1/2 in or 9 in (152, 165 or 229 mm)".
        yield re.sub(r" in(?=, \d| or \d)", "", text)


def test_where_nothing_is_known_no_empty_list_is_offered() -> None:
    assert nearest("4.4", []) == "There is none to name."
    assert nearest("4.4", ["1.1"]) == "Known: 1.1."
