"""Every figure of rules/checks.yaml worked out afresh: it must be what the table says, and as theirs."""

from __future__ import annotations

import importlib
from pathlib import Path

import pytest
from registry import WORKED_OUT, base, checks

from diagnose.errors import FitError
from diagnose.places import bundled_rules
from diagnose.rulebase.reading.outside_checks import quantity, read_checks

for module in ("outside_lacing", "outside_paper", "outside_parts", "outside_bodies", "outside_engines"):
    importlib.import_module(module)


@pytest.mark.parametrize("name", sorted(WORKED_OUT))
def test_ours_is_what_the_table_says_and_stands_to_theirs_as_it_says(name: str) -> None:
    check = checks().checks[name]
    if check.needs is not None:
        pytest.importorskip(check.needs, exc_type=ImportError)
    values = WORKED_OUT[name]()
    wrong = [
        f"{figure.what}: {value} is not {figure.ours}"
        for figure, value in zip(check.figures, values, strict=True)
        if not figure.says(value)
    ]
    assert wrong == []
    parted = [
        f"{figure.what}: {value} against {figure.theirs}"
        for figure, value in zip(check.figures, values, strict=True)
        if not quantity(figure.theirs).holds(value, quantity(figure.within).low if figure.within else 0.0)
    ]
    assert bool(parted) == (check.differs is not None), parted


def test_every_check_of_the_table_is_worked_out_and_none_besides() -> None:
    assert set(checks().checks) == set(WORKED_OUT)


def test_the_table_refuses_what_it_does_not_know(tmp_path: Path) -> None:
    text = (bundled_rules() / "checks.yaml").read_text(encoding="utf-8")
    bad = text.replace("source: geometry\n", "source: geomancy\n", 1).replace("theirs: 33 in", "thiers: 33 in", 1)
    (tmp_path / "checks.yaml").write_text(bad, encoding="utf-8")
    with pytest.raises(FitError) as error:
        read_checks(tmp_path, base().entries.sources)
    assert any("thiers" in str(mistake) for mistake in error.value.mistakes)
    (tmp_path / "checks.yaml").write_text(bad.replace("thiers", "theirs"), encoding="utf-8")
    with pytest.raises(FitError, match=r"checks.yaml:\d+: There is no source 'geomancy'. Did you mean geometry"):
        read_checks(tmp_path, base().entries.sources)


def test_a_figure_and_ours_must_be_of_one_kind(tmp_path: Path) -> None:
    text = (bundled_rules() / "checks.yaml").read_text(encoding="utf-8")
    (tmp_path / "checks.yaml").write_text(text.replace("ours: 33 in", "ours: about right", 1), encoding="utf-8")
    with pytest.raises(FitError, match="cannot be compared"):
        read_checks(tmp_path, base().entries.sources)


@pytest.mark.parametrize(
    ("written", "value", "holds"),
    [
        ("2 in", 50.8, True),
        ("2 in", 50.9, False),
        ("24.98 in", 24.984 * 25.4, True),
        ("24.98 in", 24.99 * 25.4, False),
        ("10 %", 0.1, True),
        ("10 %", 0.11, False),
        ("at most 1/32 in", 0.79, True),
        ("at most 1/32 in", 0.80, False),
        ("at least 95 %", 0.95, True),
        ("at least 95 %", 0.949, False),
        ("2 in to 4 in", 101.6, True),
        ("2 in to 4 in", 50.0, False),
        ("4.4 degrees", 4.44, True),
        ("4.4 degrees", 4.46, False),
        ("-3/8 in", -9.525, True),
        ("30 minutes", 30.0, True),
        ("parallel", "parallel", True),
        ("parallel", 0.0, False),
        ("stop", "no stop", False),
    ],
)
def test_a_figure_is_understood_as_written(written: str, value: float | str, holds: bool) -> None:
    assert quantity(written).holds(value) is holds
