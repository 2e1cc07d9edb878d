"""The shelf: bars ready to sell, taken off, counted again, brought back."""

from uuid import uuid4

import pytest
from django.urls import reverse
from django.utils import timezone

from batches.models import BarMovement, Cure
from batches.queries.shelf import shelf
from batches.services.bars import take_bars
from tests.bad_input import NO_POSITIVE_NUMBERS, NUL, SCRIPT, STRANGE_TEXTS, TOO_LONG
from tests.batches.bench import Bench, bench, recipe
from tests.batches.curing import copies, cut_days_ago, poured

pytestmark = pytest.mark.django_db

TODAY = timezone.localdate
URL = reverse("batches:shelf")
SOLD = BarMovement.Kind.SOLD


@pytest.fixture
def shop() -> Bench:
    return bench(quantity=50_000)


@pytest.fixture
def phone(shop, client_of):
    return client_of(shop.maker)


@pytest.fixture
def cure(shop) -> Cure:
    """Ten bars, ready for two days."""
    return cut_days_ago(shop, 30)


def take_url(cure: Cure) -> str:
    return reverse("batches:take", args=[cure.batch_id])


def recount_url(cure: Cure) -> str:
    return reverse("batches:recount", args=[cure.batch_id])


def left() -> int:
    return Cure.objects.get().bars_left


# What stands there.


def test_bars_stand_by_recipe_the_first_ready_in_front(shop):
    other = recipe(shop.materials, by=shop.maker, name="A windy day")
    young, old = cut_days_ago(shop, 28, bars=8), cut_days_ago(shop, 40)
    windy = cut_days_ago(shop, 30, version=other)

    held = shelf(today=TODAY())

    assert [(group.recipe.name, group.bars) for group in held.groups] == [
        ("A windy day", 10),
        ("Four oils", 18),
    ]
    codes = [[row.cure.batch.code for row in group.rows] for group in held.groups]
    assert codes == [[windy.batch.code], [old.batch.code, young.batch.code]]
    assert held.bars == 28


def test_what_still_cures_or_is_sold_out_is_not_on_the_shelf(shop, cure):
    cut_days_ago(shop, 27)
    poured(shop, 60)
    take_bars(cure=cure, count=10, kind=SOLD, key=uuid4(), by=shop.maker)

    assert shelf(today=TODAY()).groups == ()


def test_a_recipe_counts_its_bars_on_all_pages(cure):
    copies(cure, 29)

    page = shelf(today=TODAY(), page=2)

    assert [(group.bars, len(group.rows)) for group in page.groups] == [(300, 5)]


def test_a_soap_or_a_batch_is_found(shop, cure, phone):
    cut_days_ago(shop, 30, version=recipe(shop.materials, by=shop.maker, name="A windy day"))

    assert [group.recipe.name for group in shelf(today=TODAY(), search="WIND").groups] == ["A windy day"]
    found = phone.get(URL, {"q": cure.batch.code}).content.decode()
    assert "Four oils" in found
    assert "A windy day" not in found


def test_htmx_gets_the_results_alone(cure, phone):
    page = phone.get(URL, {"q": "four"}, headers={"HX-Request": "true"}).content.decode()

    assert page.strip().startswith('<div id="results"')
    assert "Four oils" in page
    assert "<h1>" not in page


def test_a_search_for_anything_gives_a_page(cure, phone):
    for words in (*STRANGE_TEXTS, NUL, TOO_LONG):
        page = phone.get(URL, {"q": words})

        assert page.status_code == 200
        assert SCRIPT not in page.content.decode()


def test_an_empty_shelf_says_what_belongs_there(phone):
    assert "Nothing is ready yet" in phone.get(URL).content.decode()


def test_a_viewer_sees_the_shelf_and_is_offered_nothing_to_change(cure, viewer, client_of):
    page = client_of(viewer).get(URL).content.decode()

    assert cure.batch.code in page
    assert take_url(cure) not in page


def test_the_queries_do_not_grow_with_the_shelf(cure, phone, django_assert_num_queries):
    copies(cure, 9)
    for _ in range(2):
        with django_assert_num_queries(7):
            assert phone.get(URL).status_code == 200
        copies(cure, 10)


# Taking off.


def test_bars_are_sold_in_one_tap_on_the_page(cure, phone):
    form = phone.get(take_url(cure)).context["form"]
    posted = {"key": form["key"].value(), "kind": "sold", "count": "2"}
    sent = phone.post(take_url(cure), posted)

    assert sent.status_code == 302
    assert sent.url == URL
    assert left() == 8
    assert BarMovement.objects.first().kind == SOLD
    assert "2 bars of Four oils" in phone.get(URL).content.decode()


def test_taking_off_sent_twice_counts_once(cure, phone):
    posted = {"key": str(uuid4()), "kind": "given", "count": "3", "reason": "To a neighbour"}
    for _ in range(2):
        assert phone.post(take_url(cure), posted).status_code == 302

    assert left() == 7


def test_bars_that_still_cure_go_as_samples_unless_said_otherwise(shop, phone):
    curing = cut_days_ago(shop, 5)

    page = phone.get(take_url(curing))
    assert page.context["form"]["kind"].value() == "sample"
    assert "Still curing" in page.content.decode()
    sent = phone.post(take_url(curing), {"key": str(uuid4()), "kind": "sample", "count": "1"})
    assert sent.url == reverse("batches:batch", args=[curing.batch_id])


def test_a_number_of_bars_that_cannot_be_is_refused_beside_its_field(cure, phone):
    for count in (*NO_POSITIVE_NUMBERS, "0", "-3", "11", "1.5", "1000000000"):
        posted = {"key": str(uuid4()), "kind": "given", "count": count, "reason": "To a neighbour"}
        page = phone.post(take_url(cure), posted)

        assert page.status_code == 422, count
        assert page.context["form"].errors.keys() == {"count"}, count
        assert "To a neighbour" in page.content.decode()
    assert left() == 10


def test_what_else_is_wrong_stands_beside_its_field(cure, phone):
    kinds = [("kind", bad) for bad in ("eaten", "cut", "")]
    keys = [("key", bad) for bad in ("x", "")]
    for field, value in [*kinds, *keys, ("reason", TOO_LONG), ("reason", NUL)]:
        posted = {"key": str(uuid4()), "kind": "sold", "count": "1", "reason": "", field: value}
        page = phone.post(take_url(cure), posted)

        assert page.status_code == 422, value
        assert page.context["form"].errors.keys() == {field}, value
    assert left() == 10


def test_strange_words_are_kept_as_they_are(cure, phone):
    for reason in STRANGE_TEXTS:
        phone.post(take_url(cure), {"key": str(uuid4()), "kind": "sold", "count": "1", "reason": reason})

        assert BarMovement.objects.first().reason == reason
        assert SCRIPT not in phone.get(take_url(cure)).content.decode()


def test_before_the_cut_and_after_the_last_bar_there_is_nothing_to_take(shop, cure, phone):
    uncut = poured(shop, 1)
    assert "still to be cut" in phone.get(take_url(uncut)).content.decode()
    sent = phone.post(take_url(uncut), {"key": str(uuid4()), "kind": "sold", "count": "1"})
    assert sent.status_code == 422

    take_bars(cure=cure, count=10, kind=SOLD, key=uuid4(), by=shop.maker)
    assert recount_url(cure) in phone.get(take_url(cure)).content.decode()


# Counting again.


def test_a_count_sets_the_bars_left_with_its_reason(cure, phone):
    posted = {"key": str(uuid4()), "counted": "8", "reason": "Two broke"}
    for _ in range(2):
        assert phone.post(recount_url(cure), posted).url == URL

    assert left() == 8
    assert BarMovement.objects.filter(kind="corrected", reason="Two broke", count=-2).count() == 1


def test_a_count_that_agrees_with_the_book_changes_nothing(cure, phone):
    sent = phone.post(recount_url(cure), {"key": str(uuid4()), "counted": "10", "reason": "Sure"})

    assert sent.status_code == 302
    assert BarMovement.objects.count() == 1


def test_a_bad_count_is_refused_beside_its_field(cure, phone):
    counts = [("counted", bad) for bad in (*NO_POSITIVE_NUMBERS, "-3", "2001", "1.5")]
    reasons = [("reason", bad) for bad in ("", "   ", NUL, TOO_LONG)]
    for field, value in counts + reasons:
        posted = {"key": str(uuid4()), "counted": "8", "reason": "Two broke", field: value}
        page = phone.post(recount_url(cure), posted)

        assert page.status_code == 422, value
        assert page.context["form"].errors.keys() == {field}, value
    assert left() == 10


# Bringing back.


def test_what_was_taken_comes_back_once(shop, cure, phone):
    taken = take_bars(cure=cure, count=4, kind=SOLD, key=uuid4(), by=shop.maker)
    url = reverse("batches:bring_back", args=[taken.pk])
    assert "4 bars" in phone.get(url).content.decode()
    assert url in phone.get(take_url(cure)).content.decode()

    for _ in range(2):
        assert phone.post(url, {"key": str(uuid4()), "reason": "Wrong batch"}).url == URL

    assert left() == 10
    assert url not in phone.get(take_url(cure)).content.decode()


def test_bars_come_back_with_a_reason_only(shop, cure, phone):
    taken = take_bars(cure=cure, count=4, kind=SOLD, key=uuid4(), by=shop.maker)
    url = reverse("batches:bring_back", args=[taken.pk])
    for reason in ("", NUL, TOO_LONG):
        assert phone.post(url, {"key": str(uuid4()), "reason": reason}).status_code == 422

    assert left() == 6


def test_the_cut_itself_is_nothing_to_bring_back(cure, phone):
    cut = BarMovement.objects.get(cure=cure)

    assert phone.get(reverse("batches:bring_back", args=[cut.pk])).status_code == 404


# Who may.


def test_viewers_take_nothing_off(shop, cure, viewer, client_of):
    taken = take_bars(cure=cure, count=4, kind=SOLD, key=uuid4(), by=shop.maker)
    looking = client_of(viewer)

    for url in (take_url(cure), recount_url(cure), reverse("batches:bring_back", args=[taken.pk])):
        assert looking.get(url).status_code == 403
        assert looking.post(url, {"key": str(uuid4()), "kind": "sold", "count": "1"}).status_code == 403
    assert left() == 6


def test_a_batch_that_was_not_poured_has_no_bars(shop, phone):
    for name in ("take", "recount"):
        assert phone.get(reverse(f"batches:{name}", args=[shop.plan().pk])).status_code == 404
        assert phone.get(reverse(f"batches:{name}", args=[10**20])).status_code == 404
