"""Serving the page: a free port of this machine's own address, one key in the address, until the try-on is done."""

from __future__ import annotations

import secrets
import socket
from collections.abc import Callable

from diagnose.errors import FitError
from diagnose.workroom.holding import Holding

__all__ = ["HOST", "hold_page"]

HOST = "127.0.0.1"
AT_MOST_S = 600.0
"""How long the plan stays on the page when nobody closes it."""


def hold_page(holding: Holding, tell: Callable[[str], None], show: Callable[[str], bool] | None = None) -> bool:
    """Serve the try-on until it is done or given up.

    Args:
        holding: the try-on under way.
        tell: says a line to her in the terminal.
        show: opens an address in a browser, and says whether it could; None to leave that to her.

    Returns:
        Whether the try-on was stored.

    Raises:
        FitError: when what serves pages is not installed, or no port is free.
    """
    try:
        import starlette  # noqa: F401
        import uvicorn
    except ImportError:
        do = "Install it with: pip install 'diagnose-fit[page]'; or leave --page out."
        raise FitError.of("--page", "What serves the page is not installed.", do) from None
    from diagnose.workroom.app import page_app

    with _free_port() as listening:
        port = listening.getsockname()[1]
        key = secrets.token_urlsafe(24)
        app = page_app(holding, f"{HOST}:{port}", key, lambda: _end(server), AT_MOST_S)
        config = uvicorn.Config(app, log_level="critical", access_log=False, lifespan="off", server_header=False)
        server = uvicorn.Server(config)
        address = f"http://{HOST}:{port}/?key={key}"
        shown = show is not None and show(address)
        tell("The page opens in your browser. Its address works once, for one browser:" if shown
             else "Open this in a browser of this machine; it works once, for one browser:")  # fmt: skip
        tell(f"  {address}")
        tell("It ends when the try-on is done; Ctrl-C ends it now, and the answers are kept.")
        server.run(sockets=[listening])
    return holding.outcome is not None


def _end(server: object) -> None:
    setattr(server, "should_exit", True)  # noqa: B010  (uvicorn's own way to end, on a type known only when serving)


def _free_port() -> socket.socket:
    listening = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    try:
        listening.bind((HOST, 0))
        listening.listen()  # from here on a browser that is quicker than the server waits for it
    except OSError as error:
        listening.close()
        raise FitError.of("--page", f"No port is free ({error.strerror}).", "Leave --page out.") from None
    return listening
