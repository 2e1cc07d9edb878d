// What is in the pot of a batch, by what this phone knows of it: batches/safety.py on the phone.

import { boardOf } from "./pocket/board.js";

/**
 * All that reacts, and the liquid it is in, as safety.js takes it. Weights in grams.
 *
 * A line that has been weighed counts as weighed, by lot and the lot's certificate; another as planned.
 * `deeds` are those done on this phone since the pack was made.
 */
export function potOf(pack, deeds) {
  const portions = boardOf(pack, deeds)
    .lines.flatMap(portionsOf)
    .map((portion) => ({ ...portion, step: stepFor(pack, portion.grams) }));
  const of = (kind) => portions.filter(({ line }) => line.kind === kind);
  const takesLye = ({ line }) => line.kind === "fat" || (line.sap && line.kind !== "alkali");
  return {
    fats: portions.filter(takesLye).map(fat),
    alkalis: of("alkali").map(alkali),
    acids: portions.filter(({ line }) => line.acid).map(acid),
    liquid: of("liquid").reduce((total, { grams }) => total + grams, 0),
  };
}

/** What `assess` needs to know of a batch beside its pot. */
export function measuresOf(pack) {
  return { scaleStep: Number(pack.scale_step), limits: pack.limits, chemistry: pack.chemistry };
}

/** The step of the scale on which so many grams are weighed. */
function stepFor({ scale_step: step, fine_scale: fine }, grams) {
  return Number(fine && grams <= Number(fine.up_to) ? fine.step : step);
}

/** Grams that went in for a line, each out of a lot, and what is still to come out of none that is known. */
function portionsOf(line) {
  const noted = line.weighings.map(({ lot, quantity }) => ({
    line,
    grams: quantity / 100,
    lot: line.lots.find(({ id }) => id === lot),
  }));
  const toCome = line.weighings.reduce((rest, { quantity }) => rest - quantity, line.planned);
  return line.done || toCome <= 0 ? noted : [...noted, { line, grams: toCome / 100 }];
}

function fat({ line, grams, lot, step }) {
  // Without a certificate two lots of a fat count as one uncertain value: the wider, safer reading.
  const certified = lot?.sap ? { sap: lot.sap, lot: lot.code } : { sap: line.sap, lot: "" };
  return { name: line.material, grams, step, ...certified };
}

function acid({ line, grams, step }) {
  return { kind: line.acid, grams, percent: line.acid_percent, step };
}

function alkali({ line, grams, lot, step }) {
  const [low, high] = lot?.purity ?? line.purity;
  const { dissolved } = line;
  return { kind: line.alkali, grams, purity_low: low, purity_high: high, dissolved, step };
}
