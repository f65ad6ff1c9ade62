"""The small picture of the back."""

from __future__ import annotations

from diagnose.cli.asking.mirror import back_picture


def test_arrows_stand_at_the_station_asked_for_and_readings_at_the_others() -> None:
    lines = back_picture("waist", ("top", "waist", "bottom"), {"top": "1 in (25 mm)"})
    top, _, waist, _, bottom = lines
    assert top.endswith("1 in (25 mm)")
    assert "|<-->|" in waist
    assert waist.endswith("<- measure here")
    assert "|<-->|" not in top + bottom


def test_picture_is_plain_narrow_and_names_only_what_is_read() -> None:
    lines = back_picture("top", ("top", "waist"), {"waist": "10 1/16 in (256 mm)"})
    assert all(len(line) < 80 and line.isascii() for line in lines)
    assert not any("hip" in line or "bottom" in line for line in lines)
