"""The workroom: the whole job in the browser of this machine, and on her telephone in the fitting.

Server-made pages over the same functions that the commands call. The framework (starlette, uvicorn) is imported only
when it is served.
"""

from __future__ import annotations

from diagnose.workroom.serving import hold_workroom

__all__ = ["hold_workroom"]
