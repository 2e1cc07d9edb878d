"""The safety range: its definition, its rules, and that nothing is called safe which is not."""

import math
from dataclasses import replace

import numpy as np
import pytest
from uncertainties import UFloat, ufloat  # type: ignore[import-untyped]

from shared.chemistry import M_KOH, AcidKind, AlkaliKind
from shared.safety import SCALE
from shared.saponification import (
    Acid,
    Alkali,
    AlkaliChoice,
    Fat,
    FormulaError,
    Limits,
    Sap,
    Verdict,
    assess,
    formulate,
)
from tests.bench.monte_carlo import (
    CHANCE_TOLERANCE,
    LIKELY_TOLERANCE,
    Pot,
    compare,
    random_pot,
)
from tests.shared.pots import FOUR_FATS, centred, formula, pot_of, potash, same, soda

# An ordinary blend, each fat's nominal value in the middle: olive 184-196, coconut 248-265, palm 190-209,
# castor 176-187 mg KOH/g (the wider published ranges); sodium hydroxide of 97 to 100 %, a scale of 1 g.


def test_an_ordinary_blend_at_five_per_cent_is_safe() -> None:
    made = formulate(formula(superfat=5))
    assert made.alkalis[0].grams == pytest.approx(143.4, abs=0.05)
    assert made.safety.nominal == pytest.approx(5)
    assert made.safety.likely_low == pytest.approx(2.2, abs=0.05)
    assert made.safety.likely_high == pytest.approx(7.7, abs=0.05)
    assert -1 < made.safety.worst_low < 0
    assert made.safety.verdict is Verdict.SAFE


@pytest.mark.parametrize(("superfat", "verdict"), [(2, Verdict.WATCH), (0, Verdict.STOP)])
def test_the_same_blend_with_less_superfat_is_not(superfat: float, verdict: Verdict) -> None:
    assert formulate(formula(superfat=superfat)).safety.verdict is verdict


def test_certificates_of_the_lots_narrow_the_range() -> None:
    certified = tuple(
        replace(fat, sap=Sap.certificate(fat.sap.nominal, 1, "certificate")) for fat in FOUR_FATS
    )
    plain, better = formulate(formula()).safety, formulate(formula(certified)).safety
    assert better.likely_low > plain.likely_low
    assert better.likely_high < plain.likely_high
    assert better.worst_low > 0
    assert better.chance_lye_heavy == 0


# Against Monte Carlo


def test_range_and_chance_agree_with_a_million_draws() -> None:
    rng = np.random.default_rng(11)
    for number in range(100):
        pot = random_pot(rng, few_fats=number % 3 == 0)
        found = compare(pot, 1_000_000, rng)
        assert found.likely_low < LIKELY_TOLERANCE, pot
        assert found.likely_high < LIKELY_TOLERANCE, pot
        assert found.chance_error < CHANCE_TOLERANCE, pot
        assert not found.wrongly_safe, pot


@pytest.mark.parametrize("scale_step", [0.1, 1.0, 5.0])
def test_the_mildest_pot_still_called_safe_is_safe_in_a_million_draws(scale_step: float) -> None:
    """The hardest case for the verdict: pots set right at the edge of safe, small and large."""
    rng = np.random.default_rng(12)
    edges = 0
    for number in range(8):
        pot = random_pot(rng, few_fats=number % 2 == 0)
        shrink = float(rng.choice([0.05, 1.0])) if scale_step <= 1 else 1.0
        edge = edge_of_safe(tuple(replace(fat, grams=fat.grams * shrink) for fat in pot.fats), scale_step)
        if edge:
            edges += 1
            found = compare(edge, 1_000_000, rng)
            assert found.verdict is Verdict.SAFE
            assert not found.wrongly_safe, edge
    assert edges > 3


def edge_of_safe(fats: tuple[Fat, ...], scale_step: float) -> Pot | None:
    """The pot with the least superfat that is called safe, to about a thousandth of a point."""

    def pot(superfat: float) -> Pot:
        return pot_of(formula(fats, superfat=superfat), scale_step)

    low, high = -5.0, 30.0
    if pot(high).assess().verdict is not Verdict.SAFE:
        return None
    for _ in range(15):
        middle = (low + high) / 2
        low, high = (low, middle) if pot(middle).assess().verdict is Verdict.SAFE else (middle, high)
    return pot(high)


@pytest.mark.parametrize(
    ("pot", "draws"),
    [
        (Pot((Fat("Olive oil", 148, centred(186, 194)),), (potash(31, 85, 92),), (), 5.0), 4_000_000),
        (Pot((Fat("Olive oil", 148, centred(186, 194)),), (soda(19.5, 90, 99),), (), 2.0), 4_000_000),
    ],
)
def test_errors_of_weighing_and_purity_multiply_where_the_scale_is_coarse(pot: Pot, draws: int) -> None:
    found = compare(pot, draws, np.random.default_rng(13))
    assert found.likely < LIKELY_TOLERANCE


# Against the `uncertainties` library (first-order GUM propagation)


def gum(
    recipe_fats: tuple[Fat, ...], alkalis: tuple[Alkali, ...], acids: tuple[Acid, ...], step: float
) -> float:
    """Standard uncertainty of the superfat in %, by a library that knows nothing of ours."""

    def weighed(grams: float) -> UFloat:
        return ufloat(grams, step / 2 / math.sqrt(3))

    def value(sap: Sap) -> UFloat:
        a, c, b = sap.low, sap.nominal, sap.high
        if math.isclose(a + b, 2 * c):
            return ufloat(c, (b - a) / math.sqrt(12))
        variance = (a * a + b * b + c * c - a * b - a * c - b * c) / 18
        return ufloat((a + b + c) / 3, math.sqrt(variance))

    lots: dict[tuple[str, Sap], UFloat] = {}
    takes = 0.0
    for fat in recipe_fats:
        takes += (
            weighed(fat.grams)
            * lots.setdefault((fat.lot or fat.name, fat.sap), value(fat.sap))
            / 1000
            / M_KOH
        )
    free = 0.0
    for alkali in alkalis:
        half = (alkali.purity_high - alkali.purity_low) / 2
        purity = ufloat(alkali.purity_low + half, half / math.sqrt(3)) / 100
        free += weighed(alkali.grams) * purity / alkali.kind.molar_mass
    for acid in acids:
        free -= weighed(acid.grams) * acid.kind.protons / acid.kind.molar_mass
    superfat: UFloat = 100 * (1 - free / takes)
    return float(superfat.std_dev)


CASES = {
    "one fat": ((Fat("Olive oil", 500, centred(184, 196)),), (soda(65),), (), 1.0),
    "off centre": ((Fat("Shea butter", 500, Sap(160, 174, 195)),), (soda(58),), (), 1.0),
    "blend": (FOUR_FATS, (soda(143.4),), (), 1.0),
    "coarse scale": (FOUR_FATS, (soda(143.4),), (), 5.0),
    "two alkalis and acid": (FOUR_FATS, (soda(90), potash(95)), (Acid(AcidKind.CITRIC, 12),), 1.0),
    "one lot twice": (
        (
            Fat("Olive oil", 300, centred(184, 196), "OL-1"),
            Fat("Olive oil", 200, centred(184, 196), "OL-1"),
            Fat("Olive oil", 200, centred(184, 196), "OL-2"),
        ),
        (soda(90),),
        (),
        1.0,
    ),
}


@pytest.mark.parametrize("case", CASES)
def test_standard_uncertainty_agrees_with_a_general_library(case: str) -> None:
    pot_fats, alkalis, acids, step = CASES[case]
    found = assess(pot_fats, alkalis, acids, scale_step=step).standard_uncertainty
    assert found == pytest.approx(gum(pot_fats, alkalis, acids, step), rel=1e-9)


# Worst case by interval arithmetic, by hand


def test_worst_case_puts_every_input_at_its_worst_end() -> None:
    fats = (Fat("Olive oil", 1000, centred(184, 196)),)
    found = assess(fats, (soda(128),), (Acid(AcidKind.LACTIC, 10),), scale_step=2)

    def superfat(fat: float, sap: float, lye: float, purity: float, acid: float) -> float:
        free = lye * purity / AlkaliKind.NAOH.molar_mass - acid / AcidKind.LACTIC.molar_mass
        return 100 * (1 - free / (fat * sap / 1000 / M_KOH))

    assert found.worst_low == pytest.approx(superfat(999, 184, 129, 1.00, 9))
    assert found.worst_high == pytest.approx(superfat(1001, 196, 127, 0.97, 11))
    assert found.nominal == pytest.approx(superfat(1000, 190, 128, 0.985, 10))


# Special cases


def test_without_any_uncertainty_all_figures_are_one() -> None:
    fats = (Fat("Pure", 1000, Sap(190, 190, 190)),)
    found = formulate(formula(fats, alkalis=(AlkaliChoice(AlkaliKind.NAOH, 99, 99),)), scale_step=0).safety
    for value in (found.nominal, found.likely_low, found.likely_high, found.worst_low, found.worst_high):
        assert value == pytest.approx(5, abs=1e-9)
    assert found.standard_uncertainty == 0
    assert found.chance_lye_heavy == 0
    assert found.verdict is Verdict.SAFE
    assert found.narrows_most == ""


def test_certain_lye_excess_is_certain() -> None:
    found = assess((Fat("Pure", 1000, Sap(190, 190, 190)),), (soda(140, 99, 99),), scale_step=0)
    assert found.chance_lye_heavy == 1
    assert found.verdict is Verdict.STOP


def test_one_uncertain_input_gives_a_straight_range() -> None:
    """Only the purity is uncertain: 95 % of a rectangle lies within 0.95 of its half-width."""
    found = assess((Fat("Pure", 1000, Sap(190, 190, 190)),), (soda(130),), scale_step=0)
    half = (found.worst_high - found.worst_low) / 2
    middle = (found.worst_high + found.worst_low) / 2
    assert found.likely_low == pytest.approx(middle - 0.95 * half, abs=0.01)
    assert found.likely_high == pytest.approx(middle + 0.95 * half, abs=0.01)


def test_a_worst_case_above_zero_leaves_no_chance_of_lye() -> None:
    found = formulate(formula(superfat=8)).safety
    assert found.worst_low > 0
    assert found.chance_lye_heavy == 0


def test_a_pot_of_more_acid_than_the_worst_lye_can_hold_is_still_read() -> None:
    """Likely and worst case may pass 100 % where the acid nearly eats the lye."""
    found = assess((Fat("Olive oil", 100, centred(184, 196)),), (soda(10),), (Acid(AcidKind.CITRIC, 15.5),))
    assert found.worst_high > 100
    assert found.likely_low < found.likely_high <= 100


# Names


@pytest.mark.parametrize(
    ("fats", "alkalis", "step", "name"),
    [
        (
            (Fat("Palm oil", 900, centred(180, 209)), Fat("Olive oil", 100, centred(184, 196))),
            (soda(120),),
            1,
            "Palm oil",
        ),
        ((Fat("Olive oil", 1000, centred(189.5, 190.5)),), (soda(128),), 1, "Sodium hydroxide"),
        ((Fat("Olive oil", 20, centred(189.5, 190.5)),), (soda(2.5, 99, 99.1),), 1, SCALE),
    ],
)
def test_the_input_that_widens_the_range_most_is_named(
    fats: tuple[Fat, ...], alkalis: tuple[Alkali, ...], step: float, name: str
) -> None:
    assert assess(fats, alkalis, scale_step=step).narrows_most == name


def test_knowing_the_named_fat_narrows_more_than_knowing_any_other() -> None:
    fats = (
        Fat("Palm oil", 300, centred(180, 209)),
        Fat("Olive oil", 500, centred(186, 194)),
        Fat("Castor oil", 100, centred(176, 187)),
    )

    def known(name: str) -> float:
        sure = tuple(
            replace(fat, sap=centred(fat.sap.nominal, fat.sap.nominal)) if fat.name == name else fat
            for fat in fats
        )
        return assess(sure, (soda(120),)).standard_uncertainty

    named = assess(fats, (soda(120),)).narrows_most
    assert named == min((fat.name for fat in fats), key=known)


# Lots


def test_two_weighings_of_one_lot_are_as_uncertain_as_one() -> None:
    sap = centred(184, 196)
    once = assess((Fat("Olive oil", 1000, sap, "OL-1"),), (soda(128),), scale_step=0)
    twice = assess(
        (Fat("Olive oil", 400, sap, "OL-1"), Fat("Olive oil", 600, sap, "OL-1")), (soda(128),), scale_step=0
    )
    other = assess(
        (Fat("Olive oil", 400, sap, "OL-1"), Fat("Olive oil", 600, sap, "OL-2")), (soda(128),), scale_step=0
    )
    same(twice, once, 1e-9)
    assert other.standard_uncertainty < once.standard_uncertainty


def test_a_fat_of_no_known_lot_counts_as_one_however_often_weighed() -> None:
    sap = centred(184, 196)
    once = assess((Fat("Olive oil", 1000, sap),), (soda(128),), scale_step=0)
    twice = assess(
        (Fat("Olive oil", 400, sap), Fat("Olive oil", 600, replace(sap, source="elsewhere"))),
        (soda(128),),
        scale_step=0,
    )
    assert twice.standard_uncertainty == pytest.approx(once.standard_uncertainty)


def test_two_weighings_from_one_tub_of_lye_share_its_purity() -> None:
    once = assess(FOUR_FATS, (soda(140),), scale_step=0)
    twice = assess(FOUR_FATS, (soda(100), soda(40)), scale_step=0)
    same(twice, once, 1e-9)


def test_nothing_weighed_of_something_changes_nothing() -> None:
    idle = assess(
        (*FOUR_FATS, Fat("Neem oil", 0, centred(180, 205))),
        (soda(143), potash(0)),
        (Acid(AcidKind.CITRIC, 0),),
    )
    assert idle == assess(FOUR_FATS, (soda(143),))


# Verdicts


@pytest.mark.parametrize(
    ("chance", "verdict"),
    [
        (0.0, Verdict.SAFE),
        (0.0008, Verdict.SAFE),
        (0.00095, Verdict.WATCH),  # rounds to 0.1 %: too near the bound to be called safe
        (0.001, Verdict.WATCH),
        (0.15, Verdict.WATCH),
        (0.1501, Verdict.STOP),
        (1.0, Verdict.STOP),
    ],
)
def test_the_verdict_follows_the_chance(chance: float, verdict: Verdict) -> None:
    assert Limits().verdict(chance) is verdict


def test_the_workshop_may_set_its_own_bounds() -> None:
    strict = Limits(watch_from=1e-8, stop_from=1e-7)
    assert formulate(formula(), limits=strict).safety.verdict is Verdict.STOP


# Refusals


def test_acid_that_takes_all_the_lye_is_refused() -> None:
    with pytest.raises(FormulaError, match="none is left") as caught:
        assess(FOUR_FATS, (soda(10),), (Acid(AcidKind.CITRIC, 100),))
    assert caught.value.field == "acids"


def test_weights_lost_in_the_scale_are_refused() -> None:
    with pytest.raises(FormulaError, match="finer scale") as caught:
        assess((Fat("Olive oil", 2, centred(184, 196)),), (soda(1),), scale_step=5)
    assert caught.value.field == "fats"


def test_a_pot_without_lye_is_refused() -> None:
    with pytest.raises(FormulaError, match="Add the lye") as caught:
        assess(FOUR_FATS, ())
    assert caught.value.field == "alkalis"
