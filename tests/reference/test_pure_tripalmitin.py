"""Glycerin and total fatty matter of pure tripalmitin, worked by hand.

1,000 g of tripalmitin, C51H98O6, 807.32 g/mol, are 1.23867 mol. They take 3 x 1.23867 = 3.71600 mol of sodium
hydroxide, 148.63 g, and give

    sodium palmitate  3.71600 mol x 278.41 g/mol = 1034.56 g
    glycerin          1.23867 mol x  92.09 g/mol =  114.07 g

which together are the 1,148.63 g put in. As free palmitic acid, 256.42 g/mol, the soap is 952.87 g of fatty
matter: 95.29 % of the fat. Molar masses on the expected side come from the library molmass (IUPAC weights).
"""

import pytest
from molmass import Formula as Molecule

from shared.chemistry import AcidKind, AlkaliKind
from shared.contents import Contents, PotFat, PotLiquid
from shared.fats import sap_from_composition
from shared.finished_bar import FinishedBar, finish
from shared.ingredients import Acid, Alkali, Fat, FatKind, Sap
from shared.liquids import WATER

PALMITIN, PALMITIC = Molecule("C51H98O6").mass, Molecule("C16H32O2").mass
GLYCEROL, WATER_MASS = Molecule("C3H8O3").mass, Molecule("H2O").mass
SOAP = {AlkaliKind.NAOH: Molecule("C16H31O2Na").mass, AlkaliKind.KOH: Molecule("C16H31O2K").mass}


def tripalmitin(kind: AlkaliKind, *, share: float = 1.0, acids: tuple[Acid, ...] = ()) -> FinishedBar:
    """1,000 g with alkali for this share of it and for the acids, in 300 g of water."""
    value = sap_from_composition({"C16:0": 100})
    pure = PotFat(Fat("Tripalmitin", 1000, Sap(value, value, value)))
    lye = share * 3000 / PALMITIN * Molecule(kind.formula).mass + sum(acid.takes(kind) for acid in acids)
    return finish(Contents((pure,), (Alkali(kind, lye, 100, 100),), acids, (PotLiquid(WATER, 300),)), loss=0)


def test_the_figures_of_the_docstring() -> None:
    bar = tripalmitin(AlkaliKind.NAOH)
    assert bar.put_in == pytest.approx(1448.63, abs=0.01)
    assert bar.soap == pytest.approx(1034.56, abs=0.01)
    assert bar.glycerin == pytest.approx(114.07, abs=0.01)
    assert bar.total_fatty_matter == pytest.approx(952.87, abs=0.01)
    assert bar.unsaponified == ()
    assert bar.water == pytest.approx(300)


@pytest.mark.parametrize("kind", AlkaliKind)
def test_soap_glycerin_and_fatty_matter_from_molar_masses(kind: AlkaliKind) -> None:
    bar, mol = tripalmitin(kind), 1000 / PALMITIN
    assert bar.soap == pytest.approx(3 * mol * SOAP[kind], rel=1e-6)
    assert bar.glycerin == pytest.approx(mol * GLYCEROL, rel=1e-6)
    assert bar.total_fatty_matter == pytest.approx(3 * mol * PALMITIC, rel=1e-6)
    assert bar.share(bar.total_fatty_matter) == pytest.approx(100 * 3 * mol * PALMITIC / bar.put_in, rel=1e-6)


def test_what_five_per_cent_superfat_leaves() -> None:
    """950 g react: 982.83 g soap and 108.36 g glycerin; 50 g stay fat and count whole as fatty matter."""
    bar = tripalmitin(AlkaliKind.NAOH, share=0.95)
    assert bar.soap == pytest.approx(982.83, abs=0.01)
    assert bar.glycerin == pytest.approx(108.36, abs=0.01)
    (left,) = bar.unsaponified
    assert left.grams == pytest.approx(50)
    assert bar.total_fatty_matter == pytest.approx(0.95 * 952.87 + 50, abs=0.01)


def test_fatty_matter_of_a_dry_bar_of_pure_soap() -> None:
    """Without water: 952.87 / 1148.63 = 82.96 %."""
    bar = tripalmitin(AlkaliKind.NAOH)
    assert 100 * bar.total_fatty_matter / bar.dry == pytest.approx(82.96, abs=0.01)


def test_citric_acid_becomes_citrate_and_water_and_leaves_the_soap_alone() -> None:
    """C6H8O7 + 3 NaOH -> C6H5Na3O7 + 3 H2O: 10 g take 6.245 g, give 13.432 g citrate and 2.813 g water."""
    plain = tripalmitin(AlkaliKind.NAOH)
    sour = tripalmitin(AlkaliKind.NAOH, acids=(Acid(AcidKind.CITRIC, 10),))
    assert sour.soap == pytest.approx(plain.soap)
    (salt,) = sour.salts
    assert salt.grams == pytest.approx(10 * Molecule("C6H5Na3O7").mass / Molecule("C6H8O7").mass, rel=1e-6)
    assert salt.grams == pytest.approx(13.432, abs=0.001)
    assert sour.water - plain.water == pytest.approx(30 * WATER_MASS / Molecule("C6H8O7").mass, rel=1e-6)


def test_the_monohydrate_brings_its_own_water_too() -> None:
    """C6H10O8 + 3 NaOH -> C6H5Na3O7 + 4 H2O."""
    plain = tripalmitin(AlkaliKind.NAOH)
    sour = tripalmitin(AlkaliKind.NAOH, acids=(Acid(AcidKind.CITRIC_MONOHYDRATE, 10),))
    assert sour.water - plain.water == pytest.approx(40 * WATER_MASS / Molecule("C6H10O8").mass, rel=1e-6)


def test_lactic_acid_of_eighty_per_cent() -> None:
    """C3H6O3 + NaOH -> C3H5NaO3 + H2O, and 2 g of the 10 are water."""
    plain = tripalmitin(AlkaliKind.NAOH)
    sour = tripalmitin(AlkaliKind.NAOH, acids=(Acid(AcidKind.LACTIC, 10, 80),))
    assert sour.salts[0].grams == pytest.approx(
        8 * Molecule("C3H5NaO3").mass / Molecule("C3H6O3").mass, rel=1e-6
    )
    assert sour.water - plain.water == pytest.approx(2 + 8 * WATER_MASS / Molecule("C3H6O3").mass, rel=1e-6)


def test_palmitic_acid_gives_water_for_glycerin() -> None:
    """C16H32O2 + NaOH -> C16H31O2Na + H2O."""
    value = 1000 * Molecule("KOH").mass / PALMITIC
    acid = PotFat(Fat("Palmitic acid", 1000, Sap(value, value, value), kind=FatKind.FREE_ACID))
    lye = Alkali(AlkaliKind.NAOH, 1000 / PALMITIC * Molecule("NaOH").mass, 100, 100)
    bar = finish(Contents((acid,), (lye,), liquids=(PotLiquid(WATER, 300),)), loss=0)
    assert bar.glycerin == 0
    assert bar.soap == pytest.approx(1000 * SOAP[AlkaliKind.NAOH] / PALMITIC, rel=1e-5)
    assert bar.water - 300 == pytest.approx(1000 * WATER_MASS / PALMITIC, rel=1e-5)
    assert bar.total_fatty_matter == pytest.approx(1000, rel=1e-5)


def test_glycerin_of_a_kilogram_of_value_190() -> None:
    """190 x 92.094 / (3 x 56.106) = 103.96 g."""
    fat = PotFat(Fat("Fat", 1000, Sap(190, 190, 190)))
    lye = Alkali(AlkaliKind.KOH, 190, 100, 100)
    bar = finish(Contents((fat,), (lye,), liquids=(PotLiquid(WATER, 300),)))
    assert bar.glycerin == pytest.approx(103.96, abs=0.01)
