"""Pure triglycerides from atomic weights alone.

Three mol of alkali go to one mol of triglyceride. The molar masses on the expected side come from the
library molmass (IUPAC atomic weights), not from our own tables.
"""

import pytest
from molmass import Formula as Molecule

from shared.chemistry import AlkaliKind
from shared.fats import iodine_from_composition, sap_from_composition
from shared.saponification import AlkaliChoice, Fat, Formula, LiquidMethod, Sap, formulate

TRIGLYCERIDES = {
    # acid, triglyceride, double bonds of the acid
    "trilaurin": ("C12:0", "C39H74O6", 0),
    "trimyristin": ("C14:0", "C45H86O6", 0),
    "tripalmitin": ("C16:0", "C51H98O6", 0),
    "tristearin": ("C18:0", "C57H110O6", 0),
    "triolein": ("C18:1", "C57H104O6", 1),
    "trilinolein": ("C18:2", "C57H98O6", 2),
    "triricinolein": ("C18:1-OH", "C57H104O9", 1),
}


def alkali_for_1000_g(acid: str, kind: AlkaliKind) -> float:
    sap = sap_from_composition({acid: 100})
    pure = Formula(
        fats=(Fat("pure", 1000, Sap(sap, sap, sap)),),
        alkalis=(AlkaliChoice(kind, 100, 100),),
        superfat=0,
        liquid_method=LiquidMethod.RATIO,
        liquid_value=2,
    )
    return formulate(pure).alkalis[0].grams


@pytest.mark.parametrize("name", TRIGLYCERIDES)
@pytest.mark.parametrize("kind", AlkaliKind)
def test_alkali_for_a_pure_triglyceride(name: str, kind: AlkaliKind) -> None:
    acid, molecule, _ = TRIGLYCERIDES[name]
    expected = 1000 * 3 * Molecule(kind.formula).mass / Molecule(molecule).mass
    assert alkali_for_1000_g(acid, kind) == pytest.approx(expected, rel=1e-6)


def test_a_kilogram_of_triolein_takes_135_5_g_of_pure_sodium_hydroxide() -> None:
    """3 x 39.997 / 885.434 = 0.135517."""
    assert round(alkali_for_1000_g("C18:1", AlkaliKind.NAOH), 1) == 135.5


@pytest.mark.parametrize("name", TRIGLYCERIDES)
def test_iodine_value_of_a_pure_triglyceride(name: str) -> None:
    acid, molecule, double_bonds = TRIGLYCERIDES[name]
    expected = 100 * 3 * double_bonds * Molecule("I2").mass / Molecule(molecule).mass
    assert iodine_from_composition({acid: 100}) == pytest.approx(expected, rel=1e-6)
