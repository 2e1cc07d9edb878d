"""Photos of soap beside a card, and what was measured in them."""

from datetime import timedelta
from decimal import Decimal
from uuid import uuid4

from django.urls import reverse
from django.utils import timezone

from batches.models import ColourReading, Cure, CureNote
from batches.services.colour import measure
from batches.services.cure import add_note
from shared.colour import Lab
from tests.batches.bench import Bench
from tests.batches.photos import BAR, CARD
from tests.core.pictures import upload
from tests.factories import ColourReadingFactory

CHARCOAL, CREAM = Lab(42, 0, 2), Lab(88, 1, 12)
CLOSE = 2.0  # CIEDE2000; what a photo and its compression may add


def noted(shop: Bench, cure: Cure, photo: bytes, days: int = 0) -> CureNote:
    at = timezone.now() - timedelta(days=days)
    return add_note(cure=cure, words="", photo=upload(photo), key=uuid4(), by=shop.maker, at=at)


def measured(shop: Bench, note: CureNote, **changed):
    said = {"card": CARD, "card_kind": "white", "places": {None: BAR}, "by": shop.maker}
    return measure(note=note, **{**said, **changed})


def lab(reading: ColourReading) -> Lab:
    return Lab(float(reading.lightness), float(reading.a), float(reading.b))


def seen(shop: Bench, cure: Cure, days: int, lightness: float, jug=None) -> ColourReading:
    """A reading of so many days ago."""
    at = timezone.now() - timedelta(days=days)
    note = add_note(cure=cure, words="Look", photo=None, key=uuid4(), by=shop.maker, at=at)
    return ColourReadingFactory(note=note, jug=jug, lightness=Decimal(str(lightness)))


def url(note: CureNote, name: str = "colour") -> str:
    return reverse(f"batches:{name}", args=[note.cure.batch_id, note.pk])


def record_url(note: CureNote) -> str:
    return reverse("batches:batch", args=[note.cure.batch_id]) + "#colour"


def tapped(**changed: str) -> dict[str, str]:
    """What the form sends with the card and the bar where they lie."""
    said = {"card_kind": "white", "next": "bar", "card_0": "15", "card_1": "50", "bar_0": "50", "bar_1": "50"}
    return {**said, **changed}
