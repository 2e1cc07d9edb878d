from __future__ import annotations

from decimal import Decimal

import pytest
from django.core.exceptions import PermissionDenied, ValidationError
from django.urls import reverse

from soapshop.core.forms import SettingsForm
from soapshop.core.queries import history_of, workshop
from soapshop.core.services.workshop import save_settings
from tests.bad_input import NO_POSITIVE_NUMBERS, REFUSED_TEXTS, STRANGE_TEXTS

GOOD = {
    "name": "Lindenbath Soap",
    "currency": "gbp",
    "units": "us",
    "time_zone": "Europe/London",
    "scale_step": "0,5",
    "cure_days": "35",
    "expiry_warning_days": "90",
    "watch_from": "0.2 %",
    "stop_from": "12",
}
NUMBERS = ("scale_step", "cure_days", "expiry_warning_days", "watch_from", "stop_from")


def save(client, **changes):
    return client.post(reverse("core:settings"), GOOD | changes)


def test_an_owner_saves_all_settings(owner, client_of):
    answer = save(client_of(owner))

    assert answer["Location"] == reverse("core:settings")
    kept = workshop()
    assert (kept.name, kept.currency, kept.units) == ("Lindenbath Soap", "GBP", "us")
    assert (kept.time_zone, kept.cure_days, kept.expiry_warning_days) == ("Europe/London", 35, 90)
    assert (kept.scale_step, kept.watch_from, kept.stop_from) == (
        Decimal("0.5"),
        Decimal("0.2"),
        Decimal(12),
    )
    assert history_of(kept).get().detail["currency"] == "GBP"


def test_the_page_shows_what_is_set(owner, client_of):
    client = client_of(owner)
    save(client)

    page = client.get(reverse("core:settings")).content.decode()

    assert 'value="Lindenbath Soap"' in page
    assert 'value="0.5"' in page
    assert '<option value="Europe/London" selected>' in page


@pytest.mark.parametrize("field", ["scale_step", "cure_days", "expiry_warning_days"])
@pytest.mark.parametrize("text", [*NO_POSITIVE_NUMBERS, "0"])
def test_a_number_that_will_not_do_is_refused(field, text):
    assert list(SettingsForm(GOOD | {field: text}).errors) == [field]


@pytest.mark.parametrize("field", ["watch_from", "stop_from"])
@pytest.mark.parametrize("text", NO_POSITIVE_NUMBERS)
def test_a_bound_that_will_not_do_is_refused(field, text):
    assert list(SettingsForm(GOOD | {field: text}).errors) == [field]


@pytest.mark.parametrize("field", NUMBERS)
@pytest.mark.parametrize("text", ["-1", "<script>alert(1)</script>", "0"])
def test_what_is_refused_is_told_beside_its_field_and_stays_typed(owner, client_of, field, text):
    answer = save(client_of(owner), **{field: text})

    assert answer.status_code == 422
    assert field in answer.context["form"].errors
    assert f'id="id_{field}_error"' in answer.content.decode()
    assert answer.context["form"][field].value() == text
    assert not history_of(workshop()).exists()
    assert (workshop().name, workshop().cure_days) == ("Our workshop", 28)


@pytest.mark.parametrize(
    ("changes", "field", "message"),
    [
        ({"watch_from": "15", "stop_from": "15"}, "stop_from", "above"),
        ({"watch_from": "20", "stop_from": "15"}, "stop_from", "above"),
        ({"stop_from": "50.01"}, "stop_from", "50"),
        ({"currency": "EURO"}, "currency", "at most 3"),
        ({"currency": "E1R"}, "currency", "three letters"),
        ({"currency": "ÉÜR"}, "currency", "three letters"),
        ({"currency": "EU"}, "currency", "three letters"),
        ({"time_zone": "Middle/Earth"}, "time_zone", "not one of the available choices"),
        ({"time_zone": "../../etc/passwd"}, "time_zone", "not one of the available choices"),
        ({"units": "stones"}, "units", "not one of the available choices"),
        ({"name": ""}, "name", "fill this in"),
        ({"cure_days": "731"}, "cure_days", "730"),
        ({"cure_days": "1.5"}, "cure_days", "whole number"),
        ({"scale_step": "0.001"}, "scale_step", "0.01"),
    ],
)
def test_each_bound_is_told_beside_its_field(owner, client_of, changes, field, message):
    answer = save(client_of(owner), **changes)

    assert answer.status_code == 422
    assert message in answer.context["form"].errors[field][0]
    assert not history_of(workshop()).exists()
    assert (workshop().name, workshop().cure_days) == ("Our workshop", 28)


@pytest.mark.parametrize("text", REFUSED_TEXTS)
@pytest.mark.parametrize("field", ["name", "currency", "time_zone", "units"])
def test_words_that_no_database_keeps_are_refused(field, text):
    assert list(SettingsForm(GOOD | {field: text}).errors) == [field]


@pytest.mark.parametrize("text", STRANGE_TEXTS)
def test_a_strange_name_is_shown_and_does_nothing(owner, client_of, text):
    client = client_of(owner)

    assert save(client, name=text).status_code == 302

    assert workshop().name == text
    assert "<script>alert" not in client.get(reverse("core:settings")).content.decode()


def test_the_same_settings_sent_twice_are_one_change(owner, client_of):
    client = client_of(owner)
    save(client)
    save(client)

    assert history_of(workshop()).count() == 1


def test_the_service_itself_asks_for_an_owner_and_for_settings_that_exist(owner, maker):
    with pytest.raises(PermissionDenied):
        save_settings(by=maker, cure_days=10)
    with pytest.raises(TypeError, match="colour"):
        save_settings(by=owner, colour="red")
    with pytest.raises(ValidationError) as refused:
        save_settings(by=owner, watch_from=Decimal(0), time_zone="Middle/Earth")
    assert set(refused.value.message_dict) == {"watch_from", "time_zone"}


@pytest.mark.parametrize(
    ("bad", "fields"),
    [
        ({"cure_days": 0}, {"cure_days"}),
        ({"time_zone": "x" * 65}, {"time_zone"}),
        ({"watch_from": Decimal("0.123"), "stop_from": Decimal(0)}, {"watch_from"}),
        ({"currency": "eur", "scale_step": Decimal(0)}, {"currency", "scale_step"}),
    ],
)
def test_the_service_itself_refuses_what_a_field_cannot_hold(owner, bad, fields):
    with pytest.raises(ValidationError) as refused:
        save_settings(by=owner, **bad)

    assert set(refused.value.message_dict) == fields


def test_the_bounds_of_the_service_hold_without_the_form(owner):
    for bad in ({"watch_from": Decimal(-1)}, {"stop_from": Decimal(51)}, {"stop_from": Decimal("0.1")}):
        with pytest.raises(ValidationError):
            save_settings(by=owner, **bad)
