"""Time of finding blends and swaps: ``python -m tests.bench.blend``."""

import sys
from collections.abc import Callable, Iterator
from dataclasses import replace
from statistics import median
from time import perf_counter, process_time

from shared.blend import Aim, Goal, Group, Kind, Wish, find_blend
from shared.ingredients import AlkaliChoice
from shared.swap import AlkaliKind, Batch, find_swaps
from tests.shared.blends import HARD_AND_MILD, at_least, at_most, many

PROFILE = {Group.OLEIC: 45.0, Group.SHORT_SATURATED: 20.0, "C18:0": 8.0}


def wishes(number: int) -> Iterator[tuple[str, Wish]]:
    """One wish of each sort for so many fats, of which each has its own stock."""
    fats = many(number)
    recipe = {fats[0].name: 60.0, fats[1].name: 40.0}
    limits = (
        *HARD_AND_MILD[:3],
        at_most(Kind.IODINE, 60),
        at_most(Kind.PALM, 0),
        at_most(Kind.FAT, 25, fats[1].name),
    )
    plain = Wish(fats, Aim(Goal.CHEAPEST), limits, 1000)
    yield "cheapest", plain
    yield "nearest to a profile", replace(plain, aim=Aim(Goal.PROFILE, PROFILE))
    yield "most of what goes off soon", replace(plain, aim=Aim(Goal.EXPIRING))
    yield "nearest to a recipe", replace(plain, aim=Aim(Goal.RECIPE), recipe=recipe)
    yield (
        "limits that clash",
        replace(plain, limits=(*limits, at_least(Kind.GROUP, 80, Group.LONG_SATURATED))),
    )
    counted = (*limits, at_most(Kind.COUNT, 5), at_least(Kind.SMALLEST, 5))
    yield "at most 5 fats of 5 % or more", replace(plain, limits=counted)


def milliseconds(task: Callable[[], object], runs: int) -> tuple[float, float]:
    """Median time of a task by the clock, and the least time of the processor, which others do not add to."""
    clock, processor = [], []
    for _ in range(runs):
        start, started = perf_counter(), process_time()
        task()
        clock.append(1000 * (perf_counter() - start))
        processor.append(1000 * (process_time() - started))
    return median(clock), min(processor)


def say(words: str) -> None:
    sys.stdout.write(f"{words}\n")


def swap(number: int) -> Callable[[], object]:
    fats = many(number)
    recipe = ((50.0, fats[0]), (25.0, fats[1]), (25.0, fats[2]))
    batch = Batch(1000, 5, (AlkaliChoice(AlkaliKind.NAOH, 98, 100),))
    return lambda: find_swaps(recipe, fats[2].name, fats, batch=batch)


def main(runs: int = 15) -> None:
    find_blend(next(wishes(5))[1])  # the first one also loads HiGHS
    for number in (40, 200):
        tasks = [(name, lambda wish=wish: find_blend(wish)) for name, wish in wishes(number)]
        for name, task in [*tasks, ("swap of one fat", swap(number))]:
            clock, processor = milliseconds(task, runs)
            say(f"{number} fats, {name}: {clock:.0f} ms by the clock, {processor:.0f} ms of the processor")


if __name__ == "__main__":
    main()
