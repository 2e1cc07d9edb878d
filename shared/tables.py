"""Reading the tables of facts in ``shared/data``, and reading between their lines."""

import csv
from bisect import bisect_right
from collections.abc import Sequence
from importlib.resources import files


def rows(name: str) -> list[dict[str, str]]:
    """The rows of a data file such as ``fats.csv``, by column name."""
    text = files("shared").joinpath("data", name).read_text(encoding="utf-8")
    return list(csv.DictReader(text.splitlines()))


def interpolate(points: Sequence[tuple[float, float]], x: float) -> float:
    """Straight lines between points sorted by x; beyond either end the value at that end."""
    if x <= points[0][0]:
        return points[0][1]
    if x >= points[-1][0]:
        return points[-1][1]
    index = bisect_right(points, x, key=lambda point: point[0])
    (x0, y0), (x1, y1) = points[index - 1], points[index]
    return y0 + (y1 - y0) * (x - x0) / (x1 - x0)
