"""Time of one recipe with its safety range: ``python -m tests.bench.formulate``."""

import sys
from statistics import median
from time import perf_counter

from shared.saponification import Formula, formulate
from tests.shared.pots import FOUR_FATS, formula

RECIPES = {"one fat": formula(FOUR_FATS[:1]), "two fats": formula(FOUR_FATS[:2]), "four fats": formula()}


def milliseconds(recipe: Formula, runs: int = 500) -> tuple[float, float]:
    """Median and best time of one computation."""
    times = []
    for _ in range(runs):
        start = perf_counter()
        formulate(recipe)
        times.append(1000 * (perf_counter() - start))
    return median(times), min(times)


def main() -> None:
    for name, recipe in RECIPES.items():
        middle, best = milliseconds(recipe)
        sys.stdout.write(f"{name}: median {middle:.2f} ms, best {best:.2f} ms\n")


if __name__ == "__main__":
    main()
