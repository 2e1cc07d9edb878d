from __future__ import annotations

from decimal import Decimal

import pytest
from django.core.exceptions import PermissionDenied, ValidationError
from django.urls import reverse

from soapshop.core.forms import SettingsForm
from soapshop.core.models import Workshop
from soapshop.core.queries import history_of, workshop
from soapshop.core.services.workshop import renew_calendar, save_settings
from tests.bad_input import NO_POSITIVE_NUMBERS, REFUSED_TEXTS, STRANGE_TEXTS

GOOD = {
    "name": "Lindenbath Soap",
    "address": "Yard 3\n1010 Lindenbath",
    "label_region": "UK",
    "currency": "gbp",
    "units": "us",
    "time_zone": "Europe/London",
    "scale_step": "0,5",
    "fine_scale_step": "0.01",
    "fine_scale_up_to": "200",
    "cure_days": "35",
    "cure_days_olive": "200",
    "cure_days_potash": "10",
    "turn_every": "5",
    "weigh_in_every": "0",
    "expiry_warning_days": "90",
    "watch_from": "0.2 %",
    "stop_from": "12",
}
DAYS = ("cure_days", "cure_days_olive", "cure_days_potash", "expiry_warning_days")
INTERVALS = ("turn_every", "weigh_in_every")
FINE = ("fine_scale_step", "fine_scale_up_to")
NUMBERS = ("scale_step", *DAYS, "watch_from", "stop_from")


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
    assert (kept.address.splitlines(), kept.label_region) == (["Yard 3", "1010 Lindenbath"], "UK")
    assert (kept.cure_days_olive, kept.cure_days_potash) == (200, 10)
    assert (kept.turn_every, kept.weigh_in_every) == (5, 0)
    assert (kept.fine_scale_step, kept.fine_scale_up_to) == (Decimal("0.01"), Decimal(200))
    assert history_of(kept).get().detail["currency"] == "GBP"


def test_the_page_shows_what_is_set(owner, client_of):
    client = client_of(owner)
    save(client)

    page = client.get(reverse("core:settings")).content.decode()

    assert 'value="Lindenbath Soap"' in page
    assert 'value="0.5"' in page
    assert '<option value="Europe/London" selected>' in page


@pytest.mark.parametrize("field", ["scale_step", *DAYS])
@pytest.mark.parametrize("text", [*NO_POSITIVE_NUMBERS, "0"])
def test_a_number_that_will_not_do_is_refused(field, text):
    assert list(SettingsForm(GOOD | {field: text}).errors) == [field]


@pytest.mark.parametrize("field", INTERVALS)
@pytest.mark.parametrize("text", [*NO_POSITIVE_NUMBERS, "91", "1.5"])
def test_an_interval_that_will_not_do_is_refused(field, text):
    assert list(SettingsForm(GOOD | {field: text}).errors) == [field]


@pytest.mark.parametrize("field", FINE)
@pytest.mark.parametrize("text", [*NO_POSITIVE_NUMBERS, "0"])
def test_a_finer_scale_that_will_not_do_is_refused(field, text):
    errors = SettingsForm(GOOD | {field: text}).errors

    assert list(errors) == ([] if text == "" else [field])


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
        ({"label_region": "XX"}, "label_region", "not one of the available choices"),
        ({"address": "x" * 401}, "address", "at most 400"),
        ({"turn_every": "91"}, "turn_every", "90"),
        ({"fine_scale_step": ""}, "fine_scale_step", "leave both empty"),
        ({"fine_scale_up_to": ""}, "fine_scale_up_to", "leave both empty"),
        ({"fine_scale_step": "0.5"}, "fine_scale_step", "finer than the first"),
        ({"scale_step": "50", "fine_scale_step": "20", "fine_scale_up_to": "10"}, "fine_scale_up_to", "less"),
    ],
)
def test_each_bound_is_told_beside_its_field(owner, client_of, changes, field, message):
    answer = save(client_of(owner), **changes)

    assert answer.status_code == 422
    assert message in answer.context["form"].errors[field][0]
    assert not history_of(workshop()).exists()
    assert (workshop().name, workshop().cure_days) == ("Our workshop", 28)


@pytest.mark.parametrize("text", REFUSED_TEXTS)
@pytest.mark.parametrize("field", ["name", "address", "currency", "time_zone", "units", "label_region"])
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


def test_a_workshop_needs_no_address_and_no_second_scale(owner, client_of):
    assert save(client_of(owner), address="", fine_scale_step="", fine_scale_up_to="").status_code == 302

    assert (workshop().address, workshop().fine_scale_step, workshop().fine_scale_up_to) == ("", None, None)


@pytest.mark.parametrize(
    ("grams", "step"), [("0.4", "0.01"), ("200", "0.01"), ("200.01", "1"), ("1268", "1"), (199.9, "0.01")]
)
def test_little_is_weighed_on_the_finer_scale(grams, step):
    kept = Workshop(scale_step=Decimal(1), fine_scale_step=Decimal("0.01"), fine_scale_up_to=Decimal(200))

    assert kept.step_for(Decimal(grams) if isinstance(grams, str) else grams) == Decimal(step)


def test_without_a_finer_scale_all_is_weighed_on_the_one():
    assert Workshop(scale_step=Decimal(5)).step_for(Decimal(3)) == 5


def test_the_page_has_the_calendar_the_theme_and_a_way_to_renew_the_link(owner, client_of):
    page = client_of(owner).get(reverse("core:settings")).content.decode()

    assert f"http://testserver/calendar/{workshop().calendar_secret}/soapshop.ics" in page
    assert reverse("core:calendar_renew") in page
    assert "This device" in page


def test_a_makers_own_page_has_the_calendar_but_no_way_to_renew_it(maker, client_of):
    page = client_of(maker).get(reverse("core:account")).content.decode()

    assert workshop().calendar_secret in page
    assert reverse("core:calendar_renew") not in page


def test_the_calendar_says_how_far_its_link_reaches(owner, client_of, settings):
    client = client_of(owner)
    assert "cannot reach it" in client.get(reverse("core:settings")).content.decode()

    settings.PUBLIC_ADDRESS = "https://soap.example"
    page = client.get(reverse("core:settings")).content.decode()
    assert "https://soap.example/calendar/" in page
    assert "cannot reach it" not in page


def test_only_an_owner_renews_the_calendar(maker):
    with pytest.raises(PermissionDenied):
        renew_calendar(by=maker)
