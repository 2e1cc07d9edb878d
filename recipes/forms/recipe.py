"""The form of a recipe: its own fields, and its lists of materials."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from decimal import Decimal
from itertools import zip_longest
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.core.validators import RegexValidator
from django.http import QueryDict
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from inventory.models import Kind, Material
from recipes.design import LIST_OF, Design
from recipes.design import Mould as FilledMould
from recipes.errors import DesignError
from recipes.forms.rows import GROUPS, LEAST, Row, Rows, readable
from recipes.models import NATURAL, LiquidBy, LiquidScope, Mould, Process, SizeBy, Version
from recipes.portions import PortionDesign
from recipes.queries import Catalogue, Need
from shared.bar_picture import BarPicture
from shared.cross_section import COLOUR, Layer
from soapshop.core.fields import (
    EMPTY,
    LengthField,
    NumberField,
    PercentField,
    PlainTextField,
    WeightField,
    WholeField,
)
from soapshop.core.models import Workshop

SIDES = ("mould_length", "mould_width", "mould_height")


class RecipeForm(forms.Form):
    """A recipe with its lists. Unbound it shows what is known, bound what was typed, right or wrong."""

    name = PlainTextField(label=_("Name"), max_length=80)
    superfat = PercentField(label=_("Superfat"), min=-5, max=30, initial=Decimal(5))
    liquid_by = forms.ChoiceField(
        label=_("Liquid by"), choices=LiquidBy.choices, initial=LiquidBy.CONCENTRATION
    )
    liquid_value = NumberField(label=_("Amount"), min=LEAST, max=1000, places=3, initial=Decimal(33))
    liquid_scope = forms.ChoiceField(
        label=_("Liquid counts"),
        choices=LiquidScope.choices,
        initial=LiquidScope.BATTER,
        help_text=_("Of a batter with liquid at trace: what the amount speaks of."),
    )
    process = forms.ChoiceField(label=_("Process"), choices=Process.choices, initial=Process.COLD)
    size_by = forms.ChoiceField(
        label=_("Size by"),
        choices=SizeBy.choices,
        initial=SizeBy.FATS,
        widget=forms.Select(choices=[(size.value, size.label) for size in SizeBy if size != SizeBy.WEIGHTS]),
    )
    size_grams = WeightField(label=_("Weight"), required=False, initial=Decimal(1000))
    mould = forms.ModelChoiceField(
        Mould.objects.none(),
        label=_("Mould"),
        required=False,
        empty_label=_("Another one, by its sides"),
    )
    mould_length = LengthField(label=_("Inner length"), required=False)
    mould_width = LengthField(label=_("Inner width"), required=False)
    mould_height = LengthField(label=_("Fill height"), required=False)
    bars = WholeField(label=_("Bars"), min_value=1, max_value=2000, initial=10)
    cure_days = WholeField(label=_("Cure"), min_value=1, max_value=730, required=False)
    bar_colour = forms.CharField(
        label=_("Bar colour"),
        max_length=7,
        initial=NATURAL,
        validators=[RegexValidator(f"^{COLOUR.pattern}\\Z", _("Give the colour as # and six digits."))],
        widget=forms.TextInput(attrs={"type": "color"}),
    )
    note = PlainTextField(label=_("Why this version"), max_length=2000, lines=3, required=False)
    seen = forms.CharField(widget=forms.HiddenInput, required=False, max_length=60)
    look_of = forms.CharField(widget=forms.HiddenInput, required=False, max_length=18)

    use_required_attribute = False
    design_fields = (
        "superfat",
        "liquid_by",
        "liquid_value",
        "liquid_scope",
        "process",
        "size_by",
        "size_grams",
        "mould",
        "mould_length",
        "mould_width",
        "mould_height",
        "bars",
    )

    def __init__(
        self,
        typed: QueryDict | None = None,
        *,
        catalogue: Catalogue,
        workshop: Workshop,
        initial: Mapping[str, Any] | None = None,
        rows: Mapping[str, Sequence[Row]] | None = None,
        portions: tuple[PortionDesign, ...] = (),
    ) -> None:
        super().__init__(typed, initial=dict(initial or {}))
        self.portions = portions
        self.fields["mould"].queryset = catalogue.moulds  # type: ignore[attr-defined]
        if self.by_weight:
            self.fields["size_by"].widget = forms.HiddenInput()
        for name in self.size_fields:
            self.fields[name].required = True
        for field in self.fields.values():
            field.error_messages["required"] = EMPTY
        found = typed_rows(typed) if typed is not None else rows or {}
        self.groups = [
            Rows(
                group,
                catalogue.of(group.kind),
                found.get(group.name, ()),
                bound=typed is not None,
                held=catalogue.held,
                by_weight=group.kind == Kind.FAT and self.by_weight,
            )
            for group in GROUPS
        ]

    @property
    def by_weight(self) -> bool:
        return str(self["size_by"].value()) == SizeBy.WEIGHTS

    @property
    def liquid_unit(self) -> str:
        method = self["liquid_by"].value()
        if method == LiquidBy.RATIO:
            return gettext("g to 1 g")
        # xgettext:no-python-format
        return gettext("% of fats") if method == LiquidBy.OF_FATS else "%"

    @property
    def lists(self) -> dict[str, Rows]:
        return {rows.group.name: rows for rows in self.groups}

    def is_valid(self) -> bool:
        lists = [rows.is_valid() for rows in self.groups]
        return bool(super().is_valid()) and all(lists)

    def can_be_worked_out(self) -> bool:
        """Whether all that the weights hang on can be read; name, cure and note may still be missing."""
        lists = [rows.is_valid() for rows in self.groups]
        return all(lists) and not any(name in self.errors for name in self.design_fields)

    def clean(self) -> dict[str, Any]:
        """A size that is not asked for never stands in the way."""
        for name in {*SIDES, "size_grams"} - self.size_fields:
            if self.errors.pop(name, None):
                self.cleaned_data[name] = None
        if self["mould"].value():
            self.cleaned_data |= {"mould_length": None, "mould_width": None}
        return self.cleaned_data

    @property
    def size_fields(self) -> set[str]:
        """The fields that the chosen way to give the size asks for."""
        size = self["size_by"].value()
        if size == SizeBy.MOULD:
            return {"mould_height"} if self["mould"].value() else set(SIDES)
        return {"size_grams"} if size in {SizeBy.FATS, SizeBy.BATTER} else set()

    def build_on(self, latest: Version) -> None:
        """Let the next save replace what someone else has saved, which has been told."""
        self.data = {name: self.data[name] for name in self.data} | {"seen": latest.stamp}

    @property
    def wrong_lists(self) -> list[Rows]:
        return [rows for rows in self.groups if rows.problems]

    @property
    def look(self) -> BarPicture:
        """A plain bar of the colour that was chosen, while nothing more can be said of it."""
        colour = str(self["bar_colour"].value())
        sides = (
            readable(str(self[name].value() or ""), self.fields[name])
            for name in ("mould_width", "mould_height")
        )
        width, height = (float(side) if side else None for side in sides)
        return BarPicture(
            (Layer(colour if COLOUR.fullmatch(colour) else NATURAL, 1.0),), (), (), width, height
        )

    @property
    def is_blank(self) -> bool:
        """Whether no fat has been chosen yet."""
        return not any(row.material for row in self.lists["fats"].typed)

    @property
    def design(self) -> Design:
        """Only of a form that can be worked out."""
        data, kept = self.cleaned_data, self.cleaned_data["mould"]
        length, width, height = data["mould_length"], data["mould_width"], data["mould_height"]
        return Design(
            superfat=data["superfat"],
            liquid_by=LiquidBy(data["liquid_by"]),
            liquid_value=data["liquid_value"],
            size_by=SizeBy(data["size_by"]),
            size_grams=data["size_grams"],
            mould=FilledMould(length, width, height, kept) if kept or (length and width) else None,
            bars=data["bars"],
            parts=tuple(part for rows in self.groups for part in rows.parts),
            liquid_scope=LiquidScope(data["liquid_scope"]),
            process=Process(data["process"]),
            portions=self.portions,
        )

    @property
    def problems(self) -> list[str]:
        """What keeps it from being worked out, in words that tell where."""
        wrong = [name for name in self.design_fields if name in self.errors]
        own = [f"{self[name].label}: {self.errors[name][0]}" for name in wrong]
        rows = [f"{rows.group.title}: {message}" for rows in self.groups for message in rows.row_errors]
        return [*own, *rows, *(message for rows in self.groups for message in rows.errors)]

    def blame(self, error: DesignError | ValidationError) -> None:
        """Put what a service refused beside its field."""
        if isinstance(error, DesignError):
            self._blame(error.field, error.message, error.material)
        elif hasattr(error, "error_dict"):
            for name, messages in error.message_dict.items():
                self._blame(name, messages[0])
        else:
            self.add_error(None, error)

    def _blame(self, name: str, message: str, material: Material | None = None) -> None:
        if name in self.lists:
            self.lists[name].blame(message, material)
        else:
            self.add_error(name if name in self.fields else None, message)

    def show(self, needs: Iterable[Need]) -> None:
        """Put beside each row what it comes to and what the shelf holds."""
        by_material = {need.material: need for need in needs}
        for rows in self.groups:
            for form in rows:
                form.need = by_material.get(form.chosen) if form.chosen else None


def typed_rows(data: QueryDict) -> dict[str, list[Row]]:
    """The rows of each list as they were typed."""
    return {group.name: _rows(data, group.name) for group in GROUPS}


def _rows(data: QueryDict, name: str) -> list[Row]:
    typed = zip_longest(*(data.getlist(f"{name}-{field}") for field in Row._fields), fillvalue="")
    return [Row(*values) for values in typed]


def typed_fields(data: QueryDict) -> dict[str, str]:
    """What was typed into the fields of the recipe itself, as it was typed."""
    return {name: str(data[name]) for name in RecipeForm.base_fields if name in data}


def fields_of(version: Version) -> dict[str, Any]:
    """What the form shows of a version."""
    shown = {name: getattr(version, name) for name in (*RecipeForm.design_fields, "cure_days", "note")}
    return {
        **shown,
        "name": version.recipe.name,
        "bar_colour": version.bar_colour or NATURAL,
        "seen": version.stamp,
        "look_of": version.pk,
    }


def rows_of(version: Version) -> dict[str, list[Row]]:
    """The rows of a version fetched with its ingredients."""
    rows: dict[str, list[Row]] = {group.name: [] for group in GROUPS}
    for one in version.ingredients.all():
        row = Row(str(one.material_id), f"{one.amount.normalize():f}", one.stage)
        rows[LIST_OF[Kind(one.material.kind)]].append(row)
    return rows


def blank_rows(catalogue: Catalogue) -> dict[str, list[Row]]:
    """A new recipe: room for three fats, sodium hydroxide and water."""
    soda = next((one for one in catalogue.of(Kind.ALKALI) if one.alkali == "naoh"), None)
    liquids = sorted(catalogue.of(Kind.LIQUID), key=lambda one: one.reference != "water")
    water = next((one for one in liquids if "water" in one.name.lower()), None)
    return {
        "fats": [Row()] * 3,
        "alkalis": [Row(str(soda.pk) if soda else "", "100")],
        "liquids": [Row(str(water.pk) if water else "", "100")],
    }


def given_rows(asked: QueryDict) -> dict[str, list[Row]]:
    """The lists that an address names, such as the fats of a blend that was found."""
    return {name: rows for name, rows in typed_rows(asked).items() if rows}


def given_fields(asked: QueryDict) -> dict[str, str]:
    """What else of a recipe an address may say."""
    return {name: str(asked[name]) for name in ("size_grams", "note") if name in asked}


def as_typed(fields: Mapping[str, Any], rows: Mapping[str, Sequence[Row]]) -> QueryDict:
    """What is known of a recipe, and else what a new one starts from, as if it had been typed."""
    typed = QueryDict(mutable=True)
    for name, field in RecipeForm.base_fields.items():
        value = field.prepare_value(fields.get(name, field.initial))
        typed[name] = "" if value is None else str(value)
    for name, found in rows.items():
        for part, values in zip(Row._fields, zip(*found, strict=True), strict=False):
            typed.setlist(f"{name}-{part}", list(values))
    return typed
