from __future__ import annotations

from django.test import Client
from django.urls import reverse
from django.utils import timezone

from soapshop.core.middleware import WorkshopMiddleware
from soapshop.core.models import Workshop
from soapshop.core.queries import workshop
from soapshop.core.services.photos import store_photo
from tests.core.pictures import jpeg, upload
from tests.factories import WorkshopFactory


def policy_of(response) -> dict[str, list[str]]:
    return {part.split()[0]: part.split()[1:] for part in response["Content-Security-Policy"].split("; ")}


def test_a_page_takes_scripts_and_styles_from_here_only(maker, client_of):
    policy = policy_of(client_of(maker).get(reverse("core:account")))

    assert policy["default-src"] == ["'self'"]
    assert policy["object-src"] == policy["base-uri"] == policy["frame-ancestors"] == ["'none'"]
    assert policy["form-action"] == ["'self'"]
    assert not {"script-src", "style-src"} & policy.keys()
    assert "unsafe" not in str(policy)


def test_a_page_is_not_kept_on_the_device_and_differs_for_htmx(maker, client_of):
    page = client_of(maker).get(reverse("core:account"))

    assert "no-store" in page["Cache-Control"]
    assert "HX-Request" in page["Vary"]
    assert page["X-Frame-Options"] == "DENY"
    assert page["X-Content-Type-Options"] == "nosniff"
    assert page["Referrer-Policy"] == "same-origin"
    assert "geolocation=()" in page["Permissions-Policy"]


def test_refusals_and_redirects_carry_the_policy_too(viewer, client_of):
    assert "default-src 'self'" in client_of(viewer).get(reverse("core:people"))["Content-Security-Policy"]
    assert "default-src 'self'" in Client().get(reverse("core:account"))["Content-Security-Policy"]


def test_times_are_those_of_the_workshop_during_a_request(db, rf):
    WorkshopFactory(time_zone="Asia/Kolkata", name="Under the Banyan")
    before = timezone.get_current_timezone_name()
    seen = []

    def view(request):
        seen.append((request.workshop.name, timezone.get_current_timezone_name()))

    WorkshopMiddleware(view)(rf.get("/"))

    assert seen == [("Under the Banyan", "Asia/Kolkata")]
    assert timezone.get_current_timezone_name() == before


def test_without_its_row_the_workshop_has_the_defaults_and_looking_writes_nothing(
    db, django_assert_num_queries
):
    Workshop.objects.all().delete()

    with django_assert_num_queries(1):
        assert workshop().name == "Our workshop"
    assert not Workshop.objects.exists()


def test_a_page_is_small_on_the_wire(maker, client_of):
    client = client_of(maker)
    whole = client.get(reverse("core:account"))
    small = client.get(reverse("core:account"), headers={"accept-encoding": "gzip"})

    assert small["Content-Encoding"] == "gzip"
    assert len(small.content) < len(whole.content) / 2


def test_a_picture_is_sent_as_it_is(maker, client_of):
    photo = store_photo(upload=upload(jpeg()), by=maker)
    answer = client_of(maker).get(
        reverse("core:photo", args=[photo.pk, "full"]), headers={"accept-encoding": "gzip"}
    )

    answer.close()

    assert answer["Content-Type"] == "image/jpeg"
    assert "Content-Encoding" not in answer
