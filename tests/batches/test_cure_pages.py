"""The pages of the cure record: out of the mould, cut, notes with photos, weigh-ins."""

from datetime import timedelta
from decimal import Decimal
from uuid import uuid4

import pytest
from django.urls import reverse
from django.utils import timezone

from batches.models import Cure, CureNote, WeighIn
from batches.queries.cure import cure_record
from batches.queries.drying import BOTTOM, LEFT, RIGHT, TOP, draw, weekly_loss
from batches.services.cure import add_note, weigh_in
from batches.services.pour import undo_pour
from soapshop.core.models import Photo, Units
from tests.bad_input import EMOJI, NO_NUMBERS, NO_POSITIVE_NUMBERS, NUL, SCRIPT, STRANGE_TEXTS, TOO_LONG
from tests.batches.bench import Bench
from tests.batches.curing import cut_days_ago, days_ago, poured
from tests.core.pictures import heic, jpeg, upload
from tests.factories import WorkshopFactory

pytestmark = pytest.mark.django_db

NO_DAYS = ["", "yesterday", "2026-02-30", "0000-00-00", "99999-01-01", "NaN", EMOJI, SCRIPT, NUL, TOO_LONG]


@pytest.fixture
def phone(shop, client_of):
    return client_of(shop.maker)


@pytest.fixture
def fresh(shop) -> Cure:
    """Poured three days ago, ten bars planned."""
    return poured(shop, 3)


@pytest.fixture
def cure(shop) -> Cure:
    """Cut a week ago into ten bars."""
    return cut_days_ago(shop, 7)


def url(name: str, cure: Cure) -> str:
    return reverse(f"batches:{name}", args=[cure.batch_id])


def iso(days: int) -> str:
    return days_ago(days).isoformat()


def cutting(**changed: str) -> dict[str, str]:
    said = {"on": iso(1), "bars": "10", "trimmings": "40", "place": "rack 1", "key": str(uuid4())}
    return {**said, **changed}


def weighing(**changed: str) -> dict[str, str]:
    return {"on": iso(0), "grams": "300", "bars": "3", "key": str(uuid4()), **changed}


def refused(phone, where: str, posted: dict[str, str], field: str) -> None:
    """The page comes back with an error beside that field alone, and with everything that was typed."""
    page = phone.post(where, posted)
    form = page.context["form"]
    assert page.status_code == 422, posted
    assert form.errors.keys() == {field}, posted
    assert all(form[name].value() == value for name, value in posted.items()), posted


# Out of the mould.


def test_the_day_out_of_the_mould_is_noted(fresh, phone):
    sent = phone.post(url("unmould", fresh), {"on": iso(1)})

    assert sent.url == url("batch", fresh)
    assert Cure.objects.get().unmoulded_on == days_ago(1)


def test_a_day_that_cannot_be_is_refused_for_the_mould(fresh, phone):
    for day in (*NO_DAYS, iso(4), iso(-1)):
        refused(phone, url("unmould", fresh), {"on": day}, "on")

    assert Cure.objects.get().unmoulded_on is None


def test_nothing_comes_out_of_the_mould_after_it_was_cut(cure, phone):
    refused(phone, url("unmould", cure), {"on": iso(6)}, "on")


# Cut.


def test_the_form_offers_today_and_the_bars_planned(fresh, phone):
    form = phone.get(url("cut", fresh)).context["form"]

    assert form["on"].value() == days_ago(0)
    assert form["bars"].value() == 10


def test_a_cut_puts_the_bars_on_the_rack_and_counts_the_cure_days_from_then(fresh, phone):
    for _ in range(2):
        sent = phone.post(url("cut", fresh), cutting(key=str(fresh.batch.key)))
        assert sent.url == url("batch", fresh)

    cure = Cure.objects.get()
    assert (cure.cut_on, cure.ready_on) == (days_ago(1), days_ago(1) + timedelta(days=28))
    assert (cure.bars_cut, cure.bars_left, cure.trimmings, cure.place) == (10, 10, 40, "rack 1")
    assert cure.bar_movements.count() == 1


def test_no_trimmings_is_none(fresh, phone):
    phone.post(url("cut", fresh), cutting(trimmings=""))

    assert Cure.objects.get().trimmings == 0


def test_trimmings_are_read_in_the_units_of_the_workshop(fresh, phone):
    WorkshopFactory(units=Units.US)
    phone.post(url("cut", fresh), cutting(trimmings="2"))

    assert Cure.objects.get().trimmings == Decimal("56.70")


def test_what_cannot_be_is_refused_at_the_cut(fresh, phone):
    days = [("on", bad) for bad in (*NO_DAYS, iso(4), iso(-1))]
    bars = [("bars", bad) for bad in (*NO_POSITIVE_NUMBERS, "0", "-3", "1000000000", "2001", "2.5")]
    trimmings = [("trimmings", bad) for bad in (*NO_NUMBERS[1:], "-1", "5 cm", "3 tsp", "5 kg", "1000001")]
    places = [("place", bad) for bad in (NUL, TOO_LONG)]
    for field, value in [*days, *bars, *trimmings, *places, ("key", ""), ("key", "x")]:
        refused(phone, url("cut", fresh), cutting(**{field: value}), field)

    assert not Cure.objects.get().is_cut


def test_a_batch_is_not_cut_before_it_came_out_of_the_mould(fresh, phone):
    phone.post(url("unmould", fresh), {"on": iso(1)})

    refused(phone, url("cut", fresh), cutting(on=iso(2)), "on")


def test_a_second_cut_is_told_of_the_first(cure, phone):
    assert phone.get(url("cut", cure)).url == url("batch", cure)
    page = phone.post(url("cut", cure), cutting())

    assert page.status_code == 422
    assert "already" in page.content.decode()


# Notes.


@pytest.mark.parametrize("picture", [jpeg, heic])
def test_a_photo_with_words_is_kept_once(fresh, phone, picture):
    key = str(uuid4())
    for _ in range(2):
        posted = {"words": "Grey settles", "photo": upload(picture()), "key": key}
        assert phone.post(url("note", fresh), posted).url == url("batch", fresh)

    note = CureNote.objects.get()
    assert note.words == "Grey settles"
    assert (note.photo.width, note.photo.height) == (64, 48)


def test_words_alone_are_a_note(fresh, phone):
    for words in STRANGE_TEXTS:
        phone.post(url("note", fresh), {"words": words, "key": str(uuid4())})

        assert CureNote.objects.first().words == words
    assert SCRIPT not in phone.get(url("batch", fresh)).content.decode()


def test_a_note_without_anything_is_refused(fresh, phone):
    refused(phone, url("note", fresh), {"words": "  ", "key": str(uuid4())}, "words")


def test_words_that_are_too_long_are_refused(fresh, phone):
    for words in (TOO_LONG, NUL):
        refused(phone, url("note", fresh), {"words": words, "key": str(uuid4())}, "words")


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"I am a text.", "not a picture"),
        (b"", "empty"),
        (b"\xff\xd8\xff\xe0 almost a picture", "picture"),
        (bytes(40_000_000), "20 MB"),
    ],
)
def test_what_is_no_picture_is_refused_beside_the_photo_and_the_words_are_kept(fresh, phone, content, says):
    posted = {"words": "Grey settles", "photo": upload(content), "key": str(uuid4())}
    page = phone.post(url("note", fresh), posted)

    assert page.status_code == 422
    assert page.context["form"].errors.keys() == {"photo"}
    assert says in page.context["form"].errors["photo"][0]
    assert "Grey settles" in page.content.decode()
    assert not CureNote.objects.exists()
    assert not Photo.objects.exists()


# Weigh-ins.


def test_a_weigh_in_sent_twice_counts_once(cure, phone):
    posted = weighing(grams="0.3 kg")
    for _ in range(2):
        assert phone.post(url("weigh_in", cure), posted).url == url("batch", cure)

    assert WeighIn.objects.get().bar_weight == 100


def test_the_same_number_of_bars_is_offered_the_next_time(cure, phone):
    phone.post(url("weigh_in", cure), weighing())

    page = phone.get(url("weigh_in", cure))
    assert page.context["form"]["bars"].value() == 3
    assert "300\N{NO-BREAK SPACE}g for 3 bars" in page.content.decode()


def test_what_cannot_be_is_refused_at_a_weigh_in(cure, phone):
    days = [("on", bad) for bad in (*NO_DAYS, iso(8), iso(-1))]
    weights = [
        ("grams", bad) for bad in (*NO_POSITIVE_NUMBERS, "0", "-5", "5 cm", "3 tsp", "5 kg", "1000001")
    ]
    bars = [("bars", bad) for bad in (*NO_POSITIVE_NUMBERS, "0", "-3", "11")]
    for field, value in [*days, *weights, *bars, ("key", ""), ("key", "x")]:
        refused(phone, url("weigh_in", cure), weighing(**{field: value}), field)

    assert not WeighIn.objects.exists()


def test_bars_are_weighed_once_they_are_cut(fresh, phone):
    assert phone.get(url("weigh_in", fresh)).url == url("batch", fresh)
    page = phone.post(url("weigh_in", fresh), weighing())

    assert page.status_code == 422
    assert "once the batch is cut" in page.content.decode()


# Who may, and of what.


def test_viewers_read_the_record_and_change_nothing(fresh, viewer, client_of):
    looking = client_of(viewer)
    record = looking.get(url("batch", fresh)).content.decode()

    assert "Cure, day 3" in record
    for name, posted in {
        "unmould": {"on": iso(1)},
        "cut": cutting(),
        "note": {"words": "Hi"},
        "weigh_in": {},
    }.items():
        assert looking.get(url(name, fresh)).status_code == 403
        assert looking.post(url(name, fresh), posted).status_code == 403
        assert url(name, fresh) not in record


def test_a_batch_that_is_not_poured_has_no_cure(shop, phone):
    for name in ("unmould", "cut", "note", "weigh_in"):
        assert phone.get(reverse(f"batches:{name}", args=[shop.plan().pk])).status_code == 404
        assert phone.get(reverse(f"batches:{name}", args=[10**20])).status_code == 404


def test_the_cure_of_an_undone_pour_takes_nothing_more(shop, fresh, phone):
    undo_pour(batch=fresh.batch, reason="Wrong mould", by=shop.maker)

    for name, posted in {"unmould": {"on": iso(1)}, "cut": cutting(), "weigh_in": weighing()}.items():
        page = phone.post(url(name, fresh), posted)
        assert page.status_code == 422
        assert "was undone" in page.content.decode()


# The record.


def test_notes_come_newest_first_with_their_day(shop, cure):
    for days in (8, 1, 4):
        at = timezone.now() - timedelta(days=days)
        add_note(cure=cure, words=f"{days} days ago", photo=None, key=uuid4(), by=shop.maker, at=at)

    assert [(line.day, line.note.words) for line in cure_record(cure, days_ago(0)).notes] == [
        (7, "1 days ago"),
        (4, "4 days ago"),
        (0, "8 days ago"),
    ]


def weigh(shop: Bench, cure: Cure, *weights: tuple[int, int, int]) -> None:
    """Weigh-ins by days ago, grams on the scale and bars."""
    for days, grams, bars in weights:
        fields = {"on": days_ago(days), "grams": Decimal(grams), "bars": bars}
        weigh_in(cure=cure, key=uuid4(), by=shop.maker, **fields)


def test_the_loss_is_that_of_one_bar_since_the_first_weigh_in(shop, cure):
    weigh(shop, cure, (0, 90, 1), (7, 300, 3), (3, 190, 2))

    record = cure_record(cure, days_ago(0))

    assert [(line.day, line.loss) for line in record.weigh_ins] == [(8, 10), (5, 5), (1, 0)]


def test_the_pace_is_that_of_the_last_two_days_of_weighing(shop, cure):
    weigh(shop, cure, (7, 400, 1), (4, 100, 1), (0, 97, 1), (0, 98, 1))

    assert weekly_loss(list(cure.weigh_ins.all())) == Decimal("3.5")


def test_a_bar_that_stopped_losing_weight_says_so(shop, cure, phone):
    weigh(shop, cure, (3, 100, 1), (0, 100, 1))

    assert "no longer losing weight" in phone.get(url("batch", cure)).content.decode()


def test_weigh_ins_of_one_day_give_no_pace_and_no_curve(shop, cure):
    weigh(shop, cure, (0, 100, 1), (0, 98, 1))

    record = cure_record(cure, days_ago(0))

    assert record.weekly_loss is None
    assert record.curve is None


def test_the_curve_runs_from_the_first_weigh_in_to_the_ready_day(shop, cure):
    weigh(shop, cure, (7, 120, 1), (0, 100, 1))

    curve = draw(list(cure.weigh_ins.all()), cure.ready_on)

    first, last = curve.ends
    assert (first.x, first.y) == (LEFT, TOP)
    assert (last.x, last.y) == (LEFT + (RIGHT - LEFT) / 4, BOTTOM)
    assert curve.ready_x == RIGHT
    assert curve.path == f"M{first.x:g} {first.y:g}L{last.x:g} {last.y:g}"


def test_bars_that_weigh_the_same_are_drawn_as_a_level_line(shop, cure):
    weigh(shop, cure, (7, 100, 1), (0, 100, 1))

    assert {point.y for point in draw(list(cure.weigh_ins.all()), cure.ready_on).points} == {TOP}


def test_the_record_asks_the_same_of_ten_notes_and_of_twenty(shop, cure, phone, django_assert_num_queries):
    for _ in range(2):
        for day in range(7, -1, -1):
            weigh(shop, cure, (day, 100 + day, 1))
            add_note(cure=cure, words="Paler", photo=upload(jpeg()), key=uuid4(), by=shop.maker)
        with django_assert_num_queries(4):
            cure_record(cure, days_ago(0))
        assert phone.get(url("batch", cure)).status_code == 200
