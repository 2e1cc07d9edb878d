"""The lists of a recipe's form: for each kind of material rows of a material and an amount.

The rows of a list share their names in the request, in their order, so that one may be added or taken away
with or without JavaScript.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING, Any, NamedTuple

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from inventory.models import COUNTED, Kind, Material
from recipes.design import LIST_OF, MOST_PARTS, OTHER_STAGE, SHARED_OUT, WHOLE, Part, sum_problem
from recipes.models import Stage
from recipes.queries import Need
from shared.placing import MOST_EMBEDS
from soapshop.core.fields import NumberField, PercentField, WeightField, WholeField
from soapshop.core.templatetags.soapshop import number, trimmed

if TYPE_CHECKING:
    from django_stubs_ext import StrOrPromise

LEAST = Decimal("0.001")
MOST_ROWS = MOST_PARTS + 1  # one more than allowed, so that the message can be given

# When a material of a list goes in: as usual, or the other way that there is for its kind.
WHEN = {
    Kind.FAT: (_("in the pot"), _("after the cook")),
    Kind.LIQUID: (_("into the lye"), _("at trace")),
    Kind.ADDITIVE: (_("at trace"), _("into the lye")),
}


class Row(NamedTuple):
    """A row as it was typed."""

    material: str = ""
    amount: str = ""
    stage: str = ""


@dataclass(frozen=True, slots=True)
class Group:
    """One list of the form: its kind of material and the words around it."""

    kind: Kind
    title: StrOrPromise
    add: StrOrPromise
    choose: StrOrPromise
    missing: StrOrPromise
    unit: StrOrPromise

    @property
    def name(self) -> str:
        return LIST_OF[self.kind]

    @property
    def is_whole(self) -> bool:
        """Whether its rows are parts of a hundred."""
        return self.kind in SHARED_OUT


GROUPS = (
    Group(
        Kind.FAT,
        _("Fats and oils"),
        add=_("add a fat"),
        choose=_("Choose a fat"),
        missing=_("Choose a fat, or empty the amount."),
        # xgettext:no-python-format
        unit=_("% of the fats"),
    ),
    Group(
        Kind.ALKALI,
        _("Alkali"),
        add=_("add an alkali"),
        choose=_("Choose an alkali"),
        missing=_("Choose an alkali, or empty the amount."),
        unit=_("% by mol"),
    ),
    Group(
        Kind.LIQUID,
        _("Liquid"),
        add=_("add a liquid"),
        choose=_("Choose a liquid"),
        missing=_("Choose a liquid, or empty the amount."),
        # xgettext:no-python-format
        unit=_("% of the liquid"),
    ),
    Group(
        Kind.FRAGRANCE,
        _("Fragrance"),
        add=_("add a fragrance"),
        choose=_("Choose a fragrance"),
        missing=_("Choose a fragrance, or empty the amount."),
        # xgettext:no-python-format
        unit=_("% of the fats"),
    ),
    Group(
        Kind.COLOUR,
        _("Colour"),
        add=_("add a colour"),
        choose=_("Choose a colour"),
        missing=_("Choose a colour, or empty the amount."),
        # xgettext:no-python-format
        unit=_("% of the fats"),
    ),
    Group(
        Kind.ADDITIVE,
        _("Additives"),
        add=_("add an additive"),
        choose=_("Choose an additive"),
        missing=_("Choose an additive, or empty the amount."),
        # xgettext:no-python-format
        unit=_("% of the fats"),
    ),
    Group(
        Kind.EMBED,
        _("Embeds"),
        add=_("add an embed"),
        choose=_("Choose an embed"),
        missing=_("Choose an embed, or empty the number."),
        unit=_("for each bar"),
    ),
    Group(
        Kind.TOPPING,
        _("Toppings"),
        add=_("add a topping"),
        choose=_("Choose a topping"),
        missing=_("Choose a topping, or empty the amount."),
        unit=_("g for each bar"),
    ),
    Group(
        Kind.PACKAGING,
        _("Packaging"),
        add=_("add packaging"),
        choose=_("Choose packaging"),
        missing=_("Choose packaging, or empty the amount."),
        unit=_("for each bar"),
    ),
)


class RowForm(forms.Form):
    """A material of a list with its amount. Left empty, it is no row at all."""

    use_required_attribute = False

    def __init__(self, rows: Rows, index: int, **kwargs: Any) -> None:
        self.rows = rows
        super().__init__(auto_id=f"id_%s-{index}", **kwargs)
        self.index = index
        self.need: Need | None = None
        label = gettext("%(list)s %(row)d") % {"list": rows.group.title, "row": index + 1}
        amount = gettext("Amount %(row)d, %(unit)s") % {"row": index + 1, "unit": rows.unit}
        self.fields["material"] = forms.ChoiceField(label=label, required=False, choices=rows.choices)
        self.fields["amount"] = rows.amount_field(amount)
        if stages := rows.stages:
            when = gettext("When %(row)d goes in") % {"row": index + 1}
            self.fields["stage"] = forms.ChoiceField(label=when, required=False, choices=stages)

    def add_prefix(self, field_name: str) -> str:
        return f"{self.rows.group.name}-{field_name}"

    @property
    def key(self) -> str:
        return f"{self.rows.group.name}-{self.index}"

    @property
    def amount_text(self) -> str:
        return str(self["amount"].value() or "")

    @property
    def chosen(self) -> Material | None:
        return self.rows.materials.get(str(self["material"].value()))

    @property
    def amount(self) -> Decimal | None:
        """The amount that counts: all of it, where a lone alkali or liquid has none."""
        amount = self.cleaned_data.get("amount")
        if amount is None:
            return WHOLE if self.rows.is_whole else None
        return Decimal(amount)

    @property
    def part(self) -> Part | None:
        material = self.rows.materials.get(self.cleaned_data.get("material", ""))
        if material is None or self.amount is None:
            return None
        return Part(material, self.amount, Stage(self.cleaned_data.get("stage", "")))

    def clean(self) -> dict[str, Any]:
        data = self.cleaned_data
        given = data.get("amount") is not None or "amount" in self.errors
        if given and not data.get("material") and "material" not in self.errors:
            self.add_error("material", str(self.rows.group.missing))
        if data.get("material") and not given and not self.rows.is_whole:
            self.add_error("amount", gettext("Give its amount."))
        return data


class Rows:
    """All rows of one list, bound to what was typed or filled in from what is known."""

    def __init__(
        self,
        group: Group,
        materials: Sequence[Material],
        typed: Sequence[Row],
        *,
        bound: bool,
        held: Collection[int] = (),
        by_weight: bool = False,
    ) -> None:
        self.group, self.by_weight = group, by_weight
        self.materials = {str(material.pk): material for material in materials}
        self.choices = [("", group.choose), *_choices(materials, held)]
        self.typed = list(typed)[:MOST_ROWS]
        self.refused: list[str] = []
        self.forms = [self._form(index, row, bound) for index, row in enumerate(self.typed)]

    def __iter__(self) -> Iterator[RowForm]:
        return iter(self.forms)

    @property
    def is_whole(self) -> bool:
        """Whether a single alkali or liquid is chosen, which needs no amount: it is all of it."""
        chosen = sum(1 for row in self.typed if row.material)
        return chosen == 1 and self.group.kind in {Kind.ALKALI, Kind.LIQUID}

    @property
    def is_lone(self) -> bool:
        """Whether there is but one row, of all that there is of its kind."""
        return len(self.typed) == 1 and self.group.kind in {Kind.ALKALI, Kind.LIQUID}

    @property
    def stages(self) -> list[tuple[str, StrOrPromise]]:
        """When a row may go in; nothing to choose where it can only be as usual."""
        usual = WHEN.get(self.group.kind)
        return [("", usual[0]), (OTHER_STAGE[self.group.kind].value, usual[1])] if usual else []

    @property
    def unit(self) -> str:
        return "g" if self.by_weight else str(self.group.unit)

    @property
    def short_unit(self) -> str:
        if self.by_weight:
            return "g"
        if self.group.kind in COUNTED:
            return ""
        return "g" if self.group.kind == Kind.TOPPING else "%"

    @property
    def parts(self) -> list[Part]:
        return [part for form in self.forms if form.is_valid() and (part := form.part)]

    @property
    def errors(self) -> list[str]:
        """What is wrong with the list as a whole: what a service refused, or a sum that is not a hundred."""
        parts = self.parts
        if self.by_weight or not self.group.is_whole or not parts or any(form.errors for form in self.forms):
            return self.refused
        problem = sum_problem(self.group.kind, sum((part.amount for part in parts), Decimal(0)))
        return [problem, *self.refused] if problem else self.refused

    @property
    def is_over(self) -> bool:
        return self.group.is_whole and not self.by_weight and self.total > WHOLE

    @property
    def total(self) -> Decimal:
        """Of all amounts that can be read, whatever else is wrong with the rows."""
        return sum((readable(form.amount_text, form.fields["amount"]) for form in self.forms), Decimal(0))

    @property
    def sum_words(self) -> str:
        """What the rows come to, and what is left to a hundred or too much."""
        total = self.total
        if self.is_lone or not self.group.is_whole or not total:
            return ""
        if self.by_weight:
            return f"{number(total)} g"
        if total == WHOLE:
            return "100 %"
        words = (
            gettext("%(total)s %%, %(rest)s %% left")
            if total < WHOLE
            else gettext("%(total)s %%, %(rest)s %% too much")
        )
        return words % {"total": trimmed(total), "rest": trimmed(abs(WHOLE - total))}

    def amount_field(self, label: str) -> forms.Field:
        if self.by_weight:
            return WeightField(label=label, required=False)
        if self.group.kind == Kind.EMBED:
            return WholeField(label=label, required=False, min_value=1, max_value=MOST_EMBEDS)
        if self.group.kind in (Kind.TOPPING, Kind.PACKAGING):
            return NumberField(label=label, required=False, min=LEAST, max=1000, places=3)
        return PercentField(label=label, required=False, min=LEAST, max=100, places=3)

    @property
    def row_errors(self) -> list[str]:
        return [str(error) for form in self.forms for field in form for error in field.errors]

    @property
    def problems(self) -> list[str]:
        """All messages of the rows and of the list."""
        return [*self.row_errors, *self.errors]

    def is_valid(self) -> bool:
        self._refuse_doubles()
        return all(form.is_valid() for form in self.forms) and not self.errors

    def focus_last(self) -> None:
        """Let the last row, just added, be where typing goes on."""
        self.forms[-1].fields["material"].widget.attrs["data-focus"] = True

    def blame(self, message: str, material: Material | None = None) -> None:
        """Put a message beside the last row of that material, or below the list."""
        for form in reversed(self.forms):
            if material is not None and form.chosen == material:
                form.add_error("material", message)
                return
        self.refused.append(message)

    def _form(self, index: int, row: Row, bound: bool) -> RowForm:
        values = row._asdict()
        if not bound:
            return RowForm(self, index, initial=values)
        typed = {f"{self.group.name}-{name}": value for name, value in values.items()}
        return RowForm(self, index, data=typed)

    def _refuse_doubles(self) -> None:
        seen: set[Material] = set()
        for form in self.forms:
            material = form.chosen
            if material in seen and not form.errors:
                words = gettext("%(material)s stands in the list already.")
                form.add_error("material", words % {"material": material})
            if material:
                seen.add(material)


def readable(text: str, field: forms.Field) -> Decimal:
    """The amount that was typed, or nothing where it cannot be read."""
    try:
        return field.clean(text) or Decimal(0)
    except ValidationError:
        return Decimal(0)


def _choices(
    materials: Sequence[Material], held: Collection[int]
) -> list[tuple[StrOrPromise, StrOrPromise | list[tuple[str, str]]]]:
    """Names to choose from: what is on the shelf before what is not, where there is any."""
    here = [(str(one.pk), _label(one)) for one in materials if one.pk in held]
    elsewhere = [(str(one.pk), _label(one)) for one in materials if one.pk not in held]
    if not here or not elsewhere:
        return [*here, *elsewhere]
    return [(gettext("On the shelf"), here), (gettext("Not in stock"), elsewhere)]


def _label(material: Material) -> str:
    if material.kind == Kind.FAT and material.sap is None:
        return gettext("%(material)s (no saponification value yet)") % {"material": material.name}
    return material.name
