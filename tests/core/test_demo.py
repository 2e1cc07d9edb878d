import pytest

from batches.models import Batch, Cure, CureNote, State
from inventory.services.reconcile import reconcile
from inventory.services.reference import load_catalogue
from soapshop.core.models import User, Workshop
from soapshop.demo.sign_in import PASSWORD, USERNAME
from soapshop.demo.story import make_demo

pytestmark = pytest.mark.django_db


@pytest.fixture
def told() -> list[str]:
    """What the demo printed when it was made."""
    lines: list[str] = []
    load_catalogue()
    make_demo(lines.append)
    return lines


def test_the_demo_is_a_workshop_with_everything_in_it_and_says_what_happened(told):
    """One test, since the demo takes long to make."""
    workshop = Workshop.objects.get()
    assert workshop.invented
    assert User.objects.get(username=USERNAME).check_password(PASSWORD)
    assert set(Batch.objects.values_list("state", flat=True)) == {"planned", "poured", "cut"}
    assert Cure.objects.filter(bars_left__gt=0).exists()
    assert CureNote.objects.exclude(photo=None).exists()
    assert reconcile() == []

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
