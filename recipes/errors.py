"""What keeps a design from being made."""

from __future__ import annotations

from inventory.models import Material


class DesignError(ValueError):
    """A design that cannot be made. `field` is the form's name of what is wrong, `message` is for the maker.

    `material` names the one at fault where it is one of a list, and `portion` the portion.
    """

    def __init__(
        self, field: str, message: str, material: Material | None = None, *, portion: str = ""
    ) -> None:
        super().__init__(message)
        self.field, self.message, self.material, self.portion = field, message, material, portion
