"""What is told before a batter is poured: how each jug came about, how high it stands, what would mix."""

from dataclasses import replace
from decimal import Decimal

import pytest

from recipes.design import Design, Mould
from recipes.formulation import Size, work_out
from recipes.models import AmountBy, Destination, PortionBy, SizeBy, Trace
from recipes.portions import Into, PortionDesign
from recipes.pouring import Pouring, pouring_of
from shared.cross_section import Technique
from tests.factories import MaterialFactory, MouldFactory, WorkshopFactory, design, part

pytestmark = pytest.mark.django_db

REST = PortionDesign("Rest")


@pytest.fixture
def plain() -> Design:
    """900 g of fats, which nearly fill a loaf mould of 250 × 80 mm, 65 mm deep."""
    kept = MouldFactory(name="Oak box")
    return design(mould=Mould(None, None, None, kept), size_grams=Decimal(900))


def told(said: Design, *portions: PortionDesign, **size) -> Pouring:
    workshop = WorkshopFactory()
    return pouring_of(work_out(replace(said, portions=portions), workshop=workshop, **size), workshop)


def entries(pouring: Pouring, at: int = 0) -> dict[str, str]:
    return {one.name: one.figure.replace("\xa0", " ") for one in pouring.jugs[at].how.entries}


# --- how a jug came about -----------------------------------------------------------------------------------


def test_a_share_is_told_with_the_batter_it_is_of(plain):
    pouring = told(plain, PortionDesign("Light", PortionBy.SHARE, Decimal(40)), REST)

    batter = int(entries(pouring)["Batter"].replace("\u202f", "").removesuffix(" g"))
    assert entries(pouring)["Its share"] == "40 %"
    assert float(pouring.jugs[0].jug.batter) == pytest.approx(0.4 * batter, abs=1)
    assert pouring.jugs[0].how.figure.replace("\xa0", " ") == f"{pouring.jugs[0].jug.batter:.0f} g"


def test_the_rest_is_told_with_what_the_others_take(plain):
    pouring = told(plain, PortionDesign("Light", PortionBy.GRAMS, Decimal(300)), REST)

    assert entries(pouring, 1)["Light"] == "300 g"
    assert "Rest" not in entries(pouring, 1)


def test_a_weight_is_told_with_the_size_of_the_batch():
    shares = design(parts=design().parts, size_grams=Decimal(1000))
    pouring = told(shares, PortionDesign("Light", PortionBy.GRAMS, Decimal(300)), REST)

    assert entries(pouring)["Its weight in the recipe"] == "300 g"
    assert entries(pouring)["Against the recipe’s own size"] == "× 1"


def test_a_layer_is_told_with_base_and_density(plain):
    pouring = told(plain, PortionDesign("Light", PortionBy.LAYER, Decimal(20)), REST)

    assert entries(pouring)["Height of the layer"] == "20 mm"
    assert entries(pouring)["Base of the mould"] == "200.0 cm²"
    density = float(entries(pouring)["Density of the batter"].removesuffix(" g/mL"))
    assert float(pouring.jugs[0].jug.batter) == pytest.approx(20 * 20 * density, abs=1)
    assert entries(pouring)["It fills"] == "20 mm of the mould"
    assert pouring.jugs[0].how.source.startswith("Density: ")


def test_what_is_stirred_in_is_told_with_what_it_is_of(plain):
    clay, coal = (
        MaterialFactory(colour_=True, density=Decimal("0.5")),
        MaterialFactory(colour_=True, name="Coal"),
    )
    scent = MaterialFactory(fragrance=True, name="Lavender")
    additions = (Into(clay, Decimal(2), AmountBy.SPOONS), Into(coal, Decimal("0.5"), AmountBy.WEIGHT))
    light = PortionDesign("Light", PortionBy.SHARE, Decimal(40), additions=additions)

    pouring = told(replace(plain, parts=(*plain.parts, part(3, scent))), light, REST)

    sources = {one.name: one.source for one in pouring.jugs[0].how.entries}
    assert sources["Lavender"] == "3 % of the fats in it"
    assert sources[clay.name] == "2 teaspoons to 1 kg of the fats in it, 5 mL each, 0.5 g/mL"
    assert sources["Coal"] == "0.5 % of the weight of the batter in it"
    fats = float(entries(pouring)["Fats in it"].removesuffix(" g"))
    assert entries(pouring)["Lavender"] == f"{0.03 * fats:.0f} g"


def test_a_jug_is_said_to_hold_a_third_more(plain):
    pouring = told(plain, PortionDesign("Light", PortionBy.SHARE, Decimal(50)), REST)

    jug = pouring.jugs[0].jug
    volume = float(entries(pouring)["A jug for it holds"].removesuffix(" mL or more"))
    assert volume == pytest.approx(float(jug.batter) / pouring_density(jug) * 4 / 3, abs=1)


def pouring_density(jug) -> float:
    return float(jug.batter) * 1000 / (jug.measured.height_mm * 250 * 80)


def test_a_batter_that_is_not_split_has_no_jugs(plain):
    assert told(plain).jugs == ()


# --- how high it stands -------------------------------------------------------------------------------------


def test_a_mould_that_is_filled_partly_tells_how_high(plain):
    pouring = told(replace(plain, size_grams=Decimal(500)))

    assert pouring.stands.startswith("It stands 3")
    assert pouring.stands.endswith(" mm high in Oak box, 65 mm deep.")
    assert not pouring.cautions


def test_what_is_kept_back_does_not_stand_in_the_mould(plain):
    half = PortionDesign("Kept", PortionBy.SHARE, Decimal(50), destination=Destination.KEPT)

    whole, rest = told(plain, REST), told(plain, half, REST)

    height = float(whole.stands.split()[2])
    assert float(rest.stands.split()[2]) == pytest.approx(height / 2, abs=1)


def test_a_mould_that_would_run_over_is_told_with_figures(plain):
    pouring = told(replace(plain, size_grams=Decimal(2000)))

    (over,) = pouring.cautions
    assert over.text.startswith("It runs over: it would stand 1")
    assert over.text.endswith("mm high in Oak box, 65 mm deep.")
    assert "mL too much" in over.because
    assert pouring.stands == ""


def test_layers_higher_than_the_mould_run_over(plain):
    layers = [PortionDesign(name, PortionBy.LAYER, Decimal(40)) for name in ("Light", "Dark")]

    pouring = told(replace(plain, size_by=SizeBy.PORTIONS, size_grams=None), *layers)

    assert "80 mm high in Oak box, 65 mm deep" in pouring.cautions[0].text


def test_two_batches_take_two_moulds_and_do_not_run_over(plain):
    assert not told(plain, size=Size(bars=20)).cautions


def test_sides_without_a_depth_tell_the_height_only():
    mould = Mould(Decimal(250), Decimal(80), None)

    assert told(design(mould=mould)).stands.endswith(" mm high in the mould.")


def test_without_a_mould_nothing_is_told_of_it():
    assert told(design()).stands == ""


# --- what would mix -----------------------------------------------------------------------------------------


def layers(*traces: Trace, technique: Technique = Technique.LAYER) -> list[PortionDesign]:
    share = Decimal(100) / len(traces)
    return [
        PortionDesign(f"Layer {at}", PortionBy.SHARE, share, trace=trace, technique=technique)
        for at, trace in enumerate(traces, start=1)
    ]


@pytest.mark.parametrize("trace", [Trace.EMULSION, Trace.LIGHT])
def test_a_thin_layer_mixes_with_the_one_it_lies_on(plain, trace: Trace):
    (mixes,) = told(plain, *layers(Trace.MEDIUM, trace)).cautions

    words = (
        f"Layer 2 is to lie on Layer 1, but with Layer 2 poured at {str(trace.label).lower()} the two mix."
    )
    assert mixes.text == words
    assert mixes.source == "common practice, no source"


def test_a_thin_layer_does_not_bear_the_next(plain):
    (mixes,) = told(plain, *layers(Trace.EMULSION, Trace.THICK)).cautions

    assert "with Layer 1 poured at emulsion" in mixes.text


def test_a_thin_swirl_below_is_minded_too(plain):
    first, second, third = layers(Trace.THICK, Trace.LIGHT, Trace.THICK)

    (mixes,) = told(plain, first, replace(second, technique=Technique.DROP), third).cautions

    assert mixes.text.startswith("Layer 3 is to lie on Layer 1, but with Layer 2 poured at light trace")


@pytest.mark.parametrize("trace", [Trace.ANY, Trace.MEDIUM, Trace.THICK])
def test_thick_layers_and_those_of_which_nothing_is_said_stay_apart(plain, trace: Trace):
    assert not told(plain, *layers(trace, trace)).cautions


def test_swirls_are_meant_to_mix(plain):
    assert not told(plain, *layers(Trace.LIGHT, Trace.LIGHT, technique=Technique.POT)).cautions


def test_what_goes_elsewhere_lies_on_nothing(plain):
    first, second = layers(Trace.LIGHT, Trace.LIGHT)

    assert not told(plain, first, replace(second, destination=Destination.KEPT)).cautions
