"""One request as a page takes it, and the ways of answering."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING
from urllib.parse import quote

from msgspec import Struct, field
from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response

from diagnose.errors import FitError
from diagnose.workroom.door.guarding import is_here

if TYPE_CHECKING:
    from starlette.datastructures import FormData

    from diagnose.sheets.drawn.screens import Screen

__all__ = ["WRONG", "Asked", "Upload", "file_of", "html", "read_asked", "to", "url"]

MOST_FIELDS, MOST_FILES = 400, 6
SEE_OTHER = 303
WRONG = 422
"""The status of a page that says what is wrong with what was sent."""
FORMS = {
    ".pdf": "application/pdf", ".svg": "image/svg+xml", ".dxf": "image/vnd.dxf", ".json": "application/json",
    ".html": "text/html", ".zip": "application/zip",
}  # fmt: skip
SHEET_POLICY = "default-src 'none'; style-src 'unsafe-inline'; img-src data:; frame-ancestors 'none'"
"""Of sheets and pictures, which carry their own style in them, and no script."""


class Upload(Struct, frozen=True):
    """A file that was sent: its name as sent, and its bytes."""

    name: str
    data: bytes


class Asked(Struct, frozen=True):
    """A request: what stands in its address, what was sent, and whether it comes from this machine."""

    method: str
    path: Mapping[str, str]
    query: Mapping[str, str]
    fields: Mapping[str, list[str]] = field(default_factory=dict)
    files: tuple[Upload, ...] = ()
    here: bool = True
    host: str = ""
    address: tuple[tuple[str, str], ...] = ()
    """Everything that stands in the address, in order."""
    lively: bool = False
    """It was sent by our own script, which wants a part of a page."""
    screen: Screen = "wide"
    """``narrow`` on a telephone held upright: our own script says so, else the browser's name."""

    @property
    def posts(self) -> bool:
        """Whether something is to be changed."""
        return self.method == "POST"

    def one(self, name: str) -> str:
        """The one value of a field, without blanks round it."""
        return self.fields.get(name, [""])[0].strip()

    def all(self, name: str) -> list[str]:
        """All values of a field."""
        return self.fields.get(name, [])

    def listed(self, name: str) -> list[str]:
        """All values that stand in the address under a name."""
        return [value for key, value in self.address if key == name]

    def number(self, name: str, otherwise: int) -> int:
        """A whole number of the address."""
        text = self.query.get(name, "")
        return int(text) if text.isascii() and text.isdecimal() and len(text) < 6 else otherwise


async def read_asked(request: Request) -> Asked:
    """The request with all that was sent.

    Raises:
        FitError: when what was sent is not what a form sends.
    """
    fields: dict[str, list[str]] = {}
    files: list[Upload] = []
    if request.method == "POST":
        await _read_form(request, fields, files)
    return Asked(
        request.method, request.path_params, dict(request.query_params), fields=fields, files=tuple(files),
        here=is_here(request),
        host=request.headers["host"], address=tuple(request.query_params.multi_items()),
        lively=request.headers.get("x-workroom") == "live", screen=_screen(request),
    )  # fmt: skip


def _screen(request: Request) -> Screen:
    said = request.cookies.get("screen")
    narrow = said == "narrow" if said else "Mobi" in request.headers.get("user-agent", "")
    return "narrow" if narrow else "wide"


async def _read_form(request: Request, fields: dict[str, list[str]], files: list[Upload]) -> None:
    """Read a form with files, or a plain one: what names no kind is read as plain, and never as nothing."""
    from starlette.exceptions import HTTPException
    from starlette.formparsers import FormParser

    kind = request.headers.get("content-type", "").partition(";")[0].strip().lower()
    try:
        if kind == "multipart/form-data":
            form = await request.form(max_files=MOST_FILES)
        else:
            form = await FormParser(request.headers, request.stream()).parse()
    except HTTPException:
        raise FitError.of(
            "the form", "What was sent can't be read.", "Choose the file again and send it.", code="unreadable"
        ) from None
    try:
        await _take_sent(form, fields, files)
    finally:
        await form.close()


async def _take_sent(form: FormData, fields: dict[str, list[str]], files: list[Upload]) -> None:
    from starlette.datastructures import UploadFile

    sent = form.multi_items()
    if len(sent) > MOST_FIELDS:
        raise FitError.of(
            "the form", "More was sent than any page asks for.", "Go back and send it again.", code="too-large"
        )
    for name, value in sent:
        if isinstance(value, UploadFile):
            if value.filename:
                files.append(Upload(value.filename, await value.read()))
        else:
            fields.setdefault(name, []).append(value)


def html(text: str, status: int = 200) -> Response:
    """A page."""
    return HTMLResponse(text, status_code=status)


def url(*parts: object) -> str:
    """The address of a page, each part quoted."""
    return "/" + "/".join(quote(str(part), safe="") for part in parts)


def to(*parts: object, query: str = "") -> Response:
    """On to another page of ours, by looking at it: reloading that sends nothing twice."""
    return RedirectResponse(url(*parts) + query, status_code=SEE_OTHER)


def file_of(data: bytes, name: str, *, shown: bool = False) -> Response:
    """A file to keep; `shown` in the browser where it can be."""
    ending = name[name.rindex(".") :]
    plain = "".join(c if c.isascii() and (c.isalnum() or c in "-_.") else "-" for c in name)
    how = "inline" if shown else "attachment"
    headers = {
        "content-disposition": f"{how}; filename=\"{plain}\"; filename*=UTF-8''{quote(name, safe='')}",
        "content-security-policy": SHEET_POLICY,
    }
    return Response(data, media_type=FORMS[ending], headers=headers)
