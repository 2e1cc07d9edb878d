"""The pages of splitting the batter: a card for each jug, as shown or otherwise, with and without script."""

from __future__ import annotations

import re
from decimal import Decimal
from uuid import uuid4

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from batches.models import Batch, Jug, Weighing
from batches.services.jugs import add_jug, fill_jug, leave_out
from batches.services.plan import drop_batch
from batches.services.pour import pour
from inventory.models import Behaviour
from recipes.models import Destination
from tests.bad_input import EMOJI, NUL, SCRIPT, TOO_LONG
from tests.batches.bench import Bench
from tests.batches.bench import bench as plain_bench
from tests.batches.pages import NO_WEIGHTS, address, line_of, weigh_all, words
from tests.batches.split import FIVE, jug, planned, split_bench, to_take, with_batter
from tests.factories import UserFactory, ViewerFactory, WorkshopFactory

pytestmark = pytest.mark.django_db

HTMX = {"HX-Request": "true"}
MOST_QUERIES = 15
PAGES = ("split", "take_out", "jug_more", "jug_empty", "jug_leave")


@pytest.fixture
def shop(db: None) -> Bench:
    return split_bench()


@pytest.fixture
def batch(shop: Bench) -> Batch:
    return with_batter(shop)


@pytest.fixture
def phone(shop: Bench, client_of) -> Client:
    return client_of(shop.maker)


def card_of(batch: Batch, name: str) -> str:
    return f"{address('split', batch)}?jug={jug(batch, name).pk}"


def said(batch: Batch, name: str, **changed: object) -> dict[str, object]:
    """What the form of a jug sends: the batter that it is to get, and what is stirred in as planned."""
    stirred = {"Dark": {"Coal": 3, "Scent": 6}, "White": {}, "Green": {"Leaf": 1, "Scent": 3}}
    amounts = {
        f"stir-{line_of(batch, material).pk}": str(grams)
        for material, grams in stirred.get(name, {"Scent": 2}).items()
    }
    sent = {"jug": jug(batch, name).pk, "grams": str(to_take(batch)[name]), "key": str(uuid4()), **amounts}
    return {**sent, **changed}


def send(phone: Client, batch: Batch, name: str, **changed: object):
    return phone.post(address("split", batch), said(batch, name, **changed))


def refused(answer, field: str, typed: str) -> None:
    """The page says beside that field alone what is wrong, and holds what was typed."""
    assert answer.status_code == 422, typed
    assert answer.context["form"].errors.keys() == {field}, typed
    assert answer.context["form"][field].value() == typed
    assert SCRIPT not in answer.content.decode()


def stirred_into(batch: Batch, name: str) -> dict[str, Decimal]:
    noted = Weighing.objects.filter(jug__batch=batch, jug__name=name).select_related("line__material")
    return {one.line.material.name: one.quantity for one in noted}


def as_shown(page) -> dict[str, str]:
    """The hidden fields of the button that takes what is shown."""
    form = re.search(r'<form method="post" action="[^"]*/split/">(.*?)</form>', page.content.decode(), re.S)
    assert form
    fields = re.findall(r'<input type="hidden" name="([^"]+)" value="([^"]*)"', form[1])
    return dict(fields)


class TestTheCard:
    def test_the_next_jug_says_how_much_batter_and_what_to_stir_in(self, phone, batch):
        page = words(phone.get(address("split", batch)))
        assert "Now fill, 1 of 5" in page
        assert "Dark 430 g" in page
        assert "Coal 3 g" in page
        assert "Scent 6 g" in page

    def test_any_jug_may_come_first(self, phone, batch):
        assert "Kept 143 g" in words(phone.get(card_of(batch, "Kept")))

    def test_a_jug_that_is_not_of_this_batch_shows_the_next_one(self, phone, batch):
        for wrong in ("0", "987654321", "9" * 400, SCRIPT, "-1", EMOJI):
            assert "Dark 430 g" in words(phone.get(address("split", batch), {"jug": wrong}))

    def test_how_a_jug_came_about_can_be_opened(self, phone, batch):
        page = words(phone.get(card_of(batch, "Dark")))
        assert "How these were worked out Batter for Dark 430 g" in page
        assert "Its share of the whole batter 30 %" in page
        assert "1 % of the fats in it" in page

    def test_a_scent_that_misbehaved_is_told_beside_the_jug(self, phone, shop, batch):
        Behaviour.objects.create(material=shop.materials["Scent"], batches=3, seized=1)
        assert "Scent seized in 1 of 3 batches." in words(phone.get(card_of(batch, "Dark")))
        assert "seized" not in words(phone.get(card_of(batch, "White")))

    def test_where_too_little_is_left_it_says_so_and_offers_a_way_on(self, phone, batch, shop):
        fill_jug(jug=jug(batch, "Dark"), grams=Decimal(1300), key=uuid4(), by=shop.maker)
        page = words(phone.get(address("split", batch)))
        assert "does not suffice" in page
        assert "Enter what you take, or leave a jug out." in page
        assert "As shown" not in page


class TestAsShown:
    def test_what_is_shown_is_noted_and_the_next_jug_comes(self, phone, batch):
        fields = as_shown(phone.get(address("split", batch)))
        answer = phone.post(address("split", batch), fields)
        assert answer.url == address("split", batch)
        assert jug(batch, "Dark").grams == 430
        assert stirred_into(batch, "Dark") == {"Scent": Decimal(6), "Coal": Decimal(3)}
        assert "Now fill, 2 of 5" in words(phone.get(answer.url))

    def test_sent_twice_it_counts_once(self, phone, batch):
        fields = as_shown(phone.get(address("split", batch)))
        for _ in range(2):
            assert phone.post(address("split", batch), fields).status_code == 302
        assert stirred_into(batch, "Dark") == {"Scent": Decimal(6), "Coal": Decimal(3)}
        assert not jug(batch, "White").grams

    def test_another_phone_was_faster(self, phone, batch, client_of):
        mine, theirs = (as_shown(phone.get(address("split", batch))) for _ in range(2))
        client_of(UserFactory()).post(address("split", batch), theirs)
        answer = phone.post(address("split", batch), mine | {"grams": "99"}, follow=True)
        assert "Dark was filled or left out already." in words(answer)
        assert jug(batch, "Dark").grams == 430

    def test_when_the_last_is_filled_the_last_look_follows(self, phone, batch):
        for _ in FIVE:
            phone.post(address("split", batch), as_shown(phone.get(address("split", batch))))
        answer = phone.get(address("split", batch), follow=True)
        assert answer.redirect_chain[-1][0] == address("confirm", batch)

    def test_in_ounces_the_same_grams_are_booked(self, phone, batch):
        WorkshopFactory(units="us")
        phone.post(address("split", batch), as_shown(phone.get(address("split", batch))))
        assert jug(batch, "Dark").grams == 430

    def test_a_form_for_no_jug_of_this_batch_fills_none(self, phone, batch, shop):
        other = with_batter(shop)
        for wrong in (jug(other, "Dark").pk, "", "987654321", "9" * 400, SCRIPT):
            assert phone.post(address("split", batch), said(batch, "Dark", jug=wrong)).status_code == 404
        assert not Jug.objects.exclude(grams=None).exists()


class TestOtherWeights:
    def test_the_form_holds_what_is_planned(self, phone, batch):
        page = phone.get(card_of(batch, "Dark") + "&show=other").content.decode()
        assert 'name="grams" value="430"' in page
        assert f'name="stir-{line_of(batch, "Coal").pk}" value="3"' in page

    def test_what_the_scale_showed_is_noted(self, phone, batch):
        coal = f"stir-{line_of(batch, 'Coal').pk}"
        assert send(phone, batch, "Dark", **{"grams": "500 g", coal: "4,5"}).status_code == 302
        assert jug(batch, "Dark").grams == 500
        assert stirred_into(batch, "Dark")["Coal"] == Decimal("4.5")

    def test_out_of_another_lot(self, phone, shop, batch):
        other = shop.lot("Coal", quantity=50)
        send(phone, batch, "Dark", **{f"lot-{line_of(batch, 'Coal').pk}": other.pk})
        assert Weighing.objects.get(line__material__name="Coal").lot == other

    def test_a_lot_of_something_else_is_no_choice(self, phone, shop, batch):
        wrong = {f"lot-{line_of(batch, 'Coal').pk}": shop.lots["Leaf"].pk}
        assert send(phone, batch, "Dark", **wrong).status_code == 422
        assert jug(batch, "Dark").is_open

    def test_none_of_a_colour(self, phone, batch):
        assert send(phone, batch, "Dark", **{f"stir-{line_of(batch, 'Coal').pk}": "0"}).status_code == 302
        assert stirred_into(batch, "Dark") == {"Scent": Decimal(6)}

    def test_no_weight_is_refused_beside_its_field_and_kept(self, phone, batch):
        for wrong in (*NO_WEIGHTS, NUL):
            refused(send(phone, batch, "Dark", grams=wrong), "grams", wrong)
        assert jug(batch, "Dark").is_open

    def test_no_amount_of_a_colour_is_refused_beside_its_field_and_kept(self, phone, batch):
        coal = f"stir-{line_of(batch, 'Coal').pk}"
        for wrong in ("", "-5", "NaN", "1e99", EMOJI, SCRIPT, TOO_LONG, NUL):
            refused(send(phone, batch, "Dark", **{coal: wrong}), coal, wrong)
        assert jug(batch, "Dark").is_open

    def test_more_than_the_bucket_holds_is_told_beside_the_field(self, phone, batch):
        answer = send(phone, batch, "Dark", grams="1500")
        assert answer.status_code == 422
        assert "g left in the bucket." in str(answer.context["form"].errors["grams"])

    def test_more_than_the_shelf_holds_is_told_beside_the_field(self, phone, batch):
        coal = f"stir-{line_of(batch, 'Coal').pk}"
        answer = send(phone, batch, "Dark", **{coal: "101"})
        assert answer.status_code == 422
        assert jug(batch, "Dark").is_open

    def test_a_form_without_a_key_is_refused(self, phone, batch):
        assert send(phone, batch, "Dark", key="").status_code == 422


class TestWorkOutAgain:
    def test_the_page_shows_what_goes_into_so_much_batter(self, phone, batch):
        answer = send(phone, batch, "Dark", grams="860", work_out="1")
        coal, scent = (line_of(batch, name).pk for name in ("Coal", "Scent"))
        assert answer.status_code == 200
        form = answer.context["form"]
        assert form["grams"].value() == "860"
        assert form[f"stir-{coal}"].value() == "6"
        assert form[f"stir-{scent}"].value() == "12"
        assert jug(batch, "Dark").is_open

    def test_with_script_only_what_is_stirred_in_is_swapped(self, phone, batch):
        sent = said(batch, "Dark", grams="860", work_out="1")
        answer = phone.post(address("split", batch), sent, headers=HTMX)
        page = answer.content.decode()
        assert page.strip().startswith('<div class="stirs" id="stirs">')
        assert f'name="stir-{line_of(batch, "Coal").pk}" value="6"' in page
        assert "<html" not in page

    def test_without_a_weight_it_says_so_and_keeps_what_was_typed(self, phone, batch):
        for wrong in ("", "0", "NaN", "86o", EMOJI, SCRIPT, TOO_LONG):
            refused(send(phone, batch, "Dark", grams=wrong, work_out="1"), "grams", wrong)

    def test_while_it_is_being_typed_nothing_breaks(self, phone, batch):
        for wrong in ("", "0", "NaN", SCRIPT, TOO_LONG, "999999"):
            sent = said(batch, "Dark", grams=wrong, work_out="1")
            assert phone.post(address("split", batch), sent, headers=HTMX).status_code == 200, wrong

    def test_a_lot_that_was_chosen_stays_chosen(self, phone, shop, batch):
        other, coal = shop.lot("Coal", quantity=50), line_of(batch, "Coal").pk
        sent = said(batch, "Dark", grams="860", work_out="1", **{f"lot-{coal}": other.pk})
        page = phone.post(address("split", batch), sent, headers=HTMX).content.decode()
        assert f'<option value="{other.pk}" selected>' in page

    def test_a_number_without_a_unit_is_ounces_where_the_workshop_weighs_in_them(self, phone, batch):
        WorkshopFactory(units="us")
        answer = send(phone, batch, "Dark", grams="30", work_out="1")
        assert answer.context["card"].grams == Decimal("850.49")

    def test_a_jug_that_is_filled_is_not_tried(self, phone, batch, shop):
        fill_jug(jug=jug(batch, "Dark"), grams=Decimal(430), key=uuid4(), by=shop.maker)
        answer = send(phone, batch, "Dark", grams="860", work_out="1")
        assert answer.context["card"].grams == 430


class TestLeftOutEmptiedAdded:
    def test_on_without_a_jug(self, phone, batch):
        answer = phone.post(address("jug_leave", batch), {"jug": jug(batch, "Dark").pk})
        assert answer.url == address("split", batch)
        assert jug(batch, "Dark").dropped
        page = words(phone.get(card_of(batch, "Dark")))
        assert "Left out" in page
        assert "Fill it after all" in page

    def test_a_jug_that_was_filled_meanwhile_is_not_left_out(self, phone, batch, shop):
        fill_jug(jug=jug(batch, "Dark"), grams=Decimal(430), key=uuid4(), by=shop.maker)
        answer = phone.post(address("jug_leave", batch), {"jug": jug(batch, "Dark").pk}, follow=True)
        assert "Dark is filled already." in words(answer)

    def test_taken_back_its_card_is_shown_again(self, phone, batch):
        send(phone, batch, "Dark", grams="500")
        assert "Take back what went in" in words(phone.get(card_of(batch, "Dark")))
        answer = phone.post(address("jug_empty", batch), {"jug": jug(batch, "Dark").pk})
        assert answer.url == card_of(batch, "Dark")
        assert jug(batch, "Dark").is_open
        assert not stirred_into(batch, "Dark")

    def test_one_that_was_added_is_gone_when_taken_back(self, phone, batch, shop):
        added = add_jug(batch=batch, name="Tester", grams=Decimal(50), key=uuid4(), by=shop.maker)
        assert "Tester 50 g" in words(phone.get(card_of(batch, "Tester")))
        assert phone.post(address("jug_empty", batch), {"jug": added.pk}).url == address("split", batch)
        assert batch.jugs.count() == 5

    def test_nothing_is_taken_back_of_a_batch_that_is_dropped(self, phone, batch, shop):
        fill_jug(jug=jug(batch, "Dark"), grams=Decimal(430), key=uuid4(), by=shop.maker)
        drop_batch(batch=batch, reason="Spilled", by=shop.maker)
        for name in ("jug_empty", "jug_leave"):
            assert phone.post(address(name, batch), {"jug": jug(batch, "Dark").pk}).status_code == 302
        assert jug(batch, "Dark").grams == 430

    def test_a_jug_of_another_batch_is_not_found(self, phone, batch, shop):
        other = with_batter(shop)
        for name in ("jug_empty", "jug_leave", "jug_more"):
            for wrong in (jug(other, "Dark").pk, "", "987654321", "9" * 400, SCRIPT):
                assert phone.post(address(name, batch), {"jug": wrong}).status_code == 404, (name, wrong)


class TestTakenOut:
    def take(self, phone, batch, **changed):
        sent = {"name": "Tester", "grams": "50", "destination": "other", "colour": "#aabbcc", "key": uuid4()}
        return phone.post(address("take_out", batch), sent | changed)

    def test_the_page_asks_for_it_and_says_what_is_left(self, phone, batch):
        page = phone.get(address("take_out", batch))
        assert "1 434 g are in the bucket." in words(page)
        assert page.context["form"]["colour"].value() == batch.frozen["bar_colour"]

    def test_it_is_a_jug_of_its_own(self, phone, batch):
        assert self.take(phone, batch).url == address("split", batch)
        added = jug(batch, "Tester")
        assert (added.grams, added.destination, added.colour) == (50, Destination.OTHER, "#aabbcc")
        assert added.planned is None

    def test_sent_twice_it_is_taken_once(self, phone, batch):
        key = uuid4()
        for _ in range(2):
            assert self.take(phone, batch, key=key).status_code == 302
        assert batch.jugs.count() == 6

    def test_what_cannot_be_is_refused_beside_its_field_and_kept(self, phone, batch):
        bad = {
            "grams": [*NO_WEIGHTS, "1500", NUL],
            "name": ["", "  ", "Dark", "dark", TOO_LONG, NUL],
            "colour": ["red", SCRIPT, "#12345", TOO_LONG],
            "destination": ["", "moon", SCRIPT],
        }
        for field, wrongs in bad.items():
            for wrong in wrongs:
                refused(self.take(phone, batch, **{field: wrong}), field, wrong)
        assert batch.jugs.count() == 5

    def test_a_strange_name_is_a_name(self, phone, batch):
        for name in (EMOJI, "=1+1", "{{ 7|add:7 }}"):
            assert self.take(phone, batch, name=name).status_code == 302
            assert jug(batch, name).grams == 50

    def test_a_name_with_a_script_is_shown_as_words(self, phone, batch):
        self.take(phone, batch, name=SCRIPT)
        assert SCRIPT not in phone.get(card_of(batch, SCRIPT)).content.decode()

    def test_there_is_no_batter_before_the_lye(self, phone, shop):
        fresh = planned(shop)
        for method in (phone.get, phone.post):
            assert method(address("take_out", fresh)).url == address("weigh", fresh)


class TestMore:
    def more(self, phone, batch, **changed):
        sent = {"jug": jug(batch, "Dark").pk, "grams": "70", "key": uuid4()}
        return phone.post(address("jug_more", batch), sent | changed)

    @pytest.fixture(autouse=True)
    def _filled(self, batch, shop):
        fill_jug(jug=jug(batch, "Dark"), grams=Decimal(430), key=uuid4(), by=shop.maker)

    def test_it_is_added_plain(self, phone, batch):
        url = f"{address('jug_more', batch)}?jug={jug(batch, 'Dark').pk}"
        assert "Add plain batter Dark" in words(phone.get(url))
        assert self.more(phone, batch).url == address("split", batch)
        assert jug(batch, "Dark").grams == 500
        assert stirred_into(batch, "Dark")["Coal"] == 3

    def test_sent_twice_it_counts_once(self, phone, batch):
        key = uuid4()
        for _ in range(2):
            self.more(phone, batch, key=key)
        assert jug(batch, "Dark").grams == 500

    def test_no_weight_is_refused_and_kept(self, phone, batch):
        for wrong in (*NO_WEIGHTS, "1100", NUL):
            refused(self.more(phone, batch, grams=wrong), "grams", wrong)
        assert jug(batch, "Dark").grams == 430

    def test_an_empty_jug_is_filled_first(self, phone, batch):
        assert self.more(phone, batch, jug=jug(batch, "White").pk).url == card_of(batch, "White")


class TestTheWay:
    """From step to step: each page sends on to the one whose turn it is."""

    def test_what_goes_into_jugs_is_not_weighed_before(self, phone, batch):
        url = f"{address('weigh', batch)}?line={line_of(batch, 'Coal').pk}"
        assert phone.get(url).url == address("split", batch)

    def test_weighing_and_last_look_lead_to_the_jugs_that_are_open(self, phone, batch):
        assert phone.get(address("weigh", batch)).url == address("split", batch)
        answer = phone.get(address("confirm", batch), follow=True)
        assert answer.redirect_chain[-1][0] == address("split", batch)

    def test_mixing_the_lye_leads_on_to_the_jugs(self, phone, shop):
        batch = planned(shop)
        assert phone.get(address("split", batch)).url == address("weigh", batch)
        weigh_all(phone, batch)
        batch.refresh_from_db()
        assert phone.post(address("lye", batch), follow=True).redirect_chain[-1][0] == address("split", batch)

    def test_a_batch_that_is_not_split_has_no_such_pages(self, client_of):
        shop = plain_bench()
        batch = shop.plan()
        for name in ("split", "take_out"):
            assert client_of(shop.maker).get(address(name, batch)).url == address("weigh", batch)

    def test_all_jugs_can_be_looked_at_once_they_are_filled(self, phone, batch, shop):
        for name in FIVE:
            fill_jug(jug=jug(batch, name), grams=to_take(batch)[name] or 0, key=uuid4(), by=shop.maker)
        assert "Filled" in words(phone.get(card_of(batch, "Dark")))

    def test_a_batch_that_is_poured_leads_to_its_record(self, phone, shop):
        batch = pour(batch=planned(shop), key=uuid4(), by=shop.maker, as_planned=True)
        for name in ("split", "take_out", "jug_more"):
            url = f"{address(name, batch)}?jug={jug(batch, 'Dark').pk}"
            assert phone.get(url).url == address("batch", batch)

    def test_a_viewer_may_not(self, batch, client_of):
        viewer = client_of(ViewerFactory())
        sent = {"jug": jug(batch, "Dark").pk, "grams": "10", "key": uuid4()}
        for name in PAGES:
            assert viewer.post(address(name, batch), sent).status_code == 403, name
        assert jug(batch, "Dark").is_open

    def test_a_batch_that_is_not_there(self, phone):
        for name in PAGES:
            for nothing in (987_654_321, 10**30):
                sent = {"jug": "1"}
                assert phone.post(reverse(f"batches:{name}", args=[nothing]), sent).status_code == 404


def queries_of(phone: Client, url: str) -> int:
    phone.get(url)
    with CaptureQueriesContext(connection) as caught:
        assert phone.get(url).status_code == 200
    return len(caught)


def test_more_jugs_are_no_more_queries(phone, batch, shop):
    for name in ("Green", "Kept"):
        leave_out(jug=jug(batch, name), by=shop.maker)
    urls = [address("split", batch), address("take_out", batch), address("batch", batch)]
    few = [queries_of(phone, url) for url in urls]
    for number in range(3):
        add_jug(batch=batch, name=f"Cup {number}", grams=Decimal(9), key=uuid4(), by=shop.maker)
    assert [queries_of(phone, url) for url in urls] == few
    assert max(few) <= MOST_QUERIES
