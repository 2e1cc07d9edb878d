"""What a batch tells its recipe and its fragrances: fills, settled colours. They know nothing of batches."""

from __future__ import annotations

from datetime import datetime
from decimal import Decimal

from django.utils import timezone

from batches.frozen import FrozenRecipe
from batches.models import Batch, Line
from batches.queries.colour import settled_readings
from batches.scent import portions_of, scented_with
from batches.splitting import Splitting, batter_of, splitting
from inventory.models import Kind
from inventory.queries import current_certificates
from recipes.models import Destination
from recipes.services.moulds import note_fill
from recipes.services.told import Turned, tell_browned
from shared.browning import Fragrance, vanillin_in_bar
from shared.scented import Scented


def tell_fill(
    *, batch: Batch, lines: list[Line], split: Splitting | None, height: Decimal | None, at: datetime
) -> None:
    """How high the batter stood in its mould. Raises ValidationError (field 'filled_height')."""
    mould = batch.version.mould
    if height is not None and mould is not None:
        grams = _moulded(lines, split)
        note_fill(batch=batch.code, version=batch.version, mould=mould, grams=grams, height=height, at=at)


def _moulded(lines: list[Line], split: Splitting | None) -> Decimal:
    """Grams that went into the mould."""
    if split is None:
        return batter_of(lines)
    here = (card.total for card in split.cards if card.jug.destination == Destination.MOULD)
    return sum(here, Decimal(0))


def tell_colours(*, batch: Batch) -> None:
    """How brown the vanillin has turned the portions whose colour has settled."""
    settled = dict(settled_readings(batch))
    portions = {portion.name: portion for portion in _portions(batch)} if settled else {}
    turned = [
        Turned(name, vanillin, darkening)
        for name, darkening in settled.items()
        if name in portions and (vanillin := _vanillin(portions[name])) is not None
    ]
    tell_browned(batch=batch.code, turned=turned)


def _portions(batch: Batch) -> list[Scented]:
    frozen = FrozenRecipe.from_json(batch.frozen)
    lines = list(batch.lines.select_related("material").prefetch_related("weighings__lot__material"))
    fragrances = {line.material_id for line in lines if line.kind == Kind.FRAGRANCE}
    fragrances |= {material.pk for material, _ in scented_with(lines)}
    poured_on = timezone.localdate(batch.poured_at or batch.planned_at)
    certificates = current_certificates(fragrances, poured_on)
    split = splitting(frozen, lines, batch.jugs.all())
    return [portion for _, portion in portions_of(frozen, lines, split, certificates)]


def _vanillin(portion: Scented) -> float | None:
    """In % of the cured portion; None where no certificate says."""
    if any(dose.certified.vanillin is None for dose in portion.doses):
        return None
    return vanillin_in_bar(
        Fragrance(dose.certified.vanillin or 0.0, 100 * dose.grams / portion.grams) for dose in portion.doses
    )
