import errno
import json
import math
import os
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from invented_case import ANSWERS, altered, error_of, narrower, narrower_as_stored, plan, started, state_of, unseal

from diagnose.casebook import (
    Case,
    add_measuring,
    add_tryon,
    add_version,
    back_to,
    drop_draft,
    load_draft,
    note_skipped,
    open_case,
    save_draft,
)
from diagnose.errors import FitError
from diagnose.pattern.operations import parse_operations


@pytest.fixture
def case(tmp_path: Path) -> Case:
    return started(tmp_path / "lydia")


def next_version(case: Case, by_mm: float = 2.5, **more: Any) -> Case:
    return add_version(case, altered(case.pattern, by_mm), case.newest.number, narrower(by_mm), **more)


CHANGES: dict[str, Callable[[Case], object]] = {
    "add_version": next_version,
    "back_to": lambda case: back_to(case, 1),
    "add_tryon": lambda case: add_tryon(case, ANSWERS, plan(25.4, 0.0)),
    "note_skipped": lambda case: note_skipped(case, 1, "1.2", "no time"),
    "add_measuring": lambda case: add_measuring(case, {"waist": "27 in"}),
    "save_draft": lambda case: save_draft(case, {"id": "draft"}),
}


def test_a_version_holds_what_was_done_to_get_it(case: Case) -> None:
    case = add_tryon(case, ANSWERS, plan(25.4, 0.0))
    case = next_version(case, steps=["1.1"], notes=["drawn\x1b[2J by lamplight"], date="2026-02-01")
    assert case == open_case(case.folder)
    newest = case.newest
    assert (newest.number, newest.made_from, newest.date) == (2, 1, "2026-02-01")
    assert newest.done.steps == ("1.1",)
    assert newest.done.notes == ("drawn?[2J by lamplight",)
    assert newest.done.tryon == 1
    assert newest.done.operations == (narrower_as_stored(2.5),)


def test_lengths_of_operations_are_kept_in_mm_whatever_the_unit(case: Case) -> None:
    written = {"op": "move-edge", "piece": "back", "edge": "side", "by": [{"at": "waist", "mm": "1 in"}]}
    case = add_version(case, altered(case.pattern, 25.4), 1, parse_operations(written))
    assert case.newest.done.operations == (narrower_as_stored(25.4),)


def test_older_versions_are_never_touched(case: Case) -> None:
    before = state_of(case.folder)
    case = next_version(next_version(case))
    case = back_to(case, 1)
    after = state_of(case.folder)
    assert {name for name in before if after[name] != before[name]} == {"case.json"}  # it says how many there are
    assert [v.number for v in case.versions] == [1, 2, 3, 4]


def test_going_back_makes_an_old_version_the_newest_and_takes_nothing_away(case: Case) -> None:
    first = case.pattern
    case = back_to(next_version(case), 1)
    assert case == open_case(case.folder)
    assert case.pattern == first
    assert (case.newest.number, case.newest.made_from, case.newest.done.back) == (3, 1, True)


@pytest.mark.parametrize("number", [0, 2, -1, 10_000])
def test_there_is_no_going_back_to_what_never_was(case: Case, number: int) -> None:
    before = state_of(case.folder)
    with pytest.raises(FitError, match="There is no version"):
        back_to(case, number)
    assert state_of(case.folder) == before


def test_a_version_made_from_none_known_is_refused(case: Case) -> None:
    with pytest.raises(FitError, match="There is no version 7"):
        add_version(case, case.pattern, 7, [])


def test_a_tryon_is_of_the_version_its_maker_saw(case: Case) -> None:
    next_version(case)
    case = add_tryon(case, ANSWERS, plan(25.4, 0.0), date="2026-02-03")
    assert case == open_case(case.folder)
    tryon = case.tryons[0]
    assert (tryon.number, tryon.pattern_version, tryon.date) == (1, 1, "2026-02-03")
    assert tryon.answers == ANSWERS
    assert tryon.plan == plan(25.4, 0.0)
    assert len(case.versions) == 2


def test_a_tryon_may_have_no_plan(case: Case) -> None:
    assert add_tryon(case, ANSWERS, None).tryons[0].plan is None


@pytest.mark.parametrize("bad", [math.nan, math.inf, "\ud800", object(), "x" * 21_000_000])
def test_answers_that_are_no_json_are_refused_and_nothing_stored(case: Case, bad: object) -> None:
    before = state_of(case.folder)
    with pytest.raises(FitError):
        add_tryon(case, {"id": bad}, None)
    with pytest.raises(FitError):
        add_tryon(case, ANSWERS, {"plan": bad})
    with pytest.raises(FitError):
        save_draft(case, {"id": bad})
    assert state_of(case.folder) == before


def test_answers_nested_without_end_are_refused(case: Case) -> None:
    deep: dict[str, Any] = {}
    for _ in range(100_000):
        deep = {"a": deep}
    with pytest.raises(FitError):
        add_tryon(case, deep, None)


def test_a_step_not_done_is_noted_with_its_reason(case: Case) -> None:
    case = add_tryon(case, ANSWERS, plan(25.4, 0.0))
    case = note_skipped(case, 1, "1.2", "no time", date="2026-02-04")
    case = note_skipped(case, 1, "1.2", "she likes it so\x07", date="2026-02-05")
    assert case == open_case(case.folder)
    assert [(s.step, s.why, s.date) for s in case.tryons[0].skipped] == [("1.2", "she likes it so?", "2026-02-05")]


def test_a_step_that_is_not_in_the_plan_is_refused_with_near_ones(case: Case) -> None:
    case = add_tryon(case, ANSWERS, plan(25.4, 0.0))
    with pytest.raises(FitError, match=r"Did you mean 1\.[12]"):
        note_skipped(case, 1, "1.3", "?")
    with pytest.raises(FitError, match="There is no try-on 2"):
        note_skipped(case, 2, "1.1", "?")


def test_measurings_are_kept_by_day(case: Case) -> None:
    case = add_measuring(case, {"waist": "27 in", "today": "largest"}, date="2026-03-01")
    assert case == open_case(case.folder)
    assert [m.date for m in case.measurings] == ["2026-01-05", "2026-03-01"]
    assert case.wearer == {"waist": "27 in", "today": "largest"}


def test_a_measuring_that_is_none_is_refused(case: Case) -> None:
    with pytest.raises(FitError, match=r"wearer\.waist"):
        add_measuring(case, {"waist": "2 in"})


@pytest.mark.parametrize("date", ["yesterday", "2026-13-01", "20260101", "2026-W01-1", ""])
def test_a_day_that_is_none_is_refused(case: Case, date: str) -> None:
    with pytest.raises(FitError, match="is not a day"):
        add_measuring(case, {}, date=date)


def test_keys_that_a_later_hand_added_to_the_case_are_kept(case: Case) -> None:
    path = case.folder / "case.json"
    unseal(case.folder)
    path.write_text(json.dumps({**json.loads(path.read_text()), "remark": "blue silk"}))
    add_measuring(open_case(case.folder), {"waist": "27 in"})
    assert json.loads(path.read_text())["remark"] == "blue silk"


def test_a_draft_is_kept_replaced_and_dropped(case: Case) -> None:
    assert load_draft(case) is None
    save_draft(case, {"id": "a"})
    save_draft(case, {"id": "b"})
    assert load_draft(case) == {"id": "b"}
    drop_draft(case)
    drop_draft(case)
    assert load_draft(case) is None


def test_a_draft_that_cannot_be_dropped_says_so(case: Case, monkeypatch: pytest.MonkeyPatch) -> None:
    save_draft(case, {"id": "a"})

    def refuse(*_args: object, **_more: object) -> None:
        raise OSError(errno.EROFS, "read-only")

    with monkeypatch.context() as patch:
        patch.setattr(os, "unlink", refuse)
        with pytest.raises(FitError, match="only be read"):
            drop_draft(case)
    assert load_draft(case) == {"id": "a"}


def test_a_tryon_stored_ends_its_draft(case: Case) -> None:
    save_draft(case, {"id": "a"})
    case = add_tryon(case, ANSWERS, None)
    assert load_draft(case) is None
    assert not list(case.folder.glob("tryons/*.draft.json"))


def test_a_broken_draft_is_refused_by_name_and_hinders_nothing_else(case: Case) -> None:
    save_draft(case, {"id": "a"})
    (case.folder / "tryons/0001.draft.json").write_text("{")
    with pytest.raises(FitError, match=r"0001\.draft\.json"):
        load_draft(case)
    assert open_case(case.folder) == case
    drop_draft(case)
    assert load_draft(case) is None


def test_a_case_whose_empty_folder_a_copy_dropped_goes_on(case: Case) -> None:
    (case.folder / "tryons").rmdir()
    assert open_case(case.folder) == case
    save_draft(case, {"id": "a"})
    assert add_tryon(case, ANSWERS, None).tryons


def test_leftovers_of_a_killed_write_are_passed_over_and_swept_by_the_next(case: Case) -> None:
    clean = state_of(case.folder)
    for name in (".writing-0a.part", "patterns/.writing-0b.part", "patterns/0002.done.json", "tryons/0001.plan.json"):
        (case.folder / name).write_text("half")
    (case.folder / "patterns/0002.json").write_text("")
    (case.folder / "patterns/mine.txt").write_text("kept")
    assert open_case(case.folder) == case
    case = next_version(case)
    assert set(state_of(case.folder)) == {*clean, "patterns/0002.json", "patterns/0002.done.json", "patterns/mine.txt"}
    assert case == open_case(case.folder)


def test_a_change_of_a_broken_case_is_refused_and_changes_nothing(case: Case) -> None:
    case = next_version(case)
    (case.folder / "patterns/0001.json").write_text("{")
    before = state_of(case.folder)
    with pytest.raises(FitError, match=r"patterns/0001\.json"):
        next_version(case)
    assert state_of(case.folder) == before


@pytest.mark.parametrize("change", CHANGES)
@pytest.mark.parametrize(
    ("code", "says"), [(errno.EROFS, "only be read"), (errno.ENOSPC, "disk is full"), (errno.EACCES, "no right")]
)
@pytest.mark.parametrize("after", range(6))
def test_a_change_the_system_refuses_leaves_the_case_as_it_was(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, change: str, code: int, says: str, after: int
) -> None:
    """Every opening for writing from the `after`-th on is refused, as on a disk that can only be read, or is full."""
    case = add_tryon(started(tmp_path / "lydia"), ANSWERS, plan(25.4, 0.0))
    before = state_of(case.folder)
    really, writes = os.open, [0]

    def refuse(path: Any, flags: int, *args: Any, **more: Any) -> int:
        writes[0] += bool(flags & (os.O_WRONLY | os.O_RDWR))
        if flags & (os.O_WRONLY | os.O_RDWR) and writes[0] > after:
            raise OSError(code, os.strerror(code))
        return really(path, flags, *args, **more)

    with monkeypatch.context() as patch:
        patch.setattr(os, "open", refuse)
        error = error_of(lambda: CHANGES[change](case))
    if error is None:
        assert writes[0] <= after + 2  # the last is how much there is in the case, which may lag
        assert open_case(case.folder) != case or change == "save_draft"
        return
    assert says in str(error)
    assert len(error.mistakes) == 1
    assert state_of(case.folder) == before
    assert open_case(case.folder) == case


def test_two_programs_at_once_lose_neithers_work(case: Case) -> None:
    children = []
    for name in ("ann", "bet"):
        child = os.fork()
        if child == 0:
            code = 1
            try:
                for count in range(8):
                    next_version(case, 0.5, notes=[f"{name} {count}"])
                    add_tryon(case, {"id": f"{name} {count}"}, None)
                code = 0
            finally:
                os._exit(code)
        children.append(child)
    assert [os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) for child in children] == [0, 0]
    now = open_case(case.folder)
    wanted = sorted(f"{name} {count}" for name in ("ann", "bet") for count in range(8))
    assert sorted(note for version in now.versions for note in version.done.notes) == wanted
    assert sorted(tryon.answers["id"] for tryon in now.tryons) == wanted


def test_reading_beside_a_writer_sees_only_whole_states(case: Case) -> None:
    child = os.fork()
    if child == 0:
        code = 1
        try:
            now = case
            for _ in range(15):
                now = add_tryon(next_version(now, 0.5), ANSWERS, plan(1.0, 2.0))
            code = 0
        finally:
            os._exit(code)
    counts = [0]
    while not (ended := os.waitpid(child, os.WNOHANG))[0]:
        seen = open_case(case.folder)
        counts.append(len(seen.versions) + len(seen.tryons))
    assert os.waitstatus_to_exitcode(ended[1]) == 0
    assert counts == sorted(counts)
    assert len(set(counts)) > 2
