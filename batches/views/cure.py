"""The pages of the cure record: out of the mould, cut, note, weigh in."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.forms import Form
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext, ngettext

from batches.forms.cure import CutForm, NoteForm, UnmouldForm, WeighInForm
from batches.models import Batch, Cure
from batches.queries.picture import picture_of
from batches.services import cure as service
from batches.views.asked import posted
from batches.views.keeping import keep
from soapshop.core.access import SignedInRequest, maker_required
from soapshop.core.templatetags.soapshop import day, short_day


@maker_required
def unmould(request: SignedInRequest, pk: int) -> HttpResponse:
    """Note the day a batch came out of its mould."""
    cure = find_cure(pk)
    form = UnmouldForm(posted(request))
    keep(form, service.unmould, cure=cure, by=request.user)
    if form.is_valid():
        on = short_day(form.cleaned_data["on"])
        words = gettext("%(batch)s came out of the mould %(day)s.")
        messages.success(request, words % {"batch": cure.batch.code, "day": on})
        return redirect("batches:batch", pk)
    return cure_page(request, "unmould", cure, form)


@maker_required
def cut(request: SignedInRequest, pk: int) -> HttpResponse:
    """Note the cut: the bars go on the rack."""
    cure = find_cure(pk)
    if request.method == "GET" and cure.is_cut:
        words = gettext("%(batch)s was cut %(day)s.")
        messages.info(request, words % {"batch": cure.batch.code, "day": day(cure.cut_on)})
        return redirect("batches:batch", pk)
    initial = {"bars": cure.batch.bars_planned}
    form = CutForm(posted(request), units=request.workshop.units, initial=initial)
    done = keep(form, service.cut, cure=cure, by=request.user)
    if done and form.is_valid():
        messages.success(request, _on_the_rack(done))
        return redirect("batches:batch", pk)
    return cure_page(request, "cut", cure, form)


@maker_required
def note(request: SignedInRequest, pk: int) -> HttpResponse:
    """Add words, a photo or both."""
    cure = find_cure(pk)
    form = NoteForm(posted(request), request.FILES or None)
    keep(form, service.add_note, cure=cure, by=request.user)
    if form.is_valid():
        messages.success(request, gettext("The note is in the record."))
        return redirect("batches:batch", pk)
    return cure_page(request, "note", cure, form)


@maker_required
def weigh_in(request: SignedInRequest, pk: int) -> HttpResponse:
    """Note what some bars weigh on a day of the cure."""
    cure = find_cure(pk)
    if request.method == "GET" and not cure.is_cut:
        messages.info(request, gettext("Bars can be weighed once the batch is cut."))
        return redirect("batches:batch", pk)
    last = cure.weigh_ins.last()
    initial = {"bars": last.bars} if last else {}
    form = WeighInForm(posted(request), units=request.workshop.units, initial=initial)
    keep(form, service.weigh_in, cure=cure, by=request.user)
    if form.is_valid():
        messages.success(request, gettext("The weight is in the record."))
        return redirect("batches:batch", pk)
    return cure_page(request, "weigh_in", cure, form, last=last)


def find_cure(batch_pk: int) -> Cure:
    """The cure of a batch; 404 where there is none, as before the pour."""
    # Asked for by the batch's own key: there a number larger than the database holds finds nothing.
    batch = Batch.objects.filter(pk=batch_pk)
    return get_object_or_404(Cure.objects.select_related("batch"), batch__in=batch)


def cure_page(request: SignedInRequest, name: str, cure: Cure, form: Form, **more: Any) -> HttpResponse:
    """A page with a form about a cure; 422 where the form was refused."""
    context = {"cure": cure, "picture": picture_of(cure.batch), "form": form, **more}
    return render(request, f"batches/{name}.html", context, status=422 if form.errors else 200)


def _on_the_rack(cure: Cure) -> str:
    bars = cure.bars_cut or 0
    words = ngettext(
        "%(bars)s bar is on the rack, ready %(day)s.", "%(bars)s bars are on the rack, ready %(day)s.", bars
    )
    return words % {"bars": bars, "day": day(cure.ready_on)}
