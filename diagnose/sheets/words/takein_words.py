"""The back take-in with ruler and pencil: why it is drawn there, and how."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from msgspec.structs import asdict

from diagnose.gap.shares import Share
from diagnose.gap.takein import TakeIn
from diagnose.model.settings import Settings
from diagnose.model.stations import Station
from diagnose.sheets.words.gap_text import in_or_out
from diagnose.sheets.words.parts import Said, heading, paragraph, table, wrapped
from diagnose.units import Unit, both

__all__ = ["TakeInInWords", "take_in_lines", "take_in_words"]


class TakeInInWords(TakeIn, frozen=True):
    """A take-in with the steps that draw it and why it is drawn there."""

    steps: tuple[str, ...]
    why: str


def take_in_words(found: TakeIn, settings: Settings) -> TakeInInWords:
    """The take-in with its words.

    Args:
        found: what to take in, where and in which form.
        settings: unit and limits.
    """
    return TakeInInWords(**asdict(found), steps=_steps(found, settings), why=_why(found, settings))


def take_in_lines(found: TakeInInWords, settings: Settings) -> Iterator[Said]:
    """Where, how much, and how to draw it."""
    title = {"nowhere": "Leave the back as it is", "another base size": "Start from another base size"}
    out = any(part.whole_mm < 0 for part in found.shares.values())
    inward = any(part.whole_mm > 0 for part in found.shares.values())
    verb = "Take in above and let out below" if out and inward else "Let out" if out else "Take in"
    place = f"{verb} at the {found.place}, {found.form}".replace("the a fold", "a fold")
    yield from paragraph(title.get(found.place, place), style="bold")
    yield ""
    if found.shares:
        rows = (_take_in_row(name, part, settings.unit) for name, part in found.shares.items())
        yield from table(("at the", "", "on each half", "in all"), rows)
        yield ""
    yield from wrapped(found.why)
    yield from heading("With ruler and pencil")
    for number, step in enumerate(found.steps, 1):
        yield from wrapped(step, f"  {number}. ")
    if found.capped and found.shares:
        most = both(settings.mm("round-most"), settings.unit)
        yield from wrapped(f"More is wanted than one round should take ({most}). Do this, try on, then the rest.")


def _take_in_row(name: str, part: Share, unit: Unit) -> tuple[str, str, str, str]:
    if not part.whole_mm:
        return name, "nothing", "", ""
    return name, in_or_out(part.whole_mm), both(abs(part.per_half_mm), unit), both(abs(part.whole_mm), unit)


def _why(found: TakeIn, settings: Settings) -> str:
    place, straight = found.place, found.form == "straight"
    if place == "nowhere":
        return f"Every reading is within {both(settings.mm('dead-band'), settings.unit)} of its target."
    if place == "another base size":
        out, most = both(found.most_mm, settings.unit), both(settings.mm("other-size"), settings.unit)
        return f"The girth is out by {out}; past {most} every line would move."
    edge = both(settings.mm("lacing-edge-most"), settings.unit)
    if place == "lacing edges":
        return f"The gap is parallel and a half wants no more than {edge}, so the side seams may stay where they are."
    shaped = "The gap is not parallel, and a lacing edge stays straight"
    reason = f"A half wants more than {edge}" if straight else shaped
    rest = "no seam runs there" if place != "seams" else "the seams can share it"
    return f"{reason}; {rest}."


def _steps(found: TakeIn, settings: Settings) -> tuple[str, ...]:
    if found.place == "nowhere":
        return ("Alter nothing. Lace on again before cutting.",)
    if found.place == "another base size":
        return ("Draft or grade the pattern again from another base size, and make a new toile.",)
    drawing = {
        "lacing edges": _lacing_steps, "seams": _seam_steps, "a fold inside the back panel": _fold_steps,
    }[found.place]  # fmt: skip
    steps = drawing(found.form == "straight", found.shares, settings)
    if found.at_least:
        steps += ("The gap is closed, so this is the least: lace on again and read it before cutting the cloth.",)
    return steps


def _verb(shares: Mapping[Station, Share]) -> tuple[str, str]:
    whole = max((s.whole_mm for s in shares.values()), key=abs)
    return ("in", "inside") if whole > 0 else ("out", "outside")


def _lacing_steps(straight: bool, shares: Mapping[Station, Share], settings: Settings) -> tuple[str, ...]:
    half = next(iter(shares.values())).per_half_mm
    _, side = _verb(shares)
    return (
        "Lay the ruler along the lacing edge of the back.",
        f"Draw a line {both(abs(half), settings.unit)} {side} it, the same from top to bottom.",
        "Square the top and bottom corners to the new line, and move the eyelet line and its bones by as much.",
    )


def _seam_steps(straight: bool, shares: Mapping[Station, Share], settings: Settings) -> tuple[str, ...]:
    lines = []
    for station, part in shares.items():
        if part.per_edge_mm is None:
            half = both(abs(part.per_half_mm), settings.unit)
            lines.append(f"At the {station}: {half} a half. Divide it by the stitching lines of the half's seams.")
        elif not part.whole_mm:
            lines.append(f"At the {station}: leave the lines where they are.")
        else:
            shown = _edges(part.edges_mm, settings)
            way = "inside" if part.whole_mm > 0 else "outside"
            lines.append(f"At the {station}: mark {shown} {way} the old line.")
    return (
        "Draw the same on both stitching lines of every seam of the half.",
        *lines,
        "Join the marks with one smooth curve along each seam; walk the partners, and square the top and hem.",
    )


def _edges(edges_mm: tuple[float, ...], settings: Settings) -> str:
    sizes = sorted({abs(edge) for edge in edges_mm}, reverse=True)
    if len(sizes) == 1:
        return f"{both(sizes[0], settings.unit)} on each stitching line,"
    count = sum(abs(edge) == sizes[0] for edge in edges_mm)
    rest = both(sizes[1], settings.unit) if sizes[1] else "nothing"
    most = both(sizes[0], settings.unit)
    return f"{most} on {count} of the {len(edges_mm)} lines (the side first), {rest} on the others,"


def _fold_steps(straight: bool, shares: Mapping[Station, Share], settings: Settings) -> tuple[str, ...]:
    """A strip with straight sides: set by its marks at the top and the waist, corrected lower down where it misses."""
    items = [(station, part.per_half_mm) for station, part in shares.items()]
    second = next((number for number, (station, _) in enumerate(items) if number and station == "waist"), 1)
    high, low = (items[:1], []) if straight else ([items[0], *items[second : second + 1]], items[second + 1 :])
    first_mm, last_mm = high[0][1], high[-1][1]
    crossing = _crossing(first_mm, last_mm)
    takes_in = (first_mm or last_mm) > 0.0
    return (
        "On the back, halfway between the side and the lacing edge, draw a line from top to hem, clear of the bones.",
        *(_mark("All the way down" if straight else f"At the {place}", half_mm, settings) for place, half_mm in high),
        f"Rule the two sides of the strip straight through the marks, from the top edge to the hem{crossing}.",
        _closing(takes_in, bool(crossing)),
        *_given_back(low, takes_in is not bool(crossing), settings),
        "Smooth the top edge and the hem across the fold; the lacing edge stays straight.",
    )


def _crossing(first_mm: float, last_mm: float) -> str:
    """What is said of the strip's sides where they cross on the paper."""
    if first_mm * last_mm < 0.0:
        return ", each from one side of the line to the other"
    return "; they cross where they meet" if first_mm and not last_mm else ""


def _closing(takes_in: bool, crossed: bool) -> str:
    """How the strip is closed; where its sides cross, what is said of the top turns into its contrary below."""
    if not crossed:
        return (
            "Fold one side on to the other and stick it."
            if takes_in
            else "Cut along the line, spread the edges to the marks, and stick paper behind."
        )
    start, shut, opened = ("hem up", "above", "below") if takes_in else ("top edge down", "below", "above")
    return (
        f"Cut the line from the {start} to where the sides cross. Fold the part {shut} shut, so that the part {opened}"
        " opens, and stick paper behind."
    )


def _mark(where: str, half_mm: float, settings: Settings) -> str:
    if not half_mm:
        return f"{where}, mark the line itself: the two sides of the strip meet on it."
    return f"{where}, mark {both(abs(half_mm), settings.unit)} across the line, half each side of it."


def _given_back(low: Sequence[tuple[Station, float]], takes_in: bool, settings: Settings) -> tuple[str, ...]:
    """What is checked at the lowest height, where the strip (which there takes in, or not) was set by the others."""
    if not low:
        return ()
    station, half_mm = low[-1]
    meant = both(abs(half_mm), settings.unit) if half_mm else "Nothing"
    other = " the other way" if half_mm and (half_mm > 0.0) is not takes_in else ""
    return (
        f"Measure what the strip {'took' if takes_in else 'gave'} at the {station}. {meant}{other} was meant there: put"
        " the difference right in the nearest slit or seam, by a small gusset whose point lies at the waist, or by a"
        " dart.",
    )
