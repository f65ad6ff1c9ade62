"""What a maker's own cases come to: lines to read, and a rule folder of her own, the base with what they suggest."""

from __future__ import annotations

import re
import shutil
from collections.abc import Iterator
from pathlib import Path

from diagnose.casework.own.experience import AmountLearnt, Experience, LinkLearnt
from diagnose.errors import FitError
from diagnose.rulebase.checking.check import check_folder
from diagnose.rulebase.reading.formula import parse_formula
from diagnose.rulebase.reading.schema import RuleSet
from diagnose.sentences import lower_first
from diagnose.units import parse_length

__all__ = ["experience_lines", "write_own_rules"]

KEY = "own-cases"
MOST_QUIET = 8
SOURCE = (
    KEY + ': {{kind: practice, title: "Her own cases: {cases} of them, {rounds} rounds", seen: counted by diagnose}}\n'
)


def write_own_rules(made: Experience, rules: Path, folder: Path) -> tuple[Path, ...]:
    """The rules copied into a new folder, what was suggested changed there, and the whole checked.

    Args:
        made: what her cases say; rules: the folder of rules it was held against.
        folder: the new folder; it must not be there.

    Returns:
        The files that were changed.

    Raises:
        FitError: when the folder is there, nothing is suggested, or what was written is not a right rule base.
    """
    if folder.exists():
        raise FitError.of(
            str(folder), "It is there already, and nothing is replaced.", "Name a new folder.", code="name-taken"
        )
    if not made.says_something:
        raise FitError.of(
            str(folder),
            "Her cases suggest no change, so no rules were written.",
            "Go on with the base.",
            code="nothing-to-write",
        )
    try:
        shutil.copytree(rules, folder)
        changed = [_reworded(folder, link) for link in made.links if link.suggests]
        changed += [_resized(folder, amount) for amount in made.amounts if amount.times]
        with (folder / "sources.yaml").open("a", encoding="utf-8") as sources:
            sources.write(SOURCE.format(cases=made.cases, rounds=made.rounds))
        mistakes = check_folder(folder)
    except OSError as error:
        shutil.rmtree(folder, ignore_errors=True)
        raise FitError.of(
            str(folder), f"It can't be written ({error.strerror}).", "Name another folder.", code="disk-refuses"
        ) from None
    if mistakes:
        shutil.rmtree(folder, ignore_errors=True)
        raise FitError(mistakes)
    return tuple(dict.fromkeys(changed))


def _reworded(folder: Path, link: LinkLearnt) -> Path:
    """The word of one link changed, with her cases named as its source."""
    path = next((folder / "symptoms").rglob(f"{link.sign}.yaml"))
    note = f"{KEY}, {link.there} of {link.cases} cases, the base said {link.word}"

    def edited(block: str) -> str:
        return _sourced(block.replace(f"    shows: {link.word}\n", f"    shows: {link.suggests}\n", 1), note)

    return _in_blocks(path, f"  - cause: {link.cause}\n", edited)


def _resized(folder: Path, amount: AmountLearnt) -> Path:
    """Every amount of one alteration for one cause multiplied, its worked figure with it."""
    path = next((folder / "causes").rglob(f"{amount.cause}.yaml"))
    note = f"{KEY}, {amount.share:.2f} of what was drawn showed in {amount.cases} cases"
    return _in_blocks(path, f"  - alteration: {amount.alteration}\n", lambda block: _times(block, amount, note))


def _times(block: str, amount: AmountLearnt, note: str) -> str:
    found = re.search(r"    amount: (?:>-\n(?P<folded>(?:      .*\n)+)|(?P<plain>.*)\n)", block)
    formula = " ".join((found["folded"] or found["plain"] or "").split()) if found else "none"
    if found is None or formula == "none":
        return block
    block = block.replace(found[0], f"    amount: >-\n      ({formula}) * {amount.times:g}\n", 1)
    parse_formula(f"({formula}) * {amount.times:g}")

    def gives(match: re.Match[str]) -> str:
        length_mm = parse_length(match[1].strip())
        return f"gives: {(length_mm or 0.0) * (amount.times or 1.0):.4f} mm}}"

    return _sourced(re.sub(r"gives: ([^}]+)\}", gives, block, count=1), note)


def _sourced(block: str, note: str) -> str:
    """The block with one source more."""
    folded = re.search(r"    source: >-\n(?:      .*\n)*      (?P<last>.*)\n", block)
    if folded is not None:
        return block[: folded.end() - 1] + f"; {note}\n" + block[folded.end() :]
    plain = re.search(r"    source: (.*)\n", block)
    return block if plain is None else block[: plain.end() - 1] + f"; {note}\n" + block[plain.end() :]


def _in_blocks(path: Path, head: str, edited: object) -> Path:
    """Each entry of a list that begins with the head, edited."""
    text = path.read_text(encoding="utf-8")
    parts = re.split(r"(?m)^(?=  - |examples:)", text)
    made = [edited(part) if part.startswith(head) and callable(edited) else part for part in parts]
    path.write_text("".join(made), encoding="utf-8")
    return path


def experience_lines(made: Experience, rules: RuleSet) -> Iterator[str]:
    """What is suggested, each with its counts and interval; then how much was counted that says nothing yet."""
    yield f"{made.cases} case(s), {made.rounds} round(s) from one try-on to the next."
    said = [_amount(one, rules) for one in made.amounts if one.times]
    said += [_link(one, rules) for one in made.links if one.suggests]
    yield from said or ["They suggest no change: what they show agrees with the base, or is too little to tell."]
    quiet = [one for one in made.amounts if not one.times]
    quiet_links = [one for one in made.links if not one.suggests]
    if quiet or quiet_links:
        yield f"Counted besides, with nothing to suggest: {len(quiet)} amount(s), {len(quiet_links)} link(s)."
    for one in quiet[:MOST_QUIET]:
        yield f"  {_whose(one, rules)}: {one.cases} case(s), {one.share:.2f} of what was drawn showed."
    yield "Nothing was changed. --write DIR makes a folder of rules of your own from what is suggested."


def _whose(one: AmountLearnt, rules: RuleSet) -> str:
    cause = lower_first(rules.causes[one.cause].title) if one.cause in rules.causes else one.cause
    return (
        f"{rules.alterations[one.alteration].title if one.alteration in rules.alterations else one.alteration}, {cause}"
    )


def _amount(one: AmountLearnt, rules: RuleSet) -> str:
    between = f"{one.low:.2f} to {one.high:.2f}"
    return (
        f"{_whose(one, rules)}: of what was drawn {one.share:.2f} showed in the gap (between {between}), in "
        f"{one.cases} cases and {one.rounds} rounds. Suggested: {one.times:g} times the amount of the base."
    )


def _link(one: LinkLearnt, rules: RuleSet) -> str:
    sign, cause = rules.symptoms[one.sign].title, lower_first(rules.causes[one.cause].title)
    return (
        f"{sign}, where the cause was {cause}: there in {one.there} of {one.cases} cases (a chance between "
        f"{one.low:.2f} and {one.high:.2f}; the base says {one.word}, {one.value:g}). Suggested: {one.suggests}."
    )
