"""Commands that are loaded when they are called for, and options that are read without what only wrong ones need.

Loading every command, and the checking of types by a model for options that are plain text, takes longer than many a
command itself. What the short way does not know for right goes the framework's own way, which says what is wrong.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Mapping
from importlib import import_module
from pathlib import Path
from typing import Any

import typer
from typer.core import TyperCommand, TyperGroup
from typer.main import get_command

__all__ = ["LazyGroup", "PlainCommand", "lazy_group"]

_LATER = object()


class PlainCommand(TyperCommand):
    """A command whose plain options are read the short way."""

    def get_params(self, ctx: Any) -> list[Any]:
        """The parameters, each of the plainest kind that will do."""
        return [_plainly(param) for param in super().get_params(ctx)]


class LazyGroup(TyperGroup):
    """A group that loads a command when it is called, or all for the help; `places` says where each stands."""

    places: Mapping[str, str] = {}

    def __init__(self, **attributes: Any) -> None:
        super().__init__(**{**attributes, "commands": dict.fromkeys(self.places)})

    def get_params(self, ctx: Any) -> list[Any]:
        """The parameters, each of the plainest kind that will do."""
        return [_plainly(param) for param in super().get_params(ctx)]

    def get_command(self, ctx: Any, cmd_name: str) -> Any:
        """The command, loaded now if it was not; None where there is none of that name."""
        if cmd_name in self.places and self.commands[cmd_name] is None:
            self.commands[cmd_name] = _loaded(cmd_name, self.places[cmd_name])
        return self.commands.get(cmd_name)

    def list_commands(self, ctx: Any) -> list[str]:
        """The names, in the order in which they are shown."""
        return list(self.places)


def lazy_group(places: Mapping[str, str]) -> type[LazyGroup]:
    """The group of these commands: for each name ``module:function``, or ``module:group`` for a group of its own."""
    return type("_Group", (LazyGroup,), {"places": places})


def _loaded(name: str, place: str) -> Any:
    module, _, attribute = place.partition(":")
    found = getattr(import_module(module), attribute)
    if isinstance(found, typer.Typer):
        group = get_command(found)
        group.name = name
        return group
    alone = typer.Typer(add_completion=False, rich_markup_mode=None, pretty_exceptions_enable=False)
    alone.command(name, cls=PlainCommand)(found)
    return get_command(alone)


def _plainly(param: Any) -> Any:
    """The option, read the short way where its value is known for right."""
    if "process_value" not in vars(param):
        param.process_value = _reading(param, param.process_value)
    return param


def _reading(param: Any, full: Callable[[Any, Any], Any]) -> Callable[[Any, Any], Any]:
    described = getattr(param, "type_descriptor", None)  # not there: this typer reads options without a model anyway
    if described is None:
        return full
    kind, info = described.annotation, described.parameter_info

    def read(ctx: Any, value: Any) -> Any:
        found = _plain(kind, value, info) if value is not None or not param.required else _LATER
        if found is _LATER:
            return full(ctx, value)
        return param.callback(ctx, param, found) if param.callback is not None else found

    return read


def _plain(kind: Any, value: Any, info: Any) -> Any:
    """The value where it is surely right; `_LATER` where that is for the framework to say."""
    if value is None or (kind is str and isinstance(value, str)):
        return value
    if kind == list[str] and isinstance(value, list | tuple) and all(isinstance(part, str) for part in value):
        return value
    if not isinstance(value, str):
        return _LATER
    if kind is int and value.isascii() and value.isdecimal() and len(value) < 10:
        number, low, high = int(value), info.min, info.max
        return number if (low is None or number >= low) and (high is None or number <= high) else _LATER
    if kind is Path and not (info.exists or info.resolve_path or info.allow_dash or info.writable):
        return Path(value) if os.access(value, os.R_OK) or not os.path.exists(value) else _LATER
    return _LATER
