"""What a disk, a full case or a hand in the files may do: refused in a sentence, with nothing half done."""

from __future__ import annotations

import errno
import fcntl
import json
import os
from pathlib import Path
from typing import Any

import pytest
from invented_case import altered, narrower, oblong, started, unseal
from msgspec.structs import replace
from replaying import replay

from diagnose.casebook import add_version, create, open_case, putting, safely
from diagnose.casebook.bundled import bundled_case
from diagnose.casebook.lock import locked
from diagnose.errors import FitError
from diagnose.files import bytes_of


def failing(number: int) -> Any:
    def fail(*_: object, **__: object) -> None:
        raise OSError(number, os.strerror(number))

    return fail


@pytest.mark.parametrize(("number", "passes"), [(errno.EINVAL, True), (errno.EIO, False), (errno.ENOSPC, False)])
def test_a_disk_that_cannot_force_a_folder_is_let_be_and_one_that_fails_is_not(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, number: int, passes: bool
) -> None:
    monkeypatch.setattr(os, "fsync", failing(number))
    if passes:
        safely.sync_folder(tmp_path)
    else:
        with pytest.raises(OSError, match=os.strerror(number)):
            safely.sync_folder(tmp_path)


def test_where_no_file_can_be_linked_and_the_new_one_not_moved_into_place_its_name_is_free_again(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(os, "link", failing(errno.EPERM))
    monkeypatch.setattr(os, "replace", failing(errno.EIO))
    with pytest.raises(FitError):
        safely.write_new_text(tmp_path / "a", "new")
    monkeypatch.undo()
    assert os.listdir(tmp_path) == []
    safely.write_new_text(tmp_path / "a", "new")
    assert (tmp_path / "a").read_text(encoding="utf-8") == "new"


def test_where_no_file_can_be_linked_a_new_file_is_written_all_the_same_and_no_old_one_over(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(os, "link", failing(errno.EPERM))
    safely.write_new_text(tmp_path / "a", "first")
    with pytest.raises(FitError, match="It exists already"):
        safely.write_new_text(tmp_path / "a", "second")
    assert (tmp_path / "a").read_text(encoding="utf-8") == "first"
    assert os.listdir(tmp_path) == ["a"]


def test_a_disk_without_locks_is_told_at_once_and_not_waited_for(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(fcntl, "flock", failing(errno.ENOLCK))
    with pytest.raises(FitError) as caught, locked(tmp_path, 60.0):
        pass
    assert "Another program" not in str(caught.value)
    assert caught.value.mistakes[0].do


def test_a_case_that_holds_as_many_versions_as_it_may_takes_no_more(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(putting, "MOST_NUMBER", 2)
    case = started(tmp_path / "lydia")
    case = add_version(case, altered(case.pattern, 1.0), 1, narrower(1.0))
    with pytest.raises(FitError, match="at most 2 versions") as caught:
        add_version(case, altered(case.pattern, 1.0), 2, narrower(1.0))
    assert caught.value.mistakes[0].do == "Start another case."
    assert [version.number for version in open_case(case.folder).versions] == [1, 2]


def test_a_bundled_case_of_no_such_name_is_refused_with_those_there_are() -> None:
    with pytest.raises(FitError, match="no bundled case") as caught:
        bundled_case("no-such")
    assert "dancer" in caught.value.mistakes[0].do
    assert bundled_case("dancer").rounds


@pytest.mark.parametrize(("now", "same"), [(True, True), (False, False), (1, False), (1.0, False), ("true", False)])
def test_a_yes_kept_in_a_pattern_is_no_1_when_all_is_done_over_again(tmp_path: Path, now: object, same: bool) -> None:
    """Python takes True for 1; a file changed by hand from true to 1 is another file."""
    case = create(tmp_path / "lydia", replace(oblong(), extra={"mine": True}))
    case = add_version(case, altered(case.pattern, 1.0), 1, narrower(1.0))
    unseal(case.folder)
    file = next(path for path in sorted(case.folder.rglob("*2*")) if '"mine"' in _text_of(path))
    raw = json.loads(file.read_text(encoding="utf-8"))
    assert raw["mine"] is True
    file.write_text(json.dumps({**raw, "mine": now}), encoding="utf-8")
    again = open_case(case.folder)
    if same:
        assert replay(again).extra == {"mine": True}
    else:
        with pytest.raises(FitError, match="does not lead to the pattern stored"):
            replay(again)


def _text_of(path: Path) -> str:
    return path.read_text(encoding="utf-8") if path.is_file() else ""


@pytest.mark.parametrize("name", ["a\0b", Path("a\0b")])
def test_a_name_with_a_zero_character_is_an_error_of_the_system(name: str | Path) -> None:
    with pytest.raises(OSError, match="zero character") as caught:
        bytes_of(name, 10)
    assert caught.value.errno == errno.EINVAL
