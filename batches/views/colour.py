"""The colour of a batch, measured in the photo of a note."""

from __future__ import annotations

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.translation import gettext, ngettext
from django.views.decorators.http import require_POST

from batches.forms.colour import ALL_MARKED, ColourForm, shown_of
from batches.models import Batch, CureNote
from batches.queries.colour import portions_of
from batches.queries.picture import picture_of
from batches.services import colour as service
from batches.views.asked import posted
from batches.views.keeping import keep
from soapshop.core.access import SignedInRequest, maker_required
from soapshop.core.models import Photo


@maker_required
def colour(request: SignedInRequest, pk: int, note_pk: int) -> HttpResponse:
    """Tap the card and the soap in a photo. A tap sent as it is comes back as a page that shows it."""
    note, photo = _find(pk, note_pk)
    readings = list(note.readings.all())
    shown = shown_of(request.GET, readings)
    portions = portions_of(note.cure.batch)
    form = ColourForm(posted(request), photo=photo, portions=portions, shown=shown)
    if form.is_bound and (tapped := form.after_tap()):
        return redirect(f"{request.path}?{tapped}")
    done = keep(form, service.measure, note=note, by=request.user)
    if done and form.is_valid():
        count = len(done)
        words = ngettext("%(count)s colour is in the record.", "%(count)s colours are in the record.", count)
        messages.success(request, words % {"count": count})
        return redirect(_in_the_record(note))
    picture = picture_of(note.cure.batch)
    context = {"cure": note.cure, "note": note, "picture": picture, "form": form, "measured": bool(readings)}
    context["all_marked"] = ALL_MARKED
    return render(request, "batches/colour.html", context, status=422 if form.errors else 200)


@require_POST
@maker_required
def remove(request: SignedInRequest, pk: int, note_pk: int) -> HttpResponse:
    """Forget what was measured in a photo; the photo stays."""
    note, _photo = _find(pk, note_pk)
    service.remove(note=note, by=request.user)
    messages.success(request, gettext("The colour measured in this photo is removed; the photo stays."))
    return redirect(_in_the_record(note))


def _find(pk: int, note_pk: int) -> tuple[CureNote, Photo]:
    """The note of that batch and its photo; 404 where there is none, or no photo with it."""
    notes = CureNote.objects.filter(cure__batch__in=Batch.objects.filter(pk=pk))
    note = get_object_or_404(notes.select_related("cure__batch", "photo"), pk=note_pk)
    if note.photo is None:
        raise Http404(gettext("This note has no photo."))
    return note, note.photo


def _in_the_record(note: CureNote) -> str:
    return f"{reverse('batches:batch', args=[note.cure.batch_id])}#colour"
