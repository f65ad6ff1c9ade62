"""A small, right folder of invented rules, with some of the bundled files; and changes to it."""

from __future__ import annotations

import shutil
from pathlib import Path

from diagnose.places import bundled_rules

__all__ = ["changed", "line_of", "small_folder"]

FROM_THE_BUNDLED = ("facts", "words", "sources", "cautions", "settings")
FILES = {
    "order.yaml": """\
steps:
  - id: waist
    title: The waist
    settle: The width at the waist
    before: the edge
    because: An invented reason, long enough to pass.
    source: judgement
  - id: edge
    title: The edge
    settle: The height of the edge
    before: nothing
    because: An invented reason, long enough to pass.
    source: judgement
families:
  - {id: girth, title: The girth}
  - {id: height, title: The height}
round_rules: []
conflicts:
  - one: take-in
    other: raise-edge
    same: any
    because: An invented reason, long enough to pass.
    source: judgement
holds:
  - hold: [raise-edge]
    until: girth
    because: An invented reason, long enough to pass.
    source: judgement
carry_over: []
""",
    "misses.yaml": """\
misses:
  - id: laced-anew
    title: Laced otherwise
    when:
      - {fact: miss-spread, at-least: 1/2 in}
    say: The miss differs from station to station.
    causes: [too-wide]
    ask: bites-seated
    because: An invented reason, long enough to pass.
    source: judgement
    examples:
      fires: [{facts: {miss-spread: 1 in}}]
      silent: [{facts: {miss-spread: 0 in}}]
""",
    "symptoms/back/edge-bites.yaml": """\
title: The edge bites
see: The edge leaves a groove in the flesh.
ask: Does the edge leave a groove?
how: Look along the edge with the arm down.
record:
  amount: length
  means: the depth of the groove
  low: 1/8 in
  high: 1 in
  sides: may-differ
when: []
unexplained: seldom
causes:
  - cause: edge-low
    shows: usually
    only_if: []
    because: An edge that ends too low cuts in.
    source: common-practice
  - cause: too-wide
    shows: seldom
    only_if:
      - {fact: tabs, is-not: none}
    because: A wide garment drops, and its edge bites.
    source: judgement
examples:
  fires:
    - facts: {edge-bites: yes, tabs: plain}
      causes: [edge-low, too-wide]
  silent:
    - facts: {edge-bites: no}
      causes: [edge-low]
    - facts: {edge-bites: yes, tabs: none}
      causes: [too-wide]
""",
    "symptoms/back/gap-tilts.yaml": """\
title: The gap tilts
see: The gap is wider below than above.
ask: Is the gap wider below than above?
how: Measure the gap at both its ends.
record:
  amount: none
  means: '-'
  low: '-'
  high: '-'
  sides: whole
when:
  - {fact: gap-fall, at-least: 1/2 in}
unexplained: seldom
causes:
  - cause: too-wide
    shows: often
    only_if: []
    because: Too wide above, it closes above first.
    source: judgement
examples:
  fires:
    - facts: {gap-fall: 1 in}
      causes: [too-wide]
  silent:
    - facts: {gap-fall: 1/4 in}
      causes: [too-wide]
""",
    "symptoms/stop-flags/breath-gone.yaml": """\
title: Breath gone
see: No full breath can be drawn in it.
ask: Can she not draw a full breath?
how: Ask her to sigh, and listen to it.
record:
  amount: none
  means: '-'
  low: '-'
  high: '-'
  sides: whole
when: []
unexplained: seldom
causes: []
examples:
  fires:
    - facts: {breath-gone: yes}
      causes: [breath-gone]
  silent: []
now: Undo the lace at once and sit down.
see_whom: A doctor, if it does not pass.
""",
    "causes/girth/too-wide.yaml": """\
title: Too wide
common: common
because: The pattern was drawn wider than the body.
source: judgement
tell_apart: [edge-bites, bites-seated]
alterations:
  - alteration: take-in
    only_if:
      - {fact: gap-average, at-most: -1/2 in}
    amount: change-waist
    stations: [all]
    at: Over all the seams alike.
    worked: {change-waist: 1 in, gives: 1 in}
    limit: 1/4 in
    limit_on: edge
    beyond: Do the rest after the next try-on.
    because: It is wide by as much all the way.
    source: geometry
  - alteration: leave-be
    only_if: []
    amount: none
    stations: []
    at: Nowhere on the pattern at all.
    worked: '-'
    limit: '-'
    limit_on: '-'
    beyond: '-'
    because: Nothing is worth drawing as yet.
    source: judgement
examples:
  fires:
    - facts: {gap-average: -1 in}
      alterations: [take-in]
  silent:
    - facts: {gap-average: 0 in}
      alterations: [take-in]
""",
    "causes/height/edge-low.yaml": """\
title: Edge too low
common: rare
because: The edge was drawn too low on the body.
source: judgement
tell_apart: [edge-bites]
alterations:
  - alteration: raise-edge
    only_if: []
    amount: edge-bites.amount + 1/4 in
    stations: []
    at: Along the top edge where it bites.
    worked: {edge-bites.amount: 1/2 in, gives: 3/4 in}
    limit: 1 in
    limit_on: length
    beyond: Do the rest after the next try-on.
    because: Higher, it lies on firmer flesh.
    source: judgement
examples:
  fires: []
  silent: []
""",
    "alterations/girth/take-in.yaml": """\
title: Take in
kind: girth
direction: in
family: girth
step: waist
smallest: 1/4 in
does:
  - {do: seams, which: all, by: {top: full, bottom: full}}
by_hand:
  - Move every stitching line in by {edge}.
improves: [gap-tilts]
worsens: [edge-bites]
expect: The gap is wider by what was taken in.
because: An invented reason, long enough to pass.
source: judgement
examples:
  - {amount: 1 in, seams: 4, says: "1/2 in a half"}
""",
    "alterations/height/raise-edge.yaml": """\
title: Raise the edge
kind: length
direction: up
family: height
step: edge
smallest: 1/4 in
does:
  - {do: edge, place: front-top, direction: up}
by_hand:
  - Mark {amount} above the old edge.
improves: [edge-bites]
worsens: []
expect: The edge no longer bites.
because: An invented reason, long enough to pass.
source: judgement
examples:
  - {amount: 1/2 in, says: 1/2 in}
""",
    "alterations/height/leave-be.yaml": """\
title: Leave it be
kind: none
direction: '-'
family: height
step: edge
smallest: '-'
does: []
by_hand:
  - Leave the pattern as it is drawn.
improves: []
worsens: []
expect: The next try-on shows the same.
because: An invented reason, long enough to pass.
source: judgement
examples: []
""",
    "questions/bites-seated.yaml": """\
ask: Does it bite only when she sits?
why: It parts the standing from the sitting fault.
how: Let her sit down, and look again.
gate: none
points_to:
  - answer: yes
    cause: edge-low
    shows: often
    because: Sitting pushes the flesh up to the edge.
    source: common-practice
unexplained: {yes: seldom, no: often}
examples:
  fires:
    - facts: {bites-seated: yes}
      causes: [edge-low]
  silent:
    - facts: {bites-seated: no}
      causes: [edge-low]
""",
}


def small_folder(folder: Path) -> Path:
    """The folder, written."""
    for name, text in FILES.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
    for name in FROM_THE_BUNDLED:
        shutil.copyfile(bundled_rules() / f"{name}.yaml", folder / f"{name}.yaml")
    return folder


def changed(folder: Path, file: str, old: str, new: str) -> None:
    """The text `old`, which must stand in the file once or more, becomes `new` where it first stands."""
    text = (folder / file).read_text(encoding="utf-8")
    assert old in text, f"{file} has no “{old}”"
    (folder / file).write_text(text.replace(old, new, 1), encoding="utf-8")


def line_of(folder: Path, file: str, text: str) -> int:
    """The number of the first line that has the text."""
    lines = (folder / file).read_text(encoding="utf-8").splitlines()
    return next(number for number, line in enumerate(lines, 1) if text in line)
