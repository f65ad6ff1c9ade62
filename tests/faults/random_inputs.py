"""Random spoilings of true inputs through every reader, counted.

``python tests/faults/random_inputs.py --inputs 300000``. Each input is told by reader and number, so that one that
fails can be made again (``--reader svg --from 1234 --inputs 1``). Each must end in a value or in a `FitError`; it ends
with 1 when one did not, or took over ten seconds.
"""

from __future__ import annotations

import argparse
import sys
import time
import traceback
from random import Random

from every_reader import READERS
from spoiling import spoilt

from diagnose.errors import FitError

SLOW_S = 10.0
SHARE = {"svg": 6, "dxf": 4, "point table": 6, "table of tabs": 4, "table of semicolons": 4, "stored pattern": 6}
"""How much more of some than of the others."""


def tried(name: str, number: int) -> str:
    """How an input ended: read, refused, or what was wrong."""
    chance = Random(f"{name} {number}")
    reader = READERS[name]
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


def main() -> int:
    """Run them, a line of counts for each reader."""
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--inputs", type=int, default=300_000, help="of all readers together")
    options.add_argument("--reader", action="append", choices=list(READERS), help="this alone; may be repeated")
    options.add_argument("--from", type=int, default=0, dest="first", help="the number of the first input of each")
    given = options.parse_args()
    names = given.reader or list(READERS)
    each = given.inputs / sum(SHARE.get(name, 1) for name in names)
    whole = failed = 0
    for name in names:
        count = {"read": 0, "refused": 0}
        began = time.process_time()
        inputs = max(1, round(each * SHARE.get(name, 1)))
        for number in range(given.first, given.first + inputs):
            ended = tried(name, number)
            if ended in count:
                count[ended] += 1
            else:
                failed += 1
                print(f"{name} {number}: {ended}", flush=True)
        whole += inputs
        took = time.process_time() - began
        print(f"{name}: {inputs} inputs, {count['read']} read, {count['refused']} refused, {took:.0f} s", flush=True)
    print(f"{whole} inputs, {failed} failed")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
