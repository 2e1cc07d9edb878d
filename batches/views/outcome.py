"""Meant and made: the cut face beside the cross-section that it was to have."""

from __future__ import annotations

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext

from batches.forms.cure import OutcomeForm
from batches.forms.errors import add_error
from batches.queries.outcome import outcome_of
from batches.queries.picture import picture_of
from batches.services.outcome import note_outcome
from batches.views.asked import posted
from batches.views.cure import find_cure
from soapshop.core.access import SignedInRequest, maker_required


@maker_required
def outcome(request: SignedInRequest, pk: int) -> HttpResponse:
    """Note what came out as meant and what to do otherwise."""
    cure = find_cure(pk)
    if not cure.is_cut:
        messages.info(request, gettext("Cut it first: its face shows what came of it."))
        return redirect("batches:batch", pk)
    kept = outcome_of(cure.batch)
    initial = {"as_meant": kept.as_meant, "otherwise": kept.otherwise} if kept else {}
    form = OutcomeForm(posted(request), request.FILES or None, initial=initial)
    if form.is_valid():
        try:
            note_outcome(cure=cure, on=timezone.localdate(), by=request.user, **form.cleaned_data)
            messages.success(request, gettext("It stands on the recipe's page, for the next time."))
            return redirect("batches:batch", pk)
        except ValidationError as error:
            add_error(form, error)
    context = {"cure": cure, "picture": picture_of(cure.batch), "form": form, "kept": kept}
    return render(request, "batches/outcome.html", context, status=422 if form.errors else 200)
