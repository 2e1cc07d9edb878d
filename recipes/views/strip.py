"""The placing strip of a version: what is asked of it in the address, on a page and as a PDF."""

from __future__ import annotations

from urllib.parse import urlencode

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse

from recipes.forms.strip import StripForm, embeds_of
from recipes.models import Version
from recipes.strip import (
    Strip,
    embeds_in_words,
    figures,
    lay_out,
    loaf_in_words,
    on_page,
    on_paper,
    usual,
)
from shared.cuts import CutError
from shared.placing import PlacingError
from soapshop.core.access import SignedInRequest
from soapshop.core.pdf import PAPER, pdf_answer


def strip(request: SignedInRequest, pk: int, number: int) -> HttpResponse:
    """Say how the loaf is cut and what goes into it, and see where."""
    version = _version(pk, number)
    form, laid_out = _asked(request, version)
    context = {"version": version, "form": form, "strip": laid_out}
    if laid_out is not None:
        context |= {"drawing": on_page(laid_out), "figures": figures(laid_out), "asked": urlencode(form.data)}
    return render(request, "recipes/strip.html", context, status=422 if form.errors else 200)


def strip_pdf(request: SignedInRequest, pk: int, number: int) -> HttpResponse:
    """The strip at its true size; where it cannot be drawn, the page that says why."""
    version = _version(pk, number)
    back = reverse("recipes:strip", args=[pk, number]) + f"?{request.GET.urlencode()}"
    form, laid_out = _asked(request, version)
    if laid_out is None:
        return redirect(back)
    paper = form.cleaned_data["paper"]
    context = {"version": version, "strip": laid_out, "print": on_paper(laid_out, paper), "paper": paper}
    context |= {"loaf": loaf_in_words(laid_out), "embeds": embeds_in_words(laid_out), "embed": form.chosen}
    return pdf_answer(request, "print/strip.html", context, name=f"strip-{version.pk}", back=back)


def _version(pk: int, number: int) -> Version:
    return get_object_or_404(Version.objects.with_ingredients(), recipe__pk=pk, number=number)


def _asked(request: SignedInRequest, version: Version) -> tuple[StripForm, Strip | None]:
    """The form, and the strip if it can be drawn. What the address does not say is as usual."""
    known = usual(version, PAPER[request.workshop.units])
    if embeds := embeds_of(version):
        known["which"] = str(embeds[0].material_id)
    typed = {name: request.GET[name] for name in StripForm.base_fields if name in request.GET}
    if not typed and "length" not in known:
        return StripForm(None, version=version, initial=known), None
    form = StripForm(known | typed, version=version, initial=known)
    if not form.is_valid():
        return form, None
    try:
        return form, lay_out(form.wanted)
    except (CutError, PlacingError) as error:
        form.blame(error)
        return form, None
