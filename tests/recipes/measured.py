"""The placing strip measured on paper: the lines of a PDF, read back from what it tells the printer."""

from __future__ import annotations

from dataclasses import dataclass, field

import pytest

from tests.printed import read

POINT = 25.4 / 72  # mm
MARGIN = 12.0  # mm, of print.css


@dataclass
class Paper:
    """What a page draws, in mm from the left edge of the strip; lines by how high and how thick they are."""

    size: tuple[float, float]
    upright: list[tuple[float, float, float]] = field(default_factory=list)
    level: list[tuple[float, float]] = field(default_factory=list)

    @property
    def cuts(self) -> list[float]:
        return [x for x, high, thick in self.upright if (high, thick) == pytest.approx((42, 0.3), abs=0.01)]

    @property
    def centres(self) -> list[float]:
        return [x for x, high, _thick in self.upright if high == pytest.approx(25, abs=0.01)]

    @property
    def marks(self) -> list[float]:
        return [x for x, high, _thick in self.upright if high == pytest.approx(46, abs=0.01)]

    @property
    def embeds(self) -> list[float]:
        """The left and the right side of each, in turn."""
        return [x for x, high, _thick in self.upright if high == pytest.approx(22, abs=0.01)]

    @property
    def kerfs(self) -> list[float]:
        """The left and the right side of each, in turn."""
        return [x for x, high, thick in self.upright if (high, thick) == pytest.approx((42, 0), abs=0.01)]


def measured(pdf: bytes) -> list[Paper]:
    return [_measured(page) for page in read(pdf).pages]


def _measured(page) -> Paper:
    found = Paper(tuple(float(side) * POINT for side in page.mediabox[2:]))
    start, thick = (0.0, 0.0), 0.0

    def drawn(operator, values, matrix, _text):
        nonlocal start, thick
        across, down = matrix[0] * POINT, abs(matrix[3]) * POINT
        numbers = [float(value) for value in values] if operator in (b"w", b"m", b"l") else []
        if operator == b"w":
            thick = numbers[0] * across
        elif operator == b"m":
            start = numbers[0], numbers[1]
        elif operator == b"l":
            x = matrix[4] * POINT + numbers[0] * across - MARGIN
            wide, high = abs(numbers[0] - start[0]) * across, abs(numbers[1] - start[1]) * down
            if not wide:
                found.upright.append((x, high, thick))
            if not high:
                found.level.append((wide, thick))
            start = numbers[0], numbers[1]
        elif operator == b"Q":
            thick = 0.0

    page.extract_text(visitor_operand_before=drawn)
    return found
