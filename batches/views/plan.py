"""Planning a pour: which batch to go on with, which recipe to start from, how much of it."""

from __future__ import annotations

from urllib.parse import urlencode
from uuid import uuid4

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext

from batches.forms.errors import add_error
from batches.forms.pour import PlanForm, ReasonForm, SizeBy
from batches.models import Batch
from batches.queries import pour as queries
from batches.queries.picture import picture_of
from batches.queries.pour import PlanSheet
from batches.services.plan import drop_batch, plan_batch
from batches.views.asked import posted, search_words
from inventory.models import Kind, Material
from recipes.errors import DesignError
from recipes.explain import explain, explain_card
from recipes.models import Version
from soapshop.core.access import SignedInRequest, maker_required

KEPT_IN_ADDRESS = ("size", "amount", "use_up", "planned_for", "code", "note")


def pour_list(request: SignedInRequest) -> HttpResponse:
    """Batches to go on with, and recipes to plan from."""
    words = search_words(request.GET)
    found = queries.pour_list(search=words, page=request.GET.get("page"))
    template = "batches/pour.html#results" if request.htmx else "batches/pour.html"
    return render(request, template, {"found": found, "q": words})


@maker_required
def plan(request: SignedInRequest, version_pk: int) -> HttpResponse:
    """The card of a recipe at a size, against the shelf; htmx asks for it again while the size is typed."""
    version = get_object_or_404(Version.objects.with_ingredients(), pk=version_pk)
    asked = request.POST or {**_usual(), **request.GET.dict()}
    form = PlanForm(asked, units=request.workshop.units, materials=_weighed(version))
    sheet = _sheet(form, version)
    sent = request.method == "POST" and not request.htmx
    if sheet and sent and (answer := _next_page(request, form, version, sheet)):
        return answer
    template = "batches/plan.html#result" if request.htmx else "batches/plan.html"
    status = 422 if sent and form.errors else 200
    context: dict[str, object] = {"form": form, "version": version, "sheet": sheet}
    if sheet:
        context["how"] = explain(sheet.as_sheet, request.workshop)
        context["how_each"] = explain_card(sheet.as_sheet, request.workshop)
    return render(request, template, context, status=status)


@maker_required
def drop(request: SignedInRequest, pk: int) -> HttpResponse:
    """Take a batch off the list that will not be poured."""
    batch = get_object_or_404(Batch.objects.select_related("version__recipe"), pk=pk)
    form = ReasonForm(posted(request))
    if not batch.is_open:
        return redirect("batches:batch", pk)
    if form.is_valid():
        try:
            drop_batch(batch=batch, reason=form.cleaned_data["reason"], by=request.user)
            messages.success(request, gettext("%(batch)s is off the list.") % {"batch": batch.code})
            return redirect("batches:pour")
        except ValidationError as error:
            add_error(form, error)
    context = {"batch": batch, "form": form, "picture": picture_of(batch)}
    return render(request, "batches/drop.html", context, status=422 if form.errors else 200)


def _weighed(version: Version) -> list[Material]:
    """What the recipe weighs, fats first: what a pour can use up."""
    materials = [one.material for one in version.ingredients.all()]
    return [one for one in materials if one.kind != Kind.PACKAGING]


def _usual() -> dict[str, object]:
    return {"size": SizeBy.RECIPE, "planned_for": timezone.localdate().isoformat(), "key": uuid4()}


def _sheet(form: PlanForm, version: Version) -> PlanSheet | None:
    """The plan as the form asks for it; None where it says in the form why not."""
    if not form.is_valid():
        return None
    try:
        return queries.plan_sheet(version, form.wanted, form.cleaned_data["planned_for"])
    except DesignError as error:
        form.refuse(error)
        return None


def _next_page(
    request: SignedInRequest, form: PlanForm, version: Version, sheet: PlanSheet
) -> HttpResponse | None:
    """Where the button that was pressed leads; None where the form then says why it leads nowhere."""
    button = request.POST.get("do")
    if button == "work_out":
        kept = {name: request.POST.get(name, "") for name in KEPT_IN_ADDRESS}
        return redirect(f"{request.path}?{urlencode(kept)}")
    if button == "as_planned" and sheet.short:
        form.add_error(
            None, gettext("Poured as planned needs everything in stock. What is short stands on the card.")
        )
        return None
    batch = _planned(request, form, version)
    if batch is None:
        return None
    if button == "as_planned":
        return redirect(reverse("batches:confirm", args=[batch.pk]) + "?as_planned=on")
    return redirect("batches:weigh", batch.pk)


def _planned(request: SignedInRequest, form: PlanForm, version: Version) -> Batch | None:
    data = form.cleaned_data
    try:
        return plan_batch(
            version=version,
            size=form.wanted,
            planned_for=data["planned_for"],
            key=data["key"],
            by=request.user,
            code=data["code"],
            note=data["note"],
        )
    except ValidationError as error:
        add_error(form, error)
        return None
