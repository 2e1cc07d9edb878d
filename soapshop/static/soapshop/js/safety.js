// How sure a superfat is: nominal, likely and worst case, the chance of lye left over, and a verdict.
// shared/safety.py on the phone; tests/browser/test_arithmetic.py holds the two together.
//
// superfat = 1 - (n_alkali - n_acid) / n_fat, all n in mol. Uncertain are the saponification value of each
// fat, the purity of each alkali, and every weighing by half a step of the scale.
// The shapes of fats, alkalis, acids and chemistry stand in ingredients.js.

import {
  FormulaError,
  checkAcids,
  checkAlkalis,
  checkFats,
  checkScaleStep,
  middlePurity,
  molOfAcid,
  molOfAlkali,
  molPerGram,
  nominalMol,
  sum,
} from "./ingredients.js";
import { Term, chanceBelow, quantile } from "./uncertainty.js";

export { FormulaError };

/** Stands in `narrows_most` when finer weighing would narrow the range most. */
export const SCALE = "the scale";

const TAIL = 0.025; // left out on either side of the likely range, which holds the central 95 %
// A pot is safe only below this share of the bound, so that neither the error of the inversion nor a check
// by a million random draws (standard error 3 % of a chance of 0.1 %) can find a safe pot above the bound.
const CLEAR_OF_BOUND = 0.9;
// Standard uncertainties from the mean beyond which the bend of the balance is not carried on.
const FARTHEST_Z = 3;

/**
 * Safety range of what is in the pot, or is planned to be.
 *
 * Weights in grams as weighed, `scaleStep` in grams for what does not say its own; `limits` {watch_from, stop_from} are chances from 0 to 1.
 * Returns superfat figures in % (nominal, likely_low, likely_high, worst_low, worst_high and, by JCGM 100
 * (GUM), standard_uncertainty), chance_lye_heavy from 0 to 1, verdict "safe", "watch" or "stop", and in
 * narrows_most the fat, alkali or scale whose better knowledge narrows the range most ("" if all is sure).
 * Throws FormulaError when a weight or value makes no sense, and when the acids take all the alkali.
 */
export function assess(fats, alkalis, acids, { scaleStep, limits, chemistry }) {
  checkFats(fats);
  checkAlkalis(alkalis, chemistry);
  checkAcids(acids, chemistry);
  const half = ({ step }) => (step ?? scaleStep) / 2;
  for (const one of [...fats, ...alkalis, ...acids]) checkScaleStep(one.step ?? scaleStep);
  const fat = fatSide(fats, half, chemistry);
  const lye = lyeSide(alkalis, acids, half, chemistry);
  if (!(lye.mean > 0)) {
    throw new FormulaError("acids", "The acids take up all the lye, so none is left for the fats.");
  }
  if (!(fat.low > 0)) {
    throw new FormulaError("fats", "These weights are lost in one step of the scale. Use a finer scale.");
  }
  return range(nominalMol(fats, chemistry), fat, lye, limits);
}

function range(nominal, fat, lye, limits) {
  const worst = { low: 1 - lye.high / fat.low, high: 1 - lye.low / fat.high };
  const { mean, uncertainty } = spreadOf(fat, lye);
  const balance = balanceOf(fat, lye);
  const likely = (chance) => likelySuperfat(chance, { mean, uncertainty, worst, balance });
  const heavy = worst.low <= 0;
  const cautious = heavy ? balance.chanceLyeExceeds(1, -lye.unlinear) : 0;
  return {
    nominal: 100 * (1 - lye.mean / nominal),
    likely_low: 100 * likely(TAIL),
    likely_high: 100 * likely(1 - TAIL),
    worst_low: 100 * worst.low,
    worst_high: 100 * worst.high,
    standard_uncertainty: 100 * uncertainty,
    chance_lye_heavy: heavy ? balance.chanceSuperfatBelow(0) : 0,
    verdict: verdictOf(cautious, limits),
    narrows_most: narrowsMost(fat, lye),
  };
}

function verdictOf(chance, limits) {
  if (chance > limits.stop_from) return "stop";
  return chance > limits.watch_from * CLEAR_OF_BOUND ? "watch" : "safe";
}

function spreadOf(fat, lye) {
  const mean = 1 - lye.mean / fat.mean;
  const uncertainty = Math.sqrt((1 - mean) * (1 - mean) * fat.variance + lye.variance) / fat.mean;
  return { mean, uncertainty };
}

function balanceOf(fat, lye) {
  /** Chance that the free alkali exceeds this share of what the fats take, by more than `bent`. */
  function chanceLyeExceeds(share, bent) {
    const terms = [...fat.terms.map((term) => term.scaled(share)), ...lye.terms];
    return chanceBelow(lye.mean - share * fat.mean - bent, terms);
  }
  function chanceSuperfatBelow(value) {
    return chanceLyeExceeds(1 - value, bend(1 - value, fat, lye));
  }
  return { chanceLyeExceeds, chanceSuperfatBelow };
}

function likelySuperfat(chance, { mean, uncertainty, worst, balance }) {
  if (!uncertainty) return mean;
  const within = { guess: mean, spread: uncertainty, low: worst.low, high: Math.min(worst.high, 1) };
  return quantile(balance.chanceSuperfatBelow, chance, within);
}

/**
 * What errors of weighing and value, multiplied, add to share n_fat - n_alkali just where it is nil.
 *
 * The terms x (weighing) and y (value) of one group also enter as x y / mol, which is no term of its own.
 * Given the sum, at z standard uncertainties from its mean, a normal x y has the mean
 * var(x) var(y) (z^2 - 1) / var(sum): the skewness term of Cornish and Fisher (1938). Next to nothing
 * unless the scale is coarse for the pot.
 */
function bend(share, fat, lye) {
  const variance = share * share * fat.variance + lye.variance;
  if (!variance) return 0;
  const distance = share * fat.mean - lye.mean;
  const zSquared = Math.min((distance * distance) / variance, FARTHEST_Z * FARTHEST_Z);
  return ((share * share * share * fat.product - lye.product) * (zSquared - 1)) / variance;
}

/**
 * One side of the balance between fat and lye, in mol of alkali.
 *
 * A group {name, value, weighings, mol} holds weighings that share one uncertain value, the saponification
 * value of a lot or the purity of a tub.
 */
function sideOf({ mean, low, high, groups }) {
  const terms = groups.flatMap(({ value, weighings }) => [value, ...weighings]);
  return {
    mean,
    low,
    high,
    groups,
    terms,
    variance: sum(terms.map((term) => term.variance)),
    // Variances of value and weighings multiplied, per mol: see `bend`.
    product: sum(
      groups.map(({ value, weighings, mol }) => {
        return (value.variance * sum(weighings.map((term) => term.variance))) / mol;
      }),
    ),
    // The most by which errors of weighing and purity multiplied exceed the sum of the terms. Next to nothing
    // unless the scale is coarse for the pot; the verdict allows for it. On the side of the fats, low weights
    // and low values multiplied are milder than their sum.
    unlinear: Math.max(high - mean - sum(terms.map((term) => term.above)), 0),
  };
}

// `half` tells of a weighing by how much the scale may be wrong, in grams.
function fatSide(fats, half, chemistry) {
  const weighed = fats.filter((fat) => fat.grams > 0);
  const mol = (sap) => molPerGram(sap, chemistry);
  const lots = grouped(weighed, ({ lot, name, sap }) => [lot || name, sap.low, sap.nominal, sap.high]);
  return sideOf({
    mean: sum(weighed.map(({ grams, sap }) => grams * mol(meanSap(sap)))),
    low: sum(weighed.map((fat) => Math.max(fat.grams - half(fat), 0) * mol(fat.sap.low))),
    high: sum(weighed.map((fat) => (fat.grams + half(fat)) * mol(fat.sap.high))),
    groups: lots.map((lot) => lotGroup(lot, half, mol)),
  });
}

function lotGroup(lot, half, mol) {
  const [first] = lot;
  const grams = sum(lot.map((fat) => fat.grams));
  const taken = mol(meanSap(first.sap));
  const weighings = lot.map((fat) => Term.rectangle(half(fat) * taken));
  return { name: first.name, value: sapTerm(first.sap, grams, mol), weighings, mol: grams * taken };
}

function isCentred({ low, nominal, high }) {
  const below = nominal - low;
  const above = high - nominal;
  return Math.abs(below - above) <= Math.max(1e-9 * Math.max(Math.abs(below), Math.abs(above)), 1e-9);
}

/** Expected value: the nominal where it is centred (rectangle), else the mean of the triangle. */
function meanSap(sap) {
  return isCentred(sap) ? sap.nominal : (sap.low + sap.nominal + sap.high) / 3;
}

function sapTerm(sap, grams, mol) {
  if (isCentred(sap)) return Term.rectangle(grams * mol((sap.high - sap.low) / 2));
  return Term.triangle(grams * mol(sap.nominal - sap.low), grams * mol(sap.high - sap.nominal));
}

function lyeSide(alkalis, acids, half, chemistry) {
  const tubs = alkalis.filter((alkali) => alkali.grams > 0);
  const sours = acids.filter((acid) => acid.grams > 0);
  const tubMol = (purity, sign) =>
    sum(tubs.map((tub) => molOfAlkali(tub, chemistry, purity(tub), sign * half(tub))));
  const sourMol = (sign) => sum(sours.map((sour) => molOfAcid(sour, chemistry, sign * half(sour))));
  const purities = grouped(tubs, (tub) => [tub.kind, tub.purity_low, tub.purity_high]);
  return sideOf({
    mean: tubMol(middlePurity, 0) - sourMol(0),
    low: tubMol((tub) => tub.purity_low, -1) - sourMol(1),
    high: tubMol((tub) => tub.purity_high, 1) - sourMol(-1),
    groups: [
      ...purities.map((same) => tubGroup(same, half, chemistry)),
      ...sours.map((sour) => sourGroup(sour, half, chemistry)),
    ],
  });
}

function tubGroup(tubs, half, chemistry) {
  const [first] = tubs;
  const mol = sum(tubs.map((tub) => molOfAlkali(tub, chemistry)));
  const width = (mol * (first.purity_high - first.purity_low)) / (2 * middlePurity(first));
  const perGram = molOfAlkali(first, chemistry) / first.grams;
  const weighings = tubs.map((tub) => Term.rectangle(half(tub) * perGram));
  return { name: chemistry[first.kind].label, value: Term.rectangle(width), weighings, mol };
}

function sourGroup(sour, half, chemistry) {
  const mol = molOfAcid(sour, chemistry);
  const weighing = Term.rectangle((half(sour) * mol) / sour.grams);
  return { name: SCALE, value: Term.rectangle(0), weighings: [weighing], mol };
}

/** The input with the largest share of the variance; all weighings together count as one. */
function narrowsMost(fat, lye) {
  const share = 1 - lye.mean / fat.mean;
  const variances = new Map([["", 0]]);
  const add = (name, variance) => variances.set(name, (variances.get(name) ?? 0) + variance);
  for (const [side, factor] of [[fat, (1 - share) * (1 - share)], [lye, 1]]) {
    for (const { name, value, weighings } of side.groups) {
      add(name, factor * value.variance);
      for (const term of weighings) add(SCALE, factor * term.variance);
    }
  }
  return [...variances].reduce((most, one) => (one[1] > most[1] ? one : most))[0];
}

/** The items in groups of the same key, groups and items in the order in which they came. */
function grouped(items, keyOf) {
  const groups = new Map();
  for (const item of items) {
    const key = JSON.stringify(keyOf(item));
    if (!groups.has(key)) groups.set(key, []);
    groups.get(key).push(item);
  }
  return [...groups.values()];
}
