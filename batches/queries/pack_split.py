"""How a batch is split, for a phone: what js/pocket/portions.js solves, and the jugs as the book has them.

Weights are text in grams, shares per cent, lengths mm, densities g/mL.
"""

from __future__ import annotations

from typing import Any

from django.utils import timezone

from batches.queries.weighing import Bench
from batches.services.jugs import OFF_BY
from batches.splitting import JugCard
from recipes.models import Destination
from shared.portions import Plan, Portion
from shared.scaling import Scale
from soapshop.core.words import in_words

Json = dict[str, Any]


def pack_split(board: Bench) -> Json | None:
    """None where the batter is poured as one. No queries."""
    split, standing = board.recipe.split, board.split
    if split is None or standing is None:
        return None
    return {
        "plan": _plan(split.plan(board.recipe.scale, batter=float(split.batter))),
        "off_by": float(OFF_BY),
        "natural": board.recipe.bar_colour,
        "jugs": [_jug(card) for card in standing.cards],
        "destinations": [
            {"value": value, "label": str(label), "leads_to": str(label).lower()}
            for value, label in Destination.choices
        ],
    }


def fine_scale(scale: Scale) -> Json | None:
    """The step of the finer scale, and up to how much is weighed on it."""
    return {"step": str(scale.fine_step), "up_to": str(scale.fine_up_to)} if scale.fine_step else None


def _plan(plan: Plan) -> Json:
    return {
        "batter": plan.batter,
        "fats_share": plan.fats_share,
        "scale": {"step": str(plan.scale.step), "fine": fine_scale(plan.scale)},
        "area_mm2": plan.area_mm2,
        "density": plan.density,
        "portions": [_portion(portion) for portion in plan.portions],
    }


def _portion(portion: Portion) -> Json:
    return {
        "name": portion.name,
        "share": portion.share,
        "grams": portion.grams,
        "layer_mm": portion.layer_mm,
        "rest": portion.rest,
        "additions": [
            {"name": name, "amount": amount, "basis": basis.value}
            for name, amount, basis in portion.additions
        ],
        "destination": portion.destination,
        "order": portion.order,
    }


def _jug(card: JugCard) -> Json:
    """`stir` names for each line what the plan calls it; a jug added at the bench has none."""
    jug, portion = card.jug, card.portion
    names = {into.material: into.name for into in portion.into} if portion else {}
    in_mould = jug.destination == Destination.MOULD
    return {
        "id": jug.pk,
        "key": str(jug.key) if jug.key else None,
        "name": jug.name,
        "position": jug.position,
        "planned": None if jug.planned is None else str(jug.planned),
        "grams": None if jug.grams is None else str(jug.grams),
        "filled_at": timezone.localtime(jug.filled_at).isoformat() if jug.filled_at else None,
        "dropped": jug.dropped,
        "destination": jug.destination,
        "leads_to": card.leads_to,
        "technique": in_words(portion.technique_label) if portion and in_mould else "",
        "trace": portion.trace_label if portion else "",
        "colour": jug.colour or (portion.colour if portion else ""),
        "stir": [{"line": stir.line.pk, "name": names[stir.line.material_id]} for stir in card.stir],
    }
