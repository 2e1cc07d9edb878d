"""Worked examples from the literature and from stoichiometry, each with its source."""

from decimal import Decimal

import pytest

from shared.chemistry import M_GLYCEROL, M_KOH, M_NAOH, M_WATER, AcidKind, AlkaliKind
from shared.fats import iodine_from_composition, sap_from_composition
from shared.heat import heat_of_solution, specific_heat
from shared.lye_estimate import LyeStart, lye_estimate
from shared.moulds import lye_solution_density
from shared.saponification import (
    Acid,
    Alkali,
    AlkaliChoice,
    Fat,
    Formula,
    LiquidMethod,
    Sap,
    formulate,
    salts,
)
from shared.units import parse_volume, parse_weight

# USDA National Nutrient Database SR28, NDB 04055 "Oil, palm", g per 100 g
PALM = {
    "C12:0": 0.1,
    "C14:0": 1.0,
    "C16:0": 43.5,
    "C16:1": 0.3,
    "C18:0": 4.3,
    "C18:1": 36.6,
    "C18:2": 9.1,
    "C18:3": 0.2,
    "C20:1": 0.1,
}
# Huyghebaert and Hendrickx, Oleagineux 29 (1974) 29-31, one sample of argan oil
ARGAN = {"C14:0": 0.2, "C16:0": 14.3, "C18:0": 5.9, "C18:1": 48.1, "C18:2": 31.5}
# Merck Index, olive oil
OLIVE = {"C18:1": 83.5, "C16:0": 9.4, "C18:2": 4.0, "C18:0": 2.0, "C20:0": 0.9}

FAT_190 = (Fat("Fat", 1000, Sap(190, 190, 190)),)


def weigh(kind: AlkaliKind, purity: float, superfat: float, *acids: Acid) -> float:
    """Grams of alkali for 1,000 g of fat of saponification value 190."""
    choice = (AlkaliChoice(kind, purity, purity),)
    recipe = Formula(FAT_190, choice, superfat, LiquidMethod.RATIO, 2, acids)
    return formulate(recipe).alkalis[0].grams


@pytest.mark.parametrize(
    ("acids", "sap", "iodine"),
    [(PALM, 199.2, 50.4), (ARGAN, 193.2, 95.9), (OLIVE, 191.7, 78.9)],
    ids=["palm", "argan", "olive"],
)
def test_values_from_a_composition(acids: dict[str, float], sap: float, iodine: float) -> None:
    """By the idea of AOCS Cd 3a-94."""
    assert sap_from_composition(acids) == pytest.approx(sap, abs=0.1)
    assert iodine_from_composition(acids) == pytest.approx(iodine, abs=0.1)


def test_values_from_a_composition_agree_with_the_laboratory() -> None:
    """The same argan oil measured: 192.4 mg KOH/g and 97.0 g I2 per 100 g."""
    assert sap_from_composition(ARGAN) == pytest.approx(192.4, abs=2)
    assert iodine_from_composition(ARGAN) == pytest.approx(97.0, abs=2)


@pytest.mark.parametrize(
    ("kind", "purity", "superfat", "grams"),
    [
        # stoichiometry from IUPAC atomic weights
        (AlkaliKind.NAOH, 100, 0, 135.45),
        (AlkaliKind.NAOH, 100, 5, 128.68),
        (AlkaliKind.NAOH, 98, 5, 131.30),
        (AlkaliKind.KOH, 100, 0, 190.00),
        (AlkaliKind.KOH, 90, 0, 211.11),
    ],
)
def test_from_saponification_value_to_weighed_alkali(
    kind: AlkaliKind, purity: float, superfat: float, grams: float
) -> None:
    assert weigh(kind, purity, superfat) == pytest.approx(grams, abs=0.01)


@pytest.mark.parametrize(
    ("acid", "alkali", "grams"),
    [
        # grams of alkali that 10 g of acid take; stoichiometry from IUPAC atomic weights
        (AcidKind.CITRIC, AlkaliKind.NAOH, 6.245),
        (AcidKind.CITRIC_MONOHYDRATE, AlkaliKind.NAOH, 5.710),
        (AcidKind.CITRIC, AlkaliKind.KOH, 8.761),
        (AcidKind.CITRIC_MONOHYDRATE, AlkaliKind.KOH, 8.010),
        (AcidKind.LACTIC, AlkaliKind.NAOH, 4.440),
        (AcidKind.LACTIC, AlkaliKind.KOH, 6.229),
        (AcidKind.ACETIC, AlkaliKind.NAOH, 6.660),
        (AcidKind.ACETIC, AlkaliKind.KOH, 9.343),
    ],
)
def test_alkali_taken_by_ten_grams_of_acid(acid: AcidKind, alkali: AlkaliKind, grams: float) -> None:
    more = weigh(alkali, 100, 0, Acid(acid, 10)) - weigh(alkali, 100, 0)
    assert more == pytest.approx(grams, abs=0.001)


@pytest.mark.parametrize(
    ("acid", "name", "grams"),
    [
        (AcidKind.CITRIC, "Trisodium citrate", 13.432),
        (AcidKind.LACTIC, "Sodium lactate", 12.440),
    ],
)
def test_salt_left_by_ten_grams_of_acid(acid: AcidKind, name: str, grams: float) -> None:
    """Anhydrous salt at full neutralisation; stoichiometry from IUPAC atomic weights."""
    (salt,) = salts([Acid(acid, 10)], [Alkali(AlkaliKind.NAOH, 100, 100, 100)])
    assert salt.name == name
    assert salt.grams == pytest.approx(grams, abs=0.001)


def test_sodium_for_potassium_hydroxide_and_glycerol() -> None:
    """0.71289 g NaOH stand for 1 g KOH; 1,000 g of fat of value 190 release 103.96 g glycerol."""
    sodium_for_potassium, glycerol = M_NAOH / M_KOH, 190 * M_GLYCEROL / (3 * M_KOH)
    assert sodium_for_potassium == pytest.approx(0.71289, abs=5e-6)
    assert glycerol == pytest.approx(103.96, abs=0.01)


def test_heat_of_twenty_mol_of_sodium_hydroxide_in_eighty_mol_of_water() -> None:
    """Felder and Rousseau, problem 8.83: 688.6 kJ at 25 °C."""
    assert 20 * heat_of_solution(AlkaliKind.NAOH, 4) == pytest.approx(688.6, abs=0.1)


def test_adiabatic_rise_of_that_lye() -> None:
    """34 430 J / (112.06 g x 3.50 J/(g K)) = 87.8 K within 0.5 K; specific heat by Laliberte (2009)."""
    assert specific_heat(AlkaliKind.NAOH, 35.7) == pytest.approx(3.50, abs=0.005)
    alkali = Alkali(AlkaliKind.NAOH, 20 * M_NAOH, 100, 100)
    lye = lye_estimate([alkali], 80 * M_WATER, LyeStart(25, lost=0))
    # The alkali itself starts at 20 °C: 40 g x 1.49 J/(g K) x 5 K for each mol.
    cold_alkali = M_NAOH * 1.49 * 5 / (112.06 * 3.50)
    assert lye.most_celsius - 25 + cold_alkali == pytest.approx(87.8, abs=0.5)


def test_molarity_of_thirty_per_cent_sodium_hydroxide() -> None:
    """General chemistry exercise (chemistry.coach 394): density 1.325 g/mL at 25 °C, 9.94 mol/L.

    Our table is for 20 °C, where the lye is denser by a fifth of a per cent.
    """
    density = lye_solution_density([Alkali(AlkaliKind.NAOH, 30, 100, 100)], 70)
    assert density == pytest.approx(1.325, rel=0.003)
    assert 10 * 30 * density / M_NAOH == pytest.approx(9.94, rel=0.003)


@pytest.mark.parametrize(
    ("text", "grams"),
    [("2 lb 4 oz", "1020.583"), ("1 lb", "453.59237"), ("1 oz", "28.349523125")],
)
def test_weights_of_nist_handbook_44(text: str, grams: str) -> None:
    """NIST SP 811 and Handbook 44, Appendix C."""
    assert parse_weight(text) == pytest.approx(Decimal(grams), abs=Decimal("0.001"))


@pytest.mark.parametrize(
    ("text", "millilitres", "tolerance"),
    [
        ("8 fl oz", "236.5882", "0.0001"),
        ("8 imp fl oz", "227.3045", "0.0001"),
        ("1 gal", "3785.411784", "0.000001"),
        ("1 imp gal", "4546.09", "0.000001"),
        ("1 pint", "473.176473", "0.000001"),
        ("1 imp pint", "568.26125", "0.000001"),
        ("1 cup", "236.5882365", "0.000001"),
        ("1 tbsp", "14.78676478125", "0.000001"),
        ("3 tsp", "14.78676", "0.00001"),
    ],
)
def test_volumes_of_nist_handbook_44(text: str, millilitres: str, tolerance: str) -> None:
    """NIST SP 811 and Handbook 44, Appendix C."""
    assert parse_volume(text) == pytest.approx(Decimal(millilitres), abs=Decimal(tolerance))
