import molmass
import pytest

from shared.chemistry import (
    ATOMIC_WEIGHT,
    M_GLYCEROL,
    M_IODINE,
    M_KOH,
    M_NAOH,
    M_WATER,
    AcidKind,
    AlkaliKind,
    molar_mass,
)


@pytest.mark.parametrize(
    ("mass", "formula"),
    [(M_NAOH, "NaOH"), (M_KOH, "KOH"), (M_WATER, "H2O"), (M_GLYCEROL, "C3H8O3"), (M_IODINE, "I2")],
)
def test_molar_masses_agree_with_a_general_library(mass: float, formula: str) -> None:
    assert mass == pytest.approx(molmass.Formula(formula).mass, rel=1e-9)


def test_every_atomic_weight_agrees_with_a_general_library() -> None:
    for symbol, weight in ATOMIC_WEIGHT.items():
        assert weight == pytest.approx(molmass.ELEMENTS[symbol].mass, rel=1e-9)


@pytest.mark.parametrize("text", ["", "c2h4", "C2H4O2·H2O", "Ca(OH)2", "2H2O", "C2H4O2 "])
def test_only_plain_formulas_are_read(text: str) -> None:
    with pytest.raises(ValueError, match="Not a plain chemical formula"):
        molar_mass(text)


def test_an_element_out_of_the_table_is_refused() -> None:
    with pytest.raises(KeyError):
        molar_mass("CaO")


@pytest.mark.parametrize(
    ("kind", "label", "formula", "metal", "metal_name"),
    [
        (AlkaliKind.NAOH, "Sodium hydroxide", "NaOH", "Na", "sodium"),
        (AlkaliKind.KOH, "Potassium hydroxide", "KOH", "K", "potassium"),
    ],
)
def test_an_alkali_knows_its_names(
    kind: AlkaliKind, label: str, formula: str, metal: str, metal_name: str
) -> None:
    assert (kind.label, kind.formula, kind.metal, kind.metal_name) == (label, formula, metal, metal_name)
    assert kind.molar_mass == molar_mass(formula)


@pytest.mark.parametrize(
    ("acid", "protons", "sodium_salt", "potassium_salt", "sodium_salt_formula"),
    [
        (AcidKind.CITRIC, 3, "Trisodium citrate", "Tripotassium citrate", "C6H5Na3O7"),
        (AcidKind.CITRIC_MONOHYDRATE, 3, "Trisodium citrate", "Tripotassium citrate", "C6H5Na3O7"),
        (AcidKind.LACTIC, 1, "Sodium lactate", "Potassium lactate", "C3H5NaO3"),
        (AcidKind.ACETIC, 1, "Sodium acetate", "Potassium acetate", "C2H3NaO2"),
    ],
)
def test_an_acid_knows_its_salts(
    acid: AcidKind, protons: int, sodium_salt: str, potassium_salt: str, sodium_salt_formula: str
) -> None:
    assert acid.protons == protons
    assert acid.salt_label(AlkaliKind.NAOH) == sodium_salt
    assert acid.salt_label(AlkaliKind.KOH) == potassium_salt
    assert acid.salt_molar_mass(AlkaliKind.NAOH) == pytest.approx(molmass.Formula(sodium_salt_formula).mass)


def test_the_monohydrate_is_weighed_with_its_water() -> None:
    assert AcidKind.CITRIC_MONOHYDRATE.molar_mass == pytest.approx(AcidKind.CITRIC.molar_mass + M_WATER)
    assert AcidKind.CITRIC_MONOHYDRATE.label == "Citric acid monohydrate"
