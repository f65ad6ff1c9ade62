"""Reading a folder of rules into a checked `RuleSet`: every mistake of every file at once, with file and line.

The folder is ``facts.yaml, sources.yaml, words.yaml, order.yaml, cautions.yaml`` and the folders ``symptoms/GROUP``,
``causes/GROUP``, ``alterations/GROUP`` and ``questions``; the path of an entry is its id.
"""

from __future__ import annotations

import json
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, TypeVar

from pydantic import BaseModel, TypeAdapter, ValidationError

from diagnose.errors import FitError, Mistake
from diagnose.rulebase import schema
from diagnose.rulebase.yamlfile import YamlFile, read_yaml

__all__ = ["RuleFolder", "read_rules"]

SINGLE_FILES = ("facts", "sources", "words", "order", "cautions", "misses")
GROUPED: dict[str, type[BaseModel]] = {
    "symptoms": schema.Symptom,
    "causes": schema.Cause,
    "alterations": schema.Alteration,
}
M = TypeVar("M", bound=BaseModel)


@dataclass(slots=True)
class RuleFolder:
    """A folder as read: the entries, and where each stands for messages of later checks."""

    rules: schema.RuleSet
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
    if not folder.is_dir():
        raise FitError.of(str(folder), "There is no such folder of rules.", "Name a folder that holds facts.yaml.")
    reading = _Reading(folder)
    singles = {name: reading.single(name) for name in SINGLE_FILES}
    grouped: dict[str, Any] = {kind: reading.grouped(kind, model) for kind, model in GROUPED.items()}
    questions = reading.entries("questions", schema.Question, folder / "questions", group=None)
    if reading.mistakes:
        raise FitError(reading.mistakes)
    rules = schema.RuleSet.model_construct(None, **singles, **grouped, questions=questions)
    return RuleFolder(rules, reading.files)


_SINGLE_TYPES: dict[str, TypeAdapter[Any]] = {
    "facts": TypeAdapter(dict[schema.Id, schema.Fact]),
    "sources": TypeAdapter(dict[schema.Id, schema.Source]),
    "words": TypeAdapter(schema.Words),
    "order": TypeAdapter(schema.Order),
    "cautions": TypeAdapter(schema.Cautions),
    "misses": TypeAdapter(schema.Misses),
}


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
        return self._validated(file, _SINGLE_TYPES[name], file.data)

    def grouped(self, kind: str, model: type[BaseModel]) -> dict[str, BaseModel]:
        found: dict[str, BaseModel] = {}
        for group in sorted(p for p in (self.folder / kind).glob("*") if p.is_dir()):
            for entry_id, entry in self.entries(kind, model, group, group=group.name).items():
                if entry_id in found:
                    where = self.files[(kind, entry_id)].name
                    self.mistakes.append(Mistake(where, f"'{entry_id}' stands in two groups.", "Keep one."))
                found[entry_id] = entry
        return found

    def entries(self, kind: str, model: type[M], folder: Path, group: str | None) -> dict[str, M]:
        found: dict[str, M] = {}
        adapter = TypeAdapter(model)
        for path in sorted(folder.glob("*.yaml")):
            file = self._read(path)
            if file is None:
                continue
            self.files[(kind, path.stem)] = file
            if not isinstance(file.data, dict):
                self.mistakes.append(Mistake(file.name, "The file is not a mapping of keys.", "See a neighbour."))
                continue
            self._key_order(file, model)
            data = {"id": path.stem, **({"group": group} if group else {}), **file.data}
            entry = self._validated(file, adapter, data)
            if entry is not None:
                found[path.stem] = entry
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
            self.mistakes.append(Mistake(file.name, "The keys stand out of order.", f"Order: {', '.join(fixed)}."))

    def _validated(self, file: YamlFile, adapter: TypeAdapter[M], data: Any) -> M | None:
        try:
            return adapter.validate_json(json.dumps(data))
        except ValidationError as error:
            for wrong in error.errors(include_url=False):
                place = tuple(part for part in wrong["loc"] if isinstance(part, str | int))
                name = ".".join(str(part) for part in place)
                self.mistakes.append(Mistake(file.at(place), f"{name}: {_plain(wrong)}.", _remedy(wrong)))
            return None


def _plain(wrong: Any) -> str:
    kinds = {
        "missing": "is missing",
        "extra_forbidden": "is not a key that stands here",
        "string_too_short": "says too little",
    }
    text = kinds.get(wrong["type"]) or str(wrong["msg"]).removeprefix("Value error, ")
    shown = wrong.get("input")
    return f"{text}{f' (it says “{shown}”)' if isinstance(shown, str) and shown not in text else ''}"


def _remedy(wrong: Any) -> str:
    return {
        "missing": "Add it.",
        "extra_forbidden": "Take it out, or see how its neighbours spell it.",
        "string_too_short": "Argue it in a sentence or more.",
    }.get(wrong["type"], "Put it right.")
