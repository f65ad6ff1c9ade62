"""Simulated wearers who follow the program's advice to the letter, in one table.

    python tests/loop                       240 wearers, by the commands alone
    python tests/loop --wearers 20 --from 40 --show     some of them, each with her rounds
    python tests/loop --seed 44 --show      one
    python tests/loop --by-hand             with what is for the hand done by hand too

What is printed: how many were wholly fitted within so many rounds, how many in girth, which rounds made anything
worse, which steps `alter` refused, how likely causes were truly there, and the plain rules that a maker without advice
might follow, on the same wearers.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
from collections import Counter
from collections.abc import Iterable, Sequence
from functools import partial
from multiprocessing import Pool
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from loop_follow import Followed, follow
from loop_plain import plain_rules
from loop_wearers import INCH, wearer

BANDS = ((0.5, 0.65), (0.65, 0.8), (0.8, 0.95), (0.95, 1.01))


def one(seed: int, by_hand: bool = False) -> Followed:
    """The wearer of a seed, followed in a folder of her own."""
    with tempfile.TemporaryDirectory() as folder:
        return follow(wearer(seed), Path(folder), by_hand=by_hand)


def main(arguments: Sequence[str] | None = None) -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--wearers", type=int, default=240)
    parser.add_argument("--from", dest="first", type=int, default=0)
    parser.add_argument("--seed", type=int, action="append")
    parser.add_argument("--show", action="store_true", help="each wearer with her rounds")
    parser.add_argument("--jobs", type=int, default=1)
    parser.add_argument("--by-hand", action="store_true", help="what is for the hand is done by hand as well")
    told = parser.parse_args(arguments)
    seeds = told.seed or range(told.first, told.first + told.wearers)
    if told.jobs > 1:
        with Pool(told.jobs) as pool:
            found = pool.map(partial(one, by_hand=told.by_hand), seeds, chunksize=2)
    else:
        found = [one(seed, told.by_hand) for seed in seeds]
    if told.show:
        for followed in found:
            print("\n".join(shown(followed)))
    print("\n".join(table(found)))


def table(found: Sequence[Followed]) -> Iterable[str]:
    """The figures of all wearers."""
    rounds = [one for followed in found for one in followed.rounds]
    yield f"wearers {len(found)}, rounds {len(rounds)}"
    for name, number in (("wholly fitted", "wholly_in"), ("girth", "girth_in")):
        counts = [getattr(followed, number) for followed in found]
        within = {most: sum(c is not None and c <= most for c in counts) for most in (1, 2, 3, 4, 6)}
        yield f"  {name} within " + ", ".join(f"{most}: {n} ({n / len(found):.0%})" for most, n in within.items())
    worse = [one for one in rounds if one.worse]
    yield f"  rounds that made something worse: {len(worse)} ({len(worse) / max(1, len(rounds)):.1%})"
    refused = sum(one.refused is not None for one in rounds)
    yield f"  plans refused by alter: {refused}; commands that failed: {sum(f.failed is not None for f in found)}"
    astray = sum(len(one.astray) for one in rounds)
    yield f"  changes on the wrong side or station: {astray}; done by hand: {sum(one.by_hand for one in rounds)}"
    for half, rest in (("the half that words are tuned on", 0), ("the half kept apart", 1)):
        yield f"  causes said, and truly there, {half}:"
        own = [one for followed in found if followed.wearer.seed % 2 == rest for one in followed.rounds]
        for low, high in BANDS:
            said = [true for one in own for _, chance, true in one.causes if low <= chance < high]
            if said:
                yield f"    {low:.0%} to {min(high, 1):.0%}: {sum(said)} of {len(said)} ({sum(said) / len(said):.0%})"
    by_kind: dict[str, Counter[bool]] = {}
    by_garment: dict[str, Counter[bool]] = {}
    for followed in found:
        fitted = followed.wholly_in is not None and followed.wholly_in <= 4
        by_garment.setdefault(followed.wearer.garment, Counter())[fitted] += 1
        for fault in followed.wearer.faults:
            by_kind.setdefault(fault.kind, Counter())[fitted] += 1
    yield "  wholly fitted within 4, by what was planted:"
    yield from (f"    {kind}: {n[True]} of {n.total()}" for kind, n in sorted(by_kind.items()))
    yield "  and by garment:"
    yield from (f"    {kind}: {n[True]} of {n.total()}" for kind, n in sorted(by_garment.items()))
    yield "  girth within 2 and 4 rounds by plain rules on the same wearers:"
    yield from (f"    {name}: {two} and {four}" for name, two, four in plain_rules([f.wearer for f in found]))


def shown(followed: Followed) -> Iterable[str]:
    """One wearer: what was planted, and round by round what was advised and what it did."""
    who = followed.wearer
    faults = "; ".join(f"{f.kind} {f.size / INCH:.2f} in{f' {f.side}' if f.side else ''}" for f in who.faults)
    yield f"{who.seed} {who.garment}: {faults} -> wholly in {followed.wholly_in}, girth in {followed.girth_in}"
    for number, one in enumerate(followed.rounds, 1):
        steps = one.plan["plan"][0]["steps"] if one.plan["plan"] else []
        for step in steps:
            whole = {k: round(v / INCH, 2) for k, v in step["amount_mm"].items() if isinstance(v, float | int)}
            hand = "" if step.get("drawn", True) else " (by hand)"
            yield f"    {number}: {step['alteration']} {step['side']} {whole} for {step['cause']}{hand}"
        if not steps:
            asked = [ask["id"] for ask in one.plan["ask"]][:3]
            yield f"    {number}: no step; held {[h['alteration'] for h in one.plan['held_back']]}, asked {asked}"
        if one.refused:
            yield f"      REFUSED {one.refused[:300]}"
        for name in one.worse:
            yield f"      WORSE {name}: {one.before.parts[name] / INCH:.2f} -> {one.after.parts[name] / INCH:.2f} in"
    if followed.failed:
        yield f"      FAILED {followed.failed[:300]}"
    if followed.left:
        yield "      left: " + ", ".join(f"{name} {e / INCH:.2f} in" for name, e in followed.left.items())


if __name__ == "__main__":
    main()
