"""Coverage-guided fuzzing of the readers with atheris (install it apart; the tests do without).

``python tests/faults/fuzz_readers.py --seconds 120 length "batch line" svg`` fuzzes those in turn, without a name
all of them. It ends with 1 when something was let through that is neither a value nor a `FitError`, or a crash; the
input is then kept beside (``crash-…``).
"""

from __future__ import annotations

import argparse
import io
import subprocess
import sys
import tempfile
from pathlib import Path
from random import Random

SLOW_S = 10


def _fuzz(name: str, seconds: int) -> None:
    """Fuzz one reader in this process; ends it."""
    import atheris  # type: ignore[import-not-found]

    with atheris.instrument_imports(include=["diagnose", "svgelements", "yaml"]):
        from every_reader import READERS
    from spoiling import HOSTILE_VALUES, spoilt

    from diagnose.errors import FitError

    reader, sys.stderr = READERS[name], io.StringIO()

    def one(data: bytes) -> None:
        try:
            reader.read(data)
        except FitError:
            return
        finally:
            sys.stderr.seek(0)
            sys.stderr.truncate()

    def mutated(data: bytes, longest: int, seed: int) -> bytes:
        chance = Random(seed)
        changed = atheris.Mutate(data, longest) if chance.random() < 0.5 else spoilt(data, chance)
        return bytes(changed[:longest])

    with tempfile.TemporaryDirectory() as folder:
        for number, seed in enumerate(reader.seeds):
            (Path(folder) / f"seed-{number}").write_bytes(seed)
        words = Path(folder) / "words.txt"
        words.write_text("".join(f'"{_escaped(value)}"\n' for value in HOSTILE_VALUES if len(value) < 60))
        longest = 4 * max(map(len, reader.seeds))
        options = [f"-max_total_time={seconds}", f"-timeout={SLOW_S}", "-rss_limit_mb=4000", f"-max_len={longest}"]
        atheris.Setup(
            [sys.argv[0], *options, "-print_final_stats=1", f"-dict={words}", folder], one, custom_mutator=mutated
        )
        atheris.Fuzz()


def _escaped(value: str) -> str:
    return "".join(chr(b) if 32 < b < 127 and chr(b) not in '"\\' else f"\\x{b:02x}" for b in value.encode())


def main() -> int:
    """Fuzz the readers named, each in a process of its own."""
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("names", nargs="*")
    options.add_argument("--seconds", type=int, default=60, help="for each reader")
    options.add_argument("--here", action="store_true", help=argparse.SUPPRESS)
    given = options.parse_args()
    if given.here:
        _fuzz(given.names[0], given.seconds)
    names = given.names
    if not names:
        from every_reader import READERS

        names = list(READERS)
    failed = []
    for name in names:
        command = [sys.executable, __file__, "--here", "--seconds", str(given.seconds), name]
        told = subprocess.run(command, capture_output=True, text=True, errors="replace", check=False)
        runs = [
            line.split()[-1] for line in told.stderr.splitlines() + told.stdout.splitlines() if "executed_units" in line
        ]
        print(
            f"{name}: {runs[0] if runs else 'no'} runs, {'nothing found' if not told.returncode else 'A FAULT'}",
            flush=True,
        )
        if told.returncode:
            failed.append(name)
            print((told.stdout + told.stderr)[-3000:], flush=True)
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
