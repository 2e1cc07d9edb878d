from __future__ import annotations

import pytest
from django.conf import settings
from django.test import Client
from django.urls import reverse

from soapshop.core.queries import history_of
from tests.bad_input import EVERYTHING
from tests.factories import PASSWORD, OwnerFactory, UserFactory

NEW = "seven slow snails hum"


def sign_in(client: Client, username: str, password: str = PASSWORD, **extra):
    return client.post(reverse("core:sign_in"), {"username": username, "password": password, **extra})


def is_signed_in(client: Client) -> bool:
    return client.get(reverse("core:account")).status_code == 200


def test_a_maker_signs_in_and_comes_to_where_they_wanted(maker):
    client = Client()
    wanted = client.get(reverse("core:account"))
    assert wanted.status_code == 302

    answer = sign_in(client, maker.username, next=reverse("core:account"))

    assert answer["Location"] == reverse("core:account")
    assert is_signed_in(client)


def test_signing_in_never_leads_to_another_site(maker):
    answer = sign_in(Client(), maker.username, next="https://elsewhere.example/")

    assert answer["Location"] == reverse(settings.LOGIN_REDIRECT_URL)


def test_a_wrong_password_is_told_and_the_name_is_kept(maker):
    client = Client()

    answer = sign_in(client, maker.username, "wrong")

    assert answer.status_code == 422
    assert "do not belong together" in answer.content.decode()
    assert maker.username in answer.content.decode()
    assert not is_signed_in(client)


def test_one_who_was_switched_off_does_not_come_in(db):
    gone = UserFactory(is_active=False)
    client = Client()

    assert sign_in(client, gone.username).status_code == 422
    assert not is_signed_in(client)


def test_one_who_is_switched_off_is_out_at_once(maker, client_of):
    client = client_of(maker)
    assert is_signed_in(client)

    type(maker).objects.filter(pk=maker.pk).update(is_active=False)

    assert not is_signed_in(client)


def test_after_ten_wrong_passwords_even_the_right_one_has_to_wait(maker):
    client = Client()
    for _ in range(9):
        assert sign_in(client, maker.username, "wrong").status_code == 422

    tenth = sign_in(client, maker.username, "wrong")

    assert tenth.status_code == 429
    assert "Too many tries" in tenth.content.decode()
    assert sign_in(client, maker.username).status_code == 429
    assert not is_signed_in(client)


def test_the_others_are_not_kept_waiting(maker, owner):
    for _ in range(10):
        sign_in(Client(), maker.username, "wrong")

    assert sign_in(Client(), owner.username).status_code == 302


@pytest.mark.parametrize("text", EVERYTHING)
def test_signing_in_with_rubbish_is_refused(maker, text):
    assert sign_in(Client(), text, text).status_code == 422


def test_signing_out_takes_a_button_not_a_link(maker, client_of):
    client = client_of(maker)

    client.get(reverse("core:sign_out"))
    assert is_signed_in(client)

    assert client.post(reverse("core:sign_out"))["Location"] == reverse("core:sign_in")
    assert not is_signed_in(client)


def test_one_who_is_signed_in_has_no_need_of_the_sign_in_page(maker, client_of):
    assert client_of(maker).get(reverse("core:sign_in"))["Location"] == reverse(settings.LOGIN_REDIRECT_URL)


def change(client: Client, current: str = PASSWORD, password: str = NEW, again: str | None = None):
    fields = {"current": current, "password": password, "password_again": again or password}
    return client.post(reverse("core:account"), fields)


def test_a_maker_sets_a_new_password_and_stays_signed_in_here_only(maker, client_of):
    here, elsewhere = client_of(maker), client_of(maker)

    assert change(here)["Location"] == reverse("core:account")

    maker.refresh_from_db()
    assert maker.check_password(NEW)
    assert is_signed_in(here)
    assert not is_signed_in(elsewhere)
    assert history_of(maker).get().by == maker


@pytest.mark.parametrize(
    ("fields", "message"),
    [
        ({"current": "wrong"}, "This is not the password you have."),
        ({"again": "something else"}, "The two passwords differ."),
        ({"password": "short"}, "too short"),
        ({"password": "password123"}, "too common"),
        ({"password": "84629371508"}, "entirely numeric"),
        ({"password": "x" * 10_000}, "at most 128 characters"),
        ({"password": "nul\0nul nul nul"}, "Null characters"),
    ],
)
def test_a_password_that_will_not_do_is_refused_beside_its_field(maker, client_of, fields, message):
    answer = change(client_of(maker), **fields)

    assert answer.status_code == 422
    assert message in answer.content.decode()
    assert "aria-invalid" in answer.content.decode()
    maker.refresh_from_db()
    assert maker.check_password(PASSWORD)


def test_a_password_never_comes_back_in_a_page(maker, client_of):
    answer = change(client_of(maker), current="my secret that is wrong")

    assert "my secret" not in answer.content.decode()
    assert NEW not in answer.content.decode()


def test_a_form_without_its_token_is_refused_in_plain_words(db):
    OwnerFactory()

    answer = Client(enforce_csrf_checks=True).post(reverse("core:sign_in"), {"username": "x"})

    assert answer.status_code == 403
    assert "Please send that again" in answer.content.decode()
