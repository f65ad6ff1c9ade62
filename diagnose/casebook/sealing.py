"""Seals: each file of a case carries a checksum of what it holds and of what it was made from.

A seal is the last key of a file: the name it was stored under, the SHA-256 of all the text before the seal, and that of
every file it was made from. A pattern stands as every program reads it and bears none: the record beside it seals it.
A file without a seal (one of an older case) is taken as it stands.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterator, Mapping
from hashlib import sha256
from typing import Any

from msgspec import Struct

from diagnose.casebook.jsonfile import table
from diagnose.errors import Mistake, one_line

__all__ = ["SEAL", "Sealed", "seal_mistakes", "sealed", "unsealed"]

SEAL = "seal"
_CUT = f',\n  "{SEAL}": '
_END = "\n}\n"
_HOLDS = re.compile(r'"holds": "[0-9a-f]{64}"')
"""What a seal that is itself damaged still shows."""
_TAKE = "Take it from a copy, or keep it as it is now with: diagnose note CASE --as-it-stands {}"
NOT_AS_STORED = "not-as-stored"


class Sealed(Struct, frozen=True):
    """What is known of one file: the checksum of what it holds, and its seal, where it bears one."""

    holds: str
    seal: Mapping[str, Any] | None

    @property
    def made_from(self) -> Mapping[str, str]:
        """The checksums of the files it was made from, by name."""
        return table((self.seal or {}).get("from"))


def sealed(text: str, where: str, made_from: Mapping[str, str]) -> str:
    """The text of a JSON object with its seal.

    Args:
        text: as `jsonfile.json_text` writes it, without a seal.
        where: the name it is stored under.
        made_from: the checksums of the files it was made from, by name.
    """
    seal = {"file": where, "holds": _sum_of(text), "from": made_from}
    return f"{text.removesuffix(_END)}{_CUT}{json.dumps(seal)}{_END}"


def unsealed(text: str) -> Sealed:
    """The checksum of a file's text without its seal, and the seal."""
    text = text.replace("\r\n", "\n")
    body, cut, rest = text.rpartition(_CUT)
    if not cut or not rest.endswith(_END):
        return Sealed(_sum_of(text), {} if _HOLDS.search(text) else None)
    try:
        seal = json.loads(rest.removesuffix(_END))
    except (ValueError, RecursionError):
        seal = {}
    whole = isinstance(seal, dict) and seal.keys() == {"file", "holds", "from"}
    return Sealed(_sum_of(body + _END), seal if whole else {})


def _sum_of(text: str) -> str:
    return sha256(text.encode("utf-8", "surrogatepass")).hexdigest()


def seal_mistakes(files: Mapping[str, Sealed]) -> Iterator[Mistake]:
    """Every file that is not what was stored, and every one that was made from another than is there now."""
    changed = {name for name, file in files.items() if file.seal is not None and file.seal.get("holds") != file.holds}
    for name in files:
        if name in changed:
            yield Mistake(
                name,
                "It is not what was stored: its checksum differs.",
                "",
                typed=_TAKE.format(name),
                code=NOT_AS_STORED,
            )
        else:
            yield from _misplaced(name, files[name])
    told = {name for name in files if name in changed or any(_misplaced(name, files[name]))}
    for name, file in files.items():
        for source, sum_ in file.made_from.items():
            there = files.get(source)
            if (there is not None and there.holds == sum_) or source in told or name in told:
                continue
            told.add(source)
            if there is None:
                yield Mistake(
                    name,
                    f"It was made from {source}, which can't be read.",
                    "",
                    typed=_TAKE.format(name),
                    code=NOT_AS_STORED,
                )
            elif there.seal is None:
                what = f"It is not what was stored: its checksum is not the one in {name}."
                yield Mistake(source, what, "", typed=_TAKE.format(source), code=NOT_AS_STORED)
            else:
                what = f"It was made from another {source} than the one that is there now."
                yield Mistake(name, what, "", typed=_TAKE.format(source), code=NOT_AS_STORED)


def _misplaced(name: str, file: Sealed) -> Iterator[Mistake]:
    stored_as = (file.seal or {}).get("file", name)
    if stored_as != name:
        what = f"It was stored as {one_line(str(stored_as), 60)}."
        yield Mistake(name, what, "Give each file its own name again, or take it from a copy.", code=NOT_AS_STORED)
