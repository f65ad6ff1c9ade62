"""YAML files as plain text data, with the line each value stands on.

Every scalar stays text (``yes`` is the word yes), so that the schema alone decides what a value means. Anchors,
aliases, tags and doubled keys are refused: a rule says what it says where it stands.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import yaml
from msgspec import Struct

from diagnose.errors import FitError, Mistake, first_ones, quoted
from diagnose.files import LARGEST_YAML, bytes_of

__all__ = ["YamlFile", "read_yaml"]

MOST_DEPTH = 60
_Loader = getattr(yaml, "CBaseLoader", yaml.BaseLoader)  # to which every scalar is text
_PLAIN_TAGS = "tag:yaml.org,2002:"
_PLAIN_KINDS = ("str", "int", "float", "bool", "null", "timestamp", "value", "merge", "map", "seq")
Path_ = tuple[str | int, ...]


class YamlFile(Struct, frozen=True):
    """One file's data and the line of each place in it."""

    name: str
    data: Any
    lines: dict[Path_, int]

    def at(self, place: Path_) -> str:
        """``file:line`` of the place, or of the nearest place round it."""
        for end in range(len(place), -1, -1):
            if place[:end] in self.lines:
                return f"{self.name}:{self.lines[place[:end]]}"
        return self.name


def read_yaml(path: Path, name: str) -> YamlFile:
    """The file's data as text, lists and mappings.

    Args:
        path: the file.
        name: what to call it in messages.

    Raises:
        FitError: when it is unreadable, not YAML, or uses what rules may not use.
    """
    try:
        data = bytes_of(path, LARGEST_YAML, ordinary=True)
    except OSError as error:
        raise FitError.of(
            name, f"The file can't be read ({error.strerror}).", "See that it is there.", code="unreadable"
        ) from None
    try:
        return parse_yaml(data.decode("utf-8-sig"), name)
    except UnicodeDecodeError:
        raise FitError.of(name, "The file is not UTF-8 text.", "Save it as UTF-8.", code="not-text") from None


def parse_yaml(text: str, name: str) -> YamlFile:
    """`read_yaml` of text already read."""
    if len(text) > LARGEST_YAML:
        raise FitError.of(name, "The file is larger than 1 MB.", "Split it.", code="too-large")
    try:
        node = yaml.compose(text, Loader=_Loader)
    except (yaml.YAMLError, RecursionError, ValueError) as error:
        mark = getattr(error, "problem_mark", None)
        where = f"{name}:{mark.line + 1}" if mark else name
        problem = getattr(error, "problem", None) or "it is nested too deeply or holds a character YAML forbids"
        raise FitError.of(
            where, f"This is not YAML: {problem}.", "Look at the line and the one before it.", code="not-yaml"
        ) from None
    lines: dict[Path_, int] = {}
    mistakes: list[Mistake] = []
    data = _plain(node, (), lines, wrong=mistakes, name=name, seen=set())
    if mistakes:
        raise FitError(first_ones(mistakes, name))
    return YamlFile(name, data, lines)


def _plain(node: Any, place: Path_, lines: dict[Path_, int], wrong: list[Mistake], name: str, seen: set[int]) -> Any:
    if node is None:
        return None
    line = node.start_mark.line + 1
    lines[place] = line
    if len(place) > MOST_DEPTH:
        raise FitError.of(
            f"{name}:{line}", f"It is nested more than {MOST_DEPTH} deep.", "Write it flatter.", code="too-deep"
        )
    if id(node) in seen:
        wrong.append(Mistake(f"{name}:{line}", "An alias stands here.", "Write the value out.", code="alias"))
        return None
    seen.add(id(node))
    if node.tag.removeprefix(_PLAIN_TAGS) not in _PLAIN_KINDS:
        wrong.append(
            Mistake(f"{name}:{line}", f"The tag {quoted(node.tag)} stands here.", "Write the value alone.", code="tag")
        )
        return None
    if isinstance(node, yaml.ScalarNode):
        return node.value
    if isinstance(node, yaml.SequenceNode):
        return [
            _plain(item, (*place, i), lines, wrong=wrong, name=name, seen=seen) for i, item in enumerate(node.value)
        ]
    plain: dict[str, Any] = {}
    for key_node, value_node in node.value:
        key, at = key_node.value, f"{name}:{key_node.start_mark.line + 1}"
        if not isinstance(key, str):
            wrong.append(Mistake(at, "A list or mapping stands as a key.", "Give a word.", code="bad-key"))
            continue
        if key in plain:
            wrong.append(Mistake(at, f"{quoted(key)} stands twice.", "Keep one.", code="doubled-key"))
        plain[key] = _plain(value_node, (*place, key), lines, wrong=wrong, name=name, seen=seen)
        lines[(*place, key)] = key_node.start_mark.line + 1
    return plain
