"""The catalogue of reference fats and what follows from a composition."""

import csv
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

import shared
from shared.fats import (
    FatKind,
    fatty_acids,
    iodine_from_composition,
    reference_fats,
    sap_from_composition,
)
from shared.tables import interpolate

DATA = Path(shared.__path__[0]) / "data"
ACIDS = st.dictionaries(
    st.sampled_from(["C12:0", "C14:0", "C16:0", "C18:0", "C18:1", "C18:2", "C18:1-OH"]),
    st.floats(0.1, 100),
    min_size=1,
)


def test_every_fat_has_what_a_recipe_needs() -> None:
    assert len(reference_fats()) == 59
    for key, fat in reference_fats().items():
        assert fat.key == key
        assert fat.name
        assert fat.organism
        assert fat.nominal_from
        assert fat.sap is not None
        assert 0 < fat.sap.low <= fat.sap.nominal <= fat.sap.high
        assert fat.sap.source
        assert set(fat.profile) | set(fat.typical) <= set(fatty_acids())


def test_every_value_has_its_source_beside_it() -> None:
    for name in ("fats.csv", "fat_profiles.csv", "fat_typical.csv", "lye.csv"):
        with (DATA / name).open(encoding="utf-8", newline="") as file:
            for row in csv.DictReader(file):
                assert row["provenance"] in {"verified", "memory"}, row
                assert row["source"], row
                assert row["seen_at"] or row["provenance"] == "memory", row


def test_every_data_file_is_named_in_the_readme() -> None:
    readme = (DATA / "README.md").read_text(encoding="utf-8")
    for path in DATA.glob("*.csv"):
        assert f"`{path.name}`" in readme


def test_waxes_and_free_acids_give_no_glycerin_and_waxes_hardly_react() -> None:
    fats = reference_fats()
    waxes = {key for key, fat in fats.items() if not fat.reacts_cold}
    assert waxes == {"jojoba", "beeswax", "candelilla_wax", "carnauba_wax", "lanolin"}
    assert {key for key, fat in fats.items() if not fat.triglyceride} == waxes | {
        "lauric_acid",
        "myristic_acid",
        "palmitic_acid",
        "stearic_acid",
        "oleic_acid",
    }
    assert fats["stearic_acid"].kind is FatKind.FREE_ACID


# How each kind of nominal value comes about


def test_a_typical_composition_gives_the_nominal_value() -> None:
    """USDA SR28 composition of palm oil gives 199.2; half of 12 g/kg unsaponifiable matter off is 198.0."""
    palm = reference_fats()["palm"]
    assert palm.sap is not None
    assert palm.sap.nominal == 198.0
    assert palm.nominal_from.startswith("198 from the typical fatty acids less 6 g/kg")


def test_a_very_wide_range_is_not_dosed_from_its_middle() -> None:
    shea = reference_fats()["shea_butter"]
    assert shea.sap is not None
    assert (shea.sap.low, shea.sap.high) == (160, 195)
    assert shea.sap.nominal == pytest.approx(sap_from_composition(shea.typical) * (1 - 0.095), abs=0.05)


def test_a_nominal_value_is_held_inside_the_published_range() -> None:
    mutton = reference_fats()["tallow_mutton"]
    assert mutton.sap is not None
    assert mutton.sap.nominal == mutton.sap.high == 195
    assert mutton.nominal_from == "196.5 from the typical fatty acids; held inside the published range at 195"


def test_without_a_composition_the_middle_of_the_range_is_taken() -> None:
    argan = reference_fats()["argan"]
    assert argan.sap is not None
    assert argan.sap.nominal == pytest.approx((180.0 + 199.6) / 2)
    assert argan.nominal_from == "the middle of the published range"


def test_a_range_above_what_the_fatty_acids_take_is_opened_downwards() -> None:
    primrose = reference_fats()["evening_primrose"]
    assert primrose.sap is not None
    assert primrose.sap.low == pytest.approx(192.6)
    assert "opened down to the 192.6" in primrose.nominal_from


def test_without_a_published_range_three_per_cent_either_way_is_assumed() -> None:
    duck = reference_fats()["duck_fat"]
    assert duck.sap is not None
    assert (duck.sap.low, duck.sap.nominal, duck.sap.high) == (190.0, 195.9, 201.8)
    assert "3 % either way is assumed" in duck.nominal_from


def test_a_single_published_value_stands() -> None:
    jojoba = reference_fats()["jojoba"]
    assert jojoba.sap is not None
    assert jojoba.sap.low == jojoba.sap.nominal == jojoba.sap.high == 92.2
    assert jojoba.nominal_from == "the one published value"


def test_density_is_relative_density_times_that_of_its_water() -> None:
    """Codex: soya 0.919-0.925 at 20/20 °C; Merck Index: olive 0.909-0.915 at 25/25 °C."""
    fats = reference_fats()
    assert fats["soybean"].density == pytest.approx(0.922 * 0.99821, abs=1e-4)
    assert fats["olive"].density == pytest.approx(0.912 * 0.99705, abs=1e-4)
    assert fats["olive"].density_celsius == 25
    assert fats["apricot_kernel"].density is fats["apricot_kernel"].density_celsius is None


def test_the_facts_cannot_be_changed_by_who_reads_them() -> None:
    fats = reference_fats()
    assert fats is reference_fats()
    with pytest.raises(TypeError):
        fats["olive"] = fats["palm"]  # type: ignore[index]
    with pytest.raises(TypeError):
        fats["olive"].profile["C18:1"] = (0, 100)  # type: ignore[index]


# Compositions


@given(ACIDS, st.floats(0.01, 100))
def test_only_proportions_matter(acids: dict[str, float], factor: float) -> None:
    scaled = {acid: share * factor for acid, share in acids.items()}
    assert sap_from_composition(scaled) == pytest.approx(sap_from_composition(acids))
    assert iodine_from_composition(scaled) == pytest.approx(iodine_from_composition(acids), abs=1e-9)


@given(ACIDS)
def test_a_blend_lies_between_its_acids(acids: dict[str, float]) -> None:
    alone = [sap_from_composition({acid: 1}) for acid in acids]
    assert min(alone) - 1e-9 <= sap_from_composition(acids) <= max(alone) + 1e-9


@given(ACIDS, st.floats(0.1, 190))
def test_unsaponifiable_matter_takes_no_alkali(acids: dict[str, float], share: float) -> None:
    with_it = sap_from_composition(acids, unsaponifiable_g_per_kg=share)
    assert with_it == pytest.approx(sap_from_composition(acids) * (1 - share / 1000))


@pytest.mark.parametrize(
    "acids", [{}, {"C18:1": 0.0}, {"C18:1": 100.0, "C18:0": -1.0}, {"C18:1": float("nan")}]
)
def test_an_impossible_composition_is_refused(acids: dict[str, float]) -> None:
    for compute in (sap_from_composition, iodine_from_composition):
        with pytest.raises(ValueError, match="fatty acids above zero"):
            compute(acids)


def test_an_unknown_acid_is_refused() -> None:
    with pytest.raises(KeyError):
        sap_from_composition({"C99:9": 100})


# Reading between points


@pytest.mark.parametrize(("x", "y"), [(-1, 10), (0, 10), (1, 15), (2, 20), (3, 10), (4, 0), (5, 0)])
def test_straight_lines_between_points_and_the_ends_beyond(x: float, y: float) -> None:
    assert interpolate([(0, 10), (2, 20), (4, 0)], x) == y
