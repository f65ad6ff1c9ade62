"""What is no longer what was stored is noticed, named, and what is still sound is told beside it."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable
from pathlib import Path
from random import Random

import pytest
from invented_case import ANSWERS, altered, narrower, plan, started, state_of

from diagnose.casebook import (
    Case,
    add_measuring,
    add_tryon,
    add_version,
    keep_as_it_stands,
    note_skipped,
    open_case,
)
from diagnose.casework.glance import glances_under
from diagnose.errors import FitError


@pytest.fixture
def case(tmp_path: Path) -> Case:
    """Two try-ons, three versions, a step not done."""
    case = started(tmp_path / "lydia")
    for number, by_mm in ((1, 2.5), (2, 1.5)):
        case = add_tryon(case, {**ANSWERS, "id": str(number)}, plan(25.4, float(number)))
        case = add_version(case, altered(case.pattern, by_mm), number, narrower(by_mm), ["1.1"])
    return note_skipped(case, 2, "1.2", "no time")


def swap(folder: Path, one: str, other: str) -> None:
    first, second = (folder / one).read_bytes(), (folder / other).read_bytes()
    (folder / one).write_bytes(second)
    (folder / other).write_bytes(first)


def told(folder: Path) -> str:
    with pytest.raises(FitError) as refused:
        open_case(folder)
    assert "not-as-stored" in refused.value.codes | {"not-as-stored" if "missing" in refused.value.codes else ""}
    return str(refused.value)


@pytest.mark.parametrize(
    ("spoil", "names", "sound"),
    [
        (lambda f: swap(f, "patterns/0001.json", "patterns/0002.json"), ["patterns/0001.json", "patterns/0002.json"],
         "version 3, try-on 1, try-on 2"),
        (lambda f: swap(f, "tryons/0001.plan.json", "tryons/0002.plan.json"),
         ["tryons/0001.plan.json", "tryons/0002.plan.json"], "version 1, version 2, version 3"),
        (lambda f: (f / "tryons/0002.json").unlink(), ["tryons/0002.json: It is missing"], "try-on 1"),
        (lambda f: [(f / f"patterns/0003{end}").unlink() for end in (".json", ".done.json")],
         ["patterns/0003.json: It is missing"], "version 1, version 2"),
    ],
)  # fmt: skip
def test_what_was_swapped_or_lost_is_named_and_the_rest_is_told_to_be_sound(
    case: Case, spoil: Callable[[Path], object], names: list[str], sound: str
) -> None:
    spoil(case.folder)
    said = told(case.folder)
    assert all(name in said for name in names)
    assert sound in said.partition("Still sound: ")[2]


def test_a_plan_taken_back_from_an_older_copy_is_not_the_one_that_a_version_was_drawn_from(case: Case) -> None:
    older = case.folder.parent / "older"
    shutil.copytree(case.folder, older)
    raw = json.loads((older / "tryons/0002.plan.json").read_text())
    other = add_tryon(started(case.folder.parent / "other"), ANSWERS, plan(25.4, 3.0))
    other = add_version(other, altered(other.pattern, 2.5), 1, narrower(2.5), ["1.1"])
    add_tryon(other, {**ANSWERS, "id": "2"}, plan(25.4, 9.0))
    shutil.copy(other.folder / "tryons/0002.plan.json", case.folder / "tryons/0002.plan.json")
    assert raw["seal"]["file"] == "tryons/0002.plan.json"
    assert "tryons/0002.plan.json" in told(case.folder)


@pytest.mark.parametrize("seed", range(40))
def test_a_bit_flipped_anywhere_in_any_file_is_noticed_and_named(case: Case, seed: int) -> None:
    chance = Random(seed)
    path = chance.choice([path for path in sorted(case.folder.rglob("*.json")) if path.is_file()])
    data = bytearray(path.read_bytes())
    at = chance.randrange(len(data))
    data[at] ^= 1 << chance.randrange(7)
    path.write_bytes(data)
    with pytest.raises(FitError) as refused:
        open_case(case.folder)
    assert path.relative_to(case.folder).as_posix() in str(refused.value)


def test_a_file_written_anew_with_its_seal_copied_is_noticed(case: Case) -> None:
    path = case.folder / "tryons/0001.json"
    raw = json.loads(path.read_text())
    raw["answers"]["gap"]["top"] = "3 in"
    path.write_text(json.dumps(raw))
    assert "tryons/0001.json: It is not what was stored" in told(case.folder)


@pytest.mark.parametrize("name", ["patterns/0002.json", "tryons/0001.plan.json", "tryons/0002.json", "case.json"])
def test_a_file_changed_on_purpose_can_be_kept_as_it_stands(case: Case, name: str) -> None:
    path = case.folder / name
    path.write_text(path.read_text().replace("oblong", "oblong of hers").replace('"unit": "in"', '"unit": "cm"')
                    .replace('"25.4"', '"26"').replace("25.4", "26.4").replace("1 in", "2 in"))  # fmt: skip
    before = {k: v for k, v in state_of(case.folder).items() if k == name}
    assert name in told(case.folder)
    kept = keep_as_it_stands(case.folder, name)
    assert kept == open_case(case.folder)
    assert add_measuring(kept, {"waist": "27 in"}) == open_case(case.folder)
    if name.startswith("patterns"):
        assert {k: v for k, v in state_of(case.folder).items() if k == name} == before


def test_a_file_that_is_none_of_the_case_can_not_be_kept(case: Case) -> None:
    with pytest.raises(FitError, match=r"no file of this name.*patterns/0001\.json"):
        keep_as_it_stands(case.folder, "patterns/001.json")


def test_a_case_of_before_there_were_seals_opens_and_gets_them_with_what_is_stored_next(case: Case) -> None:
    for path in case.folder.rglob("*.json"):
        raw = json.loads(path.read_text())
        if raw.pop("seal", None):
            raw.pop("stored", None)
            path.write_text(json.dumps(raw, indent=2) + "\n")
    older = open_case(case.folder)
    newer = add_version(older, altered(older.pattern, 0.5), 3, narrower(0.5))
    assert newer == open_case(case.folder)
    (case.folder / "patterns/0003.json").write_text((case.folder / "patterns/0001.json").read_text())
    assert "patterns/0003.json: It is not what was stored" in told(case.folder)


def test_a_case_that_has_lost_what_it_is_about_is_told_from_no_case(case: Case, tmp_path: Path) -> None:
    (case.folder / "case.json").unlink()
    with pytest.raises(FitError, match=r"case\.json is missing") as caught:
        open_case(case.folder)
    assert caught.value.mistakes[-1].what.startswith("Still sound: version 1")
    (glance,) = glances_under(tmp_path)
    assert "case.json is missing" in glance.trouble


def test_the_list_says_which_file_is_not_what_was_stored_and_what_is_still_sound(case: Case, tmp_path: Path) -> None:
    path = case.folder / "patterns" / "0001.json"
    path.write_text(path.read_text(encoding="utf-8").replace("1", "2", 1), encoding="utf-8")
    (glance,) = glances_under(tmp_path)
    assert "patterns/0001.json" in glance.trouble
    assert "Still sound: version 2" in glance.trouble
