"""The try-on as a page: served on this machine only, to one browser, until it is done.

The framework (starlette, uvicorn) is imported only when a page is served.
"""

from __future__ import annotations

from diagnose.workroom.holding import Holding
from diagnose.workroom.serving import hold_page

__all__ = ["Holding", "hold_page"]
