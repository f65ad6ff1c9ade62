"""Who may come in: the browser of this machine by a key that works once, and telephones that she let in herself.

A telephone brings the key of the code it has scanned; that alone lets nothing in. It is then shown on the page of the
computer, with its address and a number that it shows too, and comes in when she says so there. What is kept of it is
its name, the day, and a hash of the secret in its cookie.
"""

from __future__ import annotations

import hashlib
import secrets
import threading
import time
from collections.abc import Callable
from datetime import date
from pathlib import Path

import msgspec
from msgspec import Struct

from diagnose.casebook.safely import write_text
from diagnose.errors import FitError, one_line
from diagnose.files import bytes_of

__all__ = ["KEPT_NAME", "KEY_S", "Device", "Doors", "Waiting"]

KEPT_NAME = ".workroom-devices.json"
KEY_S = 600.0
"""How long the key of a code works."""
MOST_WAITING, MOST_KEPT = 5, 30
LARGEST = 100_000


class Device(Struct, frozen=True):
    """A telephone that was let in: a hash of its secret, what it calls itself, and the day."""

    hash: str
    name: str
    day: str


class _Kept(Struct, frozen=True):
    """The telephones let in, as they are stored."""

    format: str = "fit-devices"
    version: int = 1
    devices: list[Device] = []


class Waiting(Struct, frozen=True):
    """A telephone that brought the key and waits to be let in."""

    hash: str
    name: str
    address: str
    at: str
    number: str


class Doors:
    """The keys, and the secrets of those who are in.

    Args:
        folder: where the telephones let in are kept.
        now: the clock, in seconds.
    """

    def __init__(self, folder: Path, now: Callable[[], float] = time.monotonic) -> None:
        self._path, self._now, self._lock = folder / KEPT_NAME, now, threading.Lock()
        self._secret, self._key = secrets.token_urlsafe(24), ""
        self._pairing, self._until = "", 0.0
        self._waiting: dict[str, Waiting] = {}
        self._kept = _read(self._path)

    def new_key(self) -> str:
        """A key for a browser of this machine; the one before it works no more."""
        with self._lock:
            self._key = secrets.token_urlsafe(24)
            return self._key

    def open_here(self, key: str) -> str | None:
        """The secret for the cookie of the browser that brings the key; None when the key does not work (any more)."""
        with self._lock:
            if not self._key or not _same(key, self._key):
                return None
            self._key = ""
            return self._secret

    def is_here(self, secret: str) -> bool:
        """Whether it is a browser of this machine that the key has opened."""
        return _same(secret, self._secret)

    def new_pairing(self) -> str:
        """The key for a code to scan; works once, for ten minutes."""
        with self._lock:
            self._pairing, self._until = secrets.token_urlsafe(24), self._now() + KEY_S
            return self._pairing

    def knock(self, key: str, name: str, address: str) -> str | None:
        """A telephone brings the key: the secret for its cookie, which lets it wait; None when the key is no good."""
        with self._lock:
            good = bool(self._pairing) and _same(key, self._pairing) and self._now() < self._until
            if not good or len(self._waiting) >= MOST_WAITING:
                return None
            self._pairing = ""
            secret = secrets.token_urlsafe(24)
            at = time.strftime("%H:%M")
            number = f"{secrets.randbelow(10_000):04}"
            self._waiting[_hash(secret)] = Waiting(_hash(secret), one_line(name, 60), address, at=at, number=number)
            return secret

    def is_let_in(self, secret: str) -> bool:
        """Whether it is a telephone that she let in."""
        hashed = _hash(secret)
        return any(secrets.compare_digest(hashed, one.hash) for one in self._kept)

    def waiting(self, secret: str) -> Waiting | None:
        """The telephone of that secret, while it waits."""
        return self._waiting.get(_hash(secret))

    @property
    def all_waiting(self) -> tuple[Waiting, ...]:
        """The devices that wait, first come first."""
        return tuple(self._waiting.values())

    @property
    def kept(self) -> tuple[Device, ...]:
        """The devices that were let in."""
        return tuple(self._kept)

    def let_in(self, hashed: str) -> None:
        """Let one in that waits; it stays so until it is forgotten."""
        with self._lock:
            one = self._waiting.pop(hashed, None)
            if one is not None:
                kept = [*self._kept, Device(one.hash, one.name, date.today().isoformat())][-MOST_KEPT:]
                self._keep(kept)

    def forget(self, hashed: str) -> None:
        """Send one away, whether it waits or was let in."""
        with self._lock:
            self._waiting.pop(hashed, None)
            if any(one.hash == hashed for one in self._kept):
                self._keep([one for one in self._kept if one.hash != hashed])

    def _keep(self, kept: list[Device]) -> None:
        write_text(self._path, msgspec.json.format(msgspec.json.encode(_Kept(devices=kept)).decode(), indent=1) + "\n")
        self._kept = kept


def _read(path: Path) -> list[Device]:
    """The telephones kept; none when the file is not there or is none of ours, so that nobody is let in by it."""
    try:
        return msgspec.json.decode(bytes_of(path, LARGEST), type=_Kept).devices[:MOST_KEPT]
    except (OSError, msgspec.DecodeError, FitError):
        return []


def _same(one: str, other: str) -> bool:
    return secrets.compare_digest(one.encode(), other.encode())


def _hash(secret: str) -> str:
    return hashlib.sha256(secret.encode()).hexdigest()
