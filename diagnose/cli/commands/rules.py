"""``diagnose rules``: browse the rule base, read an entry, check a folder of rules, make the handbook."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from diagnose.cli import options as o
from diagnose.cli.printing import show, talk
from diagnose.cli.progress import progress

__all__ = ["rules"]

rules = typer.Typer(
    help="The rule base: browse, read, check.",
    rich_markup_mode=None,
    invoke_without_command=True,
    add_completion=False,
)


@rules.callback()
def _default(context: typer.Context) -> None:
    if context.invoked_subcommand is None:
        listing()


@rules.command("list")
def listing(json: o.Json = False) -> None:
    """List every entry by group."""
    from diagnose.rulebase.loading import load_rulebase
    from diagnose.sheets.words.rule_text import listing_lines

    entries = load_rulebase().entries
    show(listing_lines(entries), {kind: list(of_kind) for kind, of_kind in entries.by_kind.items()}, json)


@rules.command("show")
def show_entry(name: Annotated[str, typer.Argument(metavar="ID")], json: o.Json = False) -> None:
    """Read one entry as a page."""
    from diagnose.rulebase.loading import load_rulebase
    from diagnose.sheets.words.rule_text import entry_lines

    entries = load_rulebase().entries
    lines = list(entry_lines(entries, name))
    found = next(of_kind[name] for of_kind in entries.by_kind.values() if name in of_kind)
    show(lines, {"entry": found.model_dump(mode="json", by_alias=True)}, json)


@rules.command("sources")
def sources(json: o.Json = False) -> None:
    """Show where the rules come from, and every figure of ours beside the outside one it is held against."""
    from diagnose.places import bundled_rules
    from diagnose.rulebase.loading import load_rulebase
    from diagnose.rulebase.reading.outside_checks import lines_resting, read_checks
    from diagnose.sheets.words.sources_text import sources_json, sources_lines

    folder, known = bundled_rules(), load_rulebase().entries.sources
    page = (known, lines_resting(folder), read_checks(folder, known))
    show(sources_lines(*page), sources_json(*page), json)


@rules.command("check")
def check(
    folder: Annotated[Path | None, typer.Argument(metavar="[DIR]", help="A folder of rules.")] = None,
    json: o.Json = False,
) -> None:
    """Check a folder of rules: every mistake, with file and line."""
    from diagnose.places import bundled_rules
    from diagnose.rulebase.checking.check import check_folder
    from diagnose.rulebase.checking.idle import idle_settings, idle_sources

    folder = folder or bundled_rules()
    with progress("Checking the rules"):
        found = check_folder(folder)
    mistakes = [m.to_json() for m in found]
    sources, settings = ((), ()) if found else (idle_sources(folder), idle_settings(folder))
    lines = [str(m) for m in found] or ["The rules are right."]
    lines += [f"No line rests on these sources as yet: {', '.join(sources)}."] if sources else []
    lines += [f"Nothing reads these settings: {', '.join(settings)}."] if settings else []
    show(lines, {"mistakes": mistakes, "idle_sources": list(sources), "idle_settings": list(settings)}, json)
    if found:
        talk(f"{len(found)} to put right.")
        raise typer.Exit(2)


@rules.command("handbook")
def handbook(
    out: Annotated[Path, typer.Option("--out", metavar="DIR", help="The folder to write it into.")],
    folder: Annotated[Path | None, typer.Option("--rules", metavar="DIR", help="A folder of your own rules.")] = None,
    unit: o.UnitOption = None,
    replace: o.ReplaceOption = False,
    json: o.Json = False,
) -> None:
    """Write the rules as a handbook: linked pages with pictures, to read or to print."""
    from diagnose.casework.own.own_files import check_own_folder, keep_own_folder
    from diagnose.rulebase.loading import load_rulebase
    from diagnose.sheets.handbook import make_handbook

    base = load_rulebase(folder)
    base = base.with_settings(base.settings.in_unit(o.unit_of(unit)))
    check_own_folder(out, replace=replace)
    with progress("Making the handbook, pages") as told:
        front = make_handbook(base, out, told, made=lambda part: keep_own_folder(part, out))
    show([f"The handbook is made: open {front}"], {"front": str(front)}, json)


@rules.command("learn")
def learn(
    cases: Annotated[Path, typer.Argument(metavar="FOLDER", help="The folder that your cases lie in.")],
    write: Annotated[
        Path | None, typer.Option("--write", metavar="DIR", help="Make a folder of rules of your own from it.")
    ] = None,
    folder: Annotated[Path | None, typer.Option("--rules", metavar="DIR", help="Rules to hold it against.")] = None,
    json: o.Json = False,
) -> None:
    """Count what your own cases suggest against the base; nothing is changed."""
    from msgspec import to_builtins

    from diagnose.casework.own.experience import read_experience
    from diagnose.casework.own.own_rules import experience_lines, write_own_rules
    from diagnose.places import bundled_rules
    from diagnose.rulebase.loading import load_rulebase

    base = load_rulebase(folder)
    made = read_experience(cases, base)
    changed = write_own_rules(made, folder or bundled_rules(), write) if write else ()
    lines = list(experience_lines(made, base.entries))
    if write:
        lines[-1] = f"Your own rules are in {write}, checked; changed there: {', '.join(p.stem for p in changed)}."
    show(lines, {**to_builtins(made), "written": str(write) if write else None}, json)
