// The way back: what to add to a pot that is too lye-heavy or too fat: shared/corrections.py on the phone.
//
// All weights are grams; superfat is in %. The shapes of fats, alkalis, acids and chemistry stand in
// ingredients.js; tests/browser/test_corrections.py holds the two together.

import {
  FormulaError,
  MAX_GRAMS,
  checkSap,
  molOfAcid,
  molOfAlkali,
  molPerGram,
  nominalMol,
  sum,
} from "./ingredients.js";
import { assess } from "./safety.js";

const TOO_FAT_BY = 1; // points of superfat above the aim from which more lye is offered
const FINEST_STEP = 0.01; // grams; the step to round to when the scale is taken as exact
const LOWEST_SUPERFAT = -5;
const HIGHEST_SUPERFAT = 30;

/**
 * The ways back to the aimed superfat and a verdict of safe; none when the pot needs none.
 *
 * `pot` is {fats, alkalis, acids, liquid}, `measures` as `assess` takes them, `onHand` the fats in stock as
 * {name, sap, available, lot} with the grams available. A pot that is not safe gets fat: of each that suffices,
 * fewest grams first, or, when none suffices, of every one with `enough` false. A safe pot more than a point
 * fatter than its aim gets lye, as much as keeps it safe. Each way is {kind: "fat" | "lye", name, grams,
 * liquid_grams, enough, after, lot, dissolved}; `liquid_grams` goes in with more lye to keep the lye
 * concentration, and `dissolved` says that this lye is a ready-made solution.
 * Throws FormulaError for what cannot be computed.
 */
export function restore(pot, measures, { superfat, onHand }) {
  const now = assessPot(pot, measures);
  checkSuperfat(superfat);
  if (now.verdict !== "safe") {
    const ways = onHand.flatMap((fat) => addFat(pot, measures, fat, superfat));
    const enough = ways.filter((way) => way.enough);
    return (enough.length ? enough : ways).sort((one, other) => one.grams - other.grams);
  }
  return now.nominal > superfat + TOO_FAT_BY ? addLye(pot, measures, superfat) : [];
}

function assessPot({ fats, alkalis, acids }, measures) {
  return assess(fats, alkalis, acids, measures);
}

function checkSuperfat(superfat) {
  if (!(LOWEST_SUPERFAT <= superfat && superfat <= HIGHEST_SUPERFAT)) {
    throw new FormulaError("superfat", "Superfat must lie between -5 and 30 %.");
  }
}

function stepOf({ scaleStep }) {
  return scaleStep || FINEST_STEP;
}

/** Grams of so many steps of the scale, without the dust of binary fractions. */
function weightOf(steps, measures) {
  return Number((steps * stepOf(measures)).toFixed(6));
}

function freeMol({ alkalis, acids }, { chemistry }) {
  const lye = sum(alkalis.map((alkali) => molOfAlkali(alkali, chemistry)));
  return lye - sum(acids.map((acid) => molOfAcid(acid, chemistry)));
}

/** Whole steps of the scale that reach both the aim and a verdict of safe. */
function addFat(pot, measures, { name, sap, available, lot }, superfat) {
  checkSap("Fat to add", sap);
  const { chemistry } = measures;
  const wanted = freeMol(pot, measures) / (1 - superfat / 100);
  const perGram = molPerGram(sap.nominal, chemistry);
  const target = Math.max((wanted - nominalMol(pot.fats, chemistry)) / perGram, 0);
  const step = stepOf(measures);
  const after = (steps) => {
    const more = { name, grams: weightOf(steps, measures), sap, lot };
    return assessPot({ ...pot, fats: [...pot.fats, more] }, measures);
  };
  const isSafe = (steps) => after(steps).verdict === "safe";
  const steps = fewest(isSafe, Math.ceil(target / step), Math.floor(MAX_GRAMS / step));
  if (steps === null) return [];
  const grams = weightOf(steps, measures);
  const enough = grams <= available;
  const found = { kind: "fat", name, grams, liquid_grams: 0, enough, after: after(steps) };
  return [{ ...found, lot, dissolved: false }];
}

/** Smallest number of steps that suffices, more of them always sufficing too; null beyond the most. */
function fewest(suffices, atLeast, atMost) {
  if (atLeast > atMost) return null;
  let [low, high, stride] = [atLeast - 1, atLeast, 1];
  while (!suffices(Math.min(high, atMost))) {
    if (high >= atMost) return null;
    [low, high, stride] = [high, high + stride, 2 * stride];
  }
  high = Math.min(high, atMost);
  while (high - low > 1) {
    const middle = Math.floor((low + high) / 2);
    if (suffices(middle)) high = middle;
    else low = middle;
  }
  return high;
}

/** For each alkali in the pot the most whole steps that keep the aim and the verdict of safe. */
function addLye(pot, measures, superfat) {
  const { chemistry } = measures;
  const missing = nominalMol(pot.fats, chemistry) * (1 - superfat / 100) - freeMol(pot, measures);
  const ratio = pot.liquid / sum(pot.alkalis.map(({ grams }) => grams));
  return tubsOf(pot).flatMap((tub) => {
    const target = Math.floor(missing / molOfAlkali(tub, chemistry) / stepOf(measures));
    const after = (steps) => {
      const more = { ...tub, grams: weightOf(steps, measures) };
      return assessPot({ ...pot, alkalis: [...pot.alkalis, more] }, measures);
    };
    const firstUnsafe = fewest((steps) => after(steps).verdict !== "safe", 1, target);
    const steps = firstUnsafe === null ? target : firstUnsafe - 1;
    const grams = weightOf(steps, measures);
    if (!(grams > 0)) return [];
    const { label: name } = chemistry[tub.kind];
    const liquid = grams * ratio;
    const found = { kind: "lye", name, grams, liquid_grams: liquid, enough: true, after: after(steps) };
    return [{ ...found, lot: "", dissolved: tub.dissolved }];
  });
}

/** A gram of each alkali in the pot, those of one kind and purity once, in the order in which they came. */
function tubsOf({ alkalis }) {
  const tubs = new Map();
  for (const { kind, grams, purity_low: low, purity_high: high, dissolved } of alkalis) {
    const key = JSON.stringify([kind, low, high, dissolved]);
    const tub = { kind, grams: 1, purity_low: low, purity_high: high, dissolved };
    if (grams > 0 && !tubs.has(key)) tubs.set(key, tub);
  }
  return [...tubs.values()];
}
