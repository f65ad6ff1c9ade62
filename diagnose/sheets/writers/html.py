"""The fitting sheet as one self-contained page: style and pictures inside it, nothing fetched, no script."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from jinja2 import Template
from markupsafe import Markup

from diagnose.sentences import kept_together
from diagnose.sheets.signs import sign_picture
from diagnose.sheets.templates import templates_of
from diagnose.sheets.view_model import FROM_THE_GAP, SheetView, Sign
from diagnose.sheets.wall_sheet import wall_sheet
from diagnose.sheets.writers.svg import picture_svg

__all__ = ["write_html"]

TEMPLATE = "page.html.j2"


def write_html(view: SheetView) -> str:
    """The page of a sheet; whatever the maker wrote is escaped."""
    return _template().render(
        view=view, wall=wall_sheet(view), picture=picture_svg, sign=_sign, percent=_percent, from_the_gap=FROM_THE_GAP
    )


@cache
def _template() -> Template:
    return templates_of(Path(__file__).parent, finalize=_unbroken).get_template(TEMPLATE)


def _unbroken(value: object) -> object:
    """What is put into the page, each length in one piece."""
    if isinstance(value, str) and not isinstance(value, Markup):
        return kept_together(value)
    return value


def _sign(sign: Sign, label: str) -> Markup:
    return picture_svg(sign_picture(sign.picture, sign.style, sign.title), label)


def _percent(share: float) -> str:
    return f"{100.0 * share:.0f}%"
