"""The form and page of materials: what liquids and fats are made of, ready-made lye solutions."""

from decimal import Decimal
from html import unescape

import pytest
from django.urls import reverse

from inventory.models import Material
from inventory.services.reference import load_catalogue
from tests.factories import LotFactory, MadeLotFactory, MaterialFactory, SupplierFactory

pytestmark = pytest.mark.django_db

NONSENSE = ["-1", "NaN", "Infinity", "1e400", "101", "x" * 10_000, "<script>alert(1)</script>", "🧼", "\x00"]
SHARES = ["water", "fat", "fat_low", "fat_high", "sugar", "salt", "alcohol", "acid_least"]
MILK = {
    "name": "Hill goat milk",
    "water": "87",
    "fat": "4,1",
    "fat_reference": "milk_fat",
    "sugar": "4.5",
    "composition_source": "the label",
}


@pytest.fixture
def phone(client_of, maker, workshop):
    return client_of(maker)


def new(kind, **asked):
    query = "".join(f"&{name}={value}" for name, value in asked.items())
    return f"{reverse('inventory:material_add')}?kind={kind}{query}"


def page_of(phone, material):
    return unescape(phone.get(reverse("inventory:material", args=[material.pk])).content.decode())


def test_a_milk_is_written_down_and_its_page_says_what_it_is_made_of(phone):
    response = phone.post(new("liquid"), MILK)
    milk = Material.objects.get()
    assert response.status_code == 302
    assert (milk.fat, milk.fat_low, milk.alcohol) == (Decimal("4.1"), Decimal("3.28"), 0)
    page = page_of(phone, milk)
    assert "Fat: Milk fat" in page
    assert "3.3 to 4.9" in page
    assert "the label" in page
    assert "Protein, fibre, minerals and the like" in page


def test_a_liquid_left_empty_counts_as_water_and_shows_nothing_more(phone):
    assert phone.post(new("liquid"), {"name": "Rain"}).status_code == 302
    rain = Material.objects.get()
    assert rain.contents is None
    assert "In 100 g of it" not in page_of(phone, rain)


def test_a_published_liquid_fills_the_form_in(phone):
    page = phone.get(new("liquid", like="goat_milk")).content.decode()
    assert 'value="87.03"' in page
    assert 'value="4.14"' in page
    assert 'value="Caprae Lac"' in page
    assert '<option value="milk_fat" selected>' in page
    assert "NDB 01106" in page


def test_a_published_additive_fills_in_a_material_that_is_there_and_keeps_the_rest(phone):
    own = MaterialFactory(additive=True, name="Hill honey", inci_name="Mel", note="From the neighbour")
    page = phone.get(reverse("inventory:material_edit", args=[own.pk]) + "?like=honey").content.decode()
    assert 'value="82.12"' in page
    assert 'value="Hill honey"' in page
    assert "From the neighbour" in page


@pytest.mark.parametrize("like", ["", "motor_oil", "honey", "🧼", "x" * 5000])
def test_one_that_is_no_published_liquid_fills_nothing_in(phone, like):
    response = phone.get(new("liquid", like=like))
    assert response.status_code == 200
    assert not response.context["form"].contents_open


@pytest.mark.parametrize("kind", ["liquid", "additive"])
@pytest.mark.parametrize("name", SHARES)
def test_a_share_that_is_none_is_refused_beside_its_field(phone, kind, name):
    for typed in NONSENSE:
        response = phone.post(new(kind), MILK | {"acid": "lactic", "acid_least": "1"} | {name: typed})
        page = response.content.decode()
        assert response.status_code == 422
        assert name in response.context["form"].errors
        assert "<script>alert" not in page
        assert 'value="Hill goat milk"' in page
    assert not Material.objects.exists()


@pytest.mark.parametrize(
    ("field", "changed"),
    [
        ("water", {"water": "96"}),
        ("water", {"water": ""}),
        ("fat_low", {"fat_low": "5"}),
        ("fat_high", {"fat_high": "3"}),
        ("fat_reference", {"fat_reference": ""}),
        ("fat_reference", {"fat_reference": "motor_oil"}),
        ("acid_least", {"acid": "lactic"}),
        ("acid", {"acid_least": "2"}),
        ("composition_source", {"composition_source": "x" * 10_000}),
    ],
)
def test_contents_that_cannot_be_are_refused_and_kept(phone, field, changed):
    response = phone.post(new("liquid"), MILK | changed)
    assert response.status_code == 422
    assert list(response.context["form"].errors) == [field]
    assert 'value="4,1"' in response.content.decode()
    assert response.context["form"].contents_open
    assert not Material.objects.exists()


def test_saving_a_milk_of_the_catalogue_unchanged_changes_nothing(phone):
    load_catalogue()
    for key in ("goat_milk", "skim_milk", "distilled_vinegar", "water", "sodium_lactate", "lactic", "citric"):
        before = Material.objects.get(reference=key)
        edit = reverse("inventory:material_edit", args=[before.pk])
        form = phone.get(edit).context["form"]
        sent = {bound.name: bound.value() for bound in form if bound.value() not in (None, False, {})}
        assert phone.post(edit, sent).status_code == 302
        after = Material.objects.get(pk=before.pk)
        assert after.contents == before.contents
        assert after.acid_percent == before.acid_percent


def test_the_page_of_a_liquid_of_the_catalogue_names_its_sources(phone):
    load_catalogue()
    page = page_of(phone, Material.objects.get(reference="cider_vinegar"))
    assert "at least 4.0 g" in page
    assert "seen at" in page
    assert "Usually 0.5 to" in page_of(phone, Material.objects.get(reference="honey"))


def test_a_ready_made_lye_solution_has_a_strength(phone):
    page = phone.get(new("alkali", solution="1")).content.decode()
    assert "Strength, lowest" in page
    assert "checked" in page
    sent = {"name": "Lye", "alkali": "naoh", "dissolved": "on", "purity_low": "49", "purity_high": "51"}
    assert phone.post(new("alkali"), sent).status_code == 302
    lye = Material.objects.get()
    assert lye.dissolved
    assert "Strength" in page_of(phone, lye)


def test_a_solution_too_strong_to_stay_dissolved_is_refused(phone):
    sent = {"name": "Lye", "alkali": "naoh", "dissolved": "on", "purity_low": "97", "purity_high": "99"}
    response = phone.post(new("alkali"), sent)
    assert response.status_code == 422
    assert "No more than 52.2 %" in response.context["form"].errors["purity_high"][0]
    assert "Strength, lowest" in response.content.decode()


def test_the_certificate_of_a_solution_tells_its_strength(phone):
    lot = LotFactory(
        material=MaterialFactory(lye_solution=True), purity=Decimal(40), purity_uncertainty=Decimal("0.5")
    )
    assert (
        "Strength on the certificate"
        in phone.get(reverse("inventory:lot_edit", args=[lot.pk])).content.decode()
    )
    page = phone.get(reverse("inventory:lot", args=[lot.pk])).content.decode()
    assert "Strength, by its certificate" in page
    assert "The certificate says 40 %" in page


def test_a_certificate_that_cannot_be_right_is_told_on_the_page_of_its_lot(phone):
    olive = MaterialFactory(name="Olive oil", reference="olive")
    lot = LotFactory(material=olive, sap=Decimal(250), sap_uncertainty=Decimal(1))
    page = phone.get(reverse("inventory:lot", args=[lot.pk])).content.decode()
    assert "250 cannot be right for Olive oil" in page


def test_the_fatty_acids_of_a_certificate_are_kept_and_shown(phone):
    sent = {"name": "Plum oil", "profile_C16_0": "11", "profile_C18_1": "74,5", "profile_C18_2": "10 %"}
    assert phone.post(new("fat"), sent | {"origin": "plant", "antioxidant": "on"}).status_code == 302
    plum = Material.objects.get()
    assert plum.profile == {"C16:0": 11.0, "C18:1": 74.5, "C18:2": 10.0}
    page = page_of(phone, plum)
    assert "Its own fatty acids give" in page
    assert "Given by the workshop" in page
    assert "Plant, not palm" in page
    assert "slows rancidity" in page
    edit = phone.get(reverse("inventory:material_edit", args=[plum.pk])).content.decode()
    assert 'name="profile_C18_1" value="74.5"' in edit


def test_a_value_that_cannot_be_right_for_its_own_fatty_acids_is_kept_with_a_warning(phone):
    sent = {"name": "Plum oil", "sap_nominal": "250", "profile_C18_1": "95"}
    response = phone.post(new("fat"), sent, follow=True)
    assert Material.objects.get().sap_nominal == 250
    assert "cannot be right" in response.content.decode()


def test_fatty_acids_that_do_not_add_up_are_refused_and_kept(phone):
    response = phone.post(new("fat"), {"name": "Plum oil", "profile_C18_1": "50", "profile_C16_0": "0"})
    page = response.content.decode()
    assert response.status_code == 422
    assert "These add up to 50 %" in response.context["form"].errors["profile"][0]
    assert 'name="profile_C18_1" value="50"' in page
    assert "#id_profile_C4_0" in page


def test_a_share_of_a_fatty_acid_that_is_none_is_refused(phone):
    for typed in NONSENSE:
        sent = {"name": "Plum oil", "profile_C18_1": typed, "profile_C16_0": "5"}
        response = phone.post(new("fat"), sent)
        assert response.status_code == 422
        assert response.context["form"].errors["profile"][0].startswith("C18:1: ")
        assert "<script>alert" not in response.content.decode()
    assert not Material.objects.exists()


def test_what_the_workshop_has_had_is_offered_before_the_rest_of_the_catalogue(phone):
    load_catalogue()
    SupplierFactory()
    LotFactory(material=Material.objects.get(reference="olive"))
    groups = phone.get(reverse("inventory:receive")).context["forms"].lines[0].fields["material"].choices
    labels = [label for label, _ in groups[1:]]
    assert labels[0] == "Fats and oils"
    assert [name for _, name in groups[1][1]] == ["Olive oil"]
    assert "Liquids, from the catalogue" in labels
    assert labels.index("Fats and oils, from the catalogue") == 1


def test_an_embed_is_written_down_and_its_page_says_what_a_piece_is(phone):
    sent = {"name": "Sun disc", "piece_grams": "12,5 g", "piece_length": "3 cm", "colour": "#c9a227"}
    assert phone.post(new("embed"), sent | {"reorder_level": "40"}).status_code == 302
    disc = Material.objects.get()
    assert (disc.piece_grams, disc.piece_length, disc.reorder_level) == (Decimal("12.5"), 30, 40)
    page = page_of(phone, disc)
    assert "12.5 g" in page
    assert "30 mm" in page
    assert "40\N{NO-BREAK SPACE}pieces" in page
    edit = phone.get(reverse("inventory:material_edit", args=[disc.pk])).content.decode()
    assert 'name="piece_grams" value="12.5"' in edit
    assert 'name="density"' not in edit


def test_a_topping_is_weighed_and_has_no_pieces(phone):
    sent = {"name": "Dried petals", "colour": "#8a5a83", "reorder_level": "50 g", "inci_name": "Calendula"}
    assert phone.post(new("topping"), sent).status_code == 302
    petals = Material.objects.get()
    assert (petals.colour, petals.reorder_level, petals.piece_grams) == ("#8a5a83", 50, None)
    assert "One piece weighs" not in page_of(phone, petals)


@pytest.mark.parametrize("field", ["piece_grams", "piece_length"])
def test_a_piece_that_is_none_is_refused_beside_its_field(phone, field):
    for typed in ["0", *(each for each in NONSENSE if each != "101")]:
        response = phone.post(new("embed"), {"name": "Sun disc", field: typed})
        assert response.status_code == 422
        assert list(response.context["form"].errors) == [field]
        assert "<script>alert" not in response.content.decode()
        assert 'value="Sun disc"' in response.content.decode()
    assert not Material.objects.exists()


def test_the_density_of_a_colour_lets_it_be_received_by_the_teaspoon(phone):
    assert "A level teaspoon is 5 mL" in phone.get(new("colour")).content.decode()
    assert phone.post(new("colour"), {"name": "Blue mica", "density": "0,4"}).status_code == 302
    mica = Material.objects.get()
    supplier = SupplierFactory()
    sent = {
        "key": "6f9c5c1e-1111-4b71-9d0c-2a6c2d3e4f50",
        "supplier": supplier.pk,
        "received_on": "2026-05-03",
        "lines": "1",
        "line-0-material": mica.pk,
        "line-0-quantity": "5 tsp",
        "line-0-cost": "3",
    }
    assert phone.post(reverse("inventory:receive"), sent).status_code == 302
    assert Decimal("9.8") < mica.lots.get().on_hand < Decimal("10.1")


def test_batter_kept_back_is_neither_added_nor_bought_by_hand(phone):
    batter, supplier = MaterialFactory(batter=True, name="Batter of Moss"), SupplierFactory()
    kinds = phone.get(reverse("inventory:material_add")).content.decode()
    assert "?kind=topping" in kinds
    assert "?kind=batter" not in kinds
    response = phone.post(new("batter"), {"name": "Batter of Fern"})
    assert "What kind of material?" in response.content.decode()
    assert Material.objects.get() == batter
    groups = phone.get(reverse("inventory:receive")).content.decode()
    assert supplier.name in groups
    assert "Batter of Moss" not in groups


def test_the_page_of_batter_kept_back_explains_it_and_offers_no_delivery(phone):
    lot = MadeLotFactory(material=MaterialFactory(batter=True, name="Batter of Moss"))
    page = page_of(phone, lot.material)
    assert "kept back for later" in page
    assert "Raw soap burns skin and eyes" in page
    assert f"{reverse('inventory:receive')}?material" not in page
    edit = reverse("inventory:material_edit", args=[lot.material_id])
    assert set(phone.get(edit).context["form"].fields) == {"name", "note"}
    assert phone.post(edit, {"name": "Batter of Moss", "note": "In the cold room"}).status_code == 302
    assert Material.objects.get(pk=lot.material_id).note == "In the cold room"


def test_the_stockroom_has_a_shelf_for_embeds_toppings_and_batter(phone):
    for traits, kind in (
        ({"packaging": True}, "box"),
        ({"embed": True}, "disc"),
        ({"topping": True}, "petals"),
    ):
        LotFactory(material=MaterialFactory(name=f"The {kind}", **traits), quantity=40)
    MadeLotFactory()
    page = phone.get(reverse("inventory:stockroom")).content.decode()
    shelves = [">Embeds<", ">Toppings<", ">Batter kept back<", ">Packaging<"]
    places = [page.rindex(f'"group-title"{shelf}') for shelf in shelves]
    assert places == sorted(places)
    assert "40\N{NO-BREAK SPACE}pieces" in page
    assert "40\N{NO-BREAK SPACE}g" in page
