"""The field for the fatty acids of a certificate: a line for each acid, so that each is given once."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.template.loader import render_to_string
from django.utils.functional import cached_property
from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import gettext

from inventory.services.checks import profile_problem
from shared.fats import fatty_acids
from soapshop.core.fields import PercentField


class ProfileWidget(forms.Widget):
    """All fatty acids in the order of their chains, each with a line for its share."""

    use_fieldset = True

    def value_from_datadict(self, data: Mapping[str, Any], files: Any, name: str) -> dict[str, str]:
        """What was typed, by acid; without the lines left empty."""
        typed = {acid: str(data.get(part(name, acid), "")) for acid in fatty_acids()}
        return {acid: text for acid, text in typed.items() if text.strip()}

    def value_omitted_from_data(self, data: Mapping[str, Any], files: Any, name: str) -> bool:
        return not any(part(name, acid) in data for acid in fatty_acids())

    def id_for_label(self, id_: str) -> str:
        """The first line."""
        return part(id_, next(iter(fatty_acids())))

    def render(self, name: str, value: Any, attrs: Any = None, renderer: Any = None) -> SafeString:
        shares = value or {}
        lines = [
            {
                "name": part(name, acid),
                "label": f"{acid}, {known.name}",
                "value": written(shares.get(acid, "")),
            }
            for acid, known in fatty_acids().items()
        ]
        return mark_safe(render_to_string("components/acid_shares.html", {"lines": lines}))  # noqa: S308


class ProfileField(forms.Field):
    """Shares of fatty acids in % of all of them, by shorthand such as "C18:1"; empty where none is given."""

    widget = ProfileWidget

    @cached_property
    def share(self) -> PercentField:
        return PercentField(min=0, max=100, places=3)

    def clean(self, value: Mapping[str, str]) -> dict[str, float]:
        problems, shares = [], {}
        for acid, typed in value.items():
            try:
                shares[acid] = float(self.share.clean(typed))
            except ValidationError as problem:
                words = gettext("%(acid)s: %(problem)s")
                problems.append(words % {"acid": acid, "problem": problem.messages[0]})
        if problems:
            raise ValidationError(problems)
        shares = {acid: share for acid, share in shares.items() if share}
        if wrong := profile_problem(shares):
            raise ValidationError(wrong)
        return shares


def part(name: str, acid: str) -> str:
    """The name of the line of one acid."""
    return f"{name}_{acid.replace(':', '_')}"


def written(share: str | float) -> str:
    """A stored share without a tail of zeros; what was typed as it was typed."""
    return share if isinstance(share, str) else f"{share:g}"
