"""The settings kept beside the text they were read from: taken from there while that is the same, and no longer."""

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from diagnose.errors import FitError
from diagnose.places import bundled_rules
from diagnose.rulebase.reading import yamlfile
from diagnose.rulebase.reading.cache import cache_folder, keep_file, kept_file
from diagnose.rulebase.reading.settings_file import read_settings


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    made = tmp_path / "rules"
    made.mkdir()
    (made / "settings.yaml").write_bytes((bundled_rules() / "settings.yaml").read_bytes())
    return made


@pytest.fixture
def parsed(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """The YAML texts that are parsed from now on."""
    seen: list[str] = []
    parse: Callable[[str, str], Any] = yamlfile.parse_yaml
    monkeypatch.setattr(yamlfile, "parse_yaml", lambda text, name: (seen.append(text), parse(text, name))[1])
    return seen


def kept() -> Path:
    (found,) = cache_folder().glob("settings-*.json")
    return found


def test_settings_are_parsed_once_and_come_back_the_same(folder: Path, parsed: list[str]) -> None:
    first, second = read_settings(folder), read_settings(folder)
    assert len(parsed) == 1
    assert second == first
    assert list(second.values) == list(first.values)


def test_a_changed_text_is_parsed_anew(folder: Path, parsed: list[str]) -> None:
    before = read_settings(folder).mm("target-gap")
    path = folder / "settings.yaml"
    path.write_text(path.read_text().replace("value: 2 in", "value: 3 in", 1))
    assert (before, read_settings(folder).mm("target-gap")) == pytest.approx((50.8, 76.2))
    assert len(parsed) == 2


def test_what_is_kept_of_another_text_under_the_same_name_is_not_taken(folder: Path, parsed: list[str]) -> None:
    right = read_settings(folder)
    held = json.loads(kept_file(kept()) or b"")
    held["values"]["target-gap"][1] = 1.0
    keep_file(kept(), json.dumps({**held, "text": held["text"] + " "}).encode())
    assert read_settings(folder) == right
    assert len(parsed) == 2


@pytest.mark.parametrize(
    "damage",
    [
        b"", b"{", b"null", b"[]", b"\xff\xfe\x00", b'{"text": 1}', b"[" * 100_000,
        lambda held: None,
        lambda held: {**held, "values": None},
        lambda held: {**held, "values": {"target-gap": ["t", "2 in", True, "b", "s"]}},
        lambda held: {**held, "values": {"target-gap": ["t", 2.0]}},
        lambda held: {**held, "values": {"target-gap": 2.0}},
    ],
)  # fmt: skip
def test_a_damaged_cache_is_read_past_and_mended(folder: Path, parsed: list[str], damage: Any) -> None:
    right = read_settings(folder)
    whole = kept().read_bytes()
    if isinstance(damage, bytes):
        kept().write_bytes(damage)
    else:
        keep_file(kept(), json.dumps(damage(json.loads(kept_file(kept()) or b""))).encode())
    assert read_settings(folder) == right
    assert kept().read_bytes() == whole
    assert len(parsed) == 2


def test_wrong_settings_are_told_each_time_and_never_kept(folder: Path) -> None:
    path = folder / "settings.yaml"
    path.write_text(path.read_text().replace("value: 2 in", "value: two", 1))
    for _ in range(2):
        with pytest.raises(FitError, match="“two” is no value"):
            read_settings(folder)
    assert not cache_folder().exists()


def test_settings_that_are_not_there_are_told(tmp_path: Path) -> None:
    with pytest.raises(FitError, match="The file can't be read"):
        read_settings(tmp_path)


@pytest.mark.parametrize(
    ("value", "says"),
    [("value: 30 in", "lies outside its own low and high"), ("value: 8 in\n  low: wide", "“wide” is no value")],
)
def test_a_setting_whose_figures_do_not_fit_is_told(folder: Path, value: str, says: str) -> None:
    path = folder / "settings.yaml"
    path.write_text(
        path.read_text().replace("value: 8 in\n  low: 1/2 in", value + "\n  low: 1/2 in" * ("low" not in value), 1)
    )
    with pytest.raises(FitError, match=says):
        read_settings(folder)


@pytest.mark.parametrize(
    ("name", "text", "says"),
    [
        ("height-top", "0 in", "0 in is outside what is believable here, 1/2 in (13 mm) to 20 in (508 mm)."),
        ("side-at", "1.5", "1.5 is outside what is believable here, 0 to 1."),
        ("dead-band", "-1/4 in", "-1/4 in (-6 mm) is outside what is believable here, from 0 in up."),
    ],
)
def test_a_value_beyond_belief_is_refused_in_a_sentence(folder: Path, name: str, text: str, says: str) -> None:
    settings = read_settings(folder)
    with pytest.raises(FitError) as caught:
        settings.read(name, text, f"--set {name}")
    assert [(m.where, m.what) for m in caught.value.mistakes] == [(f"--set {name}", says)]
    assert settings.read("target-wider-top", "-1 in", "") == pytest.approx(-25.4)
