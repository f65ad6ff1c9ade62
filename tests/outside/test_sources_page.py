"""`diagnose rules sources`: every source with the lines that rest on it, every check with its figure and ours."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

import pytest
import yaml
from registry import base, checks, settings

from diagnose.cli.running import run
from diagnose.places import bundled_rules
from diagnose.rulebase.reading.outside_checks import lines_resting


def page(capsys: pytest.CaptureFixture[str], *options: str) -> str:
    assert run(["rules", "sources", *options]) == 0
    return capsys.readouterr().out


def source_lines(data: object) -> Iterator[str]:
    if isinstance(data, dict):
        for key, value in data.items():
            yield from [value] if key == "source" else source_lines(value)
    if isinstance(data, list):
        for value in data:
            yield from source_lines(value)


def counted(folder: Path) -> Counter[str]:
    """The sources that the files name, read by a YAML reader and not by ours."""
    files = [path for path in folder.rglob("*.yaml") if path.name != "checks.yaml"]
    lines = [line for path in files for line in source_lines(yaml.safe_load(path.read_text(encoding="utf-8")))]
    return Counter(key for line in lines for key in {part.split(",")[0].strip() for part in line.split(";")})


def test_the_lines_that_rest_on_a_source_are_those_in_the_files(capsys: pytest.CaptureFixture[str]) -> None:
    told = json.loads(page(capsys, "--json"))["sources"]
    assert {key: source["lines"] for key, source in told.items() if source["lines"]} == counted(bundled_rules())


def test_every_setting_and_every_link_counts_as_a_line() -> None:
    entries = base().entries
    links = sum(len(symptom.causes) for symptom in entries.symptoms.values())
    assert len(lines_resting(bundled_rules())) > links + len(settings().values) + len(entries.causes)


def test_every_source_and_every_check_stands_on_the_page(capsys: pytest.CaptureFixture[str]) -> None:
    plain = " ".join(page(capsys).split())
    titles = [source.title for source in base().entries.sources.values()]
    titles += [source.title for source in checks().sources.values()]
    assert [title for title in titles if " ".join(title.split()) not in plain] == []
    for check in checks().checks.values():
        assert " ".join(check.title.split()) in plain
        assert " ".join(check.how.split()) in plain
        for figure in check.figures:
            assert figure.what in plain
        assert check.differs is None or " ".join(check.differs.split()) in plain


def test_how_sure_a_line_is_stands_over_its_source(capsys: pytest.CaptureFixture[str]) -> None:
    text = page(capsys)
    heads = ["Published, seen as far as said", "Practice of the trade, no source", "From memory, not checked"]
    places = [text.index(f"\n{head}: ") for head in heads]
    assert places == sorted(places)
    assert places[0] < text.index("\n  gau-study: ") < places[1] < text.index("\n  common-practice: ") < places[2]


def test_the_page_keeps_to_eighty_columns(capsys: pytest.CaptureFixture[str]) -> None:
    assert max(map(len, page(capsys).splitlines())) <= 80


def test_inches_have_their_millimetres_beside_them(capsys: pytest.CaptureFixture[str]) -> None:
    assert "- spread of the lacing: theirs 6 in to 8 in (152 to 203 mm), ours 8 in (203 mm)" in " ".join(
        page(capsys).split()
    )


def test_the_data_are_the_table(capsys: pytest.CaptureFixture[str]) -> None:
    data = json.loads(page(capsys, "--json"))
    assert list(data["checks"]) == list(checks().checks)
    assert data["checks"]["dart-moved"]["figures"][2] == {
        "what": "angle", "theirs": "10.8 degrees", "ours": "10.8 degrees"
    }  # fmt: skip
    assert data["sources"]["gau-study"]["kind"] == "published"
    assert data["sources"]["gau-study"]["lines"] == counted(bundled_rules())["gau-study"]
    assert data["sources"]["body-girths-2003"]["lines"] == 0
