"""What a cross-section shows, in words."""

from __future__ import annotations

from collections.abc import Sequence
from functools import reduce

from shared.cross_section.design import Embed, Layer, Technique, Topping, bands_of
from shared.words import Phrase


def describe(
    layers: Sequence[Layer], embeds: Sequence[Embed] = (), toppings: Sequence[Topping] = ()
) -> Phrase:
    """Say what the drawing shows, for those who do not see it. Shares are in per cent of the bar."""
    parts = [_face(layers), *map(_embed, embeds), *map(_topping, toppings)]
    return reduce(lambda before, after: Phrase("%(before)s; %(after)s", before=before, after=after), parts)


def _face(layers: Sequence[Layer]) -> Phrase:
    total = sum(layer.share for layer in layers)
    bands = [_band(band, total) for band in bands_of(layers)]
    if len(bands) == 1:
        return Phrase("Cross-section: %(layer)s", layer=bands[0])
    listed = reduce(lambda below, above: Phrase("%(below)s, %(above)s", below=below, above=above), bands)
    return Phrase("Cross-section from the bottom up: %(layers)s", layers=listed)


def _band(band: Sequence[Layer], total: float) -> Phrase:
    """A layer, with its textured top and what is swirled into it."""
    texture = [band[0].technique.label] if band[0].technique is Technique.TOP else []
    swirls = [
        Phrase("%(layer)s as %(technique)s", layer=_layer(layer, total), technique=layer.technique.label)
        for layer in band[1:]
    ]
    if not texture and not swirls:
        return _layer(band[0], total)
    more = reduce(lambda one, other: Phrase("%(one)s and %(other)s", one=one, other=other), texture + swirls)
    return Phrase("%(layer)s with %(more)s", layer=_layer(band[0], total), more=more)


def _layer(layer: Layer, total: float) -> Phrase:
    if layer.share == total:
        return Phrase("%(name)s", name=layer.name) if layer.name else Phrase("one layer")
    name = layer.name or Phrase("unnamed")
    return Phrase("%(name)s %(share)s %%", name=name, share=f"{100 * layer.share / total:.0f}")


def _embed(embed: Embed) -> Phrase:
    name = embed.name or Phrase("another colour")
    if embed.count == 1:
        return Phrase("1 embed of %(name)s on top", name=name)
    return Phrase("%(count)s embeds of %(name)s on top", count=embed.count, name=name)


def _topping(topping: Topping) -> Phrase:
    return Phrase("sprinkled with %(name)s", name=topping.name or Phrase("another colour"))
