from __future__ import annotations

import pytest
from django.core.exceptions import PermissionDenied, ValidationError
from django.urls import reverse

from soapshop.core.models import Role, User
from soapshop.core.queries import history_of
from soapshop.core.services import people
from tests.bad_input import REFUSED_TEXTS, STRANGE_TEXTS
from tests.factories import PASSWORD, OwnerFactory, UserFactory

NEW = {
    "username": "rosa",
    "name": "Rosa",
    "role": "maker",
    "password": "seven slow snails hum",
    "password_again": "seven slow snails hum",
}


def add(client, **changes):
    return client.post(reverse("core:person_add"), NEW | changes)


def edit(client, person: User, **changes):
    fields = {"name": person.name, "role": person.role, "is_active": "on"} | changes
    return client.post(reverse("core:person_edit", args=[person.pk]), fields)


def test_an_owner_adds_a_maker_who_can_sign_in(owner, client_of, client):
    answer = add(client_of(owner))

    assert answer["Location"] == reverse("core:people")
    rosa = User.objects.get(username="rosa")
    assert (rosa.role, rosa.is_staff, str(rosa)) == (Role.MAKER, False, "Rosa")
    assert history_of(rosa).get().what == "Added Rosa as maker"
    sign_in = client.post(reverse("core:sign_in"), {"username": "rosa", "password": NEW["password"]})
    assert sign_in.status_code == 302


def test_the_form_sent_twice_adds_one_person(owner, client_of):
    client = client_of(owner)
    add(client)

    again = add(client)

    assert again.status_code == 422
    assert "already signs in with this name" in again.content.decode()
    assert User.objects.filter(username="rosa").count() == 1


def test_a_name_is_taken_whatever_its_capitals(owner, client_of):
    client = client_of(owner)
    add(client)

    assert add(client, username="ROSA").status_code == 422


@pytest.mark.parametrize(
    "changes",
    [
        *({"username": text} for text in [*STRANGE_TEXTS, *REFUSED_TEXTS, "", "two words"]),
        *({"name": text} for text in REFUSED_TEXTS),
        *({"role": text} for text in ["", "boss", "<script>", "\0"]),
        {"password": "short", "password_again": "short"},
        {"password_again": "another one altogether"},
    ],
)
def test_what_will_not_do_is_refused_and_nobody_is_added(owner, client_of, changes):
    answer = add(client_of(owner), **changes)

    assert answer.status_code == 422
    assert "field-errors" in answer.content.decode()
    assert User.objects.count() == 1


@pytest.mark.parametrize("text", STRANGE_TEXTS)
def test_a_strange_name_is_shown_as_it_was_typed_and_does_nothing(owner, client_of, text):
    client = client_of(owner)

    assert add(client, name=text).status_code == 302

    page = client.get(reverse("core:people")).content.decode()
    assert "<script>alert" not in page
    assert User.objects.get(username="rosa").name == text


def test_an_owner_changes_name_and_role(owner, maker, client_of):
    edit(client_of(owner), maker, name="Anna", role="viewer")

    maker.refresh_from_db()
    assert (maker.name, maker.role) == ("Anna", Role.VIEWER)
    assert history_of(maker).get().detail == {"name": "Anna", "role": "viewer"}


def test_what_is_saved_unchanged_leaves_no_history(owner, maker, client_of):
    edit(client_of(owner), maker)

    assert not history_of(maker)


def test_a_new_owner_may_use_the_rescue_tool_and_a_former_one_may_not(owner, maker, client_of):
    edit(client_of(owner), maker, role="owner")
    assert client_of(maker).get("/rescue/").status_code == 200

    edit(client_of(owner), maker, role="maker")
    assert client_of(maker).get("/rescue/").status_code == 302


def test_an_owner_switches_an_account_off_and_on(owner, maker, client_of):
    client = client_of(owner)

    client.post(reverse("core:person_edit", args=[maker.pk]), {"name": "M", "role": "maker"})
    maker.refresh_from_db()
    assert not maker.is_active
    assert "Switched off" in client.get(reverse("core:people")).content.decode()

    edit(client, maker)
    maker.refresh_from_db()
    assert maker.is_active


@pytest.mark.parametrize(
    ("fields", "field"),
    [({"role": "maker", "is_active": "on"}, "role"), ({"role": "owner"}, "is_active")],
)
def test_the_last_owner_stays_owner_and_can_sign_in(owner, client_of, fields, field):
    OwnerFactory(is_active=False)

    answer = client_of(owner).post(
        reverse("core:person_edit", args=[owner.pk]), {"name": "New name"} | fields
    )

    assert answer.status_code == 422
    assert answer.context["form"].errors == {field: [people.LAST_OWNER]}
    assert f'id="id_{field}_error"' in answer.content.decode()
    owner.refresh_from_db()
    assert (owner.role, owner.is_active) == (Role.OWNER, True)
    assert owner.name != "New name"


def test_the_last_owner_may_change_their_name(owner, client_of):
    assert edit(client_of(owner), owner, name="Rosa").status_code == 302

    owner.refresh_from_db()
    assert owner.name == "Rosa"


def test_one_of_two_owners_may_step_down_and_lands_on_a_page_they_may_see(owner, client_of):
    OwnerFactory()

    answer = edit(client_of(owner), owner, role="maker")

    assert answer["Location"] == "/"
    owner.refresh_from_db()
    assert owner.role == Role.MAKER


def test_an_owner_gives_someone_a_new_password(owner, maker, client_of):
    theirs = client_of(maker)
    fields = {"new-password": NEW["password"], "new-password_again": NEW["password"]}

    answer = client_of(owner).post(reverse("core:person_password", args=[maker.pk]), fields)

    assert answer["Location"] == reverse("core:people")
    maker.refresh_from_db()
    assert maker.check_password(NEW["password"])
    assert theirs.get(reverse("core:account")).status_code == 302
    assert history_of(maker).get().by == owner


@pytest.mark.parametrize("password", ["", "short", "\0" * 12, "x" * 10_000, "password123"])
def test_a_new_password_that_will_not_do_is_refused(owner, maker, client_of, password):
    fields = {"new-password": password, "new-password_again": password}

    answer = client_of(owner).post(reverse("core:person_password", args=[maker.pk]), fields)

    assert answer.status_code == 422
    maker.refresh_from_db()
    assert maker.check_password(PASSWORD)


def test_the_services_themselves_ask_for_an_owner(maker):
    other = UserFactory()
    with pytest.raises(PermissionDenied):
        people.add_person(username="x", name="", role="maker", password=NEW["password"], by=maker)
    with pytest.raises(PermissionDenied):
        people.change_person(person=other, name="", role="owner", is_active=True, by=maker)
    with pytest.raises(PermissionDenied):
        people.set_password(person=other, password=NEW["password"], by=maker)


def test_the_list_takes_as_many_queries_for_twenty_people_as_for_ten(
    owner, client_of, django_assert_num_queries
):
    client = client_of(owner)
    for _ in range(2):
        UserFactory.create_batch(10)
        with django_assert_num_queries(4):
            client.get(reverse("core:people"))


@pytest.mark.parametrize("changes", [{"role": "boss"}, {"name": "x" * 81}, {"name": "be\0fore"}])
def test_a_change_that_will_not_do_is_refused_and_stays_typed(owner, maker, client_of, changes):
    answer = edit(client_of(owner), maker, **changes)

    (field,) = changes
    assert answer.status_code == 422
    assert answer.context["form"][field].value() == changes[field]
    maker.refresh_from_db()
    assert maker.role == Role.MAKER


def test_an_unknown_role_is_refused_by_the_service_too(owner):
    with pytest.raises(ValidationError) as refused:
        people.add_person(username="x", name="", role="boss", password=NEW["password"], by=owner)

    assert "role" in refused.value.message_dict
