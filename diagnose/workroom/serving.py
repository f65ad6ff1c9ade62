"""Serving the workroom: this machine's own address, and with a telephone the home network's too, until Ctrl-C."""

from __future__ import annotations

import errno
import io
import socket
import sys
import threading
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager, suppress
from pathlib import Path
from textwrap import wrap
from typing import TYPE_CHECKING
from urllib.parse import quote

from diagnose.casebook.lock import locked
from diagnose.casebook.safely import write_text
from diagnose.errors import FitError
from diagnose.files import bytes_of

if TYPE_CHECKING:
    import uvicorn

    from diagnose.workroom.room import Room

__all__ = ["HERE", "addresses_of_home", "code_lines", "hold_workroom", "listening_at"]

HERE = "127.0.0.1"
PORT = 8417
"""Tried first, so that a telephone finds the workroom where it was; any other does as well."""
LOCK, OPEN_AT = ".workroom.lock", ".workroom-open"
HOME_NETS = ("192.168.255.254", "10.255.255.254", "172.31.255.254")
VISIBLE = (
    "Who is on your home network can see that the workroom is at {}, and could read along what goes between it and the "
    "telephone: it is not in cipher. In a strange network leave --phone out."
)
COLUMNS = 80
GRACE_S = 2
IDLE_S = 600.0
"""How long it stays open after the job that it was opened for is done, and nothing more is asked."""
Tell = Callable[[str], None]


def hold_workroom(
    folder: Path, tell: Tell, show: Callable[[str], bool] | None = None, *, start: str = "/", phone: bool = False,
    until: Callable[[], bool] | None = None,
) -> None:  # fmt: skip
    """Serve the workroom of a folder until it is stopped.

    Args:
        folder: the folder that her cases stand in.
        tell: says a line to her in the terminal.
        show: opens an address in a browser, and says whether it could; None to leave that to her.
        start: the page it opens on.
        phone: listen on the home network as well.
        until: whether the job is done that it was opened for; the serving then ends when nothing is asked any more.

    Raises:
        FitError: when another workroom is open on the folder, no port is free, or there is no home network.
    """
    with _alone(folder):
        from diagnose.workroom.room import Room

        hosts = addresses_of_home() if phone else []
        if phone and not hosts:
            raise FitError.of(
                "--phone", "This machine is on no home network.", "Join one, or leave --phone out.", code="no-network"
            )
        sockets = listening_at([HERE, *hosts])
        port = sockets[0].getsockname()[1]
        write_text(folder / OPEN_AT, f"http://{HERE}:{port}/\n")
        try:
            _serve(Room(folder), sockets, tell, show=show, start=start, phone=f"{hosts[0]}:{port}" if hosts else "",
                   hosts=[f"{host}:{port}" for host in (HERE, *hosts)], until=until)  # fmt: skip
        finally:
            with suppress(OSError):
                (folder / OPEN_AT).unlink()


def _serve(
    room: Room, sockets: Sequence[socket.socket], tell: Tell, show: Callable[[str], bool] | None, *, start: str,
    phone: str, hosts: Sequence[str], until: Callable[[], bool] | None,
) -> None:  # fmt: skip
    import uvicorn

    from diagnose.workroom.door.devices import Doors
    from diagnose.workroom.door.guarding import Patient
    from diagnose.workroom.routes import workroom_app

    doors = Doors(room.folder)
    app = workroom_app(room, doors, hosts, phone=phone)
    config = uvicorn.Config(
        app, http=Patient, ws="none", lifespan="off", log_level="critical", access_log=False, server_header=False,
        timeout_graceful_shutdown=GRACE_S, timeout_keep_alive=30, h11_max_incomplete_event_size=32_768,
    )  # fmt: skip
    server = uvicorn.Server(config)

    def address() -> str:
        to = f"&to={quote(start, safe='/')}" if start != "/" else ""
        return f"http://{hosts[0]}/?key={doors.new_key()}{to}"

    first = address()
    shown = show is not None and show(first)
    tell("The workroom opens in your browser. This address works once, for one browser:" if shown
         else "Open this in a browser of this machine; it works once, for one browser:")  # fmt: skip
    tell(f"  {first}")
    if phone:
        tell("")
        tell("On the telephone: scan this within ten minutes, then let it in at the computer")
        tell("(Telephone).")
        for line in code_lines(f"http://{phone}/pair?key={doors.new_pairing()}"):
            tell(line)
        for line in wrap(VISIBLE.format(phone), COLUMNS):
            tell(line)
    tell("Ctrl-C ends it; everything is kept." + (" Enter gives a new address." if sys.stdin.isatty() else ""))
    if sys.stdin.isatty():
        threading.Thread(target=_new_addresses, args=(address, tell), daemon=True).start()
    if until is not None:
        threading.Thread(target=_ends, args=(server, until), daemon=True).start()
    try:
        server.run(sockets=list(sockets))
    finally:
        room.close()


def _new_addresses(address: Callable[[], str], tell: Tell) -> None:
    for _ in sys.stdin:
        tell(f"  {address()}")


def _ends(server: uvicorn.Server, until: Callable[[], bool]) -> None:
    """End the serving when the job is done and nothing was asked for a while."""
    asked, since = -1, time.monotonic()
    while not (until() and time.monotonic() - since > IDLE_S):
        time.sleep(0.5)
        if server.server_state.total_requests != asked or server.server_state.tasks:
            asked, since = server.server_state.total_requests, time.monotonic()
    server.should_exit = True


@contextmanager
def _alone(folder: Path) -> Iterator[None]:
    """Hold the folder; where another workroom does, say where it is open."""
    where = ""
    with suppress(OSError, UnicodeDecodeError):
        where = bytes_of(folder / OPEN_AT, 100).decode("ascii").strip()
    busy = f"The workroom is open on this folder already{f', at {where}' if where.startswith('http://') else ''}."
    with locked(folder, 0.0, LOCK, busy=(busy, "Go on there; or end it there with Ctrl-C first.")):
        yield


def listening_at(hosts: Sequence[str]) -> list[socket.socket]:
    """A socket at each host, all on one port.

    Raises:
        FitError: when there is no port free at all of them.
    """
    reason = ""
    for port in (PORT, 0, 0, 0):
        made: list[socket.socket] = []
        try:
            for host in hosts:
                made.append(_listening(host, made[0].getsockname()[1] if made else port))
            return made
        except OSError as error:
            reason = error.strerror or "it failed"
            for one in made:
                one.close()
            if error.errno not in (errno.EADDRINUSE, errno.EACCES):
                break
    raise FitError.of(
        "workroom", f"No port is free ({reason}).", "Close another program that serves pages.", code="no-port"
    )


def _listening(host: str, port: int) -> socket.socket:
    # Of a socket whose protocol is named asyncio sends each packet at once; else the second waits 40 ms for the first.
    one = socket.socket(socket.AF_INET, socket.SOCK_STREAM, socket.IPPROTO_TCP)
    try:
        if sys.platform != "win32":  # there it would give one port to two programs
            one.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        one.bind((host, port))
        one.listen(512)  # from here on a browser that is quicker than the server waits for it
    except OSError:
        one.close()
        raise
    return one


def addresses_of_home() -> list[str]:
    """This machine's own addresses on home networks. Nothing is sent; the system is asked which way it would be."""
    found: list[str] = []
    for target in HOME_NETS:
        with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as asking, suppress(OSError):
            asking.connect((target, 9))
            host = asking.getsockname()[0]
            if _is_home(host) and host not in found:
                found.append(host)
    return found


def _is_home(host: str) -> bool:
    import ipaddress

    one = ipaddress.ip_address(host)
    return one.is_private and not one.is_loopback and not one.is_link_local


def code_lines(address: str) -> list[str]:
    """The code that a telephone scans, as lines of a terminal."""
    import segno

    made = io.StringIO()
    segno.make(address, error="l", micro=False).terminal(out=made, compact=True, border=2)
    return made.getvalue().rstrip("\n").split("\n")
