"""The settings that a rule base must have; and what stands in a folder of rules though nothing reads it."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from diagnose.errors import FitError, Mistake, nearest
from diagnose.rulebase.checking.reach import fact_kinds
from diagnose.rulebase.reading.load import RuleFolder, read_rules
from diagnose.rulebase.reading.outside_checks import CHECKS_FILE, lines_resting, read_checks
from diagnose.rulebase.reading.references import references
from diagnose.rulebase.reading.settings_file import read_settings

__all__ = ["NEEDED_SETTINGS", "check_settings", "idle_settings", "idle_sources"]

NEEDED_SETTINGS = frozenset({
    "allowance-bottom", "allowance-kept", "allowance-lacing", "allowance-opening", "allowance-seam", "allowance-top",
    "believable-height-least", "believable-height-most", "believable-share-least", "believable-share-most",
    "believable-waist-least", "believable-waist-most", "belly-two-seams", "bone-beside-seam", "bone-clear", "bone-end",
    "bone-least", "bone-near", "bones-apart-least", "bones-to-space", "busk-end", "bust-root-below", "bust-runs-out",
    "bust-seam-at", "bust-seam-off", "bust-seam-to", "bust-top-at", "centre-bow-most", "cloth-width", "dead-band",
    "edge-slant-most", "eyelet-end", "eyelet-inset", "eyelet-pitch", "eyelet-room", "eyelets-closer", "fold-back-from",
    "fold-back-to", "fold-front-from", "fold-front-to", "fold-panel-from", "fold-panel-to", "fold-side-from",
    "fold-side-to", "front-hem-to", "gap-narrowest", "gap-widest", "give-spread", "give-sure", "gore-from",
    "gore-one-most", "gore-tip-below", "gore-to", "height-bottom", "height-hip", "height-top", "height-underbust",
    "lace-ends", "lace-open", "lacing-edge-most", "learn-cases", "learn-change", "learn-doubt", "learn-taken",
    "least-on-a-line", "level-step-most", "other-size", "reading-spread", "reduction-most", "reopen-miss",
    "round-most", "ruled-out", "ruler-inch", "ruler-metric", "seam-corner-most", "seams-usual", "seated-clearance",
    "shape-step", "side-at", "signs-for-a-side", "spring-bottom", "spring-hip", "spring-top", "spring-underbust",
    "stomacher-cut-at", "strap-cut", "strap-tab-half", "strap-tab-most", "strap-width", "target-gap",
    "target-wider-bottom", "target-wider-top", "thigh-at", "thigh-to", "underarm-clearance",
})  # fmt: skip
"""The settings that the program reads by name."""


def check_settings(folder: Path, read: RuleFolder) -> Iterator[Mistake]:
    """Every mistake of the settings: of their form, one that is missing, and limits set on what is not there."""
    try:
        settings = read_settings(folder).values
    except FitError as error:
        yield from error.mistakes
        return
    for name in sorted(NEEDED_SETTINGS - set(settings)):
        yield Mistake(
            f"{folder.name}/settings.yaml",
            f"The setting '{name}' is missing.",
            "Add it; see its neighbours.",
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
    named = {found.word for found in references(read_rules(folder)) if found.points_to == "setting"}
    return tuple(name for name in read_settings(folder).values if name not in NEEDED_SETTINGS | named)


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
