"""The pictures of signs: a figure seen from the front, the back or the side, and a mark on it, drawn by our own code.

A sign's picture is one line of its rule (`diagnose.rulebase.reading.entries.Picture`).
"""

from __future__ import annotations

from diagnose.pattern.geometry.bezier import Box
from diagnose.rulebase.reading.entries import Picture, PictureView
from diagnose.sheets.drawn.drawing import Drawing, Layer, Pen
from diagnose.sheets.signs.figure import body_lines, dress_lines
from diagnose.sheets.signs.marks import drawn_marks, gap_form
from diagnose.sheets.signs.spots import dress_for, spot_of

__all__ = ["sign_picture"]

SHOWN = {
    "upper": Box(-23.0, -3.0, 23.0, 43.0), "middle": Box(-23.0, -20.0, 23.0, 26.0),
    "lower": Box(-23.0, -34.0, 23.0, 12.0), "head": Box(-23.0, 15.0, 23.0, 61.0),
}  # fmt: skip
VIEWS: tuple[PictureView, ...] = ("front", "back", "side")
BODY, DRESS, MARK = Pen(0.3, "soft"), Pen(0.4), Pen(0.85, "accent")


def sign_picture(picture: Picture, style: str | None = None, title: str = "") -> Drawing:
    """The picture of a sign.

    Args:
        picture: from where it is seen, at which place, and the mark.
        style: her kind of garment: stays, corset or bodice; a place that it does not show is drawn on one that does.
        title: what is shown, in words.
    """
    dress = dress_for(picture.place, style)
    view = next(v for v in (picture.view, *VIEWS) if spot_of(v, picture.place, dress))
    spot = spot_of(view, picture.place, dress)
    assert spot is not None
    layers = (
        Layer("body", "The body", BODY, marks=tuple(body_lines(view))),
        Layer("dress", "The garment", DRESS, marks=tuple(dress_lines(view, dress, gap_form(picture.mark, spot)))),
        Layer("sign", "The sign", MARK, marks=tuple(drawn_marks(picture.mark, spot))),
    )
    return Drawing(title, tuple(layer for layer in layers if layer.marks), SHOWN[spot.shown])
