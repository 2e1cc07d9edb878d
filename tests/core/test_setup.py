from __future__ import annotations

import json
import stat

import pytest
from django.core.exceptions import ValidationError
from django.test import Client
from django.urls import reverse

from soapshop.core.models import History, Role, User
from soapshop.core.queries import workshop
from soapshop.core.services import setup
from tests.bad_input import REFUSED_TEXTS, STRANGE_TEXTS
from tests.factories import OwnerFactory

PASSWORD = "seven slow snails hum"


@pytest.fixture(autouse=True)
def data_folder(settings, tmp_path, db):
    settings.DATA_DIR = tmp_path
    return tmp_path


def visit(code: str | None, client: Client | None = None, **changes):
    fields = {
        "code": code or "",
        "workshop_name": "Lindenbath Soap",
        "username": "rosa",
        "name": "Rosa",
        "password": PASSWORD,
        "password_again": PASSWORD,
    }
    return (client or Client()).post(reverse("core:setup"), fields | changes)


def test_every_way_leads_to_the_first_visit_while_nobody_has_an_account():
    client = Client()

    assert client.get(reverse("core:account"))["Location"].startswith(reverse("core:sign_in"))
    assert client.get(reverse("core:sign_in"))["Location"] == reverse("core:setup")
    assert client.get(reverse("core:setup")).status_code == 200


def test_the_code_makes_the_first_owner_and_signs_them_in():
    client = Client()

    answer = visit(setup.ensure_setup_code(), client)

    assert answer["Location"] == reverse("core:settings")
    assert client.get(reverse("core:settings")).status_code == 200
    rosa = User.objects.get()
    assert (rosa.username, rosa.role, rosa.is_staff) == ("rosa", Role.OWNER, True)
    assert rosa.check_password(PASSWORD)
    assert workshop().name == "Lindenbath Soap"
    assert History.objects.get().what == "Set up Lindenbath Soap"


def test_the_code_is_good_for_one_visit_only():
    code = setup.ensure_setup_code()
    visit(code)

    assert visit(code, username="second").status_code == 404
    assert Client().get(reverse("core:setup")).status_code == 404
    assert User.objects.count() == 1


@pytest.mark.parametrize("change", [str.lower, lambda code: code.replace("-", ""), lambda code: f" {code} "])
def test_the_code_is_taken_however_it_is_typed(change):
    assert visit(change(setup.ensure_setup_code())).status_code == 302


@pytest.mark.parametrize("code", ["AAAA-BBBB-CCCC", "🧼", "<script>", "é" * 12])
def test_a_wrong_code_makes_nobody(code):
    setup.ensure_setup_code()

    answer = visit(code)

    assert answer.status_code == 422
    assert str(setup.WRONG_CODE) in answer.content.decode()
    assert "Lindenbath Soap" in answer.content.decode()
    assert not User.objects.exists()


def test_after_ten_wrong_codes_the_right_one_is_spent_too():
    code = setup.ensure_setup_code()
    for _ in range(10):
        visit("AAAA-BBBB-CCCC")

    answer = visit(code)

    assert answer.status_code == 422
    assert "Start the server again" in answer.content.decode()
    assert visit(setup.ensure_setup_code()).status_code == 302


def test_a_new_start_prints_a_new_code_and_the_old_one_stops_working():
    old, new = setup.ensure_setup_code(), setup.ensure_setup_code()

    assert old != new
    assert visit(old).status_code == 422
    assert visit(new).status_code == 302


def test_there_is_no_code_once_there_is_an_account(data_folder):
    setup.ensure_setup_code()
    OwnerFactory()

    assert setup.ensure_setup_code() is None
    assert not list(data_folder.iterdir())


def test_only_a_hash_is_kept_readable_by_the_server_alone(data_folder):
    code = setup.ensure_setup_code()

    (kept,) = data_folder.iterdir()

    assert code not in kept.read_text()
    assert code.replace("-", "") not in kept.read_text()
    assert stat.S_IMODE(kept.stat().st_mode) == 0o600
    assert json.loads(kept.read_text())["tries"] == 0


@pytest.mark.parametrize(
    "changes",
    [
        *({"username": text} for text in [*STRANGE_TEXTS, *REFUSED_TEXTS, ""]),
        *({field: text} for field in ("code", "workshop_name", "name") for text in REFUSED_TEXTS),
        {"workshop_name": ""},
        {"workshop_name": "   "},
        {"password": "short", "password_again": "short"},
        {"password": "rosa rosa", "password_again": "rosa rosa"},
        {"password_again": "another one altogether"},
    ],
)
def test_what_will_not_do_is_refused_and_the_code_stays_good(changes):
    code = setup.ensure_setup_code()

    answer = visit(**{"code": code} | changes)

    assert answer.status_code == 422
    assert not User.objects.exists()
    assert workshop().name == "Our workshop"
    assert visit(code).status_code == 302


def test_a_workshop_name_is_checked_at_the_terminal_too():
    with pytest.raises(ValidationError) as refused:
        setup.found(workshop_name="x" * 81, username="one", name="", password=PASSWORD)

    assert set(refused.value.message_dict) == {"workshop_name"}
    assert not User.objects.exists()


def test_the_second_of_two_first_visits_is_refused():
    setup.found(workshop_name="First", username="one", name="", password=PASSWORD)

    with pytest.raises(ValidationError, match="already set up"):
        setup.found(workshop_name="Second", username="two", name="", password=PASSWORD)

    assert workshop().name == "First"
