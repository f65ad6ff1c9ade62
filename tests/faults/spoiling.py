"""Spoiling a true input: bits flipped, cut short, other encodings, and values that programs stumble over."""

from __future__ import annotations

import re
from collections.abc import Callable
from random import Random

__all__ = ["HOSTILE_VALUES", "spoilt"]

HOSTILE_VALUES = (
    "1e999", "-1e999", "NaN", "Infinity", "-0.0", "1e-320", "1e308", "9" * 400, "9" * 5000, "-1", "0", "5000",
    "0x" + "f" * 5000, "0o777", ".inf", ".nan", "1:2:3", "2024-02-30", "true", "null", "~", "=", "[]", "{}", '""',
    '"\\ud800"', '"\\u0000"', '"\\u001b[2J\\u009b31m"', "\x1b[2J\x9b31m", "\u202e\u2066x", "\u2028",
    "[" * 80 + "]" * 80, "[" * 600 + "]" * 600, '{"a":' * 300 + "1" + "}" * 300, "*a", "&a [*a, *a]", "<<: {a: 1}",
    "!!binary aa", "!!set {a}", "!!python/object/apply:os.abort []", "? {a: b} : c", "__proto__", "../../x",
    "/etc/passwd", "%s%n", "{{7*7}}", "</script>", "'; --", "1 1/0 in", "½" * 15, "٣ in", "99999999 in", "-2 in",
    "1e5 mm", "0.0000001",
)  # fmt: skip
"""Written in place of a value."""

_VALUE = re.compile(rb'"[^"\n]{0,60}"|[-+]?\d+(?:\.\d+)?|\b[a-z][a-z-]{1,30}\b')
_NUMBER = re.compile(rb"(?<![\w.])-?\d+(?:\.\d+)?(?![\w.])")
Spoiler = Callable[[bytearray, Random], bytes]


def spoilt(data: bytes, chance: Random) -> bytes:
    """The data after one to four spoilings."""
    for _ in range(chance.choice((1, 1, 1, 2, 2, 4))):
        data = chance.choice(SPOILERS)(bytearray(data), chance)
    return data


def _place(data: bytearray, chance: Random) -> int:
    return chance.randrange(len(data)) if data else 0


def _flip(data: bytearray, chance: Random) -> bytes:
    if data:
        data[_place(data, chance)] ^= 1 << chance.randrange(8)
    return bytes(data)


def _cut_short(data: bytearray, chance: Random) -> bytes:
    return bytes(data[: _place(data, chance)])


def _cut_out(data: bytearray, chance: Random) -> bytes:
    at = _place(data, chance)
    return bytes(data[:at] + data[at + chance.choice((1, 2, 5, 40)) :])


def _doubled(data: bytearray, chance: Random) -> bytes:
    at = _place(data, chance)
    return bytes(data[:at] + data[at : at + chance.choice((1, 8, 60))] * chance.choice((2, 3)) + data[at:])


def _line_doubled(data: bytearray, chance: Random) -> bytes:
    lines = bytes(data).split(b"\n")
    at = chance.randrange(len(lines))
    return b"\n".join([*lines[:at], lines[at], *lines[at:]])


def _put_in(data: bytearray, chance: Random) -> bytes:
    at = _place(data, chance)
    return bytes(data[:at] + chance.choice(HOSTILE_VALUES).encode() + data[at:])


def _hostile(data: bytearray, chance: Random) -> bytes:
    values = list(_VALUE.finditer(data))
    if not values:
        return _put_in(data, chance)
    found = chance.choice(values)
    value = chance.choice(HOSTILE_VALUES).encode()
    if found[0].startswith(b'"') and chance.random() < 0.5 and not value.startswith(b'"'):
        value = b'"' + value.replace(b'"', b"") + b'"'
    return bytes(data[: found.start()] + value + data[found.end() :])


def _swapped(data: bytearray, chance: Random) -> bytes:
    """One value written in place of another."""
    values = [found[0] for found in _VALUE.finditer(data)]
    places = list(_VALUE.finditer(data))
    if not values:
        return bytes(data)
    at = chance.choice(places)
    return bytes(data[: at.start()] + chance.choice(values) + data[at.end() :])


def _nudged(data: bytearray, chance: Random) -> bytes:
    """A number made somewhat or much larger or smaller, so that the rest still makes sense."""
    numbers = list(_NUMBER.finditer(data))
    if not numbers:
        return bytes(data)
    found = chance.choice(numbers)
    number = float(found[0]) * chance.choice((0.5, 0.99, 1.000001, 1.01, 2.0)) + chance.choice((0.0, 1e-9, -3.0, 20.0))
    return bytes(data[: found.start()] + f"{number:g}".encode() + data[found.end() :])


def _encoded(data: bytearray, chance: Random) -> bytes:
    text = data.decode(errors="replace")
    how = chance.choice(("utf-16", "utf-32", "utf-8-sig", "latin-1", "utf-7", "nul", "crlf", "cr"))
    if how == "nul":
        return b"\0".join(bytes(data)[n : n + 7] for n in range(0, len(data), 7))
    if how in ("crlf", "cr"):
        return text.replace("\n", "\r\n" if how == "crlf" else "\r").encode()
    return (text + "é").encode(how, errors="replace")


SPOILERS: tuple[Spoiler, ...] = (
    _flip, _flip, _cut_short, _cut_out, _doubled, _line_doubled, _put_in, _hostile, _hostile, _hostile, _swapped,
    _nudged, _nudged, _nudged, _encoded,
)  # fmt: skip
