"""Connect a phone: what the page says at each kind of address, and cookies that keep the two apart."""

from __future__ import annotations

import re
from datetime import UTC, datetime
from hashlib import sha256

import pytest
from django.core.exceptions import MiddlewareNotUsed
from django.http import HttpResponse
from django.test import Client
from django.urls import reverse

from soapshop.authority import Authority
from soapshop.core.middleware import SecureCookiesMiddleware
from soapshop.core.views.connect import device_of
from tests.factories import PASSWORD

ANDROID = "Mozilla/5.0 (Linux; Android 14; Pixel 8) AppleWebKit/537.36 Chrome/120.0 Mobile Safari/537.36"
IPHONE = "Mozilla/5.0 (iPhone; CPU iPhone OS 17_2 like Mac OS X) AppleWebKit/605.1.15 Safari/604.1"
COMPUTER = "Mozilla/5.0 (Windows NT 10.0; Win64; x64) Gecko/20100101 Firefox/121.0"


@pytest.fixture
def authority(settings, tmp_path) -> Authority:
    """As `serve` leaves it, with HTTP on 8000 and HTTPS on 8443."""
    settings.TLS_DIR, settings.PLAIN_PORT, settings.SECURE_PORT = tmp_path / "tls", 8000, 8443
    settings.ALLOWED_HOSTS = ["192.0.2.7", "localhost"]
    made = Authority(settings.TLS_DIR)
    made.server_file(["localhost"], datetime.now(UTC))
    return made


def page(*, secure: bool = False, host: str = "192.0.2.7:8000", **headers: str) -> str:
    answer = Client().get(reverse("core:connect"), secure=secure, headers={"Host": host, **headers})
    assert answer.status_code == 200
    return answer.content.decode()


def test_the_plain_address_says_what_is_missing_and_leads_to_the_secure_one(db, authority):
    words = page()

    assert "This is the plain address." in words
    assert words.count("At the secure address only") == 3
    assert 'href="https://192.0.2.7:8443/connect/"' in words
    assert "http://192.0.2.7:8000/connect/" in words
    for line in authority.fingerprint().splitlines():
        assert line in words


def test_the_secure_address_says_so_and_still_shows_where_a_new_phone_begins(db, authority):
    words = page(secure=True, host="192.0.2.7:8443")

    assert "This is the secure address." in words
    assert "At the secure address only" not in words
    assert "http://192.0.2.7:8000/connect/" in words
    assert "https://192.0.2.7:8443" in words


def test_on_the_computer_of_the_workshop_phones_are_led_to_its_address_in_the_network(
    db, authority, monkeypatch
):
    monkeypatch.setattr("soapshop.core.addresses.lan_address", lambda: "192.0.2.9")
    words = page(host="localhost:8000")

    assert "needs no secure address" in words
    assert "http://192.0.2.9:8000/connect/" in words
    assert "https://192.0.2.9:8443" in words


def test_without_a_secure_address_the_page_says_that(db, settings):
    settings.SECURE_PORT = 0
    words = page(host="localhost")

    assert "There is no secure address" in words
    assert "Download the certificate" not in words


def test_a_domain_of_its_own_asks_for_no_certificate(db, settings):
    settings.PUBLIC_ADDRESS = "https://soap.example"
    words = page(host="testserver")

    assert 'href="https://soap.example/connect/"' in words
    assert "Download the certificate" not in words


@pytest.mark.parametrize(
    ("user_agent", "device", "first"),
    [(ANDROID, "android", "Android"), (IPHONE, "ios", "iPhone and iPad"), (COMPUTER, "computer", "Another")],
)
def test_the_steps_for_the_device_at_hand_are_open(db, authority, user_agent, device, first):
    opened = re.findall(r"<details[^>]* open>\s*<summary>([^<]+)", page(**{"User-Agent": user_agent}))

    assert device_of(user_agent) == device
    assert len(opened) == 1
    assert opened[0].startswith(first)


def test_the_certificate_is_given_to_anyone_and_is_the_one_with_that_fingerprint(db, authority):
    answer = Client().get(reverse("core:authority"), headers={"Host": "192.0.2.7:8000"})

    assert answer["Content-Type"] == "application/x-x509-ca-cert"
    assert answer["Content-Disposition"] == 'inline; filename="soapshop-authority.crt"'
    assert sha256(answer.content).digest().hex(" ").upper() == " ".join(authority.fingerprint().split("\n"))
    assert b"PRIVATE" not in answer.content


def test_a_stranger_learns_nothing_of_the_workshop(db, authority, maker):
    assert maker.username not in page()


class TestPourPage:
    WORDS = "This is the plain address"

    def test_says_at_the_plain_address_what_a_phone_cannot_do(self, authority, maker, client_of):
        page = client_of(maker).get(reverse("batches:pour"), headers={"Host": "192.0.2.7:8000"})
        assert self.WORDS in page.content.decode()
        assert reverse("core:connect") in page.content.decode()

    def test_says_nothing_of_it_on_the_computer_of_the_workshop(self, authority, maker, client_of):
        page = client_of(maker).get(reverse("batches:pour"), headers={"Host": "localhost:8000"})
        assert page.status_code == 200
        assert self.WORDS not in page.content.decode()


# --- cookies ------------------------------------------------------------------------------------------------


def sign_in(client: Client, *, secure: bool, username: str) -> HttpResponse:
    address = reverse("core:sign_in")
    form = client.get(address, secure=secure)
    sent = {"csrfmiddlewaretoken": token_of(form), "username": username, "password": PASSWORD}
    origin = "https://testserver" if secure else "http://testserver"
    return client.post(address, sent, secure=secure, headers={"Origin": origin})


def token_of(page: HttpResponse) -> str:
    found = re.search(r'csrfmiddlewaretoken" value="(\w+)"', page.content.decode())
    assert found
    return found[1]


def test_the_secure_address_has_cookies_of_its_own_that_never_travel_unencrypted(maker):
    client = Client(enforce_csrf_checks=True)
    assert sign_in(client, secure=True, username=maker.username).status_code == 302

    assert set(client.cookies) == {"__Host-soapshop_session", "__Host-soapshop_csrf"}
    for cookie in client.cookies.values():
        assert (cookie["secure"], cookie["path"], cookie["domain"]) == (True, "/", "")
        assert cookie["httponly"]
        assert cookie["samesite"] == "Lax"


def test_one_can_sign_in_at_both_and_sign_out_of_one(maker):
    client = Client(enforce_csrf_checks=True)
    assert sign_in(client, secure=True, username=maker.username).status_code == 302
    assert client.get(reverse("core:account")).status_code == 302  # not signed in there yet
    assert sign_in(client, secure=False, username=maker.username).status_code == 302
    assert not client.cookies["soapshop_session"]["secure"]
    assert client.get(reverse("core:account")).status_code == 200

    account = client.get(reverse("core:account"), secure=True)
    sent = {"csrfmiddlewaretoken": token_of(account)}
    client.post(reverse("core:sign_out"), sent, secure=True, headers={"Origin": "https://testserver"})

    assert client.get(reverse("core:account"), secure=True).status_code == 302
    assert client.get(reverse("core:account")).status_code == 200


def test_a_cookie_of_the_plain_address_does_not_count_at_the_secure_one(maker, client_of):
    client = client_of(maker)  # an unencrypted cookie could have been overheard

    assert client.get(reverse("core:account")).status_code == 200
    assert client.get(reverse("core:account"), secure=True).status_code == 302


def test_light_or_dark_is_kept_at_each(db):
    client = Client()
    client.post(reverse("core:theme"), {"theme": "dark", "next": "/"}, secure=True)
    client.post(reverse("core:theme"), {"theme": "light", "next": "/"})

    assert 'data-theme="dark"' in client.get(reverse("core:connect"), secure=True).content.decode()
    assert 'data-theme="light"' in client.get(reverse("core:connect")).content.decode()


def test_where_all_is_secure_cookies_keep_their_names(settings):
    settings.TLS = True
    with pytest.raises(MiddlewareNotUsed):
        SecureCookiesMiddleware(lambda request: HttpResponse())


def test_browsers_are_not_told_to_use_https_for_ever(authority, db):
    answer = Client().get(reverse("core:connect"), secure=True, headers={"Host": "192.0.2.7:8443"})

    assert "Strict-Transport-Security" not in answer
