"""The shelf, and bars that leave it, are counted again, or come back."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.html import format_html
from django.utils.safestring import SafeString
from django.utils.translation import gettext, ngettext

from batches.forms.shelf import BringBackForm, EmbedsForm, RecountForm, TakeForm
from batches.models import BarMovement, Cure
from batches.queries.cure import bar_lines
from batches.queries.picture import picture_of
from batches.queries.shelf import shelf as query
from batches.services import bars as service
from batches.views.asked import posted, search_words
from batches.views.cure import cure_page, find_cure
from batches.views.keeping import keep
from inventory.amounts import in_words
from soapshop.core.access import SignedInRequest, maker_required

MOST_IN_A_TAP = 6


def shelf(request: SignedInRequest) -> HttpResponse:
    """The bars that are ready to sell."""
    search = search_words(request.GET)
    held = query(today=timezone.localdate(), search=search, page=request.GET.get("page"))
    template = "batches/shelf.html#results" if request.htmx else "batches/shelf.html"
    return render(request, template, {"shelf": held, "q": search})


@maker_required
def take(request: SignedInRequest, pk: int) -> HttpResponse:
    """Take bars of a batch off: sold, given away, kept or thrown away."""
    cure = find_cure(pk)
    ready = cure.ready_on <= timezone.localdate()
    kind = BarMovement.Kind.SOLD if ready else BarMovement.Kind.SAMPLE
    form = TakeForm(posted(request), initial={"kind": kind})
    movement = keep(form, service.take_bars, cure=cure, by=request.user)
    if movement and form.is_valid():
        messages.success(request, _taken(movement, cure))
        return redirect(_after(cure))
    in_a_tap = range(1, min(cure.bars_left, MOST_IN_A_TAP) + 1)
    return cure_page(request, "take", cure, form, in_a_tap=in_a_tap, ready=ready, bars=bar_lines(cure))


@maker_required
def make_embeds(request: SignedInRequest, pk: int) -> HttpResponse:
    """Cut bars of a batch up into pieces that are set on the bars of others."""
    cure = find_cure(pk)
    picture = picture_of(cure.batch).look
    initial = {"colour": picture.layers[0].colour}
    form = EmbedsForm(posted(request), units=request.workshop.units, initial=initial)
    lot = keep(form, service.make_embeds, cure=cure, by=request.user)
    if lot and form.is_valid():
        words = gettext("%(pieces)s of %(material)s are in stock.")
        figures = {"pieces": in_words(lot.quantity, lot.material), "material": lot.material}
        messages.success(request, words % figures)
        return redirect("inventory:lot", lot.pk)
    return cure_page(request, "make_embeds", cure, form, bars=bar_lines(cure))


@maker_required
def recount(request: SignedInRequest, pk: int) -> HttpResponse:
    """Set the bars left to what was counted."""
    cure = find_cure(pk)
    form = RecountForm(posted(request))
    keep(form, service.recount, cure=cure, by=request.user)
    if form.is_valid():
        counted = form.cleaned_data["counted"]
        words = ngettext("%(batch)s stands at %(bars)s bar.", "%(batch)s stands at %(bars)s bars.", counted)
        messages.success(request, words % {"batch": cure.batch.code, "bars": counted})
        return redirect(_after(cure))
    return cure_page(request, "recount", cure, form)


@maker_required
def bring_back(request: SignedInRequest, pk: int) -> HttpResponse:
    """Undo that bars were taken off."""
    taken = BarMovement.objects.filter(kind__in=service.REVERSIBLE)
    movement = get_object_or_404(taken.select_related("cure__batch", "by"), pk=pk)
    form = BringBackForm(posted(request))
    keep(form, service.bring_back, movement=movement, by=request.user)
    if form.is_valid():
        words = gettext("%(bars)s of %(batch)s are back.")
        messages.success(request, words % {"bars": _bars(movement), "batch": movement.cure.batch.code})
        return redirect(_after(movement.cure))
    more = {"movement": movement, "bars": _bars(movement), "left": movement.cure.bars_left - movement.count}
    return cure_page(request, "bring_back", movement.cure, form, **more)


def _after(cure: Cure) -> str:
    """Where the bars stood that were counted."""
    if cure.is_cut and cure.ready_on <= timezone.localdate():
        return reverse("batches:shelf")
    return reverse("batches:batch", args=[cure.batch_id])


def _taken(movement: BarMovement, cure: Cure) -> SafeString:
    """What was taken off, with the way back."""
    return format_html(
        '{}. <a href="{}">{}</a>',
        gettext("%(bars)s of %(recipe)s, %(batch)s: %(what)s")
        % {
            "bars": _bars(movement),
            "recipe": cure.batch.frozen["recipe"],
            "batch": cure.batch.code,
            "what": movement.get_kind_display().lower(),
        },
        reverse("batches:bring_back", args=[movement.pk]),
        gettext("Bring back"),
    )


def _bars(movement: BarMovement) -> str:
    count = abs(movement.count)
    return ngettext("%(bars)s bar", "%(bars)s bars", count) % {"bars": count}
