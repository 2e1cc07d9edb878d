"""What can stand in the way of a step at the bench. All are ValidationErrors with words for the maker."""

from __future__ import annotations

from django.core.exceptions import ValidationError
from django.utils.translation import gettext

from shared.saponification import SafetyRange


class NotOpen(ValidationError):
    """The batch was poured, dropped or undone meanwhile."""


class AlreadyWeighed(ValidationError):
    """The weight of this line was noted meanwhile, perhaps on another phone."""


class VesselChanged(ValidationError):
    """What is in the pot or the jug is not what the phone counted on when it showed what to weigh."""


class StillToWeigh(ValidationError):
    """Lines of the card have no weight yet."""


class NotSafe(ValidationError):
    """The pot may be lye-heavy, and no owner has given a reason to pour it all the same."""

    def __init__(self, safety: SafetyRange) -> None:
        self.safety = safety
        super().__init__(
            gettext(
                "Stop: there is a %(chance)s %% chance that this is lye-heavy. "
                "Correct it first, or let an owner write down why it shall be poured like this."
            )
            % {"chance": f"{100 * safety.chance_lye_heavy:.0f}"},
            code="stop",
        )


class FragranceOver(ValidationError):
    """A bar would hold more of a fragrance than its certificate allows."""


class AlreadyCut(ValidationError):
    """The batch has been cut, so its pour stands."""
