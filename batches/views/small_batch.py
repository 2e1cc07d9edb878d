"""Batter that was kept back is poured as a small batch of its own."""

from __future__ import annotations

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext

from batches.forms.small_batch import SmallBatchForm
from batches.queries.kept import small_batch as query
from batches.services.small_batch import pour_kept
from batches.views.asked import posted
from batches.views.keeping import keep
from inventory.models import Lot
from soapshop.core.access import SignedInRequest, maker_required


@maker_required
def small_batch(request: SignedInRequest, lot_pk: int) -> HttpResponse:
    """What it is, how much of it there is and until when; then it goes to the rack."""
    try:
        found = query(lot_pk, timezone.localdate())
    except Lot.DoesNotExist as error:
        raise Http404(gettext("There is no such batter.")) from error
    form = SmallBatchForm(
        posted(request),
        request.FILES or None,
        units=request.workshop.units,
        ask_why=found.stopped and request.user.is_owner,
        initial={"bars": found.bars},
    )
    batch = keep(form, pour_kept, lot=found.kept.lot, by=request.user)
    if batch and form.is_valid():
        words = gettext("%(batch)s is poured. It waits on the rack to be cut.")
        messages.success(request, words % {"batch": batch.code})
        return redirect("batches:batch", batch.pk)
    context = {"found": found, "kept": found.kept, "form": form}
    return render(request, "batches/small_batch.html", context, status=422 if form.errors else 200)
