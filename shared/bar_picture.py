"""What a cut bar shows, as it is kept: its layers, what is set on top, and the sides of its face."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from shared.cross_section import Embed, Layer, Technique, Topping


@dataclass(frozen=True, slots=True)
class BarPicture:
    """Layers from the bottom up, and the inner width and fill height of the mould in mm where known."""

    layers: tuple[Layer, ...]
    embeds: tuple[Embed, ...] = ()
    toppings: tuple[Topping, ...] = ()
    width: float | None = None
    height: float | None = None

    def to_json(self) -> dict[str, Any]:
        """Plain lists and figures, as `from_json` reads them."""
        return {
            "layers": [[one.colour, one.share, one.name, one.technique.value] for one in self.layers],
            "embeds": [[one.colour, one.count, one.name] for one in self.embeds],
            "toppings": [[one.colour, one.name] for one in self.toppings],
            "width": self.width,
            "height": self.height,
        }

    @classmethod
    def from_json(cls, data: Mapping[str, Any]) -> BarPicture:
        return cls(
            layers=tuple(_layer(one) for one in data["layers"]),
            embeds=tuple(Embed(*one) for one in data["embeds"]),
            toppings=tuple(Topping(*one) for one in data["toppings"]),
            width=data["width"],
            height=data["height"],
        )

    def turned(self, colours: Mapping[str, str]) -> BarPicture:
        """With other colours for the layers of these names, as #rrggbb; "" names a bar without portions."""
        layers = (replace(one, colour=colours.get(one.name, one.colour)) for one in self.layers)
        return replace(self, layers=tuple(layers))


def _layer(data: Sequence[Any]) -> Layer:
    colour, share, name, technique = data
    return Layer(colour, share, name, Technique(technique))
