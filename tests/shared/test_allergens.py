"""The table of allergens, and finding an entry of it by what a certificate says."""

import pytest

from shared.allergens import fits_as_cas, fragrance_allergens, label_name
from shared.tables import rows


def test_every_entry_has_its_source_beside_it() -> None:
    for row in rows("allergens.csv"):
        assert row["source"].startswith("Regulation (EC) No 1223/2009, Annex III, entry")
        assert row["provenance"] == "verified"
        assert row["seen_at"]


def test_every_cas_number_of_the_table_fits() -> None:
    for allergen in fragrance_allergens().values():
        assert allergen.cas
        assert all(fits_as_cas(cas) for cas in allergen.cas), allergen


@pytest.mark.parametrize(
    ("name", "cas", "entry"),
    [
        ("Linalool", "", "Linalool"),
        (" LINALOOL ", "", "Linalool"),
        ("Linalool", "5989-27-5", "Linalool"),
        ("Geranial", "", "Citral"),
        ("3,7-dimethylocta-1,6-dien-3-ol", "78-70-6", "Linalool"),
        ("d-limonene", " 5989-27-5 ", "Limonene"),
        ("Methyl Eugenol", "93-15-2", ""),
        ("", "", ""),
    ],
)
def test_an_entry_is_found_by_its_name_and_else_by_its_cas_number(name: str, cas: str, entry: str) -> None:
    assert label_name(name, cas) == entry


def test_a_cas_number_that_stands_under_two_entries_tells_neither() -> None:
    assert label_name("Orange oil", "8028-48-6") == ""
    assert label_name("Citrus Aurantium Peel Oil", "8028-48-6") == "Citrus Aurantium Peel Oil"


def test_no_name_belongs_to_two_entries() -> None:
    names = [n.casefold() for a in fragrance_allergens().values() for n in (a.name, *a.also)]
    assert len(names) == len(set(names))


@pytest.mark.parametrize(
    "text", ["", "78-70-7", "78706", "78-70-", "7-70-6", "7a-70-6", "٧٨-٧٠-٦", "12345678-70-6"]
)
def test_what_is_no_cas_number_does_not_fit(text: str) -> None:
    assert not fits_as_cas(text)
