"""How long the server waits for a request to be told: a head that is never finished is cut off, so that a few hundred
of them can't keep her out."""

from __future__ import annotations

import asyncio
from typing import Any

import h11
from uvicorn.protocols.http.h11_impl import H11Protocol

__all__ = ["HEAD_S", "Patient"]

HEAD_S = 15.0
"""How long the head of a request may take; the body's time is the guard's matter."""


class Patient(H11Protocol):
    """Uvicorn's own protocol, which lets go of a connection whose request is not told in `HEAD_S`."""

    _late: asyncio.TimerHandle | None = None

    def connection_made(self, transport: Any) -> None:
        """Begin to wait."""
        super().connection_made(transport)
        self._wait()

    def data_received(self, data: bytes) -> None:
        """Go on waiting from the first byte of a head; stop when it is whole."""
        super().data_received(data)
        if self.conn.their_state is h11.IDLE:
            self._wait()
        else:
            self._stop()

    def connection_lost(self, exc: Exception | None) -> None:
        """Nothing is waited for any more."""
        self._stop()
        super().connection_lost(exc)

    def _wait(self) -> None:
        if self._late is None:
            self._late = self.loop.call_later(HEAD_S, self._cut)

    def _stop(self) -> None:
        if self._late is not None:
            self._late.cancel()
            self._late = None

    def _cut(self) -> None:
        self._late = None
        answering = self.cycle is not None and not self.cycle.response_complete
        if not answering and not self.transport.is_closing():
            self.transport.close()
