"""Compiled templates are kept, and whatever has become of what was kept, the page is the same."""

from __future__ import annotations

from pathlib import Path

import jinja2
import pytest
from jinja2.environment import Template

from diagnose.rulebase.reading.cache import cache_folder
from diagnose.sheets.templates import templates_of


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    made = tmp_path / "templates"
    made.mkdir()
    (made / "page.j2").write_text("<p>{{ word }}</p>")
    return made


def page(folder: Path) -> str:
    return template(folder).render(word="a < b")


def template(folder: Path) -> Template:
    return templates_of(folder).get_template("page.j2")


def kept() -> Path:
    (found,) = cache_folder().glob("page-*.compiled")
    return found


def test_a_template_is_compiled_once(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    first = page(folder)
    monkeypatch.setattr(jinja2.Environment, "_compile", lambda *_: pytest.fail("compiled again"))
    assert page(folder) == first == "<p>a &lt; b</p>"


def test_a_template_that_was_changed_is_compiled_anew(folder: Path) -> None:
    page(folder)
    (folder / "page.j2").write_text("<b>{{ word }}</b>")
    assert page(folder) == "<b>a &lt; b</b>"


@pytest.mark.parametrize("damage", [b"", b"\xff" * 40, b"00000000\nrubbish"])
def test_what_was_kept_and_spoilt_is_passed_over_and_mended(folder: Path, damage: bytes) -> None:
    first = page(folder)
    whole = kept().read_bytes()
    kept().write_bytes(damage)
    assert page(folder) == first
    assert kept().read_bytes() == whole


def test_a_cache_folder_that_cannot_be_written_only_costs_time(
    folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "in-the-way").write_text("a file where the folder should be")
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "in-the-way"))
    assert page(folder) == "<p>a &lt; b</p>"


def test_a_name_that_is_not_given_is_an_error(folder: Path) -> None:
    with pytest.raises(jinja2.UndefinedError, match="word"):
        template(folder).render()
