"""How each figure of a recipe came about: the formula in words, the numbers put in, the source."""

from recipes.explain.card import explain_card
from recipes.explain.explanation import Entry, Explanation
from recipes.explain.figures import explain
from recipes.explain.safety import Tested, explain_superfat

__all__ = ["Entry", "Explanation", "Tested", "explain", "explain_card", "explain_superfat"]
