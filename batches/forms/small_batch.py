"""What is typed when batter that was kept back is poured as a small batch."""

from __future__ import annotations

from typing import Any

from django.utils.translation import gettext_lazy as _

from batches.forms.fields import UNIT_OF, BarsField
from batches.forms.pour import ConfirmForm
from soapshop.core.fields import WeightField


class SmallBatchForm(ConfirmForm):
    """How much of it makes how many bars, and what else is told of a pour."""

    bars = BarsField(label=_("Bars"))
    grams = WeightField(label=_("Batter"), required=False, help_text=_("Empty means all that is left."))

    def __init__(self, *args: Any, units: str, ask_why: bool, **kwargs: Any) -> None:
        super().__init__(*args, ask_why=ask_why, in_mould=False, **kwargs)
        self.unit = UNIT_OF[units]
        self.fields["grams"].default_unit = self.unit  # type: ignore[attr-defined]
