"""A rule base loaded from its folder, once: found right, it is kept in a cache.

Reading two hundred YAML files takes much longer than a diagnosis, so a folder that has been read and found right is
kept as JSON in the user's cache folder, under a hash of the files' contents; a changed file gives another hash.
"""

from __future__ import annotations

import hashlib
import os
from collections.abc import Iterator
from pathlib import Path

from msgspec.structs import replace
from pydantic import ValidationError

from diagnose.errors import FitError
from diagnose.files import LARGEST_YAML, bytes_of
from diagnose.model.settings import Settings
from diagnose.places import bundled_rules, check_rules_folder
from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.reading.cache import cache_folder, keep_file, kept_file
from diagnose.rulebase.reading.schema import RuleSet
from diagnose.rulebase.reading.settings_file import read_settings

__all__ = ["load_rulebase"]

CACHE_FORM = "12"


def load_rulebase(folder: Path | None = None) -> RuleBase:
    """The rule base of a folder (the bundled one by default), from the cache when its files have not changed.

    Raises:
        FitError: with every mistake, when the folder does not hold a right rule base.
    """
    folder = folder or bundled_rules()
    digest = _digest(folder)
    kept = cache_folder() / f"rules-{digest[:32]}.json"
    entries = _kept(kept)
    if entries is None:
        entries = _read_and_check(folder).without_examples()
        keep_file(kept, entries.model_dump_json(by_alias=True).encode())
    return RuleBase(entries, _settings_of(folder), digest)


def _settings_of(folder: Path) -> Settings:
    """The settings of a folder; what it leaves out is as in the rules that come with the program."""
    own, bundled = read_settings(folder), bundled_rules()
    return own if folder == bundled else replace(own, values={**read_settings(bundled).values, **own.values})


def _digest(folder: Path) -> str:
    check_rules_folder(folder)
    sum_ = hashlib.sha256(CACHE_FORM.encode())
    for name in sorted(_files(str(folder))):
        path = f"{folder}{os.sep}{name}"
        try:
            sum_.update(os.fsencode(name) + b"\0" + bytes_of(path, LARGEST_YAML, ordinary=True) + b"\0")
        except OSError as error:
            raise FitError.of(
                path, f"The file can't be read ({error.strerror}).", "See that it is there.", code="unreadable"
            ) from None
    return sum_.hexdigest()


def _files(folder: str) -> Iterator[str]:
    """The YAML files in a folder and its folders, by their paths in it (plain `os`: every command waits for this)."""
    for under, _, names in os.walk(folder):
        inside = os.path.relpath(under, folder) + os.sep if under != folder else ""
        yield from (inside + name for name in names if name.endswith(".yaml"))


def _read_and_check(folder: Path) -> RuleSet:
    # Imported here: reading and checking YAML is needed only when the cache does not hold the folder.
    from diagnose.rulebase.checking.check import check_read
    from diagnose.rulebase.reading.load import read_rules

    read = read_rules(folder)
    mistakes = check_read(read)
    if mistakes:
        raise FitError(mistakes)
    return read.rules


def _kept(path: Path) -> RuleSet | None:
    data = kept_file(path)
    try:
        return None if data is None else RuleSet.model_validate_json(data)
    except ValidationError:
        return None
