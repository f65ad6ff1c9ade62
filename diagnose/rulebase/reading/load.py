"""Reading a folder of rules into a checked `RuleSet`: every mistake of every file at once, with file and line.

The folder is ``facts.yaml, sources.yaml, words.yaml, order.yaml, cautions.yaml, misses.yaml``, where it has them
``settle.yaml``, ``garments.yaml`` and ``terms.yaml``, and the folders ``symptoms/GROUP``, ``causes/GROUP``,
``alterations/GROUP`` and ``questions``; the path of an entry is its id.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from msgspec import Struct, field
from pydantic import BaseModel, ValidationError

from diagnose.errors import FitError, Mistake
from diagnose.places import check_rules_folder
from diagnose.rulebase.reading.entries import Alteration, Cause, Question, Symptom
from diagnose.rulebase.reading.schema import RuleSet
from diagnose.rulebase.reading.yamlfile import YamlFile, read_yaml

__all__ = ["RuleFolder", "read_rules"]

SINGLE_FILES = ("facts", "sources", "words", "order", "cautions", "misses")
MAY_BE_MISSING = ("settle", "garments", "terms")
FILES_ALONE = (*SINGLE_FILES, *MAY_BE_MISSING)
GROUPED: dict[str, type[BaseModel]] = {
    "symptoms": Symptom,
    "causes": Cause,
    "alterations": Alteration,
}


class RuleFolder(Struct):
    """A folder as read: the entries, and where each stands for messages of later checks."""

    rules: RuleSet
    files: dict[tuple[str, str], YamlFile] = field(default_factory=dict)

    def at(self, kind: str, entry: str, *place: str | int) -> str:
        """``file:line`` of a place in an entry."""
        file = self.files.get((kind, entry))
        return file.at(place) if file else f"{kind}/{entry}"


def read_rules(folder: Path) -> RuleFolder:
    """The rules of a folder.

    Raises:
        FitError: with every mistake of form in every file.
    """
    check_rules_folder(folder)
    reading = _Reading(folder)
    data: dict[str, dict[str, Any]] = {name: reading.single(name) for name in SINGLE_FILES}
    data |= {name: reading.single(name) for name in MAY_BE_MISSING if (folder / f"{name}.yaml").exists()}
    for kind, model in GROUPED.items():
        data[kind] = reading.grouped(kind, model)
    data["questions"] = reading.entries("questions", Question, folder / "questions", told={})
    rules = reading.checked(data)
    if rules is None or reading.mistakes:
        raise FitError(reading.mistakes)
    return RuleFolder(rules, reading.files)


class _Reading:
    """One pass over a folder, gathering mistakes."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.mistakes: list[Mistake] = []
        self.files: dict[tuple[str, str], YamlFile] = {}

    def single(self, name: str) -> Any:
        file = self._read(self.folder / f"{name}.yaml")
        if file is None:
            return None
        self.files[(name, "")] = file
        return file.data

    def grouped(self, kind: str, model: type[BaseModel]) -> dict[str, Any]:
        found: dict[str, Any] = {}
        for group in sorted(p for p in (self.folder / kind).glob("*") if p.is_dir()):
            for entry, data in self.entries(kind, model, group, told={"group": group.name}).items():
                if entry in found:
                    where = self.files[(kind, entry)].name
                    self.mistakes.append(
                        Mistake(where, f"'{entry}' stands in two groups.", "Keep one.", code="in-two-groups")
                    )
                found[entry] = data
        return found

    def entries(self, kind: str, model: type[BaseModel], folder: Path, told: Mapping[str, str]) -> dict[str, Any]:
        """The entries of one folder by id, each with its id and what its folder tells."""
        found: dict[str, Any] = {}
        for path in sorted(folder.glob("*.yaml")):
            file = self._read(path)
            if file is None:
                continue
            self.files[(kind, path.stem)] = file
            if not isinstance(file.data, dict):
                self.mistakes.append(
                    Mistake(file.name, "The file is not a mapping of keys.", "See a neighbour.", code="not-an-object")
                )
                continue
            self._key_order(file, model)
            found[path.stem] = {"id": path.stem, **told, **file.data}
        return found

    def _read(self, path: Path) -> YamlFile | None:
        name = f"{self.folder.name}/{path.relative_to(self.folder).as_posix()}"
        try:
            return read_yaml(path, name)
        except FitError as error:
            self.mistakes += error.mistakes
            return None

    def _key_order(self, file: YamlFile, model: type[BaseModel]) -> None:
        fixed = [key for key in model.model_fields if key in file.data]
        given = [key for key in file.data if key in model.model_fields]
        if fixed != given:
            self.mistakes.append(
                Mistake(
                    file.name, "The keys stand out of order.", f"Order: {', '.join(fixed)}.", code="keys-out-of-order"
                )
            )

    def checked(self, data: Mapping[str, Any]) -> RuleSet | None:
        """All that was read as one `RuleSet`; what is wrong is added to the mistakes, by file and line."""
        try:
            return RuleSet.model_validate_json(json.dumps(data))
        except ValidationError as error:
            for wrong in error.errors(include_url=False):
                kind, *place = (part for part in wrong["loc"] if isinstance(part, str | int))
                entry = "" if kind in FILES_ALONE else str(place.pop(0))
                file = self.files.get((str(kind), entry))
                if file is not None:
                    name = f"{'.'.join(map(str, place))}: " if place else ""
                    self.mistakes.append(
                        Mistake(file.at(tuple(place)), f"{name}{_plain(wrong)}.", _remedy(wrong), code="not-as-wanted")
                    )
            return None


def _plain(wrong: Any) -> str:
    kinds = {
        "missing": "is missing",
        "extra_forbidden": "is not a key that stands here",
        "string_too_short": "says too little",
    }
    text = kinds.get(wrong["type"]) or str(wrong.get("ctx", {}).get("error", wrong["msg"]))
    shown = wrong.get("input")
    return f"{text}{f' (it says “{shown}”)' if isinstance(shown, str) and shown not in text else ''}"


def _remedy(wrong: Any) -> str:
    return {
        "missing": "Add it.",
        "extra_forbidden": "Take it out, or see how its neighbours spell it.",
        "string_too_short": "Argue it in a sentence or more.",
    }.get(wrong["type"], "Put it right.")
