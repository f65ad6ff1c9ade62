"""Random spoilings of true inputs through every reader, counted.

``python tests/faults/random_inputs.py --inputs 300000 --log FILE``. Each input is told by reader and number, so that
one that fails can be made again (``--reader svg --from 1234 --inputs 1``). Each must end in a value or in a
`FitError`; it ends with 1 when one did not, or took over ten seconds.

The inputs are not shared out evenly, since what they cost is not alike (0.05 ms a length, 65 ms a pattern put on
paper, 2 s a photograph): `THOUSANDTHS` says how many of 1,000 each reader gets. They are run in twenty parts, each with
some of every reader, and the log gets a line for every reader of a part; stopped, it goes on after the last of them.
"""

from __future__ import annotations

import argparse
import json
import sys
import time
import traceback
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from random import Random

from costly_readers import COSTLY
from every_reader import READERS
from spoiling import spoilt

from diagnose.errors import FitError

SLOW_S = 10.0
PARTS = 20
DOORS = {**READERS, **COSTLY}
THOUSANDTHS = {
    "stored pattern": 80, "point table": 25, "table of tabs": 10, "table of semicolons": 10, "svg": 30, "dxf": 6,
    "labels": 5, "about in yaml": 40, "about in json": 60, "case in one file": 45, "answers in yaml": 5,
    "answers in json": 150, "batch line": 150, "drawn upon": 4, "to paper": 2, "operations": 40, "length": 120,
    "formula": 100, "replies": 4, "rules": 1.5, "case": 4, "old case": 5, "photograph": 0.2,
    "request to the workroom": 2,
}  # fmt: skip
"""Of some 1,000 inputs; a name before a colon stands for each of its files."""


def tried(name: str, number: int) -> str:
    """How an input ended: read, refused, or what was wrong."""
    chance = Random(f"{name} {number}")
    reader = DOORS[name]
    data = spoilt(chance.choice(reader.seeds), chance)
    began = time.process_time()
    try:
        reader.read(data)
        ended = "read"
    except FitError:
        ended = "refused"
    except Exception:
        return traceback.format_exc()
    took = time.process_time() - began
    return ended if took < SLOW_S else f"took {took:.0f} s"


def share_of(name: str, inputs: int) -> int:
    """How many of so many inputs a reader gets."""
    weights = {one: THOUSANDTHS[one.partition(":")[0]] for one in DOORS}
    return max(1, round(inputs * weights[name] / sum(weights.values())))


def parts(names: list[str], inputs: int, first: int) -> Iterator[tuple[str, int, int]]:
    """Reader, first number and one after the last, of each stretch, in the order in which they are run."""
    whole = {name: inputs if len(names) == 1 else share_of(name, inputs) for name in names}
    for part in range(PARTS):
        for name, count in whole.items():
            low, high = (first + count * step // PARTS for step in (part, part + 1))
            if high > low:
                yield name, low, high


def run_stretch(name: str, low: int, high: int) -> dict[str, object]:
    """How the inputs of a stretch ended, with what failed by its number."""
    began = time.process_time()
    ends = {number: tried(name, number) for number in range(low, high)}
    count = Counter(ends.values())
    failed = {number: end for number, end in ends.items() if end not in ("read", "refused")}
    for number, end in failed.items():
        print(f"{name} {number}: {end}", flush=True)
    return {
        "reader": name, "from": low, "to": high, "read": count["read"], "refused": count["refused"],
        "seconds": round(time.process_time() - began, 1), "failed": failed,
    }  # fmt: skip


def main() -> int:
    """Run them, and say the count of each reader."""
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--inputs", type=int, default=300_000, help="of all readers together")
    options.add_argument("--reader", action="append", choices=list(DOORS), help="this alone; may be repeated")
    options.add_argument("--from", type=int, default=0, dest="first", help="the number of the first input of each")
    options.add_argument("--log", type=Path, help="what was run; what stands in it is not run again")
    given = options.parse_args()
    text = given.log.read_text(encoding="utf-8") if given.log and given.log.exists() else ""
    done = [json.loads(line) for line in text.splitlines()]
    over = {(row["reader"], row["from"], row["to"]) for row in done}
    for stretch in parts(given.reader or list(DOORS), given.inputs, given.first):
        if stretch in over:
            continue
        done.append(run_stretch(*stretch))
        if given.log:
            with given.log.open("a", encoding="utf-8") as log:
                log.write(json.dumps(done[-1]) + "\n")
    for name in dict.fromkeys(row["reader"] for row in done):
        rows = [row for row in done if row["reader"] == name]
        inputs, read, refused, took = (
            sum(row["to"] - row["from"] for row in rows), *(sum(row[key] for row in rows) for key in _COUNTED)
        )  # fmt: skip
        print(f"{name}: {inputs} inputs, {read} read, {refused} refused, {took:.0f} s", flush=True)
    failed = sum(len(row["failed"]) for row in done)
    print(f"{sum(row['to'] - row['from'] for row in done)} inputs, {failed} failed")
    return 1 if failed else 0


_COUNTED = ("read", "refused", "seconds")


if __name__ == "__main__":
    sys.exit(main())
