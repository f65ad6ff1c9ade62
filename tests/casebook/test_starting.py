import errno
import os
from pathlib import Path

import pytest
from invented_case import error_of, oblong, started, state_of

from diagnose.casebook import create, open_case
from diagnose.errors import FitError


def test_a_case_started_is_the_case_read(tmp_path: Path) -> None:
    case = started(tmp_path / "lydia")
    assert case == open_case(tmp_path / "lydia")
    assert (case.name, case.created, case.unit, case.target) == ("lydia", "2026-01-05", "in", "2 in")
    assert [(v.number, v.made_from) for v in case.versions] == [(1, None)]
    assert case.pattern == oblong()
    assert case.wearer == {"waist": "28 in"}
    assert case.tryons == ()


def test_the_files_are_the_same_for_the_same_case(tmp_path: Path) -> None:
    (tmp_path / "one").mkdir()
    (tmp_path / "two").mkdir()
    started(tmp_path / "one" / "lydia")
    started(tmp_path / "two" / "lydia")
    assert state_of(tmp_path / "one") == state_of(tmp_path / "two")


def test_an_empty_folder_may_become_a_case(tmp_path: Path) -> None:
    (tmp_path / "lydia").mkdir()
    assert started(tmp_path / "lydia").name == "lydia"


def test_a_case_that_exists_is_not_started_again(tmp_path: Path) -> None:
    started(tmp_path / "lydia")
    before = state_of(tmp_path)
    with pytest.raises(FitError, match="There is a case here already"):
        started(tmp_path / "lydia")
    assert state_of(tmp_path) == before


@pytest.mark.parametrize("inside", ["notes.txt", "patterns/0002.json", "patterns/mine.json", "tryons/0001.json"])
def test_a_folder_with_other_things_is_left_alone(tmp_path: Path, inside: str) -> None:
    path = tmp_path / "lydia" / inside
    path.parent.mkdir(parents=True)
    path.write_text("mine")
    with pytest.raises(FitError, match="holds other things"):
        started(tmp_path / "lydia")
    assert path.read_text() == "mine"


@pytest.mark.parametrize(
    ("name", "says"),
    [
        ("file", "A file of that name exists"),
        ("missing/lydia", "no such file or folder"),
        ("file/lydia", "no folder"),
        ("n" * 300, "too long"),
        ("a\0b", "zero character"),
        ("dangling", "A file of that name exists"),
        ("loop/lydia", "link"),
    ],
)
def test_an_impossible_folder_is_refused_in_one_sentence(tmp_path: Path, name: str, says: str) -> None:
    (tmp_path / "file").write_text("here")
    (tmp_path / "dangling").symlink_to(tmp_path / "nowhere")
    (tmp_path / "loop").symlink_to(tmp_path / "loop")
    with pytest.raises(FitError, match=says) as refused:
        started(tmp_path / name)
    assert len(refused.value.mistakes) == 1
    assert sorted(os.listdir(tmp_path)) == ["dangling", "file", "loop"]


def test_every_mistake_in_what_is_given_is_told_and_no_folder_made(tmp_path: Path) -> None:
    with pytest.raises(FitError) as refused:
        create(tmp_path / "x", oblong(), garment={"style": "hat"}, target="-1 in", wearer={"waist": "2 in"})
    assert {m.where for m in refused.value.mistakes} >= {"garment.style", "wearer.waist"}
    assert os.listdir(tmp_path) == []


@pytest.mark.parametrize("settings", [{"dead-band": float("nan")}, {"dead-band": float("inf")}])
def test_a_setting_that_is_no_number_is_refused(tmp_path: Path, settings: dict[str, float]) -> None:
    with pytest.raises(FitError, match="dead-band"):
        create(tmp_path / "x", oblong(), settings=settings)
    assert os.listdir(tmp_path) == []


def test_a_name_that_would_steer_a_terminal_is_shown_harmless(tmp_path: Path) -> None:
    case = started(tmp_path / "ly\x1b[31mdia\u202e")
    assert case.name == "ly?[31mdia?"
    assert open_case(case.folder) == case
    with pytest.raises(FitError) as refused:
        started(case.folder)
    assert str(refused.value).isprintable()


def test_a_name_that_is_no_utf8_is_shown_harmless(tmp_path: Path) -> None:
    case = started(Path(os.fsdecode(os.fsencode(tmp_path) + b"/ly\xffdia")))
    assert case.name == "ly?dia"


def test_a_path_with_dots_names_the_folder_it_leads_to(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "lydia" / "inner").mkdir(parents=True)
    monkeypatch.chdir(tmp_path / "lydia" / "inner")
    assert started(Path(".")).name == "inner"


@pytest.mark.parametrize("call", ["open", "mkdir", "fsync", "link"])
@pytest.mark.parametrize("after", range(0, 14, 3))
@pytest.mark.parametrize(
    ("code", "says"), [(errno.ENOSPC, "full"), (errno.EROFS, "only be read"), (errno.EACCES, "right")]
)
def test_a_start_the_system_refuses_leaves_no_trace(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, call: str, after: int, code: int, says: str
) -> None:
    really, calls = getattr(os, call), [0]

    def refuse(*args: object, **more: object) -> object:
        calls[0] += 1
        if calls[0] > after:
            raise OSError(code, os.strerror(code))
        return really(*args, **more)

    with monkeypatch.context() as patch:
        patch.setattr(os, call, refuse)
        error = error_of(lambda: started(tmp_path / "lydia"))
    if error is None:
        assert calls[0] <= after
        return
    assert says in str(error)
    if (tmp_path / "lydia" / "case.json").exists():  # refused only when it was read again
        assert call == "open"
        assert open_case(tmp_path / "lydia").pattern == oblong()
    else:
        assert os.listdir(tmp_path) == []


def test_a_start_forces_every_folder_to_the_disk(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    really, forced = os.fsync, set()

    def force(handle: int) -> None:
        forced.add(os.fstat(handle).st_ino)
        really(handle)

    monkeypatch.setattr(os, "fsync", force)
    folder = started(tmp_path / "lydia").folder
    for path in (tmp_path, folder, folder / "patterns", folder / "patterns/0001.json", folder / "case.json"):
        assert path.stat().st_ino in forced
