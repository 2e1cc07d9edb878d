"""The limits of fragrances and the naming of allergens against worked examples.

Limits: IFRA Standards, where the figure on a certificate is the most of the fragrance, by weight, in the
finished product. Naming: Regulation (EC) No 1223/2009, Annex III, over 0.01 % of what is rinsed off. The
limits of the examples are made up; the arithmetic follows from the two texts.
"""

import pytest

from shared.allergens import fragrance_allergens, label_name
from shared.fragrance import Allergen, Certified, Dose, Substance, assess


def limited(limit: float) -> Certified:
    return Certified("Lavender", limit)


def allergens(*doses: tuple[float, Substance]) -> list[Allergen]:
    """Of a bar of 100 g, with % of the bar and what is in each fragrance."""
    found = assess(
        [
            Dose(Certified(f"Fragrance {n}", 100, None, (part,)), grams)
            for n, (grams, part) in enumerate(doses)
        ],
        100,
    )
    return list(found.allergens)


def test_thirty_grams_in_a_kilogram_are_within_five_per_cent() -> None:
    (found,) = assess([Dose(limited(5), 30)], 1000).fragrances
    assert found.share == 3
    assert found.passes


def test_the_same_is_over_a_limit_once_the_bar_has_dried_that_it_kept_at_cutting() -> None:
    """3.00 % of 1000 g at cutting, 3.33 % of the 900 g of the cured bars, against a limit of 3.2 %."""
    (cutting,) = assess([Dose(limited(3.2), 30)], 1000).fragrances
    (cured,) = assess([Dose(limited(3.2), 30)], 900).fragrances
    assert (cutting.share, cutting.passes) == (3, True)
    assert (round(cured.share, 2), cured.passes) == (3.33, False)


def test_the_most_of_a_fragrance_is_its_limit_of_the_finished_bar() -> None:
    """2.4 % of 1250 g are 30 g."""
    (found,) = assess([Dose(limited(2.4), 30)], 1250).fragrances
    assert found.passes
    assert found.most == pytest.approx(30)
    assert not assess([Dose(limited(2.4), 30.01)], 1250).passes


def test_a_dose_on_the_fats_is_less_of_the_bar() -> None:
    """3 % of 700 g of fats are 21 g, and those are 2.14 % of 980 g."""
    (found,) = assess([Dose(limited(2.15), 0.03 * 700)], 980).fragrances
    assert round(found.share, 2) == 2.14
    assert found.most_of(700) == pytest.approx(2.15 / 97.85 * (980 - 21) / 700 * 100)


@pytest.mark.parametrize(
    ("fragrance", "substance", "share", "in_bar", "named"),
    [
        pytest.param(3, "Linalool", 5, 0.15, True),
        pytest.param(3, "Eugenol", 0.3, 0.009, False),
        pytest.param(2, "Coumarin", 0.5, 0.01, False, id="exactly at the line is not over it"),
        pytest.param(2, "Lavandula Oil/Extract", 100, 2, True, id="a natural oil is an entry itself"),
    ],
)
def test_an_allergen_is_named_over_a_hundredth_of_a_per_cent(
    fragrance: float, substance: str, share: float, in_bar: float, named: bool
) -> None:
    assert allergens((fragrance, Substance(substance, share, allergen=True))) == [
        Allergen(substance, in_bar, named)
    ]


def test_the_same_allergen_from_two_fragrances_adds_up() -> None:
    linalool = Substance("Linalool", 0.6, allergen=True)
    assert allergens((1, linalool), (1, linalool)) == [Allergen("Linalool", 0.012, named=True)]
    assert allergens((1, linalool)) == [Allergen("Linalool", 0.006, named=False)]


def test_all_members_of_a_grouped_entry_add_up() -> None:
    """Geranial and neral are citral."""
    geranial = Substance("Geranial", 0.6, allergen=True, cas="141-27-5")
    neral = Substance("Neral", 0.5, allergen=True, cas="106-26-3")
    assert allergens((1, geranial), (1, neral)) == [Allergen("Citral", 0.011, named=True)]


def test_the_annex_has_eighty_one_names() -> None:
    """Some count 80 or 82, by how merged entries are counted."""
    assert len(fragrance_allergens()) == 81
    assert len({allergen.entry for allergen in fragrance_allergens().values()}) == 81
    assert label_name("d-limonene", "5989-27-5") == "Limonene"
