"""A whole case in one file, and read back by `diagnose new`; what is no such file is refused and leaves nothing."""

from __future__ import annotations

import io
import zipfile
from pathlib import Path

import pytest

from diagnose import casebook
from diagnose.casebook.bundled import bundled_case
from diagnose.casework.parcel import packed
from diagnose.casework.working import store_tryon
from diagnose.cli.running import run


@pytest.fixture
def case(tmp_path: Path) -> casebook.Case:
    bundled = bundled_case("singer")
    casebook.create(tmp_path / "singer", bundled.pattern, **bundled.about)
    store_tryon(tmp_path / "singer", bundled.rounds[0].answers)
    return casebook.open_case(tmp_path / "singer")


def test_a_case_comes_back_as_it_was(case: casebook.Case, tmp_path: Path) -> None:
    parcel = tmp_path / "kept.zip"
    parcel.write_bytes(packed(case))
    assert run(["new", str(tmp_path / "again"), "--pattern", str(parcel)]) == 0
    again = casebook.open_case(tmp_path / "again")
    assert (again.versions, again.tryons) == (case.versions, case.tryons)
    assert run(["new", str(tmp_path / "again"), "--pattern", str(parcel)]) == 2


def _zip(**files: bytes) -> bytes:
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED) as parcel:
        for name, data in files.items():
            parcel.writestr(name, data)
    return made.getvalue()


@pytest.mark.parametrize(
    "data",
    [
        b"",
        b"PK\x03\x04 nonsense",
        _zip(**{"readme.txt": b"x"}),
        _zip(**{"a/case.json": b"{}"}),
        _zip(**{"a/case.json": b"{}", "b/case.json": b"{}"}),
        _zip(**{"../case.json": b"{}"}),
        _zip(**{"a/case.json": b"0" * 30_000_000}),
        _zip(**{"a/case.json": b"{}", "a/patterns/0001.json": b"not json"}),
    ],
    ids=["nothing", "broken", "no case", "empty", "twice", "outside", "huge", "unsound"],
)
def test_what_is_no_case_is_refused_and_leaves_nothing(
    data: bytes, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "x.zip").write_bytes(data)
    assert run(["new", str(tmp_path / "again"), "--pattern", str(tmp_path / "x.zip")]) == 2
    assert "Traceback" not in capsys.readouterr().err
    assert sorted(path.name for path in tmp_path.iterdir()) == ["x.zip"]


def test_only_the_cases_own_files_are_taken(case: casebook.Case, tmp_path: Path) -> None:
    (case.folder / "secret.json").write_text("{}", encoding="utf-8")
    (case.folder / "patterns" / "notes.txt").write_text("x", encoding="utf-8")
    with zipfile.ZipFile(io.BytesIO(packed(case))) as parcel:
        names = parcel.namelist()
    assert not any("secret" in name or "notes" in name for name in names)
