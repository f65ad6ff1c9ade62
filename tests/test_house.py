"""The rooms of the house: one concept, one file, one name."""

from __future__ import annotations

import ast
import re
from collections import Counter
from collections.abc import Iterator
from contextlib import suppress
from functools import cache
from graphlib import CycleError, TopologicalSorter
from pathlib import Path

from diagnose.pattern.operations import OPERATIONS, MoveEdge
from diagnose.sheets.hand.by_hand import CHAPTERS

HOUSE = Path(__file__).resolve().parents[1] / "diagnose"
MEASURED = ("_MM", "_MM2", "_CM", "_DEG", "_RAD", "_RATIO", "_SINE", "_S")
"""What a constant's name ends in that is a length, an area, an angle, a part, or seconds."""
NUMBERS = {"Box", "Affine", "Cubic"}
"""What is unpacked as the numbers or points that it is."""


@cache
def trees() -> dict[Path, ast.Module]:
    """Every module of the house, parsed."""
    return {file: ast.parse(file.read_text("utf-8")) for file in HOUSE.rglob("*.py")}


@cache
def calls() -> list[tuple[Path, ast.Call, str]]:
    """Every call in the house, with the file it stands in and what is called."""
    return [
        (file, call, ast.unparse(call.func))
        for file, tree in trees().items()
        for call in ast.walk(tree)
        if isinstance(call, ast.Call)
    ]


def test_no_file_name_stands_twice() -> None:
    names = Counter(file.name for file in HOUSE.rglob("*.py") if not file.name.startswith("__"))
    assert [name for name, count in names.items() if count > 1] == []


def test_no_room_holds_more_than_fifteen_files() -> None:
    rooms = Counter(file.parent for file in HOUSE.rglob("*.py"))
    assert {str(room.relative_to(HOUSE)): count for room, count in rooms.items() if count > 15} == {}


def test_what_stands_side_by_side_imports_one_way() -> None:
    # Files and rooms of one room, each room with all that is in it.
    circles = []
    for room in [file.parent for file in trees() if file.name == "__init__.py"]:
        arrows: dict[str, set[str]] = {}
        for file, tree in trees().items():
            if file.is_relative_to(room) and file != room / "__init__.py":
                own = file.relative_to(room).with_suffix("").parts[0]
                arrows.setdefault(own, set()).update({*_beside(room, tree)} - {own})
        with suppress(CycleError):
            TopologicalSorter(arrows).prepare()
            continue
        circles.append(str(room.relative_to(HOUSE.parent)))
    assert circles == []


def test_no_docstring_leans_on_its_neighbour() -> None:
    texts = [file.read_text("utf-8") for file in HOUSE.rglob("*.py")]
    assert [
        found for text in texts for found in re.findall(r'"""(?:The same\b|Both, |As above|Likewise)[^\n]*', text)
    ] == []


def test_a_measure_has_one_name_and_one_home() -> None:
    names = Counter(
        name.id.lstrip("_")
        for tree in trees().values() for line in tree.body if isinstance(line, ast.Assign | ast.AnnAssign)
        for name in ast.walk(line) if isinstance(name, ast.Name) and isinstance(name.ctx, ast.Store)
    )  # fmt: skip
    measured = {name: count for name, count in names.items() if name.endswith(MEASURED)}
    assert len(measured) > 300
    assert [name for name, count in measured.items() if count > 1] == []


def test_an_operation_stands_in_every_table() -> None:
    # Edges that are moved are drawn by hand together, each once.
    assert {*CHAPTERS, MoveEdge} == set(OPERATIONS.values())


def test_every_mistake_carries_a_code_of_words_and_hyphens() -> None:
    made = [
        call
        for _, call, name in calls()
        if name.rpartition(".")[2] in ("Mistake", "note") or name.endswith("FitError.of")
    ]
    told = [value for call in made for value in _codes(call)]
    assert len(told) > 400
    assert [code for code in told if not re.fullmatch(r"[a-z]+(-[a-z]+)*", code)] == []


def test_long_constructors_are_called_by_keyword() -> None:
    ours = {one.name for tree in trees().values() for one in tree.body if isinstance(one, ast.ClassDef)} - NUMBERS
    assert [
        f"{file.relative_to(HOUSE)}:{call.lineno}"
        for file, call, _ in calls()
        if isinstance(call.func, ast.Name) and call.func.id in ours
        and len([one for one in call.args if not isinstance(one, ast.Starred)]) > 3
        and not any(isinstance(one, ast.Starred) for one in call.args)
    ] == []  # fmt: skip


def test_our_functions_are_called_by_keyword_past_the_third() -> None:
    made = [one for tree in trees().values() for one in ast.walk(tree) if isinstance(one, ast.FunctionDef)]
    ours = {one.name for one in made if len(one.args.args) > 3} - {one.name for one in made if one.args.vararg}
    called = [
        (f"{file.relative_to(HOUSE)}:{call.lineno}", name.rpartition(".")[2], call.args) for file, call, name in calls()
    ]
    assert len(called) > 10_000
    assert [
        (where, name)
        for where, name, given in called
        if name in ours and len(given) > 3 and not any(isinstance(one, ast.Starred) for one in given)
    ] == []


def test_the_map_names_every_room() -> None:
    text = (HOUSE.parent / "DEVELOPERS.md").read_text("utf-8")
    the_map = text[text.index("## The house") : text.index("One try-on, from answers to sheet")]
    rooms = {file.parent.name for file in HOUSE.rglob("__init__.py")} - {"diagnose"}
    named = set(re.findall(r"`(?:\w+/)*(\w+)`", the_map))
    assert rooms - named == set()
    assert {f.name for f in HOUSE.glob("[a-z]*.py")} <= set(re.findall(r"`(\w+\.py)`", the_map))


def _beside(room: Path, tree: ast.Module) -> Iterator[str]:
    """What stands in the room, by name, that a module imports something from."""
    start = ".".join(room.relative_to(HOUSE.parent).parts) + "."
    for line in ast.walk(tree):
        if isinstance(line, ast.ImportFrom) and line.module is not None:
            for name in (f"{line.module}.{one.name}" for one in line.names):
                if name.startswith(start):
                    yield name.removeprefix(start).partition(".")[0]


def _codes(call: ast.Call) -> list[str]:
    """The codes that a call writes down: mypy sees that there is one."""
    given = [word.value for word in call.keywords if word.arg == "code"] + call.args[3:]
    return [one.value for one in given if isinstance(one, ast.Constant) and isinstance(one.value, str)]
