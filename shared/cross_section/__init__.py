"""The picture of a bar cut across: its layers and swirls in their own colours, drawn to scale."""

from shared.cross_section.design import COLOUR, Embed, Layer, Technique, Topping
from shared.cross_section.drawing import COARSE, DRAWN_WIDTH, FINE, NARROWEST, WIDEST, Drawing, Figure, draw
from shared.cross_section.words import describe

__all__ = [
    "COARSE",
    "COLOUR",
    "DRAWN_WIDTH",
    "FINE",
    "NARROWEST",
    "WIDEST",
    "Drawing",
    "Embed",
    "Figure",
    "Layer",
    "Technique",
    "Topping",
    "describe",
    "draw",
]
