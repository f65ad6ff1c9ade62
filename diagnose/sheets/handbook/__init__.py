"""The rule base as a handbook: linked pages in a folder, one an entry, made to be read on a screen or printed."""

from diagnose.sheets.handbook.pages import make_handbook

__all__ = ["make_handbook"]
