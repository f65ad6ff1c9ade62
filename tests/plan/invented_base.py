"""A small invented rule base for the tests of choosing and arranging: a few causes and what mends them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from diagnose.engine.indexed import IndexedMatcher
from diagnose.model.diagnosis import CauseFound, Evidence, Side
from diagnose.plan.choosing import choose
from diagnose.plan.wanted import Unmeasured, Wanted
from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.reading.entries import Alteration, AlterationChoice, Cause, MoveLine
from diagnose.rulebase.reading.fields import Condition
from diagnose.rulebase.reading.schema import Conflict, Hold

IN = 25.4
EVERYWHERE = {
    "do": "seams",
    "which": "all",
    "by": dict.fromkeys(("top", "underbust", "waist", "hip", "bottom"), "full"),
}

Facts = Mapping[str, str | float]


def alteration(name: str, **how: Any) -> Alteration:
    """An alteration of the girth on every seam, unless said otherwise."""
    usual: dict[str, Any] = {
        "id": name, "group": "girth", "title": name.replace("-", " ").capitalize(), "kind": "girth",
        "direction": "either", "family": "girth", "step": "mean-girth", "smallest": IN / 4, "does": (EVERYWHERE,),
        "by_hand": (), "improves": (), "worsens": (), "expect": "", "because": "", "source": "", "examples": (),
    }  # fmt: skip
    given = {**usual, **how}
    return Alteration.model_construct(**{**given, "does": tuple(MoveLine.model_validate(one) for one in given["does"])})


def choice(name: str, amount: str, **how: Any) -> AlterationChoice:
    """That alteration, by so much, on all stations, without a limit, unless said otherwise."""
    usual: dict[str, Any] = {
        "alteration": name, "only_if": (), "amount": amount, "stations": ("all",), "at": "", "worked": None,
        "limit": None, "limit_on": "-", "beyond": "", "because": "", "source": "judgement",
    }  # fmt: skip
    return AlterationChoice.model_construct(**{**usual, **how})


def when(fact: str, comparison: str, value: str | float) -> Condition:
    return Condition.model_construct(fact=fact, comparison=comparison, value=value)


def base_of(
    base: RuleBase, mends: Mapping[str, Sequence[AlterationChoice]], alterations: Sequence[Alteration],
    conflicts: Sequence[Conflict] = (), holds: Sequence[Hold] = (),
) -> RuleBase:  # fmt: skip
    """The bundled base with these causes, alterations, conflicts and holds in place of its own."""
    causes = {name: _cause(name, tuple(choices)) for name, choices in mends.items()}
    order = base.entries.order.model_copy(update={"conflicts": tuple(conflicts), "holds": tuple(holds)})
    entries = base.entries.model_copy(
        update={"causes": causes, "alterations": {one.id: one for one in alterations}, "order": order, "symptoms": {}}
    )
    return RuleBase(entries, base.settings, "invented")


def _cause(name: str, choices: tuple[AlterationChoice, ...]) -> Cause:
    return Cause.model_construct(
        id=name, group="girth", title=name, common="common", because="", source="judgement", tell_apart=(),
        alterations=choices, examples=(),
    )  # fmt: skip


def conflict(one: str, other: str, same: str = "any") -> Conflict:
    return Conflict.model_construct(one=one, other=other, same=same, because="They undo each other.", source="")


def hold(*names: str, until: str) -> Hold:
    return Hold.model_construct(hold=names, until=until, because="It was read too early.", source="")


def found(name: str, probability: float = 0.9, side: Side = "both", *signs: str) -> CauseFound:
    """A cause acted on, with the signs that speak for it."""
    return CauseFound(name, probability, side, tuple(Evidence(sign, f"link:{sign}", 3.0) for sign in signs), ())


def chosen(
    base: RuleBase, facts: Facts, *causes: CauseFound, **other_sides: Facts
) -> tuple[list[Wanted], list[Unmeasured]]:
    """What is chosen on these facts, which hold on every side unless said otherwise."""
    facts_of: dict[Side, Facts] = {"both": facts, "left": facts, "right": facts}
    return choose(causes, {**facts_of, **other_sides}, base, IndexedMatcher(base.rules))  # type: ignore[dict-item]
