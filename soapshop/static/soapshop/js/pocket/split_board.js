// What is in which jug, and what the others get of what remains: batches/splitting.py on the phone.
// Weights are hundredths of a gram, heights mm, vessels mL.

import { isOpen, openJugs, weighed } from "./board.js";
import { MOULD, PortionError } from "./portion_plan.js";
import { VESSEL_SPARE, resolve, stirredIn } from "./portions.js";
import { hundredths, inGrams } from "./words.js";

/**
 * {cards, batter, taken, remains, trouble}; null for a batch that is not split. `asked` is a Map of grams to
 * try for open jugs by name. A card is {jug, grams, stir: [{line, grams, weighed}], height, vessel}, its grams
 * null where they cannot be told: `trouble` says why.
 */
export function splittingOf(board, asked = new Map()) {
  const told = board.pack.split?.plan;
  if (!told) return null;
  const batter = batterOf(board);
  const held = new Map(board.jugs.filter(({ grams }) => grams !== null).map((jug) => [jug.name, jug.grams]));
  const taken = sum([...held.values()]);
  for (const { name } of openJugs(board)) if (asked.has(name)) held.set(name, asked.get(name));
  const plan = planFor(told, board, Math.max(batter, sum([...held.values()])), held);
  const trouble = solve(plan, held);
  const cards = board.jugs.map((jug) => cardOf(board, plan, jug, held.get(jug.name) ?? null));
  return { cards, batter, taken, remains: Math.max(batter - taken, 0), trouble };
}

export const jugsDone = ({ jugs }) => jugs.filter((jug) => !isOpen(jug)).length;

/** What is in the bucket before anything is taken: what was weighed into it, and what is still to come. */
function batterOf({ lines }) {
  const whole = lines.filter(({ stage }) => !["jug", "top"].includes(stage));
  return sum(whole.map((line) => (line.done ? weighed(line) : Math.max(weighed(line), line.planned))));
}

/** For the batter that there is, with the jugs that were added and without those left out. */
function planFor(told, { jugs }, batter, held) {
  const dropped = jugs.filter((jug) => jug.dropped).map(({ name }) => name);
  const added = jugs.filter(({ planned, name }) => planned === null && held.has(name));
  return {
    ...told,
    batter: inGrams(batter),
    portions: [
      ...told.portions.filter(({ name }) => !dropped.includes(name)),
      ...added.map(({ name, destination, position }) => ({
        ...{ name, destination, share: null, grams: inGrams(held.get(name)), layer_mm: null },
        ...{ rest: false, additions: [], order: position },
      })),
    ],
  };
}

/** Puts what the open jugs get into `held`; gives back why they cannot be told. */
function solve(plan, held) {
  const done = new Map([...held].map(([name, weight]) => [name, inGrams(weight)]));
  try {
    for (const { name, grams } of resolve(plan, done).jugs) held.set(name, hundredths(grams));
    return "";
  } catch (error) {
    if (!(error instanceof PortionError)) throw error;
    return error.message;
  }
}

function cardOf({ lines }, plan, jug, grams) {
  const meant = plan.portions.some(({ name }) => name === jug.name) && grams !== null;
  const amounts = meant ? stirredIn(plan, jug.name, inGrams(grams)) : [];
  const stir = jug.stir.flatMap(({ line: id, name }) => {
    const line = lines.find((one) => one.id === id);
    const amount = hundredths(amounts.find((one) => one.name === name)?.grams ?? 0);
    const mine = line?.weighings.filter((one) => one.jug === jug.name) ?? [];
    return line ? [{ line, grams: amount, weighed: sum(mine.map(({ quantity }) => quantity)) }] : [];
  });
  return { jug, grams, stir, ...measures(plan, jug, grams) };
}

function measures({ density, area_mm2: area }, { destination }, grams) {
  if (grams === null || !density) return { height: null, vessel: null };
  const volume = grams / 100 / density;
  const inMould = area && destination === MOULD;
  return { vessel: volume * (1 + VESSEL_SPARE), height: inMould ? (volume * 1000) / area : null };
}

function sum(weights) {
  return weights.reduce((total, weight) => total + weight, 0);
}
