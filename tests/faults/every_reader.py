"""Every door by which text comes in from outside, each as one function of bytes, with true inputs to spoil."""

from __future__ import annotations

import atexit
import json
import shutil
import sys
import tempfile
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from itertools import count
from pathlib import Path
from typing import Any

import yaml

from diagnose import casebook
from diagnose.casebook import Case
from diagnose.casebook.bundled import bundled_case
from diagnose.casebook.jsonfile import json_text
from diagnose.casebook.sealing import SEAL
from diagnose.casework.glance import glance_at
from diagnose.casework.parcel import packed, unpacked
from diagnose.casework.pattern_in import terms_for
from diagnose.casework.under_way import interview_for
from diagnose.casework.working import store_tryon
from diagnose.cli import options
from diagnose.cli.asking.answers_file import read_answers
from diagnose.cli.asking.patterns import read_pattern_file
from diagnose.cli.batching import answer_line
from diagnose.engine.matching import matcher_for
from diagnose.errors import FitError
from diagnose.interview import read_reply, replies_of
from diagnose.model.tryon_reading import read_tryon
from diagnose.pattern.brought import Terms, load_pattern
from diagnose.pattern.form.writer import dump_text
from diagnose.pattern.operations import do, parse_operations
from diagnose.places import bundled_cases, bundled_rules
from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.checking.check import check_folder
from diagnose.rulebase.loading import load_rulebase
from diagnose.rulebase.neutral import Matcher
from diagnose.rulebase.reading.formula import parse_formula
from diagnose.rulebase.reading.settings_file import read_settings
from diagnose.sheets.cutting.allowance import allowances_of
from diagnose.sheets.cutting.cut_drawing import Sheet
from diagnose.sheets.cutting.cutting_list import cutting_list
from diagnose.sheets.drawn.pattern_drawing import draw_pattern
from diagnose.sheets.writers.dxf import pattern_dxf
from diagnose.sheets.writers.pdf import pattern_pdf
from diagnose.sheets.writers.svg import write_svg
from diagnose.units import read_length

sys.path += [
    str(Path(__file__).parents[1] / place) for place in ("rulebase", "pattern/brought", "pattern/brought/odd")
]  # fmt: skip
from as_dxf import cad
from as_svg import drawings
from as_tables import tables
from small_rules import small_folder
from strangers import strangers

__all__ = ["READERS", "Reader", "case_files", "small_case"]

PATTERNS = bundled_cases() / "patterns"
ANSWERS = """\
garment: {style: stays, closure: back, boning: full, seams_per_half: 2, allowance: 1/2 in}
target: {top: 2 in, waist: 2 in, bottom: 2 in}
gap: {top: 0, waist: 1 in, bottom: 1 3/4 in}
overlap: {top: 1/2 in}
tension: working
wearer: {bust: 40 in, waist: 31 in, planned_reduction: 1 in, today: usual}
seen:
  spill-at-side-bust: {side: left, grade: 2, amount: 1/2 in}
  slides-down: true
  fold-under-bust: false
known: {toile-boned-at-back: true, bones-stay-bent: false}
"""
ABOUT = """\
unit: in
garment: {style: corset, closure: back, boning: full, straps: none, tabs: none, allowance: 1/2 in}
target: {top: 2 in, waist: 2,5 cm, bottom: 2 in}
wearer: {bust: 37 in, underbust: 31 in, waist: 27 in, hip: 35 in, planned_reduction: 2 in}
"""
LINE = {
    "id": "v01",
    "garment": {"style": "stays", "closure": "both", "boning": "full", "seams_per_half": 2, "meant_to_meet": False},
    "target": "2 in",
    "gap": {"top": "0", "waist": 25.4, "bottom": "1 3/4 in"},
    "gap_front": {"waist": "1/2 in"},
    "overlap": {"top": "1/2 in"},
    "tension": "working",
    "wearer": {"bust": "40 in", "waist": "31 in"},
    "seen": {"slides-down": True, "marks-on-skin": {"amount": 40}, "spill-at-side-bust": {"side": "left", "grade": 2}},
    "known": {"toile-boned-at-back": True},
    "pattern": None,
}
OPERATIONS = [
    {"op": "length", "at": {"station": "waist", "offset": 20}, "amount": "1/4 in"},
    {"op": "move-edge", "piece": "bodies", "edge": "lacing", "by": [{"at": "waist", "mm": 3}], "true_partner": False},
]


@dataclass(frozen=True)
class Reader:
    """One door: what reads the bytes, and true inputs."""

    read: Callable[[bytes], object]
    seeds: tuple[bytes, ...]


@cache
def _room() -> Path:
    """A folder for the files that readers want on disk; in memory where the machine has such a place."""
    memory = Path("/dev/shm")
    room = Path(tempfile.mkdtemp(prefix="faults-", dir=memory if memory.is_dir() else None))
    atexit.register(shutil.rmtree, room, ignore_errors=True)
    return room


def _from_file(name: str, read: Callable[[Path], object]) -> Callable[[bytes], object]:
    def reading(data: bytes) -> object:
        path = _room() / name
        path.write_bytes(data)
        return read(path)

    return reading


@cache
def _base() -> RuleBase:
    return load_rulebase()


@cache
def _matcher() -> Matcher:
    return matcher_for(_base())


def small_case(folder: Path) -> Case:
    """A case with a try-on, a plan, two versions of the pattern and a draft under way."""
    bundled = bundled_case("singer")
    casebook.create(folder, bundled.pattern, date="2026-03-02", **bundled.about)
    store_tryon(folder, bundled.rounds[0].answers, "2026-03-02")
    casebook.back_to(casebook.open_case(folder), 1, "2026-03-03")
    case = casebook.open_case(folder)
    casebook.note_skipped(case, 1, case.tryons[0].step_ids[0], "no time", "2026-03-03")
    draft = {"replies": [{"question": "gap.top", "reply": "2 in"}, {"question": "stop", "reply": []}], "answers": {}}
    casebook.save_draft(casebook.open_case(folder), draft)
    return casebook.open_case(folder)


@cache
def _case() -> Path:
    return small_case(_room() / "case").folder


def case_files(folder: Path) -> list[str]:
    """The files of a case, by their names in its folder."""
    return sorted(str(path.relative_to(folder)) for path in folder.rglob("*.json"))


@cache
def _old_case() -> Path:
    """The case without seals, as an older program stored it: what is spoilt in it is not refused for its checksum."""
    folder = Path(shutil.copytree(_case(), _room() / "old-case"))
    for name in case_files(folder):
        raw = json.loads((folder / name).read_text(encoding="utf-8"))
        raw.pop(SEAL, None)
        (folder / name).write_text(json_text(raw, name), encoding="utf-8")
    return folder


def _spoilt_case(folder: Path, name: str) -> Callable[[bytes], object]:
    def reading(data: bytes) -> object:
        path = folder / name
        whole = path.read_bytes()
        path.write_bytes(data)
        try:
            glance_at(folder)
            case = casebook.open_case(folder)
            walk = interview_for(case).walk(replies_of(casebook.load_draft(case)))
            return case, walk, casebook.history(case)
        finally:
            path.write_bytes(whole)

    return reading


def _rules(name: str) -> Callable[[bytes], object]:
    @cache
    def folder() -> Path:
        made = small_folder(_room() / f"rules-{name.replace('/', '-')}")
        shutil.copy(bundled_rules() / "settings.yaml", made)
        return made

    def reading(data: bytes) -> object:
        (folder() / name).write_bytes(data)
        found = check_folder(folder())
        return found or load_rulebase(folder())

    return reading


def _answers(path: Path) -> object:
    return read_tryon({"id": "t", **read_answers(path)}, _base().vocabulary)


def _about(path: Path) -> object:
    """What `diagnose new` makes of a file about garment, target and wearer: a case."""
    told = read_answers(path)
    known = {key: told.get(key) for key in ("garment", "target", "wearer")}
    unit = options.unit_of(told.get("unit") if isinstance(told.get("unit"), str) else None)
    terms_for(unit, _base().settings, known)
    return _made(lambda folder: casebook.create(folder, _paper(), unit=unit, date="2026-03-02", **known))


def _about_json() -> bytes:
    return json.dumps(yaml.safe_load(ABOUT.replace("2,5", "2.5"))).encode()


def _parcel(data: bytes) -> object:
    """A case out of a zip."""
    return _made(lambda folder: unpacked(data, folder, "case.zip"))


def _made(make: Callable[[Path], Case]) -> object:
    """A case made in a folder of its own, which is gone afterwards, made or not."""
    folder = _room() / f"made-{next(_NUMBERS)}"
    try:
        return make(folder)
    finally:
        shutil.rmtree(folder, ignore_errors=True)


_NUMBERS = count()


def _line(data: bytes) -> object:
    """What `diagnose batch` writes for a line; an error in it counts as one."""
    answer = answer_line(data, 1, _base(), _matcher())
    text = json.dumps(answer, ensure_ascii=False, allow_nan=False)
    if "error" in answer:
        raise FitError.of("line", text, code="line")
    return answer


def _labels(path: Path) -> object:
    return read_pattern_file(PATTERNS / "corset-drawing.svg", Terms("in"), path)


@cache
def _paper() -> Any:
    return load_pattern(PATTERNS / "boned-bodies.json")


def _operations(data: bytes) -> object:
    text = data.decode(errors="replace")
    return do(_paper(), parse_operations(options.json_argument("[" + text, "--do"), "do"))


def _with_pattern(data: bytes) -> object:
    """A line of a batch with a spoilt pattern in it: drawn upon as far as it goes."""
    answers = bundled_case("singer").rounds[0].answers
    line = json.dumps({"id": "x", **answers, "target": "2 in", "pattern": 0}).encode()
    return _line(line.replace(b'"pattern": 0', b'"pattern": ' + data.replace(b"\n", b" ")))


def _to_paper(path: Path) -> object:
    """A pattern in all the forms that it is given out in."""
    pattern, allowances = load_pattern(path), allowances_of(read_settings(bundled_rules()), {})
    drawn = write_svg(draw_pattern(pattern, pattern, "in"))
    table = cutting_list(pattern, read_settings(bundled_rules()), pattern)
    dxf = pattern_dxf(Sheet(pattern, pattern, allowances))
    return drawn, table, dxf, pattern_pdf(Sheet(pattern, None, allowances)), dump_text(pattern)


def _length(data: bytes) -> object:
    text = data.decode(errors="surrogateescape")
    return [read_length(text, "x", unit) for unit in ("in", "mm", "cm")]  # type: ignore[arg-type]


def _replies(data: bytes) -> object:
    """Lines typed at the questionnaire, each to the question that comes next."""
    case = casebook.open_case(_case())
    interview = interview_for(case)
    replies: dict[str, Any] = {}
    for line in data.decode(errors="replace").split("\n")[:12]:
        question = interview.walk(replies).next
        if question is None:
            break
        try:
            replies[question.id] = read_reply(question, line, "in")
        except FitError:
            replies[question.id] = None
    return interview.walk(replies)


def _formula(data: bytes) -> object:
    return parse_formula(data.decode(errors="replace"))


def _seed(name: str) -> bytes:
    return (PATTERNS / name).read_bytes()


def _strange(name: str) -> bytes:
    """A stranger's file."""
    return next(one.data for one in strangers() if one.name == name)


def _odd(*ways: str) -> tuple[bytes, ...]:
    """The smallest of our own halves as still other strangers save it."""
    made = _linnet()
    return tuple(made[way] for way in ways)


@cache
def _linnet() -> dict[str, bytes]:
    return {one.way: one.data for make in (drawings, cad, tables) for one in make("linnet")}


ODD_DRAWINGS = (
    "relative steps run together", "groups turned and turned back", "a nested page in centimetres",
    "names turned along the panels", "all made filled shapes, the waist line too", "eyelets drawn as circles",
    "one half, the other its mirrored clone", "a frame, a title, a ruled scale and a square",
)  # fmt: skip
ODD_CAD = ("R12 polylines in inches, no unit", "pieces as blocks, some mirrored", "splines laid through points")
ODD_TABS = ("text of tabs in UTF-16",)
ODD_TABLES = (
    "other words in the heading, units in it, commas", "signs and blanks of a typesetter",
    "a sheet with a title, totals, blank rows and columns, merged cells",
)  # fmt: skip

SMALL_RULES = (
    "facts.yaml", "sources.yaml", "words.yaml", "order.yaml", "cautions.yaml", "misses.yaml", "settings.yaml",
    "symptoms/back/edge-bites.yaml", "causes/height/edge-low.yaml",
)  # fmt: skip


def _all() -> dict[str, Reader]:
    path = _from_file
    svg = bundled_cases() / "pictures" / "stage-bodies.svg"
    found = {
        "stored pattern": Reader(path("x.json", lambda p: load_pattern(p)), (_seed("boned-bodies.json"),)),
        "point table": Reader(path("x.csv", lambda p: load_pattern(p)), (_seed("underarm-panels.csv"),)),
        "svg": Reader(
            path("x.svg", lambda p: read_pattern_file(p, Terms("in"))),
            (_seed("corset-drawing.svg"), svg.read_bytes(), *_odd(*ODD_DRAWINGS)),
        ),
        "dxf": Reader(
            path("x.dxf", lambda p: read_pattern_file(p, Terms("in"))), (_seed("corset-drawing.dxf"), *_odd(*ODD_CAD))
        ),
        "table of tabs": Reader(
            path("x.tsv", lambda p: load_pattern(p)),
            (_strange("tabs"), _seed("underarm-panels.csv"), *_odd(*ODD_TABS)),
        ),
        "table of semicolons": Reader(
            path("x.csv", lambda p: load_pattern(p)),
            (_strange("semicolons and decimal commas"), _strange("a clockwise table"), *_odd(*ODD_TABLES)),
        ),
        "labels": Reader(path("labels.yaml", _labels), (_seed("corset-drawing-labels.yaml"),)),
        "about in yaml": Reader(path("about.yaml", _about), (ABOUT.encode(),)),
        "about in json": Reader(path("about.json", _about), (_about_json(),)),
        "case in one file": Reader(_parcel, (packed(casebook.open_case(_case())),)),
        "answers in yaml": Reader(path("a.yaml", _answers), (ANSWERS.encode(),)),
        "answers in json": Reader(path("a.json", _answers), (json.dumps(LINE).encode(),)),
        "batch line": Reader(_line, (json.dumps(LINE).encode(),)),
        "drawn upon": Reader(_with_pattern, (_seed("boned-bodies.json"),)),
        "to paper": Reader(path("x.json", _to_paper), (_seed("boned-bodies.json"),)),
        "operations": Reader(_operations, (json.dumps(OPERATIONS).encode()[1:],)),
        "length": Reader(_length, (b"1 1/2 in", b'3/8"', b"5.1 cm", "2½″".encode())),
        "replies": Reader(_replies, (b"n\n2 in\n1/2\nclosed\n?\n1 3\nworking\ny\ny",)),
        "formula": Reader(_formula, (b"slides-down.amount * 2 + 1/4 in", b"max(gap-top, 0) / 2")),
    }
    folder = small_folder(_room() / "true-rules")
    shutil.copy(bundled_rules() / "settings.yaml", folder)
    for name in SMALL_RULES:
        found[f"rules: {name}"] = Reader(_rules(name), ((folder / name).read_bytes(),))
    for kind, case in (("case", _case()), ("old case", _old_case())):
        for name in case_files(case):
            found[f"{kind}: {name}"] = Reader(_spoilt_case(case, name), ((case / name).read_bytes(),))
    return found


READERS = _all()
