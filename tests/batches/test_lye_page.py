from __future__ import annotations

from decimal import Decimal

import pytest

from tests.batches.bench import bench
from tests.batches.pages import address, weigh, words

pytestmark = pytest.mark.django_db


def lye_page(client, batch):
    for name in ("Olive oil", "Coconut oil", "Palm oil", "Castor oil", "Water", "Lye"):
        weigh(client, batch, name)
    return client.get(address("lye", batch))


def test_the_lye_step_gives_the_cautions_and_what_was_weighed(client_of):
    shop = bench()
    page = words(lye_page(client_of(shop.maker), shop.plan()))

    for caution in (
        "Goggles, gloves",
        "Fresh air",
        "Children and animals out",
        "Never aluminium",
        "into the liquid",
        "slowly",
        "Never liquid onto lye",
        "Vinegar is no first aid",
        "running water",
        "poison centre",
        "safety data sheet of your supplier, and the law where you work",
    ):
        assert caution in page
    assert "143 g Lye" in page
    assert "291 g Water" in page


@pytest.mark.parametrize(("liquid", "spits"), [(33, True), (20, False)])
def test_the_lye_step_says_how_hot_it_may_get(client_of, liquid, spits):
    shop = bench()
    shop.version.liquid_value = Decimal(liquid)
    shop.version.save()
    batch = shop.plan()

    page = words(lye_page(client_of(shop.maker), batch))

    assert f"It may reach {batch.frozen['lye_peak']:.0f} °C" in page
    assert ("can spit" in page) is spits
    assert "It can boil" not in page


def test_the_lye_step_warns_of_lye_that_boils_at_its_own_boiling_point(client_of):
    shop = bench()
    lye = shop.materials["Lye"]
    lye.alkali, lye.purity_low, lye.purity_high = "koh", Decimal(85), Decimal(92)
    lye.save()
    batch = shop.plan()

    page = words(lye_page(client_of(shop.maker), batch))

    assert batch.frozen["lye_boils"]
    assert "It can boil and spit" in page


def test_the_lye_waits_until_all_that_reacts_is_weighed(client_of):
    shop = bench()
    batch = shop.plan()
    client = client_of(shop.maker)

    assert client.get(address("lye", batch)).url == address("weigh", batch)
    assert client.post(address("lye", batch)).url == address("weigh", batch)
    batch.refresh_from_db()
    assert batch.lye_mixed_at is None


def test_the_lye_is_mixed_once(client_of):
    shop = bench()
    batch = shop.plan()
    client = client_of(shop.maker)
    lye_page(client, batch)
    client.post(address("lye", batch))
    batch.refresh_from_db()
    mixed_at = batch.lye_mixed_at

    client.post(address("lye", batch))

    batch.refresh_from_db()
    assert batch.lye_mixed_at == mixed_at
    assert "The lye is mixed" in words(client.get(address("lye", batch)))
