"""The settings that a folder of rules lacks, and what stands in it though nothing reads it.

A folder must have every setting that the rules which come with the program have: that program reads each of them.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from diagnose.errors import FitError, Mistake, nearest
from diagnose.places import bundled_rules
from diagnose.rulebase.checking.reach import fact_kinds
from diagnose.rulebase.reading.load import RuleFolder, read_rules
from diagnose.rulebase.reading.outside_checks import CHECKS_FILE, lines_resting, read_checks
from diagnose.rulebase.reading.references import references
from diagnose.rulebase.reading.settings_file import read_settings

__all__ = ["check_settings", "idle_settings", "idle_sources"]


def check_settings(folder: Path, read: RuleFolder) -> Iterator[Mistake]:
    """Every mistake of the settings: of their form, one that is missing, and limits set on what is not there."""
    try:
        settings = read_settings(folder).values
    except FitError as error:
        yield from error.mistakes
        return
    for name in sorted(read_settings(bundled_rules()).values.keys() - settings.keys()):
        yield Mistake(
            f"{folder.name}/settings.yaml",
            f"The setting '{name}' is missing.",
            "Add it; until then it is as in the rules that come with the program.",
            code="no-such-setting",
        )
    kinds = fact_kinds(read)
    for found in references(read):
        where = read.at(found.kind, found.entry, *found.place)
        if found.points_to == "setting" and found.word not in settings:
            say = f"There is no setting '{found.word}'."
            yield Mistake(where, say, nearest(found.word, settings), code="no-such-setting")
        if found.points_to == "number" and kinds.get(found.word, ()) is not None:
            yield Mistake(where, f"'{found.word}' is no number.", nearest(found.word, kinds), code="not-a-number")


def idle_settings(folder: Path) -> tuple[str, ...]:
    """The settings of a right folder of rules that neither the program reads nor a limit names."""
    used = {found.word for found in references(read_rules(folder)) if found.points_to == "setting"}
    used.update(read_settings(bundled_rules()).values)
    return tuple(name for name in read_settings(folder).values if name not in used)


def idle_sources(folder: Path) -> tuple[str, ...]:
    """The sources of a right folder of rules that no line and no check of its names; no mistake, but worth knowing.

    Raises:
        FitError: when a file can't be read.
    """
    known = read_rules(folder).rules.sources
    used = set[str]().union(*lines_resting(folder))
    if (folder / CHECKS_FILE).is_file():
        used.update(*(check.source_keys for check in read_checks(folder, known).checks.values()))
    return tuple(key for key in known if key not in used)
