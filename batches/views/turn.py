"""Turning bars on the rack: one batch with a tap, or several at once."""

from __future__ import annotations

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import ngettext

from batches.forms.cure import TurnForm
from batches.models import Cure
from batches.queries.rack import to_turn
from batches.services.cure import turn_all
from batches.views.asked import posted
from soapshop.core.access import SignedInRequest, maker_required


@maker_required
def turn(request: SignedInRequest) -> HttpResponse:
    """What lies on the rack, with what is due ticked; sent, all that is ticked is turned."""
    today = timezone.localdate()
    rows = to_turn(today, request.workshop)
    due = [str(row.cure.batch_id) for row in rows if row.due]
    form = TurnForm(posted(request), cures=[row.cure for row in rows], initial={"batch": due})
    if form.is_valid() and (turned := _turned(request, form)):
        words = ngettext(
            "Turned %(batch)s. It stands in the record.",
            "Turned %(count)s batches. It stands in the record.",
            len(turned),
        )
        messages.success(request, words % {"batch": turned[0].batch.code, "count": len(turned)})
        return redirect("batches:today" if form.cleaned_data["back"] == "today" else "batches:rack")
    context = {"form": form, "rows": rows}
    return render(request, "batches/turn.html", context, status=422 if form.errors else 200)


def _turned(request: SignedInRequest, form: TurnForm) -> list[Cure] | None:
    try:
        return turn_all(cures=form.cleaned_data["batch"], key=form.cleaned_data["key"], by=request.user)
    except ValidationError as error:
        form.add_error(None, error)
        return None
