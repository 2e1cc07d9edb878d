"""A walk over every address of the app. Each test collects what is wrong on all pages, and finds nothing."""

from __future__ import annotations

import logging
from collections.abc import Iterator
from urllib.parse import urlencode

import pytest
from django.conf import settings
from django.db import connection, transaction
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import resolve, reverse

from soapshop.core.models import User
from tests.architecture.pages import ANYONE, PAGES, Cast, Page, make_cast, names_in_use
from tests.architecture.reading import Form, Reading
from tests.bad_input import EMOJI, NUL, SCRIPT, TOO_LONG

BAD_VALUES = ["", "NaN", "-1", "1e400", "9" * 400, SCRIPT, EMOJI, NUL, TOO_LONG]
BAD_QUESTIONS = ["-1", "9" * 400, SCRIPT, NUL]
MOST_QUERIES = 15
QUESTIONS = ["q", "tag", "page", "kind", "material", "search", "sort", "supplier", "size", "amount"]


@pytest.fixture
def cast(db) -> Cast:
    return make_cast()


@pytest.fixture(autouse=True)
def _quiet(caplog) -> None:
    """Refusals are what these tests ask for; no need to log each."""
    caplog.set_level(logging.CRITICAL, logger="django.request")


def pages(least: int = ANYONE) -> Iterator[tuple[str, Page]]:
    return ((name, page) for name, page in PAGES.items() if page.least >= least)


class Browser(Client):
    """Takes an error for an answer, and reads the files it is sent to their end, which closes them."""

    def request(self, **request):
        answer = super().request(**request)
        if answer.streaming:
            b"".join(answer.streaming_content)
        return answer


def browser(user: User) -> Browser:
    client = Browser(raise_request_exception=False)
    client.force_login(user, backend="django.contrib.auth.backends.ModelBackend")
    return client


def test_every_address_is_known_here_and_no_other():
    assert names_in_use() == set(PAGES)


def test_nobody_gets_in_without_signing_in(cast):
    client = Client()
    wrong = []
    for name, page in pages(least=ANYONE + 1):
        for method in (client.get, client.post):
            answer = method(page.address(name, cast))
            expected = (401, "") if page.json else (302, reverse("core:sign_in"))
            if (answer.status_code, answer.headers.get("Location", "").split("?")[0]) != expected:
                wrong.append((name, method.__name__, answer.status_code))
    assert wrong == []


def test_the_rescue_tool_asks_all_but_owners_to_sign_in(cast, client_of):
    assert Client().get("/rescue/")["Location"].startswith("/rescue/login/")
    assert client_of(cast.maker).get("/rescue/")["Location"].startswith("/rescue/login/")
    assert client_of(cast.owner).get("/rescue/").status_code == 200


def test_those_who_may_not_are_told_so(cast):
    wrong = []
    for name, page in pages():
        for user in cast.those_below(page.least):
            client = browser(user)
            methods = [client.post] if page.get == 405 else [client.get, client.post]
            for method in methods:
                answer = method(page.address(name, cast))
                headings = 0 if page.json else 1
                if answer.status_code != 403 or Reading(answer.content.decode()).headings != headings:
                    wrong.append((name, user.role, method.__name__, answer.status_code))
    assert wrong == []


def test_those_who_may_get_a_whole_page(cast):
    wrong = []
    for name, page in pages():
        answer = browser(cast.least_of(page.least)).get(page.address(name, cast))
        if answer.status_code != page.get:
            wrong.append((name, answer.status_code, answer.headers.get("Location")))
        elif page.html and answer.status_code == 200:
            read = Reading(answer.content.decode())
            if (read.headings, read.language, bool(read.title)) != (1, settings.LANGUAGE_CODE, True):
                wrong.append((name, f"{read.headings} h1", read.language, read.title))
    assert wrong == []


def test_nothing_on_a_page_would_be_blocked_by_its_own_policy(cast):
    wrong = {}
    for name, page in pages():
        answer = browser(cast.owner).get(page.address(name, cast))
        if page.html and (blocked := Reading(answer.content.decode()).blocked):
            wrong[name] = blocked
    assert wrong == {}


def test_what_does_not_exist_is_not_found(cast):
    client = browser(cast.owner)
    wrong = []
    for name, page in pages(least=ANYONE + 1):
        for address in page.addresses_of_nothing(name, cast):
            answer = client.post(address) if page.get == 405 else client.get(address)
            if answer.status_code != 404:
                wrong.append((name, address, answer.status_code))
    assert wrong == []


def test_no_page_asks_the_database_too_often(cast):
    wrong = []
    for name, page in pages():
        client = browser(cast.least_of(page.least))
        with CaptureQueriesContext(
            connection,
        ) as queries:
            client.get(page.address(name, cast))
        if len(queries) > MOST_QUERIES:
            wrong.append((name, len(queries)))
    assert wrong == []


def test_no_question_in_an_address_breaks_a_page(cast):
    client = browser(cast.owner)
    wrong = []
    for name, page in pages():
        for value in BAD_QUESTIONS:
            question = urlencode(dict.fromkeys(QUESTIONS, value[:2000]))
            answer = client.get(f"{page.address(name, cast)}?{question}")
            if answer.status_code not in {page.get, 404, 422}:
                wrong.append((name, value[:20], answer.status_code))
    assert wrong == []


def forms_of_all_pages(cast: Cast, client: Client) -> dict[tuple[str, frozenset[str]], Form]:
    """Each form that a page sends by POST, once; but the one that would sign us out."""
    forms = {}
    for name, page in pages():
        address = page.address(name, cast)
        answer = client.get(address)
        if page.html and answer.status_code == 200:
            for form in Reading(answer.content.decode(), address).forms:
                if form.action != reverse("core:sign_out"):
                    forms[form.action, frozenset(form.fields)] = form
    return forms


def test_no_bad_input_in_any_form_breaks_a_page(cast):
    client = browser(cast.owner)
    wrong = []
    forms = forms_of_all_pages(cast, client)
    for form in forms.values():
        for value in BAD_VALUES:
            for button in [*form.buttons[:2], ("", "")]:
                data = form.hidden | dict.fromkeys(form.fields, value) | dict([button])
                if (status := status_of_a_try(client, form.action, data)) not in {200, 302, 422}:
                    wrong.append((form.action, value[:20], button, status))
    assert len(forms) > 30
    assert wrong == []


def test_no_bad_key_in_any_form_breaks_a_page(cast):
    client = browser(cast.owner)
    wrong = []
    for form in forms_of_all_pages(cast, client).values():
        for value in ["", "-1", "9" * 400, SCRIPT, NUL]:
            data = dict.fromkeys(form.hidden, value) | form.fields
            if (status := status_of_a_try(client, form.action, data)) not in {200, 302, 404, 422}:
                wrong.append((form.action, value[:20], status))
    assert wrong == []


def status_of_a_try(client: Client, action: str, data: dict[str, str]) -> int:
    """What a POST is answered, and then as if it had not been."""
    with transaction.atomic():
        answer = client.post(action, data)
        transaction.set_rollback(True)
    return answer.status_code


def test_the_walk_would_find_a_page_that_breaks_the_policy():
    bad = (
        '<html lang="en"><p style="x">a</p><script>1</script><a href="javascript:x" onclick="y">b</a></html>'
    )

    assert len(Reading(bad).blocked) == 4


def test_every_page_has_a_view_that_resolves_to_it(cast):
    for name, page in pages():
        assert resolve(page.address(name, cast)).view_name == name
