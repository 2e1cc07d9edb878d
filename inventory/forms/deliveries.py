"""The form of a delivery: who brought it and when, and a line for each container."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.db.models import Exists, OuterRef, Q
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from inventory.forms.fields import DayField, MoneyField, amount_field
from inventory.forms.lots import certificate_fields, fill_uncertainty
from inventory.models import Kind, Lot, Material, Supplier
from inventory.services.receiving import ReceivedLine, next_lot_codes
from soapshop.core.fields import KeyField, PlainTextField

MOST_LINES = 40


class DeliveryForm(forms.Form):
    """The head of a delivery."""

    key = KeyField()
    supplier = forms.ModelChoiceField(
        Supplier.objects.filter(archived=False), label=_("Supplier"), empty_label=_("Choose")
    )
    received_on = DayField(label=_("Came on"), initial=timezone.localdate)
    reference = PlainTextField(max_length=60, required=False, label=_("Invoice or order number"))


class LineForm(forms.Form):
    """One container. The fields of a certificate follow the kind of the material, once that is known."""

    material = forms.TypedChoiceField(label=_("Material"), empty_value=None)
    quantity = PlainTextField(
        max_length=40, label=_("How much"), widget=forms.TextInput(attrs={"autocomplete": "off"})
    )
    cost = MoneyField(label=_("Price"))
    best_before = DayField(required=False, label=_("Best before"))
    code = PlainTextField(max_length=40, required=False, label=_("Our lot code"))
    supplier_code = PlainTextField(max_length=60, required=False, label=_("Supplier's lot number"))
    place = PlainTextField(max_length=40, required=False, label=_("Where it stands"))
    note = PlainTextField(max_length=2000, lines=2, required=False, label=_("Note"))

    def __init__(self, *args: Any, materials: Materials, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.use_required_attribute = False
        material: Any = self.fields["material"]
        material.choices, material.coerce = [("", _("Choose")), *materials.groups], materials.find
        redraw = {"hx-post": reverse("inventory:receive"), "hx-target": "#lines", "hx-swap": "outerHTML"}
        material.widget.attrs |= {"hx-trigger": "change", "hx-vals": '{"redraw": "1"}', **redraw}
        self.chosen = materials.find(self["material"].value())
        if not self.chosen:
            self.fields |= certificate_fields(Kind.FAT) | certificate_fields(Kind.ALKALI)
        else:
            self.fields |= certificate_fields(self.chosen.kind, dissolved=self.chosen.dissolved)
            self.fields["quantity"].help_text = _how(self.chosen)

    @property
    def number(self) -> int:
        """Its place in the delivery, as people count."""
        return int(str(self.prefix).removeprefix("line-")) + 1

    @property
    def is_blank(self) -> bool:
        """Whether nothing was typed into it."""
        return not any(str(self[name].value() or "").strip() for name in self.fields)

    @property
    def details(self) -> list[forms.BoundField]:
        """The fields that are folded away."""
        return [
            self[name] for name in self.fields if name not in {"material", "quantity", "cost", "best_before"}
        ]

    @property
    def has_details(self) -> bool:
        return any(field.value() or field.errors for field in self.details)

    def clean(self) -> dict[str, Any]:
        data = self.cleaned_data
        material, typed = data.get("material"), data.get("quantity")
        if material and typed:
            try:
                data["quantity"] = amount_field(material).clean(typed)
            except ValidationError as problem:
                self.add_error("quantity", problem)
        fill_uncertainty(data)
        return data

    def line(self) -> ReceivedLine:
        """What the service takes. Only of a valid form."""
        return ReceivedLine(**self.cleaned_data)


class Materials:
    """The materials that can be received, read once for all lines."""

    def __init__(self) -> None:
        had = Exists(Lot.objects.filter(material=OuterRef("pk")))
        bought = Material.objects.in_use().exclude(kind=Kind.BATTER)
        found = bought.annotate(ours=Q(reference="") | had).order_by("name")
        self.by_pk: dict[str, Any] = {str(each.pk): each for each in found}

    def find(self, value: object) -> Material | None:
        return self.by_pk.get(str(value))

    @property
    def groups(self) -> list[tuple[str, list[tuple[int, str]]]]:
        """Choices by kind: what the workshop has had or wrote down, then the rest of the catalogue."""
        rest = gettext("%(kind)s, from the catalogue")
        groups = [
            *((kind.plural, self._of(kind, ours=True)) for kind in Kind),
            *((rest % {"kind": kind.plural}, self._of(kind, ours=False)) for kind in Kind),
        ]
        return [(label, choices) for label, choices in groups if choices]

    def _of(self, kind: Kind, *, ours: bool) -> list[tuple[int, str]]:
        return [
            (each.pk, each.name) for each in self.by_pk.values() if each.kind == kind and each.ours == ours
        ]


class DeliveryForms:
    """The head and the lines together, as they were sent or as they begin."""

    def __init__(self, data: Mapping[str, Any] | None = None, initial: dict[str, Any] | None = None) -> None:
        initial = initial or {}
        self.head = DeliveryForm(data, initial=initial)
        self._materials = Materials()
        count = _line_count(data)
        self.lines = [
            LineForm(
                data, prefix=f"line-{place}", materials=self._materials, initial=initial if place == 0 else {}
            )
            for place in range(count)
        ]
        self._propose_codes()

    def redraw(self, *, another: bool = False, without: str = "") -> None:
        """Start again with what was typed, unchecked: with one line more, or without one."""
        rows = [
            {name: line[name].value() for name in line.fields}
            for place, line in enumerate(self.lines)
            if str(place) != without
        ]
        if (another or not rows) and len(rows) < MOST_LINES:
            rows.append({})
        self.head = DeliveryForm(initial={name: self.head[name].value() for name in self.head.fields})
        self.lines = [
            LineForm(prefix=f"line-{place}", materials=self._materials, initial=row)
            for place, row in enumerate(rows)
        ]
        if another or without:
            self.lines[-1].fields["material"].widget.attrs["autofocus"] = True
        self._propose_codes()

    def _propose_codes(self) -> None:
        chosen = [line for line in self.lines if line.chosen]
        codes = next_lot_codes([line.chosen for line in chosen if line.chosen])
        for line, code in zip(chosen, codes, strict=True):
            line.fields["code"].help_text = gettext("Left empty, it becomes %(code)s.") % {"code": code}

    def is_valid(self) -> bool:
        """Lines that were left blank do not count, but one at least is needed."""
        good = self.head.is_valid()
        for form in self.filled:
            good = form.is_valid() and good
        return good

    @property
    def filled(self) -> list[LineForm]:
        return [form for form in self.lines if not form.is_blank] or self.lines[:1]

    @property
    def full(self) -> bool:
        return len(self.lines) >= MOST_LINES

    @property
    def has_errors(self) -> bool:
        return self.head.is_bound and (bool(self.head.errors) or any(form.errors for form in self.filled))


def _line_count(data: Mapping[str, Any] | None) -> int:
    """How many lines were sent; nonsense counts as one."""
    sent = str(data.get("lines", "")) if data is not None else ""
    return (
        min(int(sent), MOST_LINES)
        if sent.isascii() and sent.isdecimal() and 0 < len(sent) < 3 and int(sent)
        else 1
    )


def _how(material: Material) -> str:
    if material.counted:
        return gettext("In pieces.")
    if material.density:
        return gettext("Such as 5 kg, 2 lb 3 oz or 1.5 L.")
    return gettext("Such as 5 kg or 2 lb 3 oz.")
