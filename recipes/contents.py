"""What goes into the pot, as the calculations of the finished bar and of the blend want it."""

from __future__ import annotations

from inventory.models import Kind, Material
from recipes.design import purity_of, sap_of
from recipes.formulation import WeighLine, WorkedOut
from recipes.models import Stage
from recipes.pot import fat_kind, liquid_of
from shared.chemistry import AcidKind, AlkaliKind
from shared.contents import NO_NAMES, Contents, Extra, PotFat, PotLiquid, SoapNames
from shared.fats import reference_fats
from shared.ingredients import Acid, Alkali, Fat
from shared.profile import Part


def inci_name(material: Material) -> str:
    """The maker's own, else that of the table of fats; "" where neither is known."""
    reference = material.published
    return material.inci_name or (reference.inci_name if reference else "")


def is_known(material: Material) -> bool:
    """Whether a liquid is rightly counted as what it is: plain water, or one whose contents are known."""
    plain = material.inci_name.lower() in {"aqua", "water"} or material.name.lower().startswith("water")
    return material.reference == "water" or plain or material.contents is not None


def parts_of(worked_out: WorkedOut) -> list[Part]:
    """The fats with what is published of them."""
    return [
        Part(line.material.name, float(line.grams), line.material.published)
        for line in worked_out.of(Kind.FAT)
    ]


def contents_of(worked_out: WorkedOut) -> Contents:
    """The card as it is weighed. A liquid of which nothing is known counts as water."""
    dry = [line for line in worked_out.of(Kind.ADDITIVE, Kind.COLOUR, Kind.FRAGRANCE) if not line.liquid]
    fats = worked_out.of(Kind.FAT)
    return Contents(
        fats=tuple(_fat(line) for line in fats if line.part.stage != Stage.COOK),
        alkalis=tuple(_alkali(line) for line in worked_out.of(Kind.ALKALI)),
        acids=tuple(
            Acid(AcidKind(line.material.acid), float(line.grams), line.material.acid_percent)
            for line in dry
            if line.material.acid
        ),
        liquids=tuple(_liquid(line) for line in worked_out.lines if line.liquid),
        extras=tuple(
            Extra(line.material.name, float(line.grams), line.material.inci_name)
            for line in dry
            if not line.material.acid
        ),
        after_cook=tuple(_fat(line) for line in fats if line.part.stage == Stage.COOK),
    )


def _fat(line: WeighLine) -> PotFat:
    material, known = line.material, line.material.published
    fat = Fat(material.name, float(line.grams), line.sap or sap_of(line.part), kind=fat_kind(material))
    if known is None:
        return PotFat(fat, names=SoapNames(material.inci_name))
    soaps = known.inci_sodium_soap, known.inci_potassium_soap
    return PotFat(fat, PotFat.of(fat, known).unsaponifiable, SoapNames(inci_name(material), *soaps))


def _alkali(line: WeighLine) -> Alkali:
    low, high = line.purity or purity_of(line.part)
    kind = AlkaliKind(line.material.alkali)
    return Alkali(kind, float(line.grams), low, high, line.material.dissolved)


def _liquid(line: WeighLine) -> PotLiquid:
    liquid = line.liquid or liquid_of(line.material)
    fat = reference_fats().get(liquid.fat_reference)
    names = SoapNames.of(fat) if fat else NO_NAMES
    return PotLiquid(liquid, float(line.grams), line.material.inci_name, names)
