// What a maker says about the portions of a batter, and the checks that keep nonsense out of it:
// shared/portion_plan.py on the phone.
//
// Weights are grams, shares %, lengths mm, areas mm², densities g/mL; each figure text or a number.
//   plan      {batter, fats_share, scale: {step, fine}, area_mm2, density, portions}
//             batter, area_mm2 and density are null where not known, fine is null or {step, up_to}; steps and
//             up_to are text
//   portion   {name, share, grams, layer_mm, rest, additions, destination, order}
//             share, grams and layer_mm are null where not stated
//   addition  {name, amount, basis: "weight" | "fats"}     % of the portion's weight or of its fats

import { MAX_GRAMS } from "../ingredients.js";

export const MOULD = "mould";
const LIGHTEST = 0.1; // g/mL; beyond these a density of batter is a slip of the pen
const HEAVIEST = 5;
const LARGEST_MM = 2000;

/** A plan that cannot be solved; `cause` is "figure", "over" or "under", `portions` names those it is about. */
export class PortionError extends Error {
  constructor(field, message, cause = "figure", portions = []) {
    super(message);
    this.name = "PortionError";
    this.field = field;
    this.cause = cause;
    this.portions = portions.map(({ name }) => name);
  }
}

/** The plan with its figures as numbers. */
export function read({ batter, fats_share: fatsShare, scale, area_mm2: area, density, portions }) {
  return {
    batter: optional(batter),
    fatsShare: number(fatsShare),
    scale,
    area: optional(area),
    density: optional(density),
    portions: portions.map(({ layer_mm: layer, ...portion }) => ({
      ...portion,
      share: optional(portion.share),
      grams: optional(portion.grams),
      layer: optional(layer),
      additions: portion.additions.map((one) => ({ ...one, amount: number(one.amount) })),
    })),
  };
}

function optional(told) {
  return told === null ? null : number(told);
}

/** NaN for what is no number; so is nothing at all, which would count as 0. */
export function number(told) {
  return Number(String(told).trim() || NaN);
}

/** Throws PortionError for a figure that cannot be, and for a size said twice or that cannot be told. */
export function check(plan) {
  for (const [field, ok, words] of wholeFigures(plan)) if (!ok) throw new PortionError(field, words);
  const seen = new Set();
  for (const portion of plan.portions) {
    const { name } = portion;
    if (!name.trim()) throw new PortionError("name", "Each portion needs a name.", "figure", [portion]);
    if (seen.has(name)) {
      throw new PortionError("name", `Two portions are called ${name}.`, "figure", [portion]);
    }
    seen.add(name);
    for (const [field, ok, words] of portionFigures(portion)) {
      if (!ok) throw new PortionError(field, words, "figure", [portion]);
    }
    checkSize(plan, portion);
  }
}

function wholeFigures({ batter, area, density, fatsShare, portions }) {
  return [
    ["portions", portions.length > 0, "There are no portions."],
    [
      "batter",
      batter === null || isUpTo(batter, MAX_GRAMS),
      "The batter must weigh more than nothing and at most 1 tonne.",
    ],
    ["fats", isUpTo(fatsShare, 100), "The fats must be more than 0 % and at most 100 % of the batter."],
    [
      "area",
      area === null || isWithin(area, 1, LARGEST_MM ** 2),
      "The base of the mould must lie between 1 mm² and 4 m².",
    ],
    [
      "density",
      density === null || isWithin(density, LIGHTEST, HEAVIEST),
      "The density of the batter must lie between 0.1 and 5 g/mL.",
    ],
  ];
}

function portionFigures({ name, share, grams, layer, additions }) {
  return [
    [
      "share",
      share === null || isUpTo(share, 100),
      `${name}: the share must be more than 0 % and at most 100 %.`,
    ],
    [
      "grams",
      grams === null || isUpTo(grams, MAX_GRAMS),
      `${name}: the weight must be more than 0 g and at most 1 tonne.`,
    ],
    [
      "layer",
      layer === null || isUpTo(layer, LARGEST_MM),
      `${name}: the height of the layer must be more than 0 mm and at most 2 m.`,
    ],
    ...additions.map((addition) => [
      "additions",
      isWithin(addition.amount, 0, 100),
      `${name}: ${addition.name} must lie between 0 % and 100 %.`,
    ]),
  ];
}

function checkSize({ area, density }, portion) {
  const { name, grams, layer, rest, destination } = portion;
  if ((grams !== null && layer !== null) || (rest && !isOpen(portion))) {
    const words = `${name} states its size twice. Keep one way of saying it.`;
    throw new PortionError("size", words, "over", [portion]);
  }
  if (layer === null) return;
  if (destination !== MOULD) {
    const words = `${name} does not go into the mould: give its share or its grams, not a layer.`;
    throw new PortionError("layer", words, "figure", [portion]);
  }
  if (area === null) {
    throw new PortionError("area", `${name} is a layer: give the base of the mould.`, "under", [portion]);
  }
  if (density === null) {
    const words = `${name} is a layer: give the density of the batter.`;
    throw new PortionError("density", words, "under", [portion]);
  }
}

function isUpTo(value, most) {
  return value > 0 && value <= most;
}

export function isWithin(value, least, most) {
  return value >= least && value <= most;
}

/** Grams of a portion that states them, or a layer; null for any other. */
export function gramsStated({ area, density }, { grams, layer }) {
  return layer === null ? grams : ((layer * area) / 1000) * density;
}

/** Whether the size of a portion is left to be worked out. */
export function isOpen({ share, grams, layer }) {
  return share === null && grams === null && layer === null;
}
