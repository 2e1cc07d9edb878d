from __future__ import annotations

import pytest
from django.test import Client
from django.urls import reverse


@pytest.mark.parametrize("theme", ["light", "dark", "auto"])
def test_the_theme_is_kept_on_this_device_and_the_page_is_shown_again(db, theme):
    client = Client()

    answer = client.post(reverse("core:theme"), {"theme": theme, "next": "/people/?q=1"})

    assert (answer.status_code, answer["Location"]) == (302, "/people/?q=1")
    assert client.cookies["theme"].value == theme


@pytest.mark.parametrize("theme", ["", "pink", "<script>", "dark\0", "light; x=1"])
def test_an_unknown_theme_changes_nothing(db, theme):
    client = Client()

    assert client.post(reverse("core:theme"), {"theme": theme}).status_code == 302
    assert "theme" not in client.cookies


@pytest.mark.parametrize(
    "target",
    [
        "https://elsewhere.example/",
        "//elsewhere.example",
        "javascript:alert(1)",
        "people",
        "-1",
        "be\0fore",
        "/\\elsewhere.example",
        "",
    ],
)
def test_the_theme_switch_leads_nowhere_else(db, target):
    assert Client().post(reverse("core:theme"), {"theme": "dark", "next": target})["Location"] == "/"


def test_the_theme_switch_is_a_form_not_a_link(db):
    assert Client().get(reverse("core:theme")).status_code == 405


def test_health_needs_no_sign_in(db):
    answer = Client().get(reverse("core:health"))

    assert (answer.status_code, answer.content, answer["Content-Type"]) == (200, b"ok", "text/plain")
