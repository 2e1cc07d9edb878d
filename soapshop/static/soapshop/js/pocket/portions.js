// What remains in the bucket, split among the portions not yet poured: `resolve` of shared/portions.py, with
// what it needs of shared/scaling.py, on the phone. The shape of a plan stands in portion_plan.js.
//
// Weights are grams, shares %, lengths mm, volumes mL, densities g/mL. Every operation is that of Python in the
// same order: where the last step of the scale goes may hang on the last bit of a figure.
// tests/browser/test_portions_js.py holds the two together.

import { MAX_GRAMS, sum } from "../ingredients.js";
import { MOULD, PortionError, check, gramsStated, isOpen, isWithin, number, read } from "./portion_plan.js";

// Of a portion's volume, that its vessel holds beyond it: common practice, no source.
export const VESSEL_SPARE = 1 / 3;
const SHARES_OFF_BY = 0.1; // points: three times 33.3 % are meant as the whole
const DUST = 1e-9;
const DUST_PLACES = 6;
const MOST_PLACES = 100; // of toFixed; no weight that a scale is asked for has more

/**
 * What remains as {batter, left_over, jugs}, the jugs in order of pouring.
 *
 * `done` is the grams of each portion poured so far by name: an object, or a Map, which keeps the order also of
 * names that are whole numbers. Of the others those in grams or as a layer keep their size. If one is open, it
 * takes what remains and shares stay as planned; if none is, those with a share divide what remains in that
 * ratio; `left_over` is what no portion takes.
 *
 * A jug is {name, grams, fats, additions: [{name, grams}], height_mm, vessel_ml}. What is to be weighed is text
 * in whole steps of the scale; fats, height_mm and vessel_ml are numbers, unrounded. height_mm is null for what
 * does not go into the mould or where area or density are not known, vessel_ml without a density.
 * Throws PortionError.
 */
export function resolve(told, done) {
  const plan = read(told);
  check(plan);
  const poured = new Map(done instanceof Map ? done : Object.entries(done));
  const whole = plan.batter ?? solvedBatter(plan);
  const remains = Math.max(whole - pouredOf(plan, poured, whole), 0);
  const step = stepFor(plan.scale, remains);
  const waiting = plan.portions.filter(({ name }) => !poured.has(name));
  checkOneOpen(waiting);
  const takers = takersOf(plan, waiting);
  const sizes = stated(plan, waiting, whole);
  const needed = sum([...sizes].map(([name, grams]) => (takers.has(name) ? 0 : grams)));
  const spare = remains - needed;
  const half = Number(step) / 2;
  if (spare < (takers.size ? half : -half)) {
    throw new PortionError("done", tooLittle(remains, needed, waiting), "over", waiting);
  }
  const parts = sum(takers.values());
  for (const [name, part] of takers) sizes.set(name, (spare * part) / parts);
  const shown = stepsIn(remains, step);
  const target = Math.min(stepsIn(sum(sizes.values()), step), shown);
  const jugs = weighOut(plan, waiting, sizes, target, step);
  return { batter: weight(shown, step), left_over: weight(shown - target, step), jugs };
}

function takersOf(plan, waiting) {
  const open = waiting.filter(isOpen);
  if (open.length) return new Map(open.map(({ name }) => [name, 1]));
  const sharing = waiting.filter((one) => one.share !== null && gramsStated(plan, one) === null);
  return new Map(sharing.map(({ name, share }) => [name, share]));
}

function tooLittle(remains, needed, waiting) {
  if (!needed) return `The bucket is empty: nothing is left for ${names(waiting)}.`;
  return (
    `${figure(remains)} g of batter remain, which does not suffice for ${names(waiting)}: ` +
    `what is stated of these comes to ${figure(needed)} g.`
  );
}

function pouredOf(plan, done, whole) {
  const known = new Map(plan.portions.map((portion) => [portion.name, portion]));
  for (const [name, grams] of done) {
    if (!known.has(name)) throw new PortionError("done", `${name} is not one of the portions.`);
    if (!isWithin(number(grams), 0, MAX_GRAMS)) {
      const words = `${name}: what was poured must lie between 0 g and 1 tonne.`;
      throw new PortionError("done", words, "figure", [known.get(name)]);
    }
  }
  const poured = sum([...done.values()].map(number));
  if (poured > whole + Number(stepFor(plan.scale, whole))) {
    const words =
      `${figure(poured)} g have been poured, more than the ${figure(whole)} g of batter: ` +
      `${[...done.keys()].join(", ")}.`;
    throw new PortionError("done", words, "over", [...done.keys()].map((name) => known.get(name)));
  }
  return poured;
}

// What is left open

/** Grams of each portion that is not open, by name. */
function stated(plan, portions, whole) {
  const sizes = new Map();
  for (const portion of portions) {
    const grams = gramsStated(plan, portion);
    if (grams !== null) sizes.set(portion.name, grams);
    else if (portion.share !== null) sizes.set(portion.name, (portion.share / 100) * whole);
  }
  return sizes;
}

/** Grams of a batter that is not given. */
function solvedBatter(plan) {
  checkShares(plan);
  checkOneOpen(plan.portions);
  const both = plan.portions
    .map((portion) => ({ portion, share: portion.share, grams: gramsStated(plan, portion) }))
    .filter(({ share, grams }) => share !== null && grams !== null);
  const whole = both.length ? (both[0].grams / both[0].share) * 100 : batterFromGrams(plan);
  if (!(whole > 0 && whole <= MAX_GRAMS)) {
    throw new PortionError("batter", `The batter comes to ${figure(whole)} g, more than 1 tonne.`);
  }
  const step = Number(stepFor(plan.scale, whole));
  for (const { portion, share, grams } of both) {
    if (Math.abs(grams - (share / 100) * whole) > step) {
      const words =
        `${portion.name} is to be ${figure(grams)} g and ${figure(share)} %, which contradict each other ` +
        `for a batter of ${figure(whole)} g.`;
      throw new PortionError("size", words, "over", [portion]);
    }
  }
  return whole;
}

function batterFromGrams(plan) {
  const open = plan.portions.find(isOpen);
  if (open) {
    const words = `Neither the weight of the batter nor the size of ${open.name} is known: give one of them.`;
    throw new PortionError("batter", words, "under", [open]);
  }
  const grams = sum(plan.portions.map((portion) => gramsStated(plan, portion) ?? 0));
  if (!grams) {
    const words =
      "Shares alone do not tell the weight of the batter: give it, or the grams of one of " +
      `${names(plan.portions)}.`;
    throw new PortionError("batter", words, "under", plan.portions);
  }
  return grams / (1 - sharesOf(plan) / 100);
}

function sharesOf(plan) {
  return sum(plan.portions.map(({ share }) => share ?? 0));
}

/** Shares over the whole, or short of it with nothing to fill it up, whatever the batter weighs. */
function checkShares(plan) {
  const total = sharesOf(plan);
  const sharing = plan.portions.filter(({ share }) => share !== null);
  const others = plan.portions.filter(({ share }) => share === null);
  if (total > 100 + SHARES_OFF_BY + DUST) {
    const words = `The shares add up to ${figure(total)} %, more than the whole batter: ${names(sharing)}.`;
    throw new PortionError("share", words, "over", sharing);
  }
  if (others.length && total > 100 - DUST) {
    const words = `The shares take the whole batter, so nothing is left for ${names(others)}.`;
    throw new PortionError("size", words, "over", others);
  }
  if (!others.length && total < 100 - SHARES_OFF_BY - DUST) {
    const words =
      `The shares add up to only ${figure(total)} %, and no portion takes the rest: ${names(sharing)}.`;
    throw new PortionError("share", words, "over", sharing);
  }
}

function checkOneOpen(portions) {
  const unknown = portions.filter(isOpen);
  if (unknown.length > 1) {
    const words =
      `Only one portion can take the rest, but the size is open of ${names(unknown)}. State all but one.`;
    throw new PortionError("size", words, "under", unknown);
  }
}

// Weighing out

/** The jugs in order of pouring, in whole steps of the scale that add up to `total` steps. */
function weighOut(plan, portions, sizes, total, step) {
  const steps = total ? apportion(sizes, total, step) : new Map();
  return [...portions]
    .sort((one, other) => one.order - other.order)
    .map((portion) => {
      if (!steps.get(portion.name)) {
        const words =
          `${portion.name} comes to ${twoFigures(sizes.get(portion.name))} g; ` +
          `the scale shows steps of ${trimmed(step)} g. Make the batch larger.`;
        throw new PortionError("scale", words, "figure", [portion]);
      }
      return jugOf(plan, portion, weight(steps.get(portion.name), step));
    });
}

/** Steps for each name that add up to `total`: the largest remainders go up. */
function apportion(sizes, total, step) {
  const before = sum(sizes.values());
  const grams = Number(weight(total, step));
  const exact = [...sizes.values()].map((size) => ((size / before) * grams) / Number(step));
  const whole = exact.map((steps) => Math.floor(withoutDust(steps)));
  const below = exact.map((steps, index) => whole[index] - steps);
  const byRemainder = [...exact.keys()].sort((one, other) => below[one] - below[other]);
  for (const index of byRemainder.slice(0, total - sum(whole))) whole[index] += 1;
  return new Map([...sizes.keys()].map((name, index) => [name, whole[index]]));
}

/** What goes into a portion of so many grams of batter, as {name, grams}. */
export function stirredIn(told, name, grams) {
  const plan = read(told);
  const portion = plan.portions.find((one) => one.name === name);
  return jugOf(plan, portion, grams).additions;
}

function jugOf({ area, density, fatsShare, scale }, portion, grams) {
  const fats = (Number(grams) * fatsShare) / 100;
  const volume = density === null ? null : Number(grams) / density;
  const inMould = volume !== null && area !== null && portion.destination === MOULD;
  const perUnit = { weight: Number(grams) / 100, fats: fats / 100 };
  return {
    name: portion.name,
    grams,
    fats,
    additions: portion.additions.map(({ name, amount, basis }) => {
      return { name, grams: pinch(scale, amount * perUnit[basis]) };
    }),
    height_mm: inMould ? (volume * 1000) / area : null,
    vessel_ml: volume === null ? null : volume * (1 + VESSEL_SPARE),
  };
}

// What the scale shows

/** The step, as text, in which this weight can be read. */
function stepFor({ step, fine }, grams) {
  return fine && exactly(grams.toFixed(MOST_PLACES)) <= exactly(fine.up_to) ? fine.step : step;
}

/** A decimal as a whole number to compare: as in Python, 0.1 in binary is a little more than 0.1 as text. */
function exactly(text) {
  const [whole, places = ""] = text.split(".");
  return BigInt(whole + places.padEnd(MOST_PLACES, "0"));
}

/** Whole steps of the scale, halves up. */
function stepsIn(grams, step) {
  return Math.round(withoutDust(grams / Number(step)));
}

/** Grams as text of so many steps, with the decimal places of the step. */
function weight(steps, step) {
  const places = step.split(".")[1]?.length ?? 0;
  return ((steps * Number(step.replace(".", ""))) / 10 ** places).toFixed(places);
}

/** Grams as the scale shows them; what is too little for it, to hundredths of a gram: it is not left out. */
function pinch(scale, grams) {
  const step = stepFor(scale, grams);
  const steps = stepsIn(grams, step);
  if (steps || !(grams > 0)) return weight(steps, step);
  const hundredths = fixed(grams, 2);
  return hundredths === "0.00" ? "0.01" : hundredths;
}

function withoutDust(value) {
  return Number(fixed(value, DUST_PLACES));
}

/** Decimals as Python rounds them: what lies halfway goes to the even digit, with toFixed it goes up. */
function fixed(value, places) {
  const up = value.toFixed(places);
  const halfway = Math.abs((value * 2 ** (places + 1)) % 2) === 1;
  return halfway && Number(up.at(-1)) % 2 ? (value - 10 ** -(places + 1)).toFixed(places) : up;
}

// Words

function names(portions) {
  return portions.map(({ name }) => name).join(", ");
}

function figure(value) {
  return trimmed(fixed(value, 2));
}

function trimmed(text) {
  return text.includes(".") ? text.replace(/\.?0+$/, "") : text;
}

/** As "%.2g" of Python writes it. */
function twoFigures(value) {
  const [mantissa, exponent] = value.toExponential(1).split("e");
  if (exponent >= -4 && exponent < 2) return trimmed(fixed(value, 1 - exponent));
  return `${trimmed(mantissa)}e${exponent[0]}${exponent.slice(1).padStart(2, "0")}`;
}
