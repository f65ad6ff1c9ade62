"""The cache of compiled rules: used while nothing has changed, and never a reason to fail."""

import os
import stat
from collections.abc import Callable
from pathlib import Path

import pytest
from small_rules import changed, small_folder

from diagnose.errors import FitError
from diagnose.places import bundled_rules
from diagnose.rulebase import loading
from diagnose.rulebase.loading import load_rulebase
from diagnose.rulebase.reading.cache import cache_folder

LOW = "causes/height/edge-low.yaml"


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A small folder of rules, and a cache of its own."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    made = small_folder(tmp_path / "rules")
    (made / "settings.yaml").write_text((bundled_rules() / "settings.yaml").read_text())
    return made


@pytest.fixture
def readings(monkeypatch: pytest.MonkeyPatch) -> list[Path]:
    """The folders that are read and checked from now on."""
    seen: list[Path] = []
    read: Callable[[Path], object] = loading._read_and_check
    monkeypatch.setattr(loading, "_read_and_check", lambda folder: (seen.append(folder), read(folder))[1])
    return seen


def test_an_unchanged_folder_is_read_once_and_comes_back_the_same(folder: Path, readings: list[Path]) -> None:
    first, second = load_rulebase(folder), load_rulebase(folder)
    assert readings == [folder]
    assert second.entries == first.entries
    assert (second.digest, second.rules, second.links) == (first.digest, first.rules, first.links)


def test_a_changed_a_new_and_a_renamed_file_are_read_anew(folder: Path, readings: list[Path]) -> None:
    digests = {load_rulebase(folder).digest}
    changed(folder, LOW, "common: rare", "common: common")
    digests.add(load_rulebase(folder).digest)
    assert load_rulebase(folder).entries.causes["edge-low"].common == "common"
    (folder / "symptoms/back/edge-bites.yaml").rename(folder / "symptoms/stop-flags/edge-bites.yaml")
    digests.add(load_rulebase(folder).digest)
    assert len(digests) == len(readings) == 3


def test_a_setting_that_a_folder_leaves_out_is_as_in_the_rules_that_come_along(folder: Path) -> None:
    changed(folder, "settings.yaml", "\nside-at:", "\nside-where:")
    changed(folder, "settings.yaml", "  value: 3 in\n", "  value: 5 in\n")
    settings = load_rulebase(folder).settings
    assert (settings.mm("side-at"), settings.mm("other-size")) == (0.5, 5 * 25.4)


def test_touching_a_file_without_changing_it_reads_nothing_anew(folder: Path, readings: list[Path]) -> None:
    load_rulebase(folder)
    os.utime(folder / LOW, (1, 1))
    load_rulebase(folder)
    assert len(readings) == 1


@pytest.mark.parametrize("damage", [b"", b"{", b"null", b"\xff\xfe\x00", b'{"facts": {}}', b"[1, 2, 3]"])
def test_a_damaged_cache_is_read_past_and_mended(folder: Path, readings: list[Path], damage: bytes) -> None:
    good = load_rulebase(folder)
    (kept,) = cache_folder().glob("rules-*.json")
    whole = kept.read_bytes()
    kept.write_bytes(damage)
    assert load_rulebase(folder).entries == good.entries
    assert len(readings) == 2
    assert kept.read_bytes() == whole


def test_a_cache_cut_short_is_read_past(folder: Path, readings: list[Path]) -> None:
    good = load_rulebase(folder)
    (kept,) = cache_folder().glob("rules-*.json")
    kept.write_bytes(kept.read_bytes()[:-100])
    assert load_rulebase(folder).entries == good.entries
    assert len(readings) == 2


def test_a_cache_folder_that_cannot_be_written_only_costs_time(
    folder: Path, readings: list[Path], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "in-the-way").write_text("a file where the folder should be")
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "in-the-way"))
    assert load_rulebase(folder).entries == load_rulebase(folder).entries
    assert len(readings) == 2


@pytest.mark.skipif(os.geteuid() == 0, reason="root may write everywhere")
def test_a_cache_folder_without_the_right_to_write_only_costs_time(folder: Path) -> None:
    cache_folder().mkdir(parents=True)
    cache_folder().chmod(stat.S_IRUSR | stat.S_IXUSR)
    load_rulebase(folder)
    assert not list(cache_folder().iterdir())


def test_nothing_half_written_is_left_behind_and_wrong_rules_are_never_kept(folder: Path) -> None:
    load_rulebase(folder)
    assert {path.suffix for path in cache_folder().iterdir()} == {".json"}
    changed(folder, LOW, "edge-bites.amount + 1/4 in", "edge-bits.amount + 1/4 in")
    with pytest.raises(FitError):
        load_rulebase(folder)
    assert len(list(cache_folder().glob("rules-*"))) == 1


def test_a_folder_that_is_not_there_is_told(tmp_path: Path) -> None:
    with pytest.raises(FitError, match="There is no such folder of rules"):
        load_rulebase(tmp_path / "nowhere")
