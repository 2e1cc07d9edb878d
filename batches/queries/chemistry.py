"""What a phone needs to know of chemistry to reckon by itself: read from `shared`, stated nowhere twice."""

from __future__ import annotations

from typing import Any

from shared.chemistry import AcidKind, AlkaliKind


def chemistry() -> dict[str, Any]:
    """Molar masses in g/mol and names of the alkalis by formula, and the same of acids by kind."""
    acids = {
        acid.value: {"label": acid.label, "molar_mass": acid.molar_mass, "protons": acid.protons}
        for acid in AcidKind
    }
    alkalis = {kind.formula: {"label": kind.label, "molar_mass": kind.molar_mass} for kind in AlkaliKind}
    return {**alkalis, "acids": acids}
