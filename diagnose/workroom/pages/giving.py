"""What goes out: the sheets and the pattern in every form, the cutting list with its ticks, the whole case in one file,
and the handbook, whose pages are those that `diagnose rules handbook` writes.
"""

from __future__ import annotations

from collections.abc import Sequence

from starlette.responses import Response

from diagnose.casebook import Case
from diagnose.casework.noting import ticked, with_ticks
from diagnose.casework.parcel import packed
from diagnose.casework.sheeting import pattern_bytes, sheet_bytes
from diagnose.errors import FitError
from diagnose.model.standing import standing
from diagnose.sheets.card import write_card
from diagnose.sheets.cutting.cutting_list import cutting_list
from diagnose.sheets.cutting.cutting_text import Remark, cutting_lines
from diagnose.sheets.entry_pages import TERMS_PAGE
from diagnose.sheets.handbook.pages import FINDER, STYLE, TEMPLATES, page_at
from diagnose.sheets.words.parts import Heading, Words
from diagnose.workroom.asked import Asked, file_of, html, to
from diagnose.workroom.drawings import drawn
from diagnose.workroom.room import NoSuchPageError, Room
from diagnose.workroom.views import page, words_linked

__all__ = [
    "book_finder", "book_page", "book_style", "card", "card_papers", "case_file", "cutting", "cutting_ticks", "out",
    "pattern_file", "sheet_file",
]  # fmt: skip

PAPERS = (("a4", "A4"), ("letter", "Letter"), ("one-sheet", "One large sheet"))
CARDS = 2
"""Different ones, a sheet each: beside a pattern over two feet across one lies at each end."""
SHOWN = (".html", ".svg", ".pdf")


def out(room: Room, asked: Asked) -> Response:
    """All that can be printed or kept."""
    case = room.case(asked.path["case"])
    version = case.version(min(asked.number("version", case.newest.number), case.newest.number))
    return html(
        page(
            "out.html.j2",
            title="Print and keep",
            case=case,
            here="out",
            version=version,
            sheet=drawn(version.pattern, None, case.unit, screen=asked.screen),
            papers=_usual_first(PAPERS),
        )
    )


def _usual_first(papers: Sequence[tuple[str, str]]) -> list[tuple[str, str]]:
    return sorted(papers, key=lambda one: one[0] != standing().paper)


def card_papers() -> list[tuple[str, str]]:
    """The papers that the card is printed on, the usual first."""
    return _usual_first(PAPERS[:2])


def card(_room: Room, asked: Asked) -> Response:
    """The card that is laid beside paper pieces before they are photographed, to print."""
    papers = [paper for paper, _ in card_papers()]
    paper = asked.query.get("paper", "")
    return file_of(write_card(paper if paper in papers else papers[0], CARDS), "card.pdf", shown=True)


def sheet_file(room: Room, asked: Asked) -> Response:
    """The fitting sheet of the last try-on."""
    case = room.case(asked.path["case"])
    if not case.tryons:
        raise FitError.of(
            case.name, "There is no try-on yet, so there is no sheet of one.", "Print the pattern.", code="no-tryon"
        )
    ending, paper = _form(asked)
    stored = case.tryons[-1]
    worked = room.worked(case, stored.number)
    data = room.kept(
        ("sheet", case.folder.name, case.created, stored.number, stored.pattern_version, ending, paper),
        lambda: sheet_bytes(worked, ending, stored.date, paper=paper),
    )  # fmt: skip
    return file_of(data, f"{case.folder.name}-try-on-{stored.number}{ending}", shown=ending in SHOWN)


def pattern_file(room: Room, asked: Asked) -> Response:
    """A version of the pattern itself."""
    case = room.case(asked.path["case"])
    version = case.version(asked.number("version", case.newest.number))
    ending, paper = _form(asked)
    data = room.kept(
        ("pattern", case.folder.name, case.created, version.number, ending, paper),
        lambda: pattern_bytes(case, version, ending, paper=paper),
    )
    return file_of(data, f"{case.folder.name}-version-{version.number}{ending}", shown=ending in SHOWN)


def _form(asked: Asked) -> tuple[str, str]:
    ending = f".{asked.path['form']}"
    paper = asked.query.get("paper", "a4")
    if ending not in (".html", ".svg", ".pdf", ".dxf", ".json") or paper not in dict(PAPERS):
        raise NoSuchPageError
    return ending, paper


def cutting(room: Room, asked: Asked) -> Response:
    """What to cut for the newest version, each line with its tick."""
    case = room.case(asked.path["case"])
    return html(page("cutting.html.j2", title="What to cut", case=case, here="out", parts=_parts(room, case),
                     ticked=ticked(case, case.newest.number)))  # fmt: skip


def cutting_ticks(room: Room, asked: Asked) -> Response:
    """Keep the ticks as they are now."""
    case = room.case(asked.path["case"])
    with room.changing:
        with_ticks(case, case.newest.number, frozenset(line[:300] for line in asked.all("cut")))
    return to("case", case.folder.name, "cutting")


def _parts(room: Room, case: Case) -> list[tuple[str, list[tuple[str, bool]]]]:
    """The list in parts: a heading, and its lines, each with whether it is to be done and so has a tick."""
    before = case.newest.made_from
    older = case.version(before).pattern if before is not None else None
    found = cutting_list(case.pattern, room.base(case).settings, older)
    parts: list[tuple[str, list[tuple[str, bool]]]] = []
    for one in cutting_lines(found, case.unit, case.pattern, before=older):
        if isinstance(one, Heading) or not parts:
            parts.append((" ".join(str(one).split()), []))
            continue
        text = " ".join(str(one).split())
        if isinstance(one, Words) and one.first.startswith("    ") and not one.first.strip() and parts[-1][1]:
            said, is_task = parts[-1][1][-1]
            parts[-1][1][-1] = (f"{said}; {text}", is_task)
        else:
            parts[-1][1].append((text, not isinstance(one, Remark)))
    return parts


def case_file(room: Room, asked: Asked) -> Response:
    """The whole case in one file."""
    case = room.case(asked.path["case"])
    return file_of(packed(case), f"{case.folder.name}.zip")


def book_page(room: Room, asked: Asked) -> Response:
    """One page of the handbook, in the unit that her last case is in."""
    place = asked.path["place"]
    base = room.usual_base()
    text = room.kept(("book", base.digest, place), lambda: page_at(base, place))
    if text is None:
        raise NoSuchPageError
    home = '<nav aria-label="Handbook">'
    text = text.replace(home, f'{home}\n<a href="/">Your cases</a>', 1)
    return html(text if place == TERMS_PAGE else words_linked(text))


def book_style(_room: Room, _asked: Asked) -> Response:
    """The handbook's style."""
    return Response((TEMPLATES / STYLE).read_bytes(), media_type="text/css")


def book_finder(_room: Room, _asked: Asked) -> Response:
    """What finds entries of the handbook as words are typed."""
    return Response((TEMPLATES / FINDER).read_bytes(), media_type="text/javascript")
