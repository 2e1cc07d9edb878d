"""What goes into the pot, as the calculations of the finished bar and of the blend want it."""

from __future__ import annotations

from inventory.models import Kind, Material
from recipes.design import purity_of, sap_of
from recipes.formulation import WeighLine, WorkedOut
from shared.chemistry import AcidKind, AlkaliKind
from shared.contents import Contents, Extra, PotFat, PotLiquid, SoapNames
from shared.fats import FatReference, reference_fats
from shared.ingredients import Acid, Alkali, Fat, FatKind
from shared.liquids import Liquid
from shared.profile import Part


def reference_of(material: Material) -> FatReference | None:
    """What is published of a fat; None for one that is not in the table."""
    return reference_fats().get(material.reference) if material.kind == Kind.FAT else None


def inci_name(material: Material) -> str:
    """The maker's own, else that of the table of fats; "" where neither is known."""
    reference = reference_of(material)
    return material.inci_name or (reference.inci_name if reference else "")


def is_water(material: Material) -> bool:
    plain = material.inci_name.lower() in {"aqua", "water"} or material.name.lower().startswith("water")
    return material.reference == "water" or plain


def parts_of(worked_out: WorkedOut) -> list[Part]:
    """The fats with what is published of them."""
    return [
        Part(line.material.name, float(line.grams), reference_of(line.material))
        for line in worked_out.of(Kind.FAT)
    ]


def contents_of(worked_out: WorkedOut) -> Contents:
    """The card as it is weighed. Every liquid counts as water."""
    additives = worked_out.of(Kind.ADDITIVE)
    extras = [line for line in additives if not line.material.acid]
    extras += worked_out.of(Kind.COLOUR, Kind.FRAGRANCE)
    return Contents(
        fats=tuple(_fat(line) for line in worked_out.of(Kind.FAT)),
        alkalis=tuple(_alkali(line) for line in worked_out.of(Kind.ALKALI)),
        acids=tuple(
            Acid(AcidKind(line.material.acid), float(line.grams)) for line in additives if line.material.acid
        ),
        liquids=tuple(_liquid(line) for line in worked_out.of(Kind.LIQUID)),
        extras=tuple(
            Extra(line.material.name, float(line.grams), line.material.inci_name) for line in extras
        ),
    )


def _fat(line: WeighLine) -> PotFat:
    material, reference = line.material, reference_of(line.material)
    kind = reference.kind if reference else FatKind.TRIGLYCERIDE
    fat = Fat(material.name, float(line.grams), line.sap or sap_of(line.part), kind=kind)
    if reference is None:
        return PotFat(fat, names=SoapNames(material.inci_name))
    soaps = reference.inci_sodium_soap, reference.inci_potassium_soap
    return PotFat(fat, PotFat.of(fat, reference).unsaponifiable, SoapNames(inci_name(material), *soaps))


def _alkali(line: WeighLine) -> Alkali:
    low, high = line.purity or purity_of(line.part)
    return Alkali(AlkaliKind(line.material.alkali), float(line.grams), low, high)


def _liquid(line: WeighLine) -> PotLiquid:
    material = line.material
    return PotLiquid(Liquid(material.name, 100.0), float(line.grams), material.inci_name)
