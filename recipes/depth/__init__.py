"""What is behind a recipe: what its fats will do, how it keeps, what the finished bar holds.

Glue from a recipe worked out to the calculations of `shared`, in the reader's language. No queries, no
writes.
"""

from recipes.depth.page import Depth, depth_of

__all__ = ["Depth", "depth_of"]
