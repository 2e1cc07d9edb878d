"""How a fragrance behaves: what the batches told is kept, and said in one line."""

from html import unescape

import pytest
from django.core.exceptions import ValidationError
from django.urls import reverse

from inventory.models import Behaviour
from inventory.services.behaviour import tell_behaviour
from tests.factories import MaterialFactory

pytestmark = pytest.mark.django_db


@pytest.fixture
def lavender():
    return MaterialFactory(fragrance=True, name="Lavender")


@pytest.mark.parametrize(
    ("told", "words"),
    [
        (
            {"batches": 3, "seized": 1, "thickened": 2, "riced": 1, "overheated": 1},
            "seized in 1 of 3 batches",
        ),
        ({"batches": 3, "overheated": 2, "riced": 1, "thickened": 3}, "overheated in 2 of 3 batches"),
        ({"batches": 3, "riced": 1, "thickened": 3}, "riced in 1 of 3 batches"),
        (
            {"batches": 3, "thickened": 2, "within_minutes": 4},
            "thickened within 4 min in 2 of 3 batches",
        ),
        ({"batches": 3, "thickened": 2}, "thickened in 2 of 3 batches"),
        ({"batches": 1, "thickened": 1}, "thickened in 1 of 1 batch"),
        ({"batches": 5}, "behaved well in 5 batches"),
        ({"batches": 1}, "behaved well in 1 batch"),
        ({"batches": 0}, None),
    ],
)
def test_the_most_serious_of_what_happened_is_said(lavender, told, words):
    assert tell_behaviour(material=lavender, **told).words == words


def test_what_is_told_last_takes_the_place_of_what_was_told_before(lavender):
    tell_behaviour(material=lavender, batches=3, seized=1, thickened=2, within_minutes=4)
    tell_behaviour(material=lavender, batches=4)
    kept = Behaviour.objects.get()
    assert (kept.batches, kept.seized, kept.thickened, kept.within_minutes) == (4, 0, 0, None)
    assert str(kept) == f"behaviour of {lavender.pk}"


@pytest.mark.parametrize(
    ("field", "told"),
    [
        ("seized", {"batches": 2, "seized": 3}),
        ("riced", {"batches": 2, "riced": -1}),
        ("within_minutes", {"batches": 2, "thickened": 1, "within_minutes": -4}),
    ],
)
def test_counts_that_cannot_be_are_refused_at_their_field(lavender, field, told):
    with pytest.raises(ValidationError) as refused:
        tell_behaviour(material=lavender, **told)
    assert list(refused.value.message_dict) == [field]
    assert not Behaviour.objects.exists()


def test_fewer_batches_than_none_are_refused(lavender):
    with pytest.raises(ValidationError) as refused:
        tell_behaviour(material=lavender, batches=-1)
    assert "batches" in refused.value.message_dict


def test_only_a_fragrance_behaves():
    with pytest.raises(ValidationError, match="Olive oil is no fragrance"):
        tell_behaviour(material=MaterialFactory(name="Olive oil"), batches=1)


def test_the_page_of_a_fragrance_says_how_it_behaves(client_of, viewer, workshop, lavender):
    phone, address = client_of(viewer), reverse("inventory:material", args=[lavender.pk])
    assert "In the pot so far" not in phone.get(address).content.decode()
    tell_behaviour(material=lavender, batches=3, seized=1)
    assert "In the pot so far: seized in 1 of 3 batches." in unescape(phone.get(address).content.decode())
