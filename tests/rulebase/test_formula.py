"""Amounts as formulas: figures worked by hand, what is not known, and what is no formula."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from diagnose.errors import FitError
from diagnose.rulebase.reading.formula import parse_formula

IN = 25.4
FACTS = {"gap-fall": 2 * IN, "spill.amount": IN / 2, "seams-per-half": 4.0, "tabs": "plain"}


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("spill.amount + 1/4 in", 0.75 * IN),
        ("gap-fall - spill.amount", 1.5 * IN),
        ("gap-fall - 1 in - 1/2 in", IN / 2),
        ("gap-fall / 2 / 2", IN / 2),
        ("gap-fall + spill.amount * 2", 3 * IN),
        ("(gap-fall + spill.amount) * 2", 5 * IN),
        ("1 1/2 in", 1.5 * IN),
        ("1-1/2 in", 1.5 * IN),
        ("2.5 cm + 5 mm", 30.0),
        (".5 in", IN / 2),
        ("-gap-fall", -2 * IN),
        ("- (gap-fall - 3 in)", IN),
        ("min(gap-fall, 1 in, 3 in)", IN),
        ("max(gap-fall, 1 in)", 2 * IN),
        ("abs(1 in - gap-fall)", IN),
        ("first(nobody-knows, gap-fall)", 2 * IN),
        ("gap-fall / (4 * seams-per-half)", IN / 8),
        ("min(1 in, first(nobody-knows, spill.amount) + 1/8 in)", 0.625 * IN),
    ],
)
def test_a_formula_gives_what_is_worked_by_hand(text: str, value: float) -> None:
    assert parse_formula(text).value(FACTS) == pytest.approx(value)


@pytest.mark.parametrize(
    "text",
    ["nobody-knows + 1 in", "min(gap-fall, nobody-knows)", "abs(nobody-knows)", "first(nobody-knows, nor-this)",
     "-nobody-knows", "tabs * 2", "gap-fall / (seams-per-half - 4)"],
)  # fmt: skip
def test_what_needs_a_fact_that_is_not_known_or_divides_by_nothing_is_not_known(text: str) -> None:
    assert parse_formula(text).value(FACTS) is None


def test_the_names_are_those_it_reads_each_once_in_order() -> None:
    formula = parse_formula("max(gap-fall, spill.amount) + gap-fall - first(a, b)")
    assert formula.names == ("gap-fall", "spill.amount", "a", "b")
    assert formula.missing(FACTS) == ("a", "b")


@pytest.mark.parametrize(
    "text",
    ["", " ", "1 in +", "gap-fall spill", "(1 in", "1 in)", "min()", "min(1 in,)", "abs(1 in, 2 in)", "sum(1 in)",
     "1 ft", "(" * 5000, "gap-fall ** 2", "1 in; 2 in", "Gap", "__import__", "1/0 in", "2 in in",
     "min 1 in", "٣ in", "e" + "(" * 40],
)  # fmt: skip
def test_what_is_no_formula_is_refused_in_a_sentence(text: str) -> None:
    with pytest.raises(FitError, match="is not a formula"):
        parse_formula(text)


@settings(max_examples=300, deadline=None)
@given(st.text(alphabet="abmnix019 .,-+*/()", max_size=30))
def test_any_text_is_a_formula_or_is_refused_in_a_sentence(text: str) -> None:
    try:
        formula = parse_formula(text)
    except FitError:
        return
    value = formula.value(dict.fromkeys(formula.names, 2.0))
    assert value is None or isinstance(value, float)


@settings(max_examples=200, deadline=None)
@given(st.recursive(st.integers(1, 99).map(str), lambda sub: st.tuples(sub, st.sampled_from("+-*"), sub).map(
    lambda t: f"({t[0]} {t[1]} {t[2]})"), max_leaves=12))  # fmt: skip
def test_sums_and_products_agree_with_python_own_arithmetic(text: str) -> None:
    assert parse_formula(text).value({}) == pytest.approx(float(eval(text, {"__builtins__": {}})))
