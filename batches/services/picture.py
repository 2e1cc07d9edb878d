"""What a batch looks like cut across: as it was poured, then as its colours turn."""

from __future__ import annotations

from dataclasses import replace

from batches.frozen import FrozenRecipe
from batches.models import Batch, ColourReading
from batches.queries.picture import picture_of
from batches.splitting import JugCard, Splitting
from recipes.models import Destination
from shared.bar_picture import BarPicture
from shared.colour import Lab, to_hex
from shared.cross_section import Layer, Technique


def as_poured(batch: Batch, splitting: Splitting | None) -> BarPicture:
    """The planned picture with what really went into each jug that was poured into the mould."""
    planned = picture_of(batch).look
    if splitting is None:
        return planned
    meant = {layer.name: layer for layer in planned.layers}
    layers = tuple(
        _layer(card, meant.get(card.jug.name), str(batch.frozen["bar_colour"]))
        for card in splitting.cards
        if card.jug.destination == Destination.MOULD and card.jug.grams
    )
    return replace(planned, layers=layers or planned.layers)


def tell_picture(*, batch: Batch) -> None:
    """Give every portion the colour that was measured of it last, and those not measured the one meant."""
    look, measured = picture_of(batch).look, _measured(batch)
    if "" in measured:
        measured = {look.layers[0].name: measured[""]}
    meant = {layer.name: _meant(batch, layer.name) for layer in look.layers}
    batch.picture = look.turned(meant | measured).to_json()
    batch.save(update_fields=["picture"])


def _measured(batch: Batch) -> dict[str, str]:
    """By portion, "" for a bar without any, its last colour as a screen shows it."""
    readings = ColourReading.objects.filter(note__cure__batch=batch).select_related("jug")
    return {
        reading.jug.name if reading.jug else "": to_hex(
            Lab(float(reading.lightness), float(reading.a), float(reading.b))
        )
        for reading in readings.order_by("note__at", "pk")
    }


def _meant(batch: Batch, portion: str) -> str:
    """The colour that a portion was to have."""
    split = FrozenRecipe.from_json(batch.frozen).split
    planned = split.named(portion) if split else None
    added = batch.jugs.filter(name=portion).values_list("colour", flat=True).first()
    return (planned and planned.colour) or added or str(batch.frozen["bar_colour"])


def _layer(card: JugCard, meant: Layer | None, natural: str) -> Layer:
    grams = float(card.total)
    if meant is not None:
        return replace(meant, share=grams)
    return Layer(card.jug.colour or natural, grams, card.jug.name, Technique.LAYER)
