"""The try-on as a page: served on this machine only, to one browser, until it is done.

The framework (starlette, uvicorn) is imported only when a page is served.
"""

from __future__ import annotations

from diagnose.page.holding import Holding
from diagnose.page.serving import hold_page

__all__ = ["Holding", "hold_page"]
