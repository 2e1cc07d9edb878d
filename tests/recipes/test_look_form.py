"""The form of a look: what it takes, what it refuses and where it says so, and what it shows of a version."""

from decimal import Decimal

import pytest

from recipes.design import design_of
from recipes.errors import DesignError
from recipes.forms.look import LookForm
from recipes.models import AmountBy, Destination, PortionBy, Trace, Version
from recipes.portions import MOST_PORTIONS, Into, PortionDesign
from recipes.queries import catalogue
from shared.cross_section import Technique
from tests.bad_input import EMOJI, NO_NUMBERS, NO_POSITIVE_NUMBERS, SCRIPT, TOO_LONG
from tests.factories import MaterialFactory, MouldFactory, VersionFactory, design
from tests.recipes.portions_typed import portion, query, two

pytestmark = pytest.mark.django_db


def form(*portions) -> LookForm:
    return LookForm.typed(query(*portions), catalogue())


def refused(*portions) -> LookForm:
    found = form(*portions)
    assert not found.is_valid()
    return found


def test_all_that_is_said_of_a_portion_reaches_its_design():
    clay, mould = MaterialFactory(colour_=True), MouldFactory()
    said = portion(
        name="Slate",
        size_by="layer",
        size="2 cm",
        colour="#AABBCC",
        technique="hanger",
        trace="light",
        scent="own",
        fragrance="1.5",
        destination="other",
        other_mould=str(mould.pk),
        rows=[(clay, "2", "spoons")],
    )

    found = form(said)

    assert found.is_valid()
    assert found.designs == (
        PortionDesign(
            "Slate",
            PortionBy.LAYER,
            Decimal("20.0"),
            "#aabbcc",
            Decimal("1.5"),
            Trace.LIGHT,
            Technique.HANGER,
            Destination.OTHER,
            mould,
            (Into(clay, Decimal(2), AmountBy.SPOONS),),
        ),
    )


def test_what_a_version_says_comes_back_as_it_was():
    clay, mould = MaterialFactory(colour_=True), MouldFactory()
    said = (
        PortionDesign(
            "Slate", PortionBy.GRAMS, Decimal(300), "#aabbcc", Decimal(0), additions=(Into(clay, Decimal(2)),)
        ),
        PortionDesign("Rest", fragrance=Decimal(1), destination=Destination.OTHER, other_mould=mould),
    )
    pk = VersionFactory(design=design(portions=said)).pk
    version = Version.objects.with_ingredients().get(pk=pk)

    shown = LookForm.of(version, design_of(version).portions, catalogue())

    fields = [{name: str(bound.value() or "") for name, bound in _bound(one)} for one in shown]
    sent = [portion(one.prefix, rows=[tuple(row) for row in _rows(one)]) for one in shown]
    for one, values, found in zip(sent, fields, shown, strict=True):
        one |= {f"{found.prefix}-{name}": value for name, value in values.items() if value != "False"}
    back = form(*sent)
    assert back.is_valid(), back.problems
    assert back.designs == design_of(version).portions


def _bound(one):
    return [(name, one[name]) for name in one.fields]


def _rows(one):
    return [(row["material"].value(), row["amount"].value(), row["amount_by"].value()) for row in one.rows]


@pytest.mark.parametrize("by", ["share", "grams", "layer"])
@pytest.mark.parametrize("size", NO_POSITIVE_NUMBERS)
def test_a_size_that_is_none_is_refused_beside_it(by: str, size: str):
    found = refused(portion(size_by=by, size=size))

    assert found.portions[0].errors["size"]
    assert found.portions[0]["size"].value() == size


@pytest.mark.parametrize("size", ["", "-3", TOO_LONG])
def test_the_rest_needs_no_size(size: str):
    assert form(portion(size_by="rest", size=size)).is_valid()


@pytest.mark.parametrize("share", NO_POSITIVE_NUMBERS)
def test_a_share_of_fragrance_that_is_none_is_refused_beside_it(share: str):
    found = refused(portion(scent="own", fragrance=share))

    assert found.portions[0].errors["fragrance"]
    assert found.portions[0].is_unusual


def test_a_share_of_fragrance_that_is_not_asked_for_never_stands_in_the_way():
    found = form(portion(scent="none", fragrance=SCRIPT))

    assert found.is_valid()
    assert found.designs[0].fragrance == 0


@pytest.mark.parametrize("amount", [*NO_NUMBERS, "0", "-1"])
def test_an_amount_of_a_row_that_is_none_is_refused_beside_it(amount: str):
    found = refused(portion(rows=[(MaterialFactory(colour_=True), amount, "fats")]))

    assert found.portions[0].rows[0].errors["amount"]
    assert found.problems


def test_an_amount_of_nothing_asks_what_it_is():
    found = refused(portion(rows=[("", "2", "fats")]))

    assert found.portions[0].rows[0].errors["material"] == ["Choose what it is, or empty the amount."]


def test_a_row_left_empty_is_nothing():
    found = form(portion(rows=[("", "", "fats")]))

    assert found.is_valid()
    assert found.designs[0].additions == ()


@pytest.mark.parametrize("name", ["", "  ", "a" * 41, TOO_LONG])
def test_a_name_that_cannot_be_is_refused_beside_it(name: str):
    found = refused(portion(name=name))

    assert found.portions[0].errors["name"]
    assert len(found.problems[0]) < 200


@pytest.mark.parametrize("name", [EMOJI, SCRIPT, "Crème"])
def test_a_name_may_be_anything_short(name: str):
    assert form(portion(name=name)).is_valid()


def test_two_portions_of_one_name_are_told_at_the_second():
    found = refused(*two(name="dark", size="-1"))

    assert found.portions[1].errors["name"] == ["Another portion is called so already."]
    assert found.portions[0].errors["size"]


@pytest.mark.parametrize("colour", ["red", "#12345", "#12345g", SCRIPT, TOO_LONG, "#aabbcc\n#000000"])
def test_what_is_no_colour_is_refused_and_not_drawn(colour: str):
    found = refused(portion(colour=colour))

    assert found.portions[0].errors["colour"]
    assert found.portions[0].looks == "#efe6cf"


@pytest.mark.parametrize("field", ["size_by", "technique", "trace", "scent", "destination", "other_mould"])
def test_a_choice_that_is_none_is_refused(field: str):
    assert field in refused(portion(**{field: "nonsense"})).portions[0].errors


def test_a_colour_as_made_is_not_kept():
    found = form(portion(made="on", colour="#aabbcc"))

    assert found.is_valid()
    assert found.designs[0].colour == ""


def test_a_form_without_portions_is_told_so():
    assert refused().errors == ["The portions are missing. Open this page anew."]


def test_no_more_portions_are_offered_than_there_may_be():
    most = [portion(f"p{number}") for number in range(MOST_PORTIONS)]

    assert form(*most).is_full
    assert not form(*most[1:]).is_full


def test_what_is_usually_left_alone_is_open_where_it_differs():
    for changed in ({"trace": "light"}, {"scent": "none"}, {"destination": "kept"}):
        assert form(portion(**changed)).portions[0].is_unusual
    assert not form(portion()).portions[0].is_unusual


def test_what_is_refused_later_stands_beside_the_portion_or_above_all():
    clay = MaterialFactory(colour_=True)
    found = form(portion(name="Slate", rows=[(clay, "2", "fats")]), portion("p2", name="Rest"))
    assert found.is_valid()

    found.blame(DesignError("additions", "It takes lye.", clay, portion="Slate"))
    found.blame(DesignError("size", "Too large.", portion="Rest"))
    found.blame(DesignError("batter", "Unknown.", portion="Rest"))
    found.blame(DesignError("fats", "No fats."))

    assert found.portions[0].rows[0].errors["material"] == ["It takes lye."]
    assert found.portions[1].errors == {"size": ["Too large."], "__all__": ["Unknown."]}
    assert found.errors == ["No fats."]


def test_a_material_that_takes_lye_is_not_offered():
    acid = MaterialFactory(name="Citric acid", additive=True, acid="citric", acid_least=99)
    clay = MaterialFactory(colour_=True)

    offered = str(form(portion(rows=[("", "", "fats")])).portions[0].rows[0]["material"])

    assert clay.name in offered
    assert acid.name not in offered
