"""How the figures of a finished bar came about."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from shared.chemistry import M_GLYCEROL
from shared.explained import COMMON_PRACTICE, Explained, Given
from shared.finished_bar import USUAL_WATER, FinishedBar
from shared.words import Phrase

_MOLAR: Final = Phrase("IUPAC standard atomic weights")


def explain_glycerin(bar: FinishedBar) -> Explained:
    return Explained(
        name=Phrase("Glycerin"),
        value=bar.glycerin,
        unit="g",
        formula=Phrase(
            "Each fat takes its weight times its saponification value, divided by the molar mass of "
            "potassium hydroxide, in mol of alkali; of that the share that became soap. Three mol make one "
            "mol of glycerin. Waxes and free fatty acids make none."
        ),
        given=(
            *_by_fat(bar),
            Given(Phrase("Share of the fats that became soap"), bar.saponified, "%"),
            Given(Phrase("Molar mass of glycerin"), M_GLYCEROL, "g/mol", _MOLAR),
        ),
        source=_MOLAR,
    )


def explain_fatty_matter(bar: FinishedBar) -> Explained:
    return Explained(
        name=Phrase("Total fatty matter"),
        value=bar.share(bar.total_fatty_matter),
        unit="%",
        formula=Phrase(
            "The soaps counted as the fatty acids in them, with the unsaponified fat and the unsaponifiable "
            "matter, in per cent of the cured bar."
        ),
        given=(
            Given(Phrase("Fatty acids of the soaps"), sum(soap.fatty_acids for soap in bar.soaps), "g"),
            Given(Phrase("Unsaponified fat"), sum(part.grams for part in bar.unsaponified), "g"),
            Given(
                Phrase("Unsaponifiable matter"), bar.unsaponifiable, "g", Phrase("half the published limits")
            ),
            Given(Phrase("Cured bars"), bar.cured, "g"),
        ),
        source=Phrase("On the idea of ISO 685; computed, not analysed."),
    )


def explain_water(bar: FinishedBar) -> Explained:
    return Explained(
        name=Phrase("Water left after the cure"),
        value=bar.share(bar.water_left),
        unit="%",
        formula=Phrase(
            "The water of the fresh bars less what leaves while they cure, in per cent of the cured bar."
        ),
        given=(
            Given(
                Phrase("Water of the fresh bars"),
                bar.water,
                "g",
                Phrase("liquids, lye, and what acids set free"),
            ),
            Given(Phrase("Water left"), bar.water_left, "g", COMMON_PRACTICE if bar.water_assumed else ""),
            Given(Phrase("Cured bars"), bar.cured, "g"),
        ),
        source=(
            Phrase("%(share)s %% of a cured bar: common practice, no source", share=f"{USUAL_WATER:.0f}")
            if bar.water_assumed
            else Phrase("As weighed.")
        ),
    )


def _by_fat(bar: FinishedBar) -> Iterator[Given]:
    for part in dict.fromkeys(soap.fat for soap in bar.soaps):
        fat = part.fat
        yield Given(fat.name, fat.grams, "g", fat.sap.source)
        yield Given(Phrase("%(fat)s: saponification value", fat=fat.name), fat.sap.nominal, "mg KOH/g")
