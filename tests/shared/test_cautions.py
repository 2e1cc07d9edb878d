"""What to mind when the lye is more than water and dry alkali."""

import pytest

from shared.cautions import Additive, lye_cautions, share_cautions
from shared.chemistry import AcidKind, AlkaliKind
from shared.explained import Statement
from shared.ingredients import Acid, Alkali
from shared.liquids import WATER, reference_liquids
from shared.lye_estimate import LyeEstimate, lye_estimate
from tests.shared.pots import potash, soda

LIQUIDS = {key: reference.liquid for key, reference in reference_liquids().items()}
ORDINARY = lye_estimate([soda(25)], 75)


def said(*statements: Statement) -> str:
    return " ".join(statement.text for statement in statements)


def of(*in_lye: str, at_trace: tuple[str, ...] = (), acids: tuple[Acid, ...] = ()) -> str:
    return said(
        *lye_cautions(
            estimate=ORDINARY,
            alkalis=[soda(25)],
            concentration=25,
            for_lye=[LIQUIDS[key] for key in in_lye],
            at_trace=[LIQUIDS[key] for key in at_trace],
            acids=acids,
        )
    )


def of_heat(estimate: LyeEstimate, alkali: Alkali, concentration: float) -> str:
    return said(
        *lye_cautions(estimate=estimate, alkalis=[alkali], concentration=concentration, for_lye=[WATER])
    )


def test_thin_lye_of_water_calls_for_nothing_of_its_own() -> None:
    assert of("water") == ""


def test_ordinary_lye_is_told_from_lye_that_boils() -> None:
    ordinary = of_heat(lye_estimate([soda(33)], 67), soda(33), 33)
    assert "will not boil" in ordinary
    assert "can boil and spit" not in ordinary
    assert "can boil and spit" in of_heat(lye_estimate([potash(45)], 55), potash(45), 45)


@pytest.mark.parametrize(
    ("key", "words"),
    [
        ("goat_milk", ["browns Goat milk", "fat of Goat milk", "sugar of Goat milk"]),
        ("beer", ["Boil the alcohol", "browns Beer"]),
        ("coconut_milk", ["fat of Coconut milk"]),
    ],
)
def test_what_is_in_the_liquid_calls_for_care(key: str, words: list[str]) -> None:
    text = of(key)
    for word in words:
        assert word in text


def test_at_trace_only_the_sugar_matters() -> None:
    text = of("water", at_trace=("honey", "goat_milk"))
    assert "sugar of Honey" in text
    assert "sugar of Goat milk" in text
    assert "browns" not in text


def test_acid_goes_in_before_the_alkali() -> None:
    assert "Lactic acid: dissolve it" in of("water", acids=(Acid(AcidKind.LACTIC, 5),))


def test_a_lye_solution_is_kept_closed() -> None:
    solution = Alkali(AlkaliKind.NAOH, 50, 49, 51, dissolved=True)
    assert "closed and labelled" in of_heat(ORDINARY, solution, 25)


def test_strong_lye_is_kept_warm() -> None:
    """At 10 °C 34 % sodium hydroxide stays dissolved (recalled), of potassium hydroxide far more."""
    assert "Keep this lye warm" in of_heat(ORDINARY, soda(40), 40)
    assert "Keep this lye warm" not in of_heat(ORDINARY, soda(33), 33)
    assert "Keep this lye warm" not in of_heat(ORDINARY, potash(40), 40)


def test_each_caution_says_why() -> None:
    for statement in lye_cautions(
        estimate=lye_estimate([potash(50)], 50),
        alkalis=[potash(50)],
        concentration=52,
        for_lye=[LIQUIDS["beer"], LIQUIDS["yoghurt"]],
        acids=[Acid(AcidKind.CITRIC, 5)],
    ):
        assert statement.because
        assert statement.source


@pytest.mark.parametrize(
    ("share", "words"),
    [(0.4, ["Honey is less than usual."]), (0.5, []), (3, []), (3.1, ["Honey is more than usual."])],
)
def test_an_additive_out_of_the_usual_is_said(share: float, words: list[str]) -> None:
    usual = reference_liquids()["honey"].usual
    assert usual == (0.5, 3)

    found = share_cautions([Additive("Honey", share, usual)])

    assert [one.text for one in found] == words
    assert all("0.5 to 3 % is usual" in one.because and "no source" in one.source for one in found)
