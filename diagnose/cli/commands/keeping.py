"""``diagnose new``, ``note``, ``history`` and ``back``: a case started, added to, and shown side by side."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer
from msgspec.structs import replace

from diagnose.cli import options as o
from diagnose.cli.printing import show
from diagnose.errors import FitError
from diagnose.units import Unit, both

if TYPE_CHECKING:
    from diagnose.casebook import Case
    from diagnose.model.settings import Settings
    from diagnose.pattern.brought import Understood

__all__ = ["back", "history", "new", "note"]

PatternOption = Annotated[
    list[Path],
    typer.Option(
        "--pattern",
        metavar="FILE",
        help="Her pattern: our JSON, SVG, DXF, a point table, or photographs (once for each).",
    ),
]
RulerOption = Annotated[
    str | None, typer.Option("--ruler", metavar="LENGTH", help="For photographs: what the card's 200 mm rule measures.")
]
AboutOption = Annotated[
    Path | None, typer.Option("--about", help="Garment, target and wearer: a JSON or YAML file with those keys.")
]

NumberArgument = Annotated[
    int, typer.Argument(metavar="N", parser=o.whole("N", 1), help="The number of a version, as in history.")
]
SkippedOption = Annotated[
    list[str] | None, typer.Option("--skipped", metavar="STEP=WHY", help="A step of the last plan not done, and why.")
]
DoneOption = Annotated[
    list[str] | None, typer.Option("--done", metavar="STEP", help="A step of the last plan that was done by hand.")
]
StandsOption = Annotated[
    list[str] | None,
    typer.Option("--as-it-stands", metavar="FILE", help="A file of the case, as patterns/0002.json, that you changed."),
]
MeasuredOption = Annotated[
    list[str] | None, typer.Option("--measured", metavar="NAME=LENGTH", help="The wearer taped anew, as waist=26 in.")
]


def new(
    case: o.CaseArgument, pattern: PatternOption, about: AboutOption = None, target: o.Target = None,
    unit: o.UnitOption = None, labels: o.Labels = None, length: o.Length = None, set_: o.Set = None,
    ruler: RulerOption = None, sure: o.Sure = None, json: o.Json = False,
) -> None:  # fmt: skip
    """Start a case folder with version 1 of a pattern; or with a whole case that was kept as one file (.zip)."""
    from diagnose import casebook

    if [path.suffix.lower() for path in pattern] == [".zip"]:
        beside = {"--about": about, "--target": target, "--unit": unit, "--labels": labels, "--length": length,
                  "--set": set_, "--ruler": ruler, "--sure": sure}  # fmt: skip
        o.check_apart("a whole case", beside)
        _whole_case(case, pattern[0], json)
        return
    from diagnose.casework.pattern_in import terms_for, with_told
    from diagnose.cli.asking.answers_file import placed, read_answers
    from diagnose.cli.asking.of_new import asked_about, asked_unit, check_believable
    from diagnose.cli.asking.patterns import read_pattern_file, read_patterns
    from diagnose.model.standing import standing, under_standing
    from diagnose.places import bundled_rules
    from diagnose.rulebase.reading.settings_file import read_settings

    told = read_answers(about) if about else {}
    chosen = o.unit_told(unit, told.get("unit"), about)
    known: dict[str, Any] = {key: told.get(key) for key in ("garment", "target", "wearer")}
    if target:
        known["target"] = o.targets_of(target)
    usual = under_standing(read_settings(bundled_rules(), chosen))
    changed = o.settings_with(usual, set_)
    own = {name: s.value for name, s in changed.values.items() if s.value != usual.mm(name)}
    is_told, words = unit is not None or told.get("unit") is not None, list(sure or [])
    with placed(about):
        terms = terms_for(chosen, changed, known, is_told=is_told, sure=words)
        if is_told:  # else the pattern's own unit may be hers
            check_believable(known, chosen)
    understood, photographed = read_patterns(pattern, terms, labels, length=length, ruler=ruler)
    understood = asked_about(understood, chosen, words)
    read = understood.settled()
    asking = not json and sys.stdin.isatty() and sys.stderr.isatty()
    if not is_told and understood.unit is not None:  # she works in what her table is in
        chosen = understood.unit
    elif not is_told and asking and standing().unit is None:
        chosen = asked_unit()
    said = _asked_of_her(known, chosen, changed, understood=understood) if asking else known
    if said != known and photographed is None:  # where it is laced, and whether it can be hers, may be known by now
        hers = terms_for(chosen, changed, said, is_told=is_told, sure=words)
        terms = replace(hers, unit=terms.unit)  # the file was read, and its unit settled, before she said hers
        understood = asked_about(read_pattern_file(pattern[0], terms, labels, length=length), chosen, words)
        read = understood.settled()
    with placed(about):
        understood = with_told(understood, said["garment"], chosen)
        check_believable(said, chosen)
        made = casebook.create(case, read, unit=chosen, settings=own, photograph=photographed, **said)
    _tell_started(made, understood, json)


def _tell_started(made: Case, understood: Understood, as_json: bool) -> None:
    """What was understood of the pattern, and what to do next."""
    from diagnose.casework.pattern_in import understood_parts, understood_to_json

    lines = [
        f"Started: {made.folder}",
        f"Version 1 of “{made.pattern.name}”: {len(made.pattern.pieces)} piece(s), {len(made.pattern.seams)} seam(s).",
        *understood_parts(understood, made.unit),
        "",
        f"Before any cloth is cut: diagnose draft {made.folder}",
        f"Sew the toile, lace it on, wear it a while; then: diagnose tryon {made.folder}",
    ]
    pieces = list(made.pattern.names)
    show(lines, {"case": str(made.folder), "pieces": pieces, "understood": understood_to_json(understood)}, as_json)


def _asked_of_her(known: dict[str, Any], unit: Unit, settings: Settings, *, understood: Understood) -> dict[str, Any]:
    """Garment, target and wearer, each asked for where nobody told it."""
    from diagnose.casework.pattern_in import garment_shown
    from diagnose.cli.asking.of_new import asked_of_garment, asked_of_wearer, asked_target
    from diagnose.model.standing import standing

    said = dict(known)
    if said["garment"] is None:
        said["garment"] = asked_of_garment(unit, garment_shown(understood))
    if said["target"] is None and "target-gap" not in standing().values:
        said["target"] = asked_target(unit, both(settings.mm("target-gap"), unit))
    if said["wearer"] is None:
        said["wearer"] = asked_of_wearer(unit)
    return said


def _whole_case(folder: Path, parcel: Path, as_json: bool) -> None:
    """A case out of the one file that it was kept or sent in."""
    from diagnose.casework.parcel import LARGEST, unpacked
    from diagnose.pattern.brought import file_bytes

    made = unpacked(file_bytes(parcel, LARGEST), folder, parcel.name)
    lines = [
        f"Started: {made.folder}",
        f"{len(made.versions)} version(s) and {len(made.tryons)} try-on(s), as they were.",
    ]
    show(lines, {"case": str(made.folder), "versions": len(made.versions), "tryons": len(made.tryons)}, as_json)


def history(case: o.CaseArgument, json: o.Json = False) -> None:
    """Show the rounds side by side: gap against target and prediction, what was changed, what came and went."""
    from diagnose import casebook
    from diagnose.casework.learnt import give_shown
    from diagnose.casework.working import base_for
    from diagnose.sheets.words.history_text import history_lines, history_to_json

    opened = casebook.open_case(case)
    base = base_for(opened)
    found = casebook.history(opened, base.settings.mm("reopen-miss"))
    give = give_shown(opened, found.rounds, base.settings)
    show(history_lines(found, base, give), history_to_json(found, give), json)


def back(case: o.CaseArgument, number: NumberArgument, json: o.Json = False) -> None:
    """Make version N the newest again; nothing is deleted."""
    from diagnose import casebook

    made = casebook.back_to(casebook.open_case(case), number)
    text = f"Version {made.newest.number} is version {number} again. All others are kept."
    show([text], {"version_stored": made.newest.number, "same_as": number}, json)


def note(
    case: o.CaseArgument, skipped: SkippedOption = None, done: DoneOption = None, measured: MeasuredOption = None,
    as_it_stands: StandsOption = None, json: o.Json = False,
) -> None:  # fmt: skip
    """Keep with a case what was measured anew, which steps were done by hand, and which were not done and why."""
    from diagnose import casebook
    from diagnose.casework.noting import note_case

    if not (skipped or done or measured or as_it_stands):
        do = "Give --done STEP, --skipped STEP=WHY, --measured NAME=LENGTH or --as-it-stands FILE."
        raise FitError.of("note", "There is nothing to note.", do, code="nothing-given")
    girths, reasons = o.all_named({"--measured": measured, "--skipped": skipped})
    for name in as_it_stands or []:
        casebook.keep_as_it_stands(case, name)
    note_case(casebook.open_case(case), girths, reasons, done=done or [])
    lines = [f"Kept as it stands: {name}" for name in as_it_stands or []]
    lines += [f"Measured: {name} {length}" for name, length in girths.items()]
    lines += [f"Not done: step {step}, {why}" for step, why in reasons.items()]
    lines += [f"Done by hand: step {step}" for step in done or []]
    data = {"measured": girths, "skipped": reasons, "done": done or [], "as_it_stands": as_it_stands or []}
    show(lines, data, json)
