"""Weighing one on top of the other, without zeroing the scale."""

from __future__ import annotations

from decimal import Decimal
from uuid import uuid4

import pytest

from batches.models import Weighing
from batches.services import weighing as services
from tests.batches.pages import NO_WEIGHTS, address, line_of, text_of, weigh, words
from tests.factories import UserFactory, WorkshopFactory

pytestmark = pytest.mark.django_db


def choose(client, batch, way="on_top", shows="", line="Olive oil"):
    sent = {"way": way, "shows": shows, "line": line_of(batch, line).pk}
    return client.post(address("scale", batch), sent)


def sent_by(page, reading=None) -> dict[str, str]:
    """What the page's own forms send: as shown, or what is typed that the scale shows in all."""
    item = page.context["item"]
    sent = {"line": item.line.pk, "lot": item.lot.pk, "key": str(uuid4()), "below": str(item.on_top.below)}
    if reading is None:
        return sent | {"quantity": f"{item.amount} g"}
    return sent | {"before": str(item.on_top.before), "reading": reading}


def as_shown(client, batch):
    return client.post(address("weigh", batch), sent_by(client.get(address("weigh", batch))))


def typed(client, batch, reading):
    return client.post(address("weigh", batch), sent_by(client.get(address("weigh", batch)), reading))


def weighed(batch) -> dict[str, Decimal]:
    return {each.line.material.name: each.quantity for each in Weighing.objects.filter(line__batch=batch)}


def test_the_scale_is_zeroed_for_each_unless_chosen_otherwise(client_of, shop, batch):
    client = client_of(shop.maker)
    weigh(client, batch, "Olive oil", "447")

    page = client.get(address("weigh", batch))

    assert page.context["item"].reads == 250
    assert "the scale zeroed first" in words(page)
    assert 'name="below"' not in page.content.decode()


def test_on_top_the_numeral_is_what_the_scale_shows_in_all(client_of, shop, batch):
    client = client_of(shop.maker)
    choose(client, batch)
    typed(client, batch, "447")

    page = client.get(address("weigh", batch))

    assert page.context["item"].reads == 697  # 447 and 250 of coconut
    assert "scale shows 447 g now, add 250 g" in words(page)
    assert "697 g" in words(page)


def test_as_shown_notes_this_line_alone_either_way(client_of, shop, batch):
    client = client_of(shop.maker)
    choose(client, batch)
    as_shown(client, batch)
    as_shown(client, batch)
    choose(client, batch, "zeroed")
    weigh(client, batch, "Palm oil")

    assert weighed(batch) == {"Olive oil": 450, "Coconut oil": 250, "Palm oil": 250}


def test_what_is_typed_is_the_running_total(client_of, shop, batch):
    client = client_of(shop.maker)
    choose(client, batch)
    typed(client, batch, "452")

    typed(client, batch, "0.701 kg")

    assert weighed(batch) == {"Olive oil": 452, "Coconut oil": 249}


def test_the_field_says_that_it_wants_all_that_the_scale_shows(client_of, shop, batch):
    client = client_of(shop.maker)
    choose(client, batch)
    as_shown(client, batch)

    page = words(client.get(address("weigh", batch), {"show": "other"}))

    assert "The scale shows in all" in page
    assert "It showed 450 g before" in page


@pytest.mark.parametrize("total", ["449", "450", "0", "450.00 g"])
def test_a_total_that_is_not_above_what_was_there_is_refused_beside_its_field(client_of, shop, batch, total):
    client = client_of(shop.maker)
    choose(client, batch)
    as_shown(client, batch)

    answer = typed(client, batch, total)

    assert answer.status_code == 422
    assert "It showed 450" in text_of(answer).replace("\xa0", " ")
    assert answer.context["form"].errors["reading"]
    assert answer.context["form"]["reading"].value() == total
    assert weighed(batch) == {"Olive oil": 450}


@pytest.mark.parametrize("reading", [wrong for wrong in NO_WEIGHTS if wrong != "0"])
def test_what_no_scale_shows_is_refused_beside_its_field(client_of, shop, batch, reading):
    client = client_of(shop.maker)
    choose(client, batch)

    answer = typed(client, batch, reading)

    assert answer.status_code == 422
    assert answer.context["form"].errors["reading"]
    assert not Weighing.objects.exists()


@pytest.mark.parametrize("field", ["below", "before"])
@pytest.mark.parametrize("value", ["NaN", "x", "1e99", "-9999999", "\0"])
def test_what_a_page_carries_along_is_not_believed_when_it_is_no_weight(client_of, shop, batch, field, value):
    client = client_of(shop.maker)
    choose(client, batch)
    sent = sent_by(client.get(address("weigh", batch)), "450")

    answer = client.post(address("weigh", batch), sent | {field: value})

    assert answer.status_code == 422
    assert not Weighing.objects.exists()


def test_more_than_the_lot_holds_is_refused_beside_the_total(client_of, shop, batch):
    client = client_of(shop.maker)
    choose(client, batch)

    assert "reading" in typed(client, batch, "5001").context["form"].errors


def test_a_scale_that_was_not_zeroed_with_the_vessel_on_it(client_of, shop, batch):
    client = client_of(shop.maker)
    assert choose(client, batch, shows="812").url.startswith(address("weigh", batch))
    assert client.get(address("weigh", batch)).context["item"].reads == 1262

    typed(client, batch, "1265")

    page = client.get(address("weigh", batch))
    assert weighed(batch) == {"Olive oil": 453}
    assert "scale shows 1 265 g now, add 250 g" in words(page)
    form = client.get(address("weigh", batch), {"show": "scale"}).context["scale_form"]
    assert (form["way"].value(), form["shows"].value()) == ("on_top", "1265 g")


def test_a_scale_that_went_off_on_the_way_is_told_that_it_shows_nothing_now(client_of, shop, batch):
    client = client_of(shop.maker)
    choose(client, batch)
    as_shown(client, batch)
    choose(client, batch, shows="0")
    assert client.get(address("weigh", batch)).context["item"].reads == 250

    typed(client, batch, "249")

    assert weighed(batch) == {"Olive oil": 450, "Coconut oil": 249}
    assert client.get(address("weigh", batch)).context["item"].on_top.before == 249


def test_the_jug_is_another_vessel_and_lye_has_a_cup_of_its_own(client_of, shop, batch):
    client = client_of(shop.maker)
    choose(client, batch, shows="812")
    for _ in range(4):
        as_shown(client, batch)

    water = client.get(address("weigh", batch)).context["item"]
    assert (water.line.material.name, water.reads, water.on_top.before) == ("Water", 291, 0)
    as_shown(client, batch)
    lye = client.get(address("weigh", batch))
    assert lye.context["item"].on_top is None
    assert "a dry cup of its own" in words(lye)


def test_the_phone_remembers_the_way_for_every_batch_and_the_vessel_for_this_one(client_of, shop, batch):
    client = client_of(shop.maker)
    choose(client, batch, shows="812")

    assert client.cookies["weighing"]["path"] == "/"
    assert client.cookies["scale_fat"]["path"] == address("batch", batch)
    assert client_of(shop.maker).get(address("weigh", batch)).context["item"].on_top is None


@pytest.mark.parametrize("kept", ["NaN", "x", "1e99", "", "-Infinity"])
def test_a_cookie_that_was_tampered_with_counts_as_nothing(client_of, shop, batch, kept):
    client = client_of(shop.maker)
    choose(client, batch, shows="812")
    client.cookies["scale_fat"] = kept

    assert client.get(address("weigh", batch)).context["item"].on_top.before == 0


def test_an_unknown_way_is_refused_and_what_was_typed_is_kept(client_of, shop, batch):
    client = client_of(shop.maker)

    answer = choose(client, batch, way="by eye", shows="812")
    strange = choose(client, batch, shows="much")

    assert (answer.status_code, strange.status_code) == (422, 422)
    assert answer.context["scale_form"].errors["way"]
    assert strange.context["scale_form"].errors["shows"]
    assert 'value="812"' in answer.content.decode()
    assert client.get(address("weigh", batch)).context["item"].on_top is None


def test_ounces_are_meant_where_the_workshop_weighs_in_them(client_of, batch, shop):
    WorkshopFactory(units="us")
    client = client_of(shop.maker)
    choose(client, batch, shows="10")
    assert client.get(address("weigh", batch)).context["item"].on_top.before == Decimal("283.50")

    typed(client, batch, "26")

    assert weighed(batch) == {"Olive oil": Decimal("453.59")}  # 737.09 less 283.50


# --- two phones -----------------------------------------------------------------------------------


def weigh_into_the_pot(shop, batch, name, below):
    line = line_of(batch, name)
    fields = {"quantity": line.planned, "key": uuid4(), "by": UserFactory()}
    services.weigh(line=line, lot=shop.lots[name], on_top_of=below, **fields)


def test_as_shown_is_not_believed_when_another_phone_weighed_into_the_pot(client_of, shop, batch):
    client = client_of(shop.maker)
    choose(client, batch)
    sent = sent_by(client.get(address("weigh", batch)))
    weigh_into_the_pot(shop, batch, "Palm oil", Decimal(0))

    answer = client.post(address("weigh", batch), sent, follow=True)

    assert weighed(batch) == {"Palm oil": 250}
    assert "Look again at what it should read" in words(answer)
    assert answer.context["item"].line.material.name == "Olive oil"
    assert answer.context["item"].reads == 700


def test_a_total_is_not_believed_either_and_stays_to_be_looked_at(client_of, shop, batch):
    client = client_of(shop.maker)
    choose(client, batch)
    sent = sent_by(client.get(address("weigh", batch)), "450")
    weigh_into_the_pot(shop, batch, "Palm oil", Decimal(0))

    answer = client.post(address("weigh", batch), sent)

    page = answer.content.decode()
    assert answer.status_code == 422
    assert answer.context["form"]["reading"].value() == "450"
    assert 'name="below" value="250.00"' in page
    assert 'name="before" value="250.00"' in page
    assert weighed(batch) == {"Palm oil": 250}


def test_a_cup_that_another_weighs_is_not_in_this_pot(client_of, shop, batch):
    client = client_of(shop.maker)
    choose(client, batch)
    as_shown(client, batch)
    weigh(client_of(UserFactory()), batch, "Palm oil")

    assert client.get(address("weigh", batch)).context["item"].reads == 700  # olive and coconut


# --- choosing -------------------------------------------------------------------------------------


def test_a_batch_that_is_poured_or_weighed_to_the_end_asks_no_more_how(client_of, shop, batch):
    client = client_of(shop.maker)
    line = line_of(batch, "Olive oil").pk
    for name in batch.lines.values_list("material__name", flat=True):
        weigh(client, batch, name)
    done = client.post(address("scale", batch), {"way": "on_top", "line": "99"})
    client.post(address("lye", batch))
    client.post(address("confirm", batch), {"key": str(uuid4())})

    poured = client.post(address("scale", batch), {"way": "on_top", "line": line})

    assert done.url == address("weigh", batch)
    assert poured.url == address("batch", batch)
