// The way back, from what this phone knows: what to add to a pot that is not safe, or fatter than its recipe.
// The rules are those of batches/queries/remedy.py, but for fats beyond the card, of which the phone keeps none.

import { restore } from "../corrections.js";
import { measuresOf, potOf } from "../pot.js";
import { leftOut, lotsOf, missing } from "./board.js";
import { part } from "./parts.js";
import { hundredths, inGrams, trimmed, weight } from "./words.js";

const MOST_WAYS = 3;
const NONE = { moreLye: false, additions: [] };

/**
 * {moreLye, additions}, each addition {line, lot, grams, waits} with the weight in hundredths of a gram.
 * Of fats any one will do; lye goes in with its liquid. `waits` says that the planned weight of it is still
 * to come. `safety` is that of the pot: see safety_foot.js.
 */
export function remedyOf(board, deeds, safety) {
  if (!safety || safety.trouble || board.pouredAt) return NONE;
  const pot = potOf(board.pack, deeds);
  if (safety.verdict === "safe") return { moreLye: true, additions: moreLye(board, pot) };
  const shelf = shelfOf(board, ({ kind }) => kind === "fat");
  const fats = shelf.map(({ line, lot }) => ({
    name: line.material,
    sap: lot.sap ?? line.sap,
    available: lot.spare / 100,
    lot: lot.sap ? lot.code : "",
  }));
  const additions = waysBack(board, pot, fats)
    .slice(0, MOST_WAYS)
    .map((way) => additionOf(board, shelf.find(({ line }) => line.material === way.name), way.grams));
  return { moreLye: false, additions };
}

function waysBack({ pack }, pot, onHand) {
  return restore(pot, measuresOf(pack), { superfat: pack.superfat, onHand }).filter(({ enough }) => enough);
}

/** Of each material the lot that can give most, with what it can `spare` beyond the card. */
function shelfOf(board, wanted) {
  return board.lines.filter(wanted).flatMap((line) => {
    const kept = line.done ? 0 : missing(line);
    const lots = lotsOf(board, line)
      .filter(({ usable }) => usable)
      .map((lot) => ({ ...lot, spare: lot.free - kept }));
    const [fullest] = lots.sort((one, other) => other.spare - one.spare);
    return fullest?.spare > 0 ? [{ line, lot: fullest }] : [];
  });
}

/** Liquid and alkali, in the order in which they are measured out; nothing where the stock has not both. */
function moreLye(board, pot) {
  const [way] = waysBack(board, pot, []);
  if (!way) return [];
  const { chemistry } = board.pack;
  const isIt = (line) => chemistry[line.alkali].label === way.name && line.dissolved === way.dissolved;
  const alkali = board.lines.find((line) => line.kind === "alkali" && !leftOut(line) && isIt(line));
  const liquid = board.lines.find((line) => line.kind === "liquid" && line.before_the_lye);
  const grams = new Map([...(liquid ? [[liquid.id, way.liquid_grams]] : []), [alkali.id, way.grams]]);
  const additions = shelfOf(board, ({ id }) => grams.has(id))
    .map((found) => ({ spare: found.lot.spare, ...additionOf(board, found, grams.get(found.line.id)) }))
    .filter((addition) => addition.grams <= addition.spare);
  const inOrder = [liquid?.id, alkali.id];
  additions.sort((one, other) => inOrder.indexOf(one.line.id) - inOrder.indexOf(other.line.id));
  return additions.length === grams.size ? additions : [];
}

function additionOf({ pack }, { line, lot }, grams) {
  const step = hundredths(pack.scale_step);
  return { line, lot, grams: step * Math.round(hundredths(grams) / step), waits: !line.done };
}

// --- how it is shown ---------------------------------------------------------------------------------------

/** The first fat to add, with its button, for the foot of the bench; nothing where there is none to add now. */
export function wayBack(board, { verdict }, { moreLye: isLye, additions: [first] }, act) {
  if (isLye || !first || first.waits) return [];
  const box = part("way-back", { way: additionPart(board, first, act) });
  box.querySelector(".way-back").classList.add(`way-back-${verdict}`);
  box.querySelector(".button").classList.remove("button-secondary");
  return [box];
}

/** All that can be added, where that is more than stands in the foot. */
export function remedyParts(board, { moreLye: isLye, additions }, act) {
  if (isLye) return additions.length ? [moreLyePart(board, additions, act)] : [];
  if (additions.length < 2) return [];
  const ways = additions.map((addition) => additionPart(board, addition, act));
  return [part("remedy-fat", { ways })];
}

function moreLyePart(board, additions, act) {
  const superfat = trimmed(board.pack.superfat);
  if (additions.some(({ waits }) => waits)) {
    const ways = additions.map((addition) => additionPart(board, addition, act));
    return part("remedy-lye", { superfat, ways });
  }
  const amounts = additions.map(({ line, grams }) => `${weight(grams, board.pack)} ${line.material}`);
  const lots = additions.map(({ lot }) => lot.code);
  const words = `Add ${amounts.join(" and ")}`;
  const ways = part("way-add", { add: once(act, additions), words, from: `from ${lots.join(", ")}` });
  return part("remedy-lye", { superfat, ways });
}

/** What to say of a pot that is not safe, after what can be added to it. */
export function remedyWords(board, { additions: [first] }) {
  if (!first) {
    return (
      "Lye may be left over, and no fat of the card that this phone knows of puts it right. " +
      "Undo a weight, or fetch more fat before you pour."
    );
  }
  if (!first.waits) return "Lye may be left over. What to add stands above.";
  return `Weigh ${weight(first.grams, board.pack)} more ${first.line.material} than the card says.`;
}

function additionPart(board, addition, act) {
  const { line, lot, grams, waits } = addition;
  const amount = weight(grams, board.pack);
  if (waits) return part("way-waits", { amount, material: line.material });
  return part("way-add", {
    add: once(act, [addition]),
    words: `Add ${amount} ${line.material}`,
    from: `from ${lot.code}${lot.place ? `, ${lot.place}` : ""}`,
  });
}

/** Notes additions in order when a button is tapped, once, however often that is done. */
function once(act, additions) {
  return async ({ currentTarget }) => {
    currentTarget.disabled = true;
    for (const { lot, grams } of additions) {
      await act.deed("add", { lot: lot.id, quantity: inGrams(grams) });
    }
  };
}
