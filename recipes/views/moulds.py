"""Pages of the workshop's moulds: the list, a mould with its cut, and the form that writes one down."""

from __future__ import annotations

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext, gettext_lazy
from django.views.decorators.http import require_POST

from recipes.cutting import cut_of, filling_of
from recipes.forms.moulds import FillForm, MouldForm, says
from recipes.models import Mould
from recipes.queries import moulds as queries
from recipes.services.moulds import archive_mould, create_mould, update_mould
from shared.density import USUAL
from soapshop.core.access import SignedInRequest, maker_required
from soapshop.core.queries import history_of

QUARTERS = (("¼", 0.25), ("½", 0.5), ("¾", 0.75), (gettext_lazy("full"), 1.0))


def mould_list(request: SignedInRequest) -> HttpResponse:
    """All moulds with what they hold, or those put away."""
    archived = "archived" in request.GET
    context = {"rows": queries.mould_rows(archived=archived), "archived": archived}
    return render(request, "recipes/moulds.html", context)


def mould(request: SignedInRequest, pk: int) -> HttpResponse:
    """What a mould holds, how it is cut and what its pours have told; filled to the height that is asked."""
    found = get_object_or_404(Mould, pk=pk)
    learnt, depth = queries.learnt(found), round(found.vessel.depth_mm, 1)
    asked = any(name in request.GET for name in FillForm.base_fields)
    form = FillForm(request.GET if asked else None, depth=depth)
    height, loss = form.asked()
    batter = learnt.batter
    fillings = [(word, filling_of(found, round(depth * part, 1), batter)) for word, part in QUARTERS]
    context = {
        "mould": found,
        "learnt": learnt,
        "form": form,
        "asked": asked and form.is_valid(),
        "fillings": fillings,
        "full": fillings[-1][1],
        "filling": filling_of(found, height, batter),
        "loss": loss,
        "cut": cut_of(found, height=height, density=batter.mean, loss=loss),
        "usual": USUAL,
        "history": history_of(found),
    }
    return render(request, "recipes/mould.html", context, status=422 if form.errors else 200)


@maker_required
def mould_add(request: SignedInRequest) -> HttpResponse:
    """Write down a mould."""
    form = MouldForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        try:
            new = create_mould(by=request.user, **form.said())
        except ValidationError as error:
            form.add_error(None, error)
        else:
            messages.success(request, gettext("%(name)s is among your moulds.") % {"name": new})
            return redirect("recipes:mould", new.pk)
    return _form_page(request, form)


@maker_required
def mould_edit(request: SignedInRequest, pk: int) -> HttpResponse:
    """Change what is said of a mould."""
    found = get_object_or_404(Mould, pk=pk)
    form = MouldForm(request.POST or None, initial=says(found))
    if request.method == "POST" and form.is_valid():
        try:
            changed = update_mould(mould=found, by=request.user, **form.said())
        except ValidationError as error:
            form.add_error(None, error)
        else:
            messages.success(request, gettext("Saved %(name)s.") % {"name": changed})
            return redirect("recipes:mould", pk)
    return _form_page(request, form, found)


@require_POST
@maker_required
def mould_archive(request: SignedInRequest, pk: int) -> HttpResponse:
    """Put a mould away, or bring it back."""
    found = get_object_or_404(Mould, pk=pk)
    back = "back" in request.POST
    archive_mould(mould=found, archived=not back, by=request.user)
    words = (
        gettext("%(name)s is among your moulds again.")
        if back
        else gettext("%(name)s is put away. Nothing of it is lost.")
    )
    messages.success(request, words % {"name": found})
    return redirect("recipes:mould", pk)


def _form_page(request: SignedInRequest, form: MouldForm, found: Mould | None = None) -> HttpResponse:
    context = {"form": form, "mould": found}
    return render(request, "recipes/mould_form.html", context, status=422 if form.errors else 200)
