"""Moulds: written down, changed, cut, and what the pours into them have told."""

from datetime import timedelta
from decimal import Decimal
from itertools import count

import pytest
from django.core.exceptions import PermissionDenied, ValidationError
from django.utils import timezone

from recipes.cutting import bars_of_thickness, cut_of, filling_of, number_of_bars
from recipes.models import Fill, Mould, Version
from recipes.queries.moulds import densities, learnt, mould_rows
from recipes.services.moulds import archive_mould, create_mould, forget_fill, note_fill, update_mould
from shared.density import PRIOR_SPREAD, USUAL, learned
from soapshop.core.queries import history_of
from tests.bad_input import TOO_LONG
from tests.factories import MouldFactory, UserFactory, VersionFactory

pytestmark = pytest.mark.django_db

NAMES = count()
SHAPES = {
    "loaf": {"length": Decimal(250), "width": Decimal(80), "bars": 10},
    "slab": {"length": Decimal(400), "width": Decimal(300), "bars": 5, "rows": 4},
    "tube": {"diameter": Decimal(75), "bars": 9},
    "cavities": {"cavities": 6, "millilitres": Decimal(102)},
    "other": {"millilitres": Decimal(1830), "bars": 12},
}


def mould_of(shape: str, **said: object) -> Mould:
    nothing = {"length": None, "width": None}
    return MouldFactory(**(nothing | {"shape": shape, "depth": Decimal(50)} | SHAPES[shape] | said))


def poured(mould: Mould, version: Version, *densities: float, height: int = 40) -> None:
    """Fills of the mould with batter of these densities."""
    for density in densities:
        grams = Decimal(str(round(mould.vessel.volume_at(height) * density, 2)))
        name = f"L{next(NAMES):03}"
        at = timezone.now()
        note_fill(batch=name, version=version, mould=mould, grams=grams, height=Decimal(height), at=at)


def refused(shape: str, **said: object) -> dict[str, list[str]]:
    """What the service says against a new mould, by field."""
    said = {"name": "Oak box", "depth": Decimal(50), "shape": shape} | SHAPES.get(shape, {}) | said
    with pytest.raises(ValidationError) as caught:
        create_mould(by=UserFactory(), **said)
    return caught.value.message_dict


# --- writing down -------------------------------------------------------------------------------------------


@pytest.mark.parametrize("shape", SHAPES)
def test_a_mould_of_any_shape_is_written_down_with_its_history(shape, maker):
    mould = mould_of(shape, name="Oak box", by=maker)

    mould.refresh_from_db()
    assert {name: getattr(mould, name) for name in SHAPES[shape]} == SHAPES[shape]
    assert [line.what for line in history_of(mould)] == ["wrote down the mould Oak box"]


def test_what_a_shape_has_no_use_for_is_not_kept():
    said = {"diameter": Decimal(75), "rows": 3, "cavities": 2, "millilitres": Decimal(5)}
    loaf = mould_of("loaf", **said)
    hearts = mould_of("cavities", liner=Decimal(2), trim=Decimal(9), kerf=Decimal(1), bars=40)

    assert (loaf.diameter, loaf.rows, loaf.cavities, loaf.millilitres) == (None, 1, None, None)
    assert (hearts.liner, hearts.trim, hearts.kerf, hearts.bars) == (0, 0, 0, 6)


@pytest.mark.parametrize(
    ("shape", "said", "field"),
    [
        ("loaf", {"length": None}, "length"),
        ("loaf", {"length": Decimal(-250)}, "length"),
        ("loaf", {"width": Decimal("0.5")}, "width"),
        ("loaf", {"length": Decimal(2500)}, "length"),
        ("loaf", {"width": Decimal(2500)}, "width"),
        ("loaf", {"depth": Decimal(0)}, "depth"),
        ("loaf", {"depth": Decimal(2500)}, "depth"),
        ("loaf", {"depth": Decimal("NaN")}, "depth"),
        ("loaf", {"depth": None}, "depth"),
        ("loaf", {"depth": Decimal("1e30")}, "depth"),
        ("loaf", {"length": Decimal(2000), "width": Decimal(2000), "depth": Decimal(300)}, "width"),
        ("loaf", {"liner": Decimal(40)}, "liner"),
        ("loaf", {"liner": Decimal(-1)}, "liner"),
        ("loaf", {"trim": Decimal(-1)}, "trim"),
        ("loaf", {"trim": Decimal(125)}, "trim"),
        ("loaf", {"kerf": Decimal(21)}, "kerf"),
        ("loaf", {"bars": 0}, "bars"),
        ("loaf", {"bars": 400}, "bars"),
        ("slab", {"bars": 401}, "bars"),
        ("slab", {"rows": 0}, "rows"),
        ("slab", {"width": Decimal(30), "rows": 40}, "rows"),
        ("tube", {"diameter": None}, "diameter"),
        ("tube", {"diameter": Decimal("0.5")}, "diameter"),
        ("tube", {"diameter": Decimal(2500)}, "diameter"),
        ("cavities", {"cavities": 0}, "cavities"),
        ("cavities", {"cavities": 2001, "millilitres": Decimal(1)}, "cavities"),
        ("cavities", {"millilitres": Decimal(-1)}, "millilitres"),
        ("cavities", {"cavities": 1, "millilitres": Decimal(150_000)}, "millilitres"),
        ("other", {"millilitres": None}, "millilitres"),
        ("other", {"millilitres": Decimal(300_001)}, "millilitres"),
        ("loaf", {"name": ""}, "name"),
        ("loaf", {"name": TOO_LONG}, "name"),
        ("heap", {}, "shape"),
    ],
)
def test_what_cannot_be_is_refused_by_its_field(shape, said, field):
    assert list(refused(shape, **said)) == [field]
    assert not Mould.objects.exists()


def test_two_moulds_do_not_have_one_name():
    mould_of("loaf", name="Oak box")

    said = refused("loaf", name="OAK BOX")

    assert said == {"name": ["There is a mould called OAK BOX already."]}


def test_a_change_is_kept_and_recorded_and_the_same_again_is_none(maker):
    mould = mould_of("loaf", name="Oak box")

    for _ in range(2):
        update_mould(mould=mould, by=maker, name="Pine box", bars=8)

    mould.refresh_from_db()
    assert (str(mould), mould.bars) == ("Pine box", 8)
    told = ["changed the mould Pine box", "wrote down the mould Oak box"]
    assert [line.what for line in history_of(mould)] == told


def test_a_mould_is_put_away_and_brought_back_once_each(maker):
    mould = mould_of("loaf", name="Oak box")

    for archived in (True, True, False):
        archive_mould(mould=mould, archived=archived, by=maker)

    mould.refresh_from_db()
    assert not mould.archived
    told = [line.what for line in history_of(mould)]
    assert told == ["brought back Oak box", "put away the mould Oak box", "wrote down the mould Oak box"]


def test_who_may_only_look_writes_nothing(viewer):
    mould = mould_of("loaf")

    with pytest.raises(PermissionDenied):
        create_mould(by=viewer, name="Oak box", depth=Decimal(50), **SHAPES["loaf"])
    with pytest.raises(PermissionDenied):
        update_mould(mould=mould, by=viewer, bars=3)
    with pytest.raises(PermissionDenied):
        archive_mould(mould=mould, archived=True, by=viewer)


# --- how full, and the cut ----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("shape", "bars", "millilitres"),
    [("loaf", 10, 1000), ("slab", 20, 6000), ("tube", 9, 220.9), ("cavities", 6, 612), ("other", 12, 1830)],
)
def test_the_list_says_what_each_holds_and_how_many_bars_it_gives(shape, bars, millilitres):
    mould_of(shape)

    [row] = mould_rows()

    assert (row.bars, row.millilitres) == (bars, pytest.approx(millilitres, abs=0.05))
    assert row.bars == number_of_bars(row.mould)


def test_the_list_shows_those_in_use_by_name_or_those_put_away(maker, django_assert_num_queries):
    for name in ("oak box", "Ash box", "Pine box"):
        mould_of("loaf", name=name)
    archive_mould(mould=Mould.objects.get(name="Pine box"), archived=True, by=maker)

    with django_assert_num_queries(2):
        listed = mould_rows(), mould_rows(archived=True)

    assert [[str(row.mould) for row in rows] for rows in listed] == [["Ash box", "oak box"], ["Pine box"]]


def test_a_filling_weighs_its_volume_times_the_density_give_or_take():
    filling = filling_of(mould_of("loaf"), 25, learned([], 1.02))

    assert (filling.millilitres, filling.grams) == pytest.approx((500, 510))
    assert filling.stray > 500 * PRIOR_SPREAD


@pytest.mark.parametrize("shape", SHAPES)
def test_the_bars_and_what_is_trimmed_off_are_all_that_was_poured(shape):
    extra = {} if shape in ("cavities", "other") else {"trim": Decimal(5), "kerf": Decimal(1)}
    mould = mould_of(shape, **extra)

    cut = cut_of(mould, height=30, density=1.1, loss=10)

    poured_grams = mould.vessel.volume_at(30) * 1.1
    assert cut.number * cut.bar_grams + cut.trimmings_grams == pytest.approx(poured_grams)
    assert cut.cured_grams == pytest.approx(0.9 * cut.bar_grams)
    assert (cut.trimmings_grams > 0) == (cut.drawing is not None) == bool(extra)


def test_a_bar_of_a_lined_loaf_is_as_large_as_the_cut_leaves_it():
    cut = cut_of(mould_of("loaf", liner=Decimal(2), trim=Decimal(3)), height=40, density=1)

    assert cut.sides == pytest.approx((24, 76, 40))


def test_a_tube_is_laid_down_and_cut_along_the_height_it_was_filled_to():
    cut = cut_of(mould_of("tube"), height=45, density=1)

    assert cut.sides == pytest.approx((5, 75, 75))


@pytest.mark.parametrize(("shape", "thickness", "bars"), [("loaf", 24, 10), ("slab", 79, 5), ("tube", 12, 4)])
def test_a_thickness_gives_as_many_bars_as_there_is_room_for(shape, thickness, bars):
    assert bars_of_thickness(mould_of(shape), thickness) == bars


# --- what the pours tell ------------------------------------------------------------------------------------


def test_a_recipe_learns_from_its_own_pours_into_the_mould(django_assert_num_queries):
    mould, version, other = mould_of("loaf"), VersionFactory(), VersionFactory()
    poured(mould, version, 0.95, 0.96)
    poured(mould, other, 1.05)
    poured(mould_of("slab"), version, 0.7)

    with django_assert_num_queries(1):
        told = learned(densities(mould, version.recipe), 1.02)

    assert told == learned([0.96, 0.95], 1.02)


def test_a_recipe_that_was_never_poured_into_it_learns_from_all_others():
    mould = mould_of("loaf")
    poured(mould, VersionFactory(), 0.95)
    poured(mould, VersionFactory(), 0.97)

    told = [learned(densities(mould, recipe), 1.02) for recipe in (VersionFactory().recipe, None)]

    assert told == [learned([0.97, 0.95], 1.02)] * 2


def test_an_unused_mould_goes_by_the_parts():
    told = learned(densities(mould_of("loaf"), VersionFactory().recipe), 1.02)

    assert (told.mean, told.number) == (1.02, 0)


def test_the_mould_tells_what_it_learned_in_all_and_by_recipe(django_assert_num_queries):
    mould, version = mould_of("loaf"), VersionFactory()
    poured(mould, version, 0.95, 0.97)

    assert learnt(mould).recipes == ()

    poured(mould, VersionFactory(), 1.05)
    with django_assert_num_queries(1):
        told = learnt(mould)
    assert [one.density for one in told.told] == pytest.approx([1.05, 0.97, 0.95])
    assert told.batter.number == 3
    assert dict(told.recipes)[version.recipe] == learned([0.97, 0.95], USUAL)


def test_a_batch_counts_once_and_is_put_right_by_the_next_note():
    mould, version, now = mould_of("loaf"), VersionFactory(), timezone.now()
    said = {"batch": "L007", "version": version, "mould": mould, "grams": Decimal(800)}

    first = note_fill(**said, height=Decimal(40), at=now)
    again = note_fill(**said, height=Decimal(40), at=now)
    changed = note_fill(**said, height=Decimal(42), at=now + timedelta(minutes=1))

    assert first.pk == again.pk == changed.pk
    fill = Fill.objects.get()
    assert (fill.height, fill.recipe, str(fill)) == (42, version.recipe, "fill of L007")


def test_a_pour_that_is_undone_is_forgotten():
    mould = mould_of("loaf")
    poured(mould, VersionFactory(), 0.95)

    forget_fill(batch="unheard-of")
    assert Fill.objects.count() == 1
    forget_fill(batch=Fill.objects.get().batch)
    assert Fill.objects.count() == 0


@pytest.mark.parametrize(
    ("grams", "height", "words"),
    [
        ("800", "50.1", "at most 50 mm, as deep as the mould"),
        ("800", "0", "higher than nothing"),
        ("800", "-1", "higher than nothing"),
        ("800", "NaN", "number"),
        ("800", "1e30", "digits"),
        ("NaN", "40", "number"),
        ("0", "40", "No batter weighs 0 g to the mL"),
        ("-800", "40", "No batter weighs"),
        ("8", "40", "No batter weighs 0.01 g to the mL"),
        ("80000", "40", "No batter weighs 100 g to the mL"),
    ],
)
def test_a_fill_that_cannot_be_is_refused(grams, height, words):
    said = {"batch": "L007", "version": VersionFactory(), "mould": mould_of("loaf"), "at": timezone.now()}

    with pytest.raises(ValidationError) as caught:
        note_fill(**said, grams=Decimal(grams), height=Decimal(height))

    assert list(caught.value.message_dict) == ["filled_height"]
    assert words in str(caught.value.message_dict)
    assert not Fill.objects.exists()


def test_a_lined_mould_can_be_filled_to_the_brim_and_no_higher():
    mould = mould_of("loaf", depth=Decimal("65"), liner=Decimal("2.3"))
    said = {"batch": "L007", "version": VersionFactory(), "mould": mould, "at": timezone.now()}

    note_fill(**said, grams=Decimal(1100), height=Decimal("62.7"))
    with pytest.raises(ValidationError):
        note_fill(**said, grams=Decimal(1100), height=Decimal("62.8"))


def test_measures_put_right_change_what_was_learned(maker):
    mould, version = mould_of("loaf"), VersionFactory()
    poured(mould, version, 0.9)

    mould = update_mould(mould=mould, by=maker, width=Decimal(75))

    assert [one.density for one in learnt(mould).told] == pytest.approx([0.96])


@pytest.mark.parametrize("said", [{"depth": Decimal(30)}, {"width": Decimal(8)}])
def test_measures_that_a_past_pour_speaks_against_are_refused(said, maker):
    mould = mould_of("loaf")
    poured(mould, VersionFactory(), 0.95)

    with pytest.raises(ValidationError) as caught:
        update_mould(mould=mould, by=maker, **said)

    [words] = caught.value.messages
    assert "stood 40.0 mm high in this mould" in words
    mould.refresh_from_db()
    assert (mould.depth, mould.width) == (50, 80)


def test_the_newest_pours_are_shown_and_all_of_them_counted():
    mould = mould_of("loaf")
    poured(mould, VersionFactory(), *[0.9 + number / 100 for number in range(13)])

    told = learnt(mould)

    assert (len(told.latest), told.batter.number) == (12, 13)
    assert told.latest[0].density == pytest.approx(1.02)
