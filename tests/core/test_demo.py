import pytest
from django.utils import timezone

from batches.models import BarMovement, Batch, Cure, CureNote, State
from batches.queries.record import batch_of, batch_record
from inventory.models import Behaviour, Kind, Lot, Material
from inventory.services.reconcile import reconcile
from inventory.services.reference import load_catalogue
from recipes.design import design_of
from recipes.formulation import work_out
from recipes.models import Destination, Mould, Outcome, Portion, Shape, Version
from recipes.queries.moulds import densities
from recipes.queries.stock import scent
from recipes.queries.taught import taught
from shared.browning import ENOUGH_BATCHES, Shade, forecast
from shared.cross_section import Technique
from soapshop.core.models import User, Workshop
from soapshop.core.queries import workshop
from soapshop.demo.sign_in import PASSWORD, USERNAME
from soapshop.demo.story import make_demo

pytestmark = pytest.mark.django_db

SCALE_STEP = 1  # g: by so much the last jug may hold more than was left of the bucket


@pytest.fixture
def told() -> list[str]:
    """What the demo printed when it was made."""
    lines: list[str] = []
    load_catalogue()
    make_demo(lines.append)
    return lines


def test_the_demo_is_a_workshop_with_everything_in_it_and_says_what_happened(told):
    """One test, since the demo takes long to make."""
    shop = Workshop.objects.get()
    assert shop.invented
    assert User.objects.get(username=USERNAME).check_password(PASSWORD)
    assert set(Batch.objects.values_list("state", flat=True)) == {"planned", "poured", "cut"}
    assert Cure.objects.filter(bars_left__gt=0).exists()
    assert CureNote.objects.exclude(photo=None).exists()
    assert reconcile() == []

    every_recipe_can_be_made_and_keeps_within_the_limits()
    every_way_of_pouring_is_there_with_a_batch_of_it()
    what_was_kept_back_and_what_was_cut_up_is_in_the_book()
    no_gram_of_a_cut_batch_is_missing()
    the_batches_have_taught_mould_fragrance_and_colour()

    text = "\n".join(told)
    batch = Batch.objects.filter(state=State.POURED).latest("poured_at")

    assert f"Poured batch {batch.code}" in text
    for weighing in batch.lines.values_list("weighings__lot__code", "weighings__quantity"):
        assert weighing[0] in text
        assert str(weighing[1]) in text
    assert f"Cure until {batch.cure.ready_on:%a %d %b %Y}" in text

    before = Batch.objects.count()
    make_demo(told.append)
    assert told[-1] == "The demo workshop is there already."
    assert Batch.objects.count() == before


def every_recipe_can_be_made_and_keeps_within_the_limits():
    today = timezone.localdate()
    for version in Version.objects.with_ingredients():
        worked_out = work_out(design_of(version), workshop=workshop())
        found = scent(worked_out, today)
        if found:
            assert (str(version), found.refusals, found.told_watches) == (str(version), (), ())
    assert not Material.objects.filter(kind=Kind.FRAGRANCE, certificates=None).exists()


def every_way_of_pouring_is_there_with_a_batch_of_it():
    assert set(Portion.objects.values_list("technique", flat=True)) == {one.value for one in Technique}
    split = Version.objects.exclude(portions=None).distinct()
    assert split.count() == 4
    assert not split.exclude(batches__state=State.CUT).exists()
    assert set(Mould.objects.values_list("shape", flat=True)) == {*Shape.values} - {Shape.OTHER}


def what_was_kept_back_and_what_was_cut_up_is_in_the_book():
    batter = Lot.objects.get(material__kind=Kind.BATTER)
    assert batter.jug.destination == Destination.KEPT
    assert (batter.on_hand, batter.movements.count()) == (0, 2)
    pebbles = Lot.objects.exclude(parts=None).get(material__kind=Kind.EMBED)
    assert pebbles.on_hand > 0
    assert BarMovement.objects.filter(kind=BarMovement.Kind.EMBEDS).count() == 1


def no_gram_of_a_cut_batch_is_missing():
    for pk in Batch.objects.filter(state=State.CUT).values_list("pk", flat=True):
        weighed = batch_record(batch_of(pk), timezone.localdate()).balance
        assert weighed
        assert not weighed.open
        assert sum(went.grams for went in weighed.went) == weighed.put_in
        assert min(went.grams for went in weighed.went) > -SCALE_STEP


def the_batches_have_taught_mould_fragrance_and_colour():
    loaf = Mould.objects.get(shape=Shape.LOAF)
    assert all(0.95 < density < 1.02 for density in densities(loaf, None))
    honey = Behaviour.objects.get(material__name="Hedgerow Honey")
    assert (honey.batches, honey.thickened) == (3, 2)
    assert forecast(0.1, taught()).batches >= ENOUGH_BATCHES
    assert forecast(0.1, taught()).shade >= Shade.BROWN
    assert Outcome.objects.exclude(photo=None).exclude(otherwise="").exists()
