"""What the phone at the bench asks and tells when the network is back. All answers are JSON."""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from typing import Any, Concatenate, ParamSpec, cast

from django.contrib.auth.decorators import login_not_required
from django.core.exceptions import ValidationError
from django.http import HttpResponse, JsonResponse
from django.middleware.csrf import get_token
from django.shortcuts import get_object_or_404
from django.template.loader import render_to_string
from django.utils.translation import gettext
from django.views.decorators.http import require_POST

from batches.forms.deeds import read_deed
from batches.models import Batch
from batches.queries import pack as queries
from batches.queries.picture import picture_of
from batches.services.conflicts import Choice, Held
from batches.services.deeds import receive
from batches.services.errors import NotSafe
from batches.services.told import Told, kind_of, plain
from soapshop.core.access import SignedInRequest
from soapshop.core.models import User

P = ParamSpec("P")
View = Callable[Concatenate[SignedInRequest, P], HttpResponse]


def signed_in(view: View[P]) -> View[P]:
    """Others are told so in JSON: a phone has no use for the page to sign in on."""

    @login_not_required
    @wraps(view)
    def answered(request: SignedInRequest, *args: P.args, **kwargs: P.kwargs) -> HttpResponse:
        if not request.user.is_authenticated:
            return JsonResponse({"result": "signed_out"}, status=401)
        return view(request, *args, **kwargs)

    return cast("View[P]", answered)


def makers_only(view: View[P]) -> View[P]:
    @wraps(view)
    def answered(request: SignedInRequest, *args: P.args, **kwargs: P.kwargs) -> HttpResponse:
        if not request.user.is_maker:
            words = gettext("Only a maker or an owner may do this.")
            return JsonResponse({"result": "not_allowed", "words": words}, status=403)
        return view(request, *args, **kwargs)

    return cast("View[P]", answered)


@signed_in
def hello(request: SignedInRequest) -> HttpResponse:
    """Who is signed in, and the token for what they send next."""
    user = request.user
    person = {"id": user.pk, "name": str(user), "owner": user.is_owner, "maker": user.is_maker}
    return JsonResponse({"person": person, "csrf": get_token(request)})


@signed_in
@makers_only
def pack(request: SignedInRequest, pk: int) -> HttpResponse:
    """A batch as a phone keeps it."""
    batch = get_object_or_404(Batch, pk=pk)
    packed = queries.pack(batch, by=request.user, workshop=request.workshop)
    packed["batch"]["picture"] = render_to_string("batches/_cut.html", {"picture": picture_of(batch)})
    return JsonResponse(packed)


@signed_in
@makers_only
@require_POST
def deeds(request: SignedInRequest, pk: int) -> HttpResponse:
    """Takes in one deed that was done on a phone."""
    batch = get_object_or_404(Batch, pk=pk)
    try:
        told, by = read_deed(request.POST.get("deed", ""), request.FILES.get("photo"))
        if by != request.user.pk:
            return _of_another_person(by)
        return JsonResponse({"result": receive(batch=batch, told=told, by=request.user)})
    except Held as held:
        return _held(held, told)
    except ValidationError as error:
        refused = {"result": "refused", "words": " ".join(error.messages)}
        field = {"field": "stop_reason"} if isinstance(error, NotSafe) else {}
        return JsonResponse(refused | field, status=422)


def _of_another_person(by: int) -> HttpResponse:
    person = User.objects.filter(pk=by).first() or gettext("somebody else")
    words = gettext("These were done by %(person)s. They are sent once %(person)s signs in on this phone.")
    return JsonResponse({"result": "other_person", "words": words % {"person": person}}, status=403)


def _held(held: Held, told: Told) -> HttpResponse:
    choices = [_choice(choice, told) for choice in held.choices]
    answer = {"result": "held", "title": held.title, "words": held.words, "choices": choices}
    return JsonResponse(answer, status=409)


def _choice(choice: Choice, told: Told) -> dict[str, Any]:
    other = choice.instead and kind_of(choice.instead)
    return {
        "words": choice.words,
        "first": [{"kind": kind_of(each), "content": plain(each)} for each in choice.first],
        "kind": None if other == told.kind else other,
        "content": plain(choice.instead) if choice.instead else None,
        "then": choice.then,
    }
