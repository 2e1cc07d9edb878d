"""The form of a look: the portions of a batter in the order of pouring, and what goes into each.

Each portion has a key; its fields begin with it, and the keys in the request are in the order of pouring, so
that a portion is added, moved and taken away with or without JavaScript.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from decimal import Decimal
from itertools import zip_longest
from typing import TYPE_CHECKING, Any, NamedTuple

from django import forms
from django.core.exceptions import ValidationError
from django.core.validators import RegexValidator
from django.http import QueryDict
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from inventory.models import Kind, Material
from recipes.errors import DesignError
from recipes.models import NATURAL, AmountBy, Destination, PortionBy, Trace, Version
from recipes.portions import (
    GOES_INTO_PORTIONS,
    MOST_ADDITIONS,
    MOST_PORTIONS,
    Into,
    PortionDesign,
)
from recipes.queries import Catalogue
from shared.cross_section import COLOUR, Technique
from soapshop.core.fields import LengthField, NumberField, PercentField, PlainTextField, WeightField

if TYPE_CHECKING:
    from django_stubs_ext import StrOrPromise

KEYS = "portion"
AS_RECIPE, UNSCENTED, OWN = "recipe", "none", "own"
LEAST = Decimal("0.001")
MOST_LETTERS = 40  # of a name

# In fewer words than elsewhere, so that a phone shows them whole.
SIZES = [
    (PortionBy.SHARE, _("A share")),
    (PortionBy.GRAMS, _("A weight")),
    (PortionBy.LAYER, _("A layer")),
    (PortionBy.REST, _("The rest")),
]
UNITS = {PortionBy.SHARE: "%", PortionBy.GRAMS: "g", PortionBy.LAYER: "mm", PortionBy.REST: ""}


class IntoRow(NamedTuple):
    """Something that goes into a portion, as it was typed."""

    material: str = ""
    amount: str = ""
    amount_by: str = AmountBy.FATS.value


class IntoForm(forms.Form):
    """Something that goes into a portion. Left empty, it is nothing at all."""

    use_required_attribute = False

    def __init__(self, portion: PortionForm, index: int, **kwargs: Any) -> None:
        self.portion, self.index = portion, index
        super().__init__(auto_id=f"id_%s-{index}", **kwargs)
        figures = {"name": portion.title, "row": index + 1}
        self.fields["material"] = forms.ChoiceField(
            label=gettext("%(name)s: what goes in, %(row)d") % figures,
            required=False,
            choices=portion.choices,
        )
        self.fields["amount"] = NumberField(
            label=gettext("%(name)s: amount %(row)d") % figures,
            required=False,
            min=LEAST,
            max=1000,
            places=3,
        )
        self.fields["amount_by"] = forms.ChoiceField(
            label=gettext("%(name)s: what amount %(row)d means") % figures, choices=AmountBy.choices
        )

    def add_prefix(self, field_name: str) -> str:
        return f"{self.portion.prefix}-{field_name}"

    @property
    def into(self) -> Into | None:
        material = self.portion.materials.get(self.cleaned_data.get("material", ""))
        amount = self.cleaned_data.get("amount")
        if material is None or amount is None:
            return None
        return Into(material, amount, AmountBy(self.cleaned_data["amount_by"]))

    def clean(self) -> dict[str, Any]:
        data = self.cleaned_data
        given = data.get("amount") is not None or "amount" in self.errors
        if given and not data.get("material") and "material" not in self.errors:
            self.add_error("material", gettext("Choose what it is, or empty the amount."))
        if data.get("material") and not given:
            self.add_error("amount", gettext("Give its amount."))
        return data


class PortionForm(forms.Form):
    """One portion with the rows of what goes into it."""

    name = PlainTextField(label=_("Name"), max_length=MOST_LETTERS)
    size_by = forms.ChoiceField(label=_("How much"), choices=SIZES)
    colour = forms.CharField(
        label=_("Colour"),
        max_length=7,
        required=False,
        validators=[RegexValidator(f"^{COLOUR.pattern}\\Z", _("Give the colour as # and six digits."))],
        widget=forms.TextInput(attrs={"type": "color"}),
    )
    made = forms.BooleanField(label=_("Its colour is that of what colours it"), required=False)
    technique = forms.ChoiceField(
        label=_("Poured as"), choices=[(one.value, _(one.label)) for one in Technique]
    )
    trace = forms.ChoiceField(label=_("Poured at"), choices=Trace.choices, required=False)
    scent = forms.ChoiceField(
        label=_("Fragrance"),
        choices=[
            (AS_RECIPE, _("As the recipe says")),
            (UNSCENTED, _("None: it stays unscented")),
            (OWN, _("A share of its own")),
        ],
    )
    fragrance = PercentField(label=_("Of its fats"), min=LEAST, max=100, places=3, required=False)
    destination = forms.ChoiceField(label=_("Goes into"), choices=Destination.choices)
    other_mould = forms.ChoiceField(label=_("Which mould"), required=False)

    use_required_attribute = False
    usual = {"trace": Trace.ANY, "scent": AS_RECIPE, "destination": Destination.MOULD}
    looked_at = False
    recoloured = False

    def __init__(
        self,
        key: str,
        number: int,
        catalogue: Catalogue,
        rows: Sequence[IntoRow],
        *,
        typed: QueryDict | None = None,
        initial: Mapping[str, Any] | None = None,
    ) -> None:
        super().__init__(typed, prefix=key, initial=dict(initial or {}))
        self.number = number
        self.moulds = {str(mould.pk): mould for mould in catalogue.moulds}
        choices = [("", gettext("Not said")), *((key, mould.name) for key, mould in self.moulds.items())]
        self.fields["other_mould"].choices = choices  # type: ignore[attr-defined]
        self.fields["size"] = _size_field(str(self["size_by"].value()))
        self.materials = {
            str(material.pk): material for kind in GOES_INTO_PORTIONS for material in catalogue.of(kind)
        }
        self.choices = _choices(catalogue)
        self.rows = [self._row(index, row, bound=typed is not None) for index, row in enumerate(rows)]

    def _row(self, index: int, row: IntoRow, *, bound: bool) -> IntoForm:
        values = row._asdict()
        if not bound:
            return IntoForm(self, index, initial=values)
        return IntoForm(self, index, data={f"{self.prefix}-{name}": value for name, value in values.items()})

    @property
    def title(self) -> str:
        typed = str(self["name"].value() or "").strip()[:MOST_LETTERS]
        return typed or gettext("Portion %(number)d") % {"number": self.number}

    @property
    def unit(self) -> str:
        by = str(self["size_by"].value())
        return UNITS[PortionBy(by)] if by in PortionBy else ""

    @property
    def is_fresh(self) -> bool:
        """Whether it shows a colour that nobody has picked."""
        return f"{self.prefix}-fresh" in self.data

    @property
    def looks(self) -> str:
        """Its colour as far as it can be shown."""
        colour = str(self["colour"].value() or "")
        return colour if COLOUR.fullmatch(colour) else NATURAL

    @property
    def is_unusual(self) -> bool:
        """Whether there is something to see in what is usually left alone."""
        wrong = self.errors.keys() & {*self.usual, "fragrance", "other_mould", "made"}
        return bool(wrong) or any(str(self[name].value()) != usual for name, usual in self.usual.items())

    def is_valid(self) -> bool:
        rows = [row.is_valid() for row in self.rows]
        valid: bool = super().is_valid()
        return valid and all(rows)

    def clean(self) -> dict[str, Any]:
        data = self.cleaned_data
        if data.get("size_by") == PortionBy.REST:
            self.errors.pop("size", None)
            data["size"] = None
        elif data.get("size") is None and "size" not in self.errors:
            self.add_error("size", gettext("Say how much of the batter it is."))
        if data.get("scent") == OWN and data.get("fragrance") is None and "fragrance" not in self.errors:
            self.add_error("fragrance", gettext("Say how much, in per cent of its fats."))
        if data.get("scent") != OWN:
            self.errors.pop("fragrance", None)
        return data

    @property
    def design(self) -> PortionDesign:
        """Only of a valid form."""
        data = self.cleaned_data
        own = data.get("fragrance") if data["scent"] == OWN else None
        other = data["other_mould"] if data["destination"] == Destination.OTHER else ""
        return PortionDesign(
            name=data["name"],
            size_by=PortionBy(data["size_by"]),
            size=data["size"],
            colour="" if data["made"] else data["colour"].lower(),
            fragrance=Decimal(0) if data["scent"] == UNSCENTED else own,
            trace=Trace(data["trace"]),
            technique=Technique(data["technique"]),
            destination=Destination(data["destination"]),
            other_mould=self.moulds.get(other),
            additions=tuple(into for row in self.rows if (into := row.into)),
        )

    @property
    def problems(self) -> list[str]:
        """What is wrong with it, in words that tell where."""
        own = [f"{self[name].label}: {self.errors[name][0]}" for name in self.errors if name in self.fields]
        rows = [str(message) for row in self.rows for messages in row.errors.values() for message in messages]
        return [f"{self.title}: {words}" for words in (*own, *rows)]

    def blame(self, field: str, message: str, material: Material | None) -> None:
        """Put a message beside what it is about."""
        for row in self.rows:
            if material is not None and row["material"].value() == str(material.pk):
                row.add_error("material", message)
                return
        self.add_error(field if field in self.fields else None, message)


class LookForm:
    """All portions of a version, bound to what was typed or filled in from what is known."""

    def __init__(self, catalogue: Catalogue, portions: Sequence[PortionForm], *, seen: str) -> None:
        self.catalogue, self.portions, self.seen = catalogue, list(portions), seen
        self.errors: list[str] = []

    @classmethod
    def typed(cls, data: QueryDict, catalogue: Catalogue) -> LookForm:
        portions = [
            PortionForm(key, number, catalogue, typed_rows(data, key), typed=data)
            for number, key in enumerate(keys(data), start=1)
        ]
        return cls(catalogue, portions, seen=str(data.get("seen", "")))

    @classmethod
    def of(cls, version: Version, designs: Sequence[PortionDesign], catalogue: Catalogue) -> LookForm:
        portions = [
            PortionForm(
                f"p{number}", number, catalogue, _rows_of(one), initial=_initial(one, version.bar_colour)
            )
            for number, one in enumerate(designs, start=1)
        ]
        return cls(catalogue, portions, seen=version.stamp)

    def __iter__(self) -> Iterator[PortionForm]:
        return iter(self.portions)

    def is_valid(self) -> bool:
        if not self.portions:
            self.errors.append(gettext("The portions are missing. Open this page anew."))
            return False
        valid = [portion.is_valid() for portion in self.portions]
        return self._none_twice() and all(valid)

    def show(self, *, looked_at: str, last_row: bool, recoloured: Collection[str]) -> None:
        """Which portion to look at next, or the last row in it, and which are not coloured as was typed."""
        for portion in self.portions:
            at = portion.prefix == looked_at
            portion.looked_at = at and not last_row
            portion.recoloured = portion.prefix in recoloured
            if at and last_row:
                portion.rows[-1].fields["material"].widget.attrs["data-focus"] = True

    @property
    def designs(self) -> tuple[PortionDesign, ...]:
        """Only of a valid form."""
        return tuple(portion.design for portion in self.portions)

    @property
    def is_full(self) -> bool:
        return len(self.portions) >= MOST_PORTIONS

    @property
    def problems(self) -> list[str]:
        return [*(words for portion in self.portions for words in portion.problems), *self.errors]

    def blame(self, error: DesignError | ValidationError) -> None:
        """Put what was refused beside the portion that it is about, else above all."""
        if isinstance(error, ValidationError):
            self.errors += error.messages
            return
        at_fault = next((one for one in self.portions if one.title == error.portion), None)
        if at_fault is None:
            self.errors.append(error.message)
        else:
            at_fault.blame(error.field, error.message, error.material)

    def _none_twice(self) -> bool:
        seen: set[str] = set()
        twice = False
        for portion in self.portions:
            name = portion.cleaned_data.get("name", "").casefold()
            if name and name in seen:
                portion.add_error("name", gettext("Another portion is called so already."))
                twice = True
            seen.add(name)
        return not twice


def keys(data: QueryDict) -> list[str]:
    """The keys of the portions in the order of pouring, no more than there may be."""
    found = [key for key in dict.fromkeys(data.getlist(KEYS)) if key.isalnum() and len(key) <= 8]
    return found[: MOST_PORTIONS + 1]


def typed_rows(data: QueryDict, key: str) -> list[IntoRow]:
    """What goes into the portion of that key, as it was typed."""
    columns = (data.getlist(f"{key}-{name}") for name in IntoRow._fields)
    return [IntoRow(*values) for values in zip_longest(*columns, fillvalue="")][: MOST_ADDITIONS + 1]


def _initial(design: PortionDesign, natural: str) -> dict[str, Any]:
    scent = AS_RECIPE if design.fragrance is None else OWN if design.fragrance else UNSCENTED
    return {
        "name": design.name,
        "size_by": design.size_by,
        "size": design.size,
        "colour": design.looks(natural),
        "made": not design.colour,
        "technique": design.technique,
        "trace": design.trace,
        "scent": scent,
        "fragrance": design.fragrance or None,
        "destination": design.destination,
        "other_mould": design.other_mould.pk if design.other_mould else "",
    }


def _rows_of(design: PortionDesign) -> list[IntoRow]:
    return [
        IntoRow(str(one.material.pk), f"{one.amount.normalize():f}", one.amount_by.value)
        for one in design.additions
    ]


def _size_field(by: str) -> forms.Field:
    """What the size is typed as, by what it means."""
    label = gettext("Amount")
    if by == PortionBy.GRAMS:
        return WeightField(label=label, required=False)
    if by == PortionBy.LAYER:
        return LengthField(label=label, required=False)
    return PercentField(label=label, required=False, min=Decimal("0.01"), max=100)


def _choices(catalogue: Catalogue) -> list[tuple[StrOrPromise, StrOrPromise | list[tuple[str, str]]]]:
    """What may go into a portion by its kind, what is on the shelf first."""
    found: list[tuple[StrOrPromise, StrOrPromise | list[tuple[str, str]]]] = [
        ("", gettext("Choose what goes in"))
    ]
    for kind in (Kind.COLOUR, Kind.FRAGRANCE, Kind.ADDITIVE):
        materials = sorted(
            (one for one in catalogue.of(kind) if not one.acid and one.contents is None),
            key=lambda one: one.pk not in catalogue.held,
        )
        if materials:
            found.append((kind.plural, [(str(one.pk), one.name) for one in materials]))
    return found
