"""What is behind a recipe: the blend, how it keeps, the finished bar, and what to mind."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.utils import timezone

from inventory.models import Material
from recipes.depth import Depth, depth_of
from recipes.depth.strip import Share, lay_out
from recipes.design import Part
from recipes.errors import DesignError
from recipes.explain import Explanation
from recipes.models import Process
from recipes.queries import sheet
from shared.fats import reference_fats
from soapshop.core.models import Workshop
from soapshop.core.templatetags.soapshop import short_day
from tests.factories import LotFactory, MaterialFactory, WorkshopFactory, design, part

pytestmark = pytest.mark.django_db


def fat(key: str, **changed: Any) -> Material:
    """A fat of the table with its published values; waxes get those of the table too."""
    reference = reference_fats()[key]
    assert reference.sap
    values = {
        "name": reference.name,
        "reference": key,
        "inci_name": reference.inci_name,
        "sap_low": Decimal(f"{reference.sap.low:.2f}"),
        "sap_nominal": Decimal(f"{reference.sap.nominal:.2f}"),
        "sap_high": Decimal(f"{reference.sap.high:.2f}"),
    }
    known = Material.objects.filter(reference=key).first()
    return known or MaterialFactory(**(values | changed))


def depth(
    *parts: Part, koh: bool = False, cure_days: int = 28, workshop: Workshop | None = None, **changed: Any
) -> Depth:
    """Behind a kilogram of fats with lye and water, cut today."""
    alkali = part(100, koh=True) if koh else part(100, naoh=True)
    water = part(100, liquid=True, inci_name="Aqua")
    workshop = workshop or WorkshopFactory()
    found = sheet(design(*parts, alkali, water, **changed), workshop=workshop, day=timezone.localdate())
    return depth_of(found, bar_colour="#a9b9c1", cure_days=cure_days, day=timezone.localdate())


def blend() -> tuple[Part, ...]:
    return part(70, fat("olive")), part(30, fat("coconut"))


def names(one: Depth) -> list[str]:
    return [stretch.how.name for stretch in one.finished.strip.stretches]


def bar_share(one: Depth, name: str) -> float:
    """Width of a stretch of the finished bar, in per cent."""
    found = next(stretch for stretch in one.finished.strip.stretches if stretch.how.name == name)
    return float(found.width.removesuffix("%"))


def texts(one: Depth) -> set[str]:
    return {said.text for said in one.does}


def test_a_blend_says_what_it_will_do_and_on_what_that_rests():
    found = depth(*blend())

    foams = next(said for said in found.does if said.text.startswith("Foams at once"))
    assert foams.because.endswith("short saturated acids")
    assert foams.source == "common practice, no source"


def test_groups_of_acids_fill_the_strip_and_open_to_the_fats_they_come_from():
    found = depth(*blend()).acids

    assert sum(float(one.width.removesuffix("%")) for one in found.strip.stretches) == pytest.approx(
        100, abs=0.05
    )
    oleic = next(one for one in found.strip.stretches if one.how.name.startswith("Oleic"))
    assert {entry.name for entry in oleic.how.entries} == {"Olive oil", "Coconut oil"}
    assert all(entry.source for entry in oleic.how.entries)
    assert found.acids[0].shorthand == "C18:1"
    assert found.iodine is not None
    assert found.unknown == ()


def test_a_fat_of_ones_own_is_named_as_unknown_and_left_out():
    found = depth(part(40, name="Hedge oil"), part(60, fat("olive"))).acids

    assert found.unknown == ("Hedge oil",)
    assert found.unknown_share.startswith("40")
    assert found.iodine is None
    assert found.strip.stretches


def test_without_any_known_fat_nothing_is_said_of_acids_or_keeping():
    found = depth(part(100, name="Hedge oil"))

    assert (found.does, found.keeping, found.acids.strip.stretches, found.acids.acids) == ((), None, (), ())
    assert "Soap" in names(found)


def test_a_wax_alone_is_refused():
    with pytest.raises(DesignError, match="Wax alone makes no soap"):
        depth(part(100, fat("beeswax")))


def test_free_acids_give_soap_but_no_glycerin():
    found = depth(part(100, fat("stearic_acid")))

    assert "Soap" in names(found)
    assert "Glycerin" not in names(found)


def test_sixty_materials_are_all_counted():
    known = [key for key, reference in reference_fats().items() if reference.sap and reference.reacts_cold]
    keys = known[:40]
    others = 58 - len(keys)
    parts = [part(1, fat(key)) for key in keys] + [part(1) for _ in range(others - 1)]
    parts.append(part(100 - len(parts)))

    found = depth(*parts)

    assert len(found.finished.made_with) == 59
    assert len(found.acids.unknown) >= others


def test_potassium_soap_is_called_a_paste_and_named_for_its_metal():
    found = depth(*blend(), koh=True)

    assert "Makes a paste to thin with water, not a bar." in texts(found)
    assert "Potassium Olivate" in [one.name for one in found.finished.sold]
    assert any("boil and spit" in said.text for said in found.minding)


def test_sodium_lye_of_the_usual_strength_is_not_said_to_boil():
    assert not any("boil and spit" in said.text for said in depth(*blend()).minding)


def test_without_superfat_hardly_any_fat_stays():
    none, much = depth(*blend(), superfat=Decimal(0)), depth(*blend(), superfat=Decimal(10))

    assert bar_share(none, "Fat that stays fat") < 1.5
    assert bar_share(much, "Fat that stays fat") > 6


def test_alkali_left_over_stands_out():
    found = depth(part(100, fat("olive")), superfat=Decimal(-2))

    over = [one.how for one in found.finished.strip.stretches if one.how.name == "Alkali left over"]
    assert [how.alarming for how in over] == [True]
    assert [entry.name for entry in over[0].entries] == ["Sodium hydroxide", "In all the bars"]


def test_the_finished_bar_is_taken_to_hold_ten_per_cent_of_water():
    found = depth(*blend()).finished

    assert found.water_assumed
    assert found.water.startswith("10")
    assert [one.name for one in found.figures] == ["A cured bar", "Total fatty matter"]
    assert 90 < found.bar_grams < 130


def test_ingredients_come_as_put_in_and_as_sold_the_most_first():
    found = depth(*blend()).finished

    assert found.put_in[0].name == "Olea Europaea Fruit Oil"
    assert found.sold[0].name == "Sodium Olivate"
    assert {"Aqua", "Glycerin"} <= {one.name for one in found.sold}


def test_what_lacks_an_inci_name_is_said():
    hedge = MaterialFactory(name="Hedge oil")
    found = depth(part(100, hedge)).finished

    assert found.unnamed == (hedge,)
    assert [one.known for one in found.put_in if one.name == "Hedge oil"] == [False]


def test_acids_scents_and_colours_are_everything_else():
    citric = MaterialFactory(name="Citric acid", additive=True, acid="citric")
    scent = MaterialFactory(name="Slate scent", fragrance=True, inci_name="Parfum")
    found = depth(*blend(), part(1, citric), part(2, scent))

    others = next(one for one in found.finished.strip.stretches if one.how.name == "Everything else")
    assert {"Trisodium citrate", "Slate scent"} <= {entry.name for entry in others.how.entries}
    assert found.finished.unnamed == ()
    assert any("dissolve it in the liquid" in said.text for said in found.minding)


def test_a_liquid_that_is_more_than_water_is_said_to_count_as_water():
    goat = MaterialFactory(name="Goat milk", liquid=True)
    parts = (*blend(), part(100, naoh=True), part(100, goat))
    day = timezone.localdate()
    found = depth_of(
        sheet(design(*parts), workshop=WorkshopFactory(), day=day),
        bar_colour="#a9b9c1",
        cure_days=28,
        day=day,
    )

    assert found.finished.as_water == (goat,)


def test_oils_that_turn_are_said_to_turn_and_an_antioxidant_slows_it():
    linseed = fat("linseed")
    tocopherol = MaterialFactory(name="Vitamin E", additive=True, inci_name="Tocopherol")
    plain, guarded = depth(part(100, linseed)), depth(part(100, linseed), part(1, tocopherol))

    assert plain.keeping is not None
    assert guarded.keeping is not None
    assert plain.keeping.chip == "watch"
    assert guarded.keeping.chip == "quiet"
    assert any("Vitamin E slows it down" in said.text for said in guarded.keeping.reasons)


def test_what_the_stockroom_calls_an_antioxidant_guards_whatever_its_inci_name():
    linseed, drops = fat("linseed"), MaterialFactory(name="Guard drops", additive=True, antioxidant=True)
    keeping = depth(part(100, linseed), part(1, drops)).keeping

    assert keeping is not None
    assert any("Guard drops slows it down" in said.text for said in keeping.reasons)


def test_a_fat_that_is_an_antioxidant_guards_too():
    linseed, wheat = fat("linseed"), MaterialFactory(name="Wheat germ oil", antioxidant=True)
    keeping = depth(part(90, linseed), part(10, wheat)).keeping

    assert keeping is not None
    assert any("Wheat germ oil slows it down" in said.text for said in keeping.reasons)


@pytest.mark.parametrize(
    ("inci", "guards"),
    [
        ("Rosmarinus Officinalis Leaf Extract", True),
        ("Rosmarinus Officinalis Leaf Oil", False),
        ("", False),
    ],
)
def test_rosemary_guards_as_extract_only(inci: str, guards: bool):
    additive = MaterialFactory(name="Rosemary", additive=True, inci_name=inci)
    keeping = depth(part(100, fat("linseed")), part(1, additive)).keeping

    assert keeping is not None
    assert any("Rosemary slows" in said.text for said in keeping.reasons) is guards


@pytest.mark.parametrize(("days", "turns"), [(20, True), (60, False)])
def test_a_lot_past_its_best_before_while_the_bars_cure_counts_against_them(days: int, turns: bool):
    olive = fat("olive")
    best_before: date = timezone.localdate() + timedelta(days=days)
    lot = LotFactory(material=olive, best_before=best_before)
    keeping = depth(part(100, olive), cure_days=28).keeping

    assert keeping is not None
    old = [said.because for said in keeping.reasons if lot.code in said.text]
    assert old == ([f"best before {short_day(best_before)}"] if turns else [])
    assert (keeping.words == "keeps well") is not turns


def test_a_value_that_cannot_be_right_is_doubted():
    found = depth(part(100, fat("olive", sap_low=130, sap_nominal=135, sap_high=140, sap_source="a maker")))

    assert len(found.doubts) == 1
    assert "cannot be right" in found.doubts[0].words
    assert "sodium hydroxide" in found.doubts[0].hint


def test_nothing_asks_the_database(django_assert_num_queries):
    parts = (*blend(), part(100, naoh=True), part(100, liquid=True))
    found = sheet(design(*parts), workshop=WorkshopFactory(), day=timezone.localdate())

    with django_assert_num_queries(0):
        depth_of(found, bar_colour="#a9b9c1", cure_days=28, day=timezone.localdate())


def test_a_narrow_stretch_carries_no_figure_and_nothing_takes_no_place():
    def share(per_cent: float) -> Share:
        return Share(per_cent, "dots", Explanation("Part", f"{per_cent:g} %", "", (), ""))

    strip = lay_out([share(95), share(0), share(5)])

    assert [(one.x, one.width, one.label) for one in strip.stretches] == [
        ("0.00%", "95.00%", "95 %"),
        ("95.00%", "5.00%", ""),
    ]
    assert strip.words == "Part 95 %, Part 5 %"


def test_an_additive_far_above_the_usual_is_said():
    honey = MaterialFactory(name="Comb honey", reference="honey", additive=True)

    found = depth(*blend(), part(8, honey))

    assert "Comb honey is more than usual." in [said.text for said in found.minding]


def test_the_cook_has_cautions_of_its_own():
    cold, hot = depth(*blend()), depth(*blend(), process=Process.HOT)

    assert {"hot process"} == {said.because for said in hot.minding} - {said.because for said in cold.minding}
