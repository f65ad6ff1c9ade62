import json
import os
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from invented_case import ANSWERS, altered, narrower, plan, started, state_of, unseal

from diagnose.casebook import Case, add_tryon, add_version, layout, note_skipped, open_case
from diagnose.errors import FitError

FILES = [
    "case.json", "patterns/0001.json", "patterns/0001.done.json", "patterns/0002.json", "patterns/0002.done.json",
    "tryons/0001.json", "tryons/0001.plan.json", "tryons/0001.skipped.json",
]  # fmt: skip
HEADED = [name for name in FILES if "plan" not in name]


@pytest.fixture
def case(tmp_path: Path) -> Case:
    case = add_tryon(started(tmp_path / "lydia"), ANSWERS, plan(25.4, 0.0))
    case = add_version(case, altered(case.pattern, 2.5), 1, narrower(2.5), ["1.1"])
    case = note_skipped(case, 1, "1.2", "no time")
    unseal(case.folder)
    return open_case(case.folder)


def rewritten(path: Path, change: Callable[[dict[str, Any]], object]) -> None:
    raw = json.loads(path.read_text())
    change(raw)
    path.write_text(json.dumps(raw))


def refused(folder: Path) -> FitError:
    with pytest.raises(FitError) as error:
        open_case(folder)
    assert str(error.value)
    assert all(m.what and m.remedy for m in error.value.mistakes)
    return FitError(m for m in error.value.mistakes if m.code != "still-sound")


@pytest.mark.parametrize(
    ("name", "says"),
    [
        ("missing", "There is no case here"),
        ("empty", "holds no case.json"),
        ("file", "It is a file, not a case"),
        ("file/x", "no folder"),
        ("dangling", "There is no case here"),
        ("loop", "link"),
        ("a\0b", "zero character"),
        ("n" * 300, "too long"),
    ],
)
def test_what_is_no_case_is_refused_in_one_sentence(tmp_path: Path, name: str, says: str) -> None:
    (tmp_path / "empty").mkdir()
    (tmp_path / "file").write_text("here")
    (tmp_path / "dangling").symlink_to("nowhere")
    (tmp_path / "loop").symlink_to("loop")
    error = refused(tmp_path / name)
    assert says in str(error)
    assert len(error.mistakes) == 1


def test_a_link_to_a_case_folder_opens_it(tmp_path: Path, case: Case) -> None:
    (tmp_path / "link").symlink_to(case.folder)
    assert open_case(tmp_path / "link").versions == case.versions


def test_opening_a_case_writes_nothing(case: Case) -> None:
    (case.folder / ".lock").unlink(missing_ok=True)  # filelock may have taken it away
    before = sorted(os.listdir(case.folder))
    open_case(case.folder)
    assert sorted(os.listdir(case.folder)) == before


@pytest.mark.parametrize("name", FILES)
@pytest.mark.parametrize(
    ("text", "says"),
    [
        ('{"a": ', "not JSON"),
        ("[]", "object"),
        ('{"version": NaN}', "NaN"),
        ('{"version": 1e999}', "too large a number"),
        ('{"a": 1, "a": 2}', "twice"),
        ("[" * 100_000, "nested too deeply"),
        ('{"a": ' + "9" * 10_000 + "}", "digits"),
    ],
)
def test_broken_json_is_refused_by_its_file(case: Case, name: str, text: str, says: str) -> None:
    (case.folder / name).write_text(text)
    error = refused(case.folder)
    assert len(error.mistakes) == 1
    assert name in str(error)
    assert says in str(error)


@pytest.mark.parametrize("name", FILES)
def test_bytes_that_are_no_text_are_refused(case: Case, name: str) -> None:
    (case.folder / name).write_bytes(b'{"a": "\xff"}')
    assert f"{name}: It is not text in UTF-8" in str(refused(case.folder))


@pytest.mark.parametrize("name", FILES)
def test_a_file_of_no_believable_size_is_refused_unread(case: Case, name: str) -> None:
    with open(case.folder / name, "wb") as file:
        file.truncate(10_000_000_000)
    assert f"{name}: It is larger than" in str(refused(case.folder))


@pytest.mark.parametrize("name", FILES)
def test_a_folder_a_link_or_a_pipe_in_place_of_a_file_is_refused(case: Case, name: str) -> None:
    path = case.folder / name
    moved = path.rename(path.with_suffix(".moved"))
    path.mkdir()
    assert f"{name}: It is a folder" in str(refused(case.folder))
    path.rmdir()
    path.symlink_to(moved)
    assert f"{name}: It is a link" in str(refused(case.folder))
    path.unlink()
    os.mkfifo(path)
    assert f"{name}: it is no ordinary file" in str(refused(case.folder))


@pytest.mark.parametrize("part", ["patterns", "tryons"])
def test_a_part_of_the_case_that_is_a_link_or_a_file_is_refused(tmp_path: Path, case: Case, part: str) -> None:
    (case.folder / part).rename(tmp_path / "elsewhere")
    (case.folder / part).symlink_to(tmp_path / "elsewhere")
    assert f"{part}: It is a link" in str(refused(case.folder))
    (case.folder / part).unlink()
    (case.folder / part).write_text("")
    assert f"{part}: It is a file, and should be a folder" in str(refused(case.folder))


@pytest.mark.parametrize("name", HEADED)
def test_a_file_from_a_later_program_is_refused_with_that_remedy(case: Case, name: str) -> None:
    rewritten(case.folder / name, lambda raw: raw.update(version=2, novelty=[]))
    error = refused(case.folder)
    assert len(error.mistakes) == 1
    assert name in str(error)
    assert "later version of this program" in str(error) or "This program reads version 1" in str(error)


@pytest.mark.parametrize("name", HEADED)
@pytest.mark.parametrize("head", [{"format": "recipe"}, {"format": None}, {"version": "1"}, {"version": True}])
def test_a_foreign_file_is_refused(case: Case, name: str, head: dict[str, Any]) -> None:
    rewritten(case.folder / name, lambda raw: raw.update(head))
    assert name in str(refused(case.folder))


@pytest.mark.parametrize("name", ["patterns/0001.json", "patterns/0001.done.json", "patterns/0002.done.json"])
def test_a_missing_file_is_named(case: Case, name: str) -> None:
    (case.folder / name).unlink()
    assert name in str(refused(case.folder))


def test_missing_patterns_are_told(case: Case) -> None:
    for path in (case.folder / "patterns").iterdir():
        path.unlink()
    assert "patterns/0001.json: The case has no pattern" in str(refused(case.folder))


def test_a_file_with_a_great_number_is_no_endless_search(case: Case) -> None:
    (case.folder / "patterns/9999.json").write_text("{}")
    error = refused(case.folder)
    assert "patterns/0003.json: It is missing" in str(error)
    assert len(error.mistakes) <= 102


def test_files_that_are_not_the_cases_own_are_passed_over(case: Case) -> None:
    for name in ("patterns/0003 copy.json", "patterns/00003.json", "patterns/0000.json", "tryons/x.json", "cat.txt"):
        (case.folder / name).write_text("mine")
    assert open_case(case.folder) == case


def test_all_mistakes_are_told_at_once_each_with_its_file(case: Case) -> None:
    rewritten(case.folder / "case.json", lambda raw: raw.update(unit="ell", created="once"))
    rewritten(case.folder / "patterns/0001.json", lambda raw: raw["pieces"][0].pop("start"))
    rewritten(case.folder / "patterns/0002.done.json", lambda raw: raw.pop("operations"))
    rewritten(case.folder / "tryons/0001.json", lambda raw: raw.update(answers=[]))
    (case.folder / "tryons/0001.skipped.json").write_text("")
    said = str(refused(case.folder))
    for place in ("case.json: unit", "case.json: created", "patterns/0001.json", "0002.done.json: operations",
                  "0001.json: answers", "tryons/0001.skipped.json"):  # fmt: skip
        assert place in said


@pytest.mark.parametrize(
    ("name", "change", "says"),
    [
        ("patterns/0002.done.json", {"number": 1}, "it is number 1"),
        ("patterns/0002.done.json", {"made_from": 2}, "made from version 2"),
        ("patterns/0002.done.json", {"tryon": 2}, "follow try-on 2"),
        ("patterns/0002.done.json", {"date": "2026-02-30"}, "Not a day"),
        ("tryons/0001.json", {"pattern_version": 3}, "of version 3"),
        ("tryons/0001.json", {"number": 2}, "it is number 2"),
        ("case.json", {"garment": {"style": "hat"}}, "garment.style"),
        ("case.json", {"target": "far"}, "target"),
        ("case.json", {"measurings": [{"date": "2026-01-05", "wearer": {"waist": "2 in"}}]}, "wearer.waist"),
        ("case.json", {"settings": {"dead-band": "wide"}}, "settings.dead-band"),
    ],
)
def test_what_contradicts_itself_is_refused(case: Case, name: str, change: dict[str, Any], says: str) -> None:
    rewritten(case.folder / name, lambda raw: raw.update(change))
    error = refused(case.folder)
    assert name in error.mistakes[0].where
    assert says in str(error)


def test_text_changed_by_hand_comes_out_harmless(case: Case) -> None:
    rewritten(case.folder / "case.json", lambda raw: raw.update(name="../../x\x1b]0;y\x07"))
    rewritten(case.folder / "patterns/0002.done.json", lambda raw: raw.update(notes=["a\x9bb"], steps=["1.1\x1b"]))
    rewritten(case.folder / "tryons/0001.skipped.json", lambda raw: raw["skipped"][0].update(why="\u202ebecause"))
    now = open_case(case.folder)
    shown = [now.name, *now.newest.done.notes, *now.newest.done.steps, now.tryons[0].skipped[0].why]
    assert all(text.isprintable() for text in shown)
    assert now.name == "../../x?]0;y?"


def test_a_refused_case_shows_no_terminal_escapes(case: Case) -> None:
    rewritten(case.folder / "case.json", lambda raw: raw.update(unit="\x1b[31m", settings={"\x1b[2J": "x"}))
    assert all(c.isprintable() or c == "\n" for c in str(refused(case.folder)))


def test_a_folder_without_the_right_to_read_is_refused(case: Case, monkeypatch: pytest.MonkeyPatch) -> None:
    before = state_of(case.folder)

    def refuse(*_args: object) -> None:
        raise PermissionError(13, "Permission denied")

    for call in ("open", "listdir"):
        with monkeypatch.context() as patch:
            patch.setattr(os, call, refuse)
            assert "no right" in str(refused(case.folder))
    assert state_of(case.folder) == before


def test_a_change_between_two_looks_is_seen_whole_or_not_at_all(case: Case, monkeypatch: pytest.MonkeyPatch) -> None:
    """Another program stores a try-on, and a version that follows it, just when the try-ons have been counted."""
    really = layout.last_number
    changed: list[Any] = []

    def count(folder: Path) -> int:
        found = really(folder)
        if folder.name == layout.TRYONS and not changed:
            changed.append(True)
            later = add_tryon(case, ANSWERS, plan(25.4, 0.0))
            changed.append(add_version(later, altered(later.pattern, 2.5), 2, narrower(2.5)))
        return found

    monkeypatch.setattr(layout, "last_number", count)
    assert open_case(case.folder) == changed[1]
