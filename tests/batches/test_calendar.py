"""The calendar feed: what is due, as calendars read it."""

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from urllib.parse import urlsplit
from uuid import uuid4
from zoneinfo import ZoneInfo

import pytest
from django.test import Client
from django.urls import reverse
from icalendar import Calendar, Event

from batches.calendar import as_icalendar
from batches.models import Batch
from batches.queries.calendar import DAYS_AHEAD, UPKEEP_AHEAD, Entry, calendar_entries
from batches.services.cure import cut, turn
from batches.services.plan import plan_batch
from batches.services.pour import pour
from inventory.models import Lot
from recipes.formulation import Size
from soapshop.core.models import Workshop
from soapshop.core.services.workshop import renew_calendar
from tests.bad_input import EMOJI
from tests.batches.bench import Bench, bench
from tests.batches.curing import copies, cut_days_ago, days_ago, poured
from tests.factories import LotFactory, WorkshopFactory

pytestmark = pytest.mark.django_db

VIENNA = ZoneInfo("Europe/Vienna")
ODD = f'Oats, honey; "and"\n\\ {EMOJI} ' + "a long way to the end of the line " * 6


@pytest.fixture
def shop() -> Bench:
    return bench(quantity=50_000)


def link() -> str:
    return reverse("batches:calendar", args=[Workshop.objects.get().calendar_secret])


def feed() -> Calendar:
    """What a calendar that cannot sign in gets."""
    answer = Client().get(link())
    assert (answer.status_code, answer["Content-Type"]) == (200, "text/calendar; charset=utf-8")
    return Calendar.from_ical(answer.content)


def events(word: str) -> list[Event]:
    return [event for event in feed().walk("VEVENT") if str(event["SUMMARY"]).startswith(word)]


def days(word: str) -> list[date]:
    return [event.decoded("DTSTART") for event in events(word)]


def test_the_feed_is_a_calendar_of_the_workshop(shop):
    WorkshopFactory(name="Lindenbath Soap")

    calendar = feed()

    assert calendar["VERSION"] == "2.0"
    assert calendar["PRODID"]
    assert calendar["X-WR-CALNAME"] == "Lindenbath Soap"


def test_it_holds_all_that_comes(shop):
    cut_days_ago(shop, 2)
    poured(shop, 0)
    plan_batch(version=shop.version, size=Size(), planned_for=days_ago(-9), key=uuid4(), by=shop.maker)
    LotFactory(best_before=days_ago(-50))

    assert days("Turn") == [days_ago(-5), days_ago(-12), days_ago(-19)]
    assert days("Weigh in") == [days_ago(0), days_ago(-7), days_ago(-14), days_ago(-21)]
    assert days("Ready") == [days_ago(-29), days_ago(-26)]
    assert days("Pour") == [days_ago(-9)]
    assert days("Best before") == [days_ago(-50)]
    assert len(days("Photograph")) == 8
    assert len(days("Cut")) == 1


def test_each_entry_says_what_and_where_to_look(shop):
    cure = cut_days_ago(shop, 2)

    (ready,) = events("Ready")

    assert ready["SUMMARY"] == f"Ready: Four oils {cure.batch.code}, 10 bars"
    assert ready["URL"] == f"http://testserver{reverse('batches:batch', args=[cure.batch_id])}"
    assert events("Photograph")[-1]["SUMMARY"].endswith(", day 28")


def test_a_day_has_no_time_and_no_zone(shop):
    cut_days_ago(shop, 2)

    (ready,) = events("Ready")

    assert type(ready.decoded("DTSTART")) is date
    assert ready["DTSTART"].params == {"VALUE": "DATE"}
    assert ready["TRANSP"] == "TRANSPARENT"


@pytest.mark.parametrize(
    ("poured_at", "cut_at"),
    [
        # The clocks go forward on Sunday 29 March 2026 at 2:00 and back on Sunday 25 October at 3:00
        # (Directive 2000/84/EC): a cut at the same time by the clock is 23 and 25 hours after the pour.
        ("2026-03-28 15:00", datetime(2026, 3, 29, 13, 0, tzinfo=UTC)),
        ("2026-10-24 15:00", datetime(2026, 10, 25, 14, 0, tzinfo=UTC)),
        ("2026-05-12 15:00", datetime(2026, 5, 13, 13, 0, tzinfo=UTC)),
        # 2:30 is not on the clocks that night; half an hour after two is then what they call 3:30.
        ("2026-03-28 02:30", datetime(2026, 3, 29, 1, 30, tzinfo=UTC)),
    ],
)
def test_a_cut_stands_at_the_time_of_the_pour_on_the_next_day(shop, time_machine, poured_at, cut_at):
    WorkshopFactory(time_zone="Europe/Vienna")
    at = datetime.fromisoformat(poured_at).replace(tzinfo=VIENNA)
    time_machine.move_to(at + timedelta(minutes=1), tick=False)
    pour(batch=shop.plan(), key=uuid4(), by=shop.maker, as_planned=True, at=at)

    (event,) = events("Cut")

    assert event.decoded("DTSTART") == cut_at
    assert event.decoded("DURATION") == timedelta(minutes=30)


def test_days_are_those_of_the_workshop(shop, time_machine):
    WorkshopFactory(time_zone="Pacific/Auckland")
    time_machine.move_to("2026-05-11 20:00Z")
    LotFactory(best_before=date(2026, 5, 12), received_on=date(2026, 5, 1))
    plan_batch(version=shop.version, size=Size(), planned_for=date(2026, 5, 1), key=uuid4(), by=shop.maker)

    assert days("Best before") == days("Pour") == [date(2026, 5, 12)]


def test_what_is_overdue_stands_on_today(shop):
    cut_days_ago(shop, 10)
    late = poured(shop, 4)

    assert days("Turn")[0] == days_ago(0)
    (cutting,) = events("Cut")
    same_time_today = late.batch.poured_at.replace(microsecond=0) + timedelta(days=4)
    assert cutting.decoded("DTSTART") == same_time_today


def test_an_entry_keeps_its_name_until_it_is_done(shop):
    cure = cut_days_ago(shop, 10)
    poured(shop, 1)
    before = uids()
    assert uids() == before

    turn(cure=cure, key=uuid4(), by=shop.maker)

    gone = before.keys() - uids().keys()
    assert [before[uid] for uid in gone] == [f"Turn Four oils {cure.batch.code}"]


def uids() -> dict[str, str]:
    found = [(str(event["UID"]), str(event["SUMMARY"])) for event in feed().walk("VEVENT")]
    assert len(dict(found)) == len(found)
    return dict(found)


def test_two_batches_of_one_soap_are_told_apart(shop):
    copies(cut_days_ago(shop, 2), 3)

    assert len({uid for uid, title in uids().items() if title.startswith("Ready")}) == 4


def test_it_reaches_half_a_year_and_upkeep_a_month(shop):
    for ahead in (DAYS_AHEAD, DAYS_AHEAD + 1):
        LotFactory(best_before=days_ago(-ahead))
        plan_batch(
            version=shop.version, size=Size(), planned_for=days_ago(-ahead), key=uuid4(), by=shop.maker
        )
    cure = cut_days_ago(shop, 1)
    cure.ready_on = days_ago(-DAYS_AHEAD - 1)
    cure.save()

    assert days("Best before") == days("Pour") == [days_ago(-DAYS_AHEAD)]
    assert days("Ready") == []
    assert max(days("Turn")) <= days_ago(-UPKEEP_AHEAD)


def test_what_went_off_or_is_used_up_is_left_out(shop):
    LotFactory(best_before=days_ago(1), received_on=days_ago(90))
    used = LotFactory(best_before=days_ago(-3))
    Lot.objects.filter(pk=used.pk).update(on_hand=0)

    assert days("Best before") == []


def test_odd_names_come_through_whole_and_lines_are_folded(shop):
    cure = cut_days_ago(shop, 2)
    batch = cure.batch
    batch.frozen["recipe"] = ODD
    batch.save()

    (ready,) = events("Ready")

    assert str(ready["SUMMARY"]) == f"Ready: {ODD} {batch.code}, 10 bars"
    lines = Client().get(link()).content.split(b"\r\n")
    assert max(map(len, lines)) <= 75


def test_no_person_is_named(shop):
    cut_days_ago(shop, 2)
    poured(shop, 1)

    text = Client().get(link()).content.decode()

    assert shop.maker.name not in text
    assert shop.maker.username not in text


def test_the_text_is_the_same_for_the_same_entries():
    now = datetime(2026, 5, 12, tzinfo=UTC)
    entry = Entry("ready x", "Ready: Fog", date(2026, 5, 20), "batches:batch", 7)

    texts = {
        as_icalendar([entry], name="Yard", now=now, page_of=lambda _: "https://soap.example/") for _ in "ab"
    }

    assert len(texts) == 1
    assert b"DTSTAMP:20260512T000000Z" in texts.pop()


# The secret link.


@pytest.mark.parametrize("secret", ["x", "0" * 43, "é" * 43, EMOJI, "%00", "None"])
def test_a_wrong_secret_leads_nowhere(workshop, secret):
    assert Client().get(f"/calendar/{secret}/soapshop.ics").status_code == 404


def test_an_owner_renews_the_link_and_the_old_one_dies(owner, client_of, workshop):
    old = link()

    sent = client_of(owner).post(reverse("core:calendar_renew"), follow=True)

    assert link() != old
    assert Client().get(old).status_code == 404
    assert Client().get(link()).status_code == 200
    assert urlsplit(sent.redirect_chain[0][0]).path == reverse("core:settings")
    assert link() in sent.content.decode()
    assert "webcal://testserver/calendar/" in sent.content.decode()


def test_nobody_else_renews_it(maker, client_of, workshop):
    old = link()

    assert client_of(maker).post(reverse("core:calendar_renew")).status_code == 403
    assert link() == old


def test_renewing_is_in_the_history_without_the_secret(owner, client_of, workshop):
    renew_calendar(by=owner)

    page = client_of(owner).get(reverse("core:settings")).content.decode()
    assert "Renewed the secret link" in page


def test_the_queries_do_not_grow(shop, django_assert_num_queries):
    cure = cut_days_ago(shop, 2)
    for _ in range(2):
        with django_assert_num_queries(4):
            assert calendar_entries(days_ago(0), Workshop())
        copies(cure, 10)
        LotFactory(best_before=days_ago(-3))
        shop.plan()
    assert Batch.objects.count() > 20


def test_a_batch_that_was_cut_late_is_no_longer_to_be_cut(shop):
    cure = poured(shop, 3)
    assert len(events("Cut")) == 1

    cut(cure=cure, on=days_ago(0), bars=10, trimmings=Decimal(0), key=uuid4(), by=shop.maker)
    assert events("Cut") == []
