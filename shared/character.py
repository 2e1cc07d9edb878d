"""What a blend of fats will do as soap, in plain words, from its groups of fatty acids.

No scores: each statement gives the share that it rests on. The bounds are the experience of the trade, in
round figures: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final, NamedTuple

from shared.blend.acids import Group
from shared.explained import Statement
from shared.words import Phrase

_NEARLY_ALL: Final = 100.0
_SOFT_SOAP: Final = 50.0
_SOFTER: Final = 5.0
"""Mol per cent of potassium hydroxide."""


class _Rule(NamedTuple):
    """Said when the share of a group lies from ``at_least`` to below ``below`` per cent."""

    group: Group
    at_least: float
    below: float
    text: Phrase


_RULES: Final = (
    _Rule(Group.SHORT_SATURATED, 0, 5, Phrase("Foam comes slowly and stays low and fine.")),
    _Rule(Group.SHORT_SATURATED, 10, 101, Phrase("Foams at once, also in cold or hard water.")),
    _Rule(Group.SHORT_SATURATED, 25, 101, Phrase("Sets hard and early: cut it before it turns brittle.")),
    _Rule(
        Group.SHORT_SATURATED,
        35,
        101,
        Phrase("Cleans so well that it can dry the skin; more superfat softens that."),
    ),
    _Rule(Group.LONG_SATURATED, 0, 15, Phrase("Wears away quickly in the wet.")),
    _Rule(Group.LONG_SATURATED, 25, 101, Phrase("Makes a firm bar that lasts, with a dense foam.")),
    _Rule(Group.LONG_SATURATED, 50, 101, Phrase("Thickens fast in the pot, and foams little on its own.")),
    _Rule(Group.OLEIC, 40, 101, Phrase("Mild on the skin, slow to trace and slow to harden.")),
    _Rule(Group.OLEIC, 60, 101, Phrase("Slippery while it is young; a cure of months makes it a good bar.")),
    _Rule(Group.RICINOLEIC, 3, 101, Phrase("Its foam holds longer.")),
    _Rule(Group.RICINOLEIC, 12, 101, Phrase("Soft and sticky to unmould and to hold.")),
    _Rule(Group.POLYUNSATURATED, 20, 101, Phrase("Stays soft for long, and can turn rancid.")),
)

_ACIDS: Final = {
    Group.SHORT_SATURATED: Phrase("short saturated acids"),
    Group.LONG_SATURATED: Phrase("long saturated acids"),
    Group.OLEIC: Phrase("oleic acid and its like"),
    Group.RICINOLEIC: Phrase("ricinoleic acid"),
    Group.POLYUNSATURATED: Phrase("polyunsaturated acids"),
}


def character(
    shares: Mapping[Group, float], *, potassium: float = 0.0, unknown: float = 0.0
) -> tuple[Statement, ...]:
    """What to expect of a blend with these shares of the groups, in % of all fatty acids.

    ``potassium`` is the share of potassium hydroxide in mol per cent of all alkali. ``unknown`` is the share
    in % of the fats whose fatty acids are not known; with any such fat, nothing is said of what is missing
    from the blend, and nothing at all without a known fat.
    """
    said = [_of_alkali(potassium)] if potassium >= _SOFTER else []
    if unknown < _NEARLY_ALL:
        said += [
            Statement(rule.text, _share(rule.group, shares.get(rule.group, 0.0)))
            for rule in _RULES
            if rule.at_least <= shares.get(rule.group, 0.0) < rule.below
            and not (unknown and not rule.at_least)
        ]
    return tuple(said)


def _share(group: Group, percent: float) -> Phrase:
    return Phrase("%(share)s %% %(acids)s", share=f"{percent:.0f}", acids=_ACIDS[group])


def _of_alkali(potassium: float) -> Statement:
    because = Phrase("%(share)s mol %% of the alkali is potassium hydroxide", share=f"{potassium:.0f}")
    if potassium > _SOFT_SOAP:
        return Statement(Phrase("Makes a paste to thin with water, not a bar."), because)
    return Statement(
        Phrase("The potassium soap in it makes the bar softer, and foam come more easily."), because
    )
