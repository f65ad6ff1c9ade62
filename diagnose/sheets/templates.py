"""The templates of pages: every word put in is escaped, a name that is not given is an error.

Compiled ones are kept in the user's cache folder beside the compiled rules, for to compile a sheet's page takes longer
than to fill it in.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from jinja2 import BytecodeCache, Environment, FileSystemLoader, StrictUndefined
from jinja2.bccache import Bucket

from diagnose.rulebase.reading.cache import cache_folder, keep_file, kept_file

__all__ = ["templates_of"]


class _Compiled(BytecodeCache):
    """Compiled templates in the cache folder; one of another text or another Python is passed over."""

    def load_bytecode(self, bucket: Bucket) -> None:
        """Give the bucket what was kept of its template, where it is whole."""
        kept = kept_file(_path(bucket))
        if kept is not None:
            bucket.bytecode_from_string(kept)

    def dump_bytecode(self, bucket: Bucket) -> None:
        """Keep the template that was compiled; a folder that can't be written only costs time."""
        keep_file(_path(bucket), bucket.bytecode_to_string())


def _path(bucket: Bucket) -> Path:
    return cache_folder() / f"page-{bucket.key}.compiled"


def templates_of(folder: Path, finalize: Callable[..., object] | None = None) -> Environment:
    """The templates of a folder.

    Args:
        folder: where they lie.
        finalize: what is made of each value that is put in.
    """
    return Environment(
        loader=FileSystemLoader(folder), autoescape=True, undefined=StrictUndefined, trim_blocks=True,
        lstrip_blocks=True, finalize=finalize, bytecode_cache=_Compiled(),
    )  # fmt: skip
