"""Groups of fatty acids, and the profile of a blend.

A blend's share of an acid is taken as the mean of the fats' shares, weighted by the weight of the fats: the
small differences in how much fatty acid a gram of each fat holds (94 to 96 %) are left out.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from enum import StrEnum
from functools import cache

from shared.fats import FatReference, fatty_acids
from shared.words import Phrase

_LONGEST_SHORT = 14
"""Carbon atoms of myristic acid, the longest that counts as short here."""


class Group(StrEnum):
    """Every fatty acid belongs to one of these. The division is common practice, no source."""

    SHORT_SATURATED = "short_saturated"
    """up to myristic acid, C14"""
    LONG_SATURATED = "long_saturated"
    """palmitic and stearic acid and longer, from C15"""
    OLEIC = "oleic"
    """all with one double bond but ricinoleic acid"""
    RICINOLEIC = "ricinoleic"
    POLYUNSATURATED = "polyunsaturated"
    """two double bonds and more"""

    @property
    def label(self) -> Phrase:
        return _LABELS[self]


_LABELS = {
    Group.SHORT_SATURATED: Phrase("short saturated acids"),
    Group.LONG_SATURATED: Phrase("long saturated acids"),
    Group.OLEIC: Phrase("oleic acid and its like"),
    Group.RICINOLEIC: Phrase("ricinoleic acid"),
    Group.POLYUNSATURATED: Phrase("polyunsaturated acids"),
}


@cache
def group_of(acid: str) -> Group:
    """Group of an acid by its shorthand, such as "C18:2". Raises KeyError for an unknown acid."""
    double_bonds = fatty_acids()[acid].double_bonds
    if acid.endswith("-OH"):
        return Group.RICINOLEIC
    if double_bonds:
        return Group.OLEIC if double_bonds == 1 else Group.POLYUNSATURATED
    carbons = int(re.findall(r"\d+", acid)[0])
    return Group.SHORT_SATURATED if carbons <= _LONGEST_SHORT else Group.LONG_SATURATED


def group_shares(profile: Mapping[str, float]) -> dict[Group, float]:
    """Per cent of each group in a profile by acid."""
    shares = dict.fromkeys(Group, 0.0)
    for acid, percent in profile.items():
        shares[group_of(acid)] += percent
    return shares


def mixed(parts: Iterable[tuple[float, Mapping[str, float]]]) -> dict[str, float]:
    """Profile of a blend of (share in %, profile in %), acids in the order of the table of acids."""
    profile: dict[str, float] = {}
    for share, acids in parts:
        for acid, percent in acids.items():
            profile[acid] = profile.get(acid, 0.0) + share * percent / 100
    return {acid: profile[acid] for acid in fatty_acids() if acid in profile}


def profile_of(fat: FatReference) -> dict[str, float]:
    """The profile to blend a reference fat by, adding up to 100 %.

    Its typical composition, else the middle of each published range; empty where neither is known.
    """
    profile = dict(fat.typical) or {acid: (low + high) / 2 for acid, (low, high) in fat.profile.items()}
    total = sum(profile.values())
    return {acid: 100 * percent / total for acid, percent in profile.items()}
