// The safety range at the foot of the bench, from what is in the pot by what this phone knows.

import { measuresOf, potOf } from "../pot.js";
import { SCALE, assess } from "../safety.js";
import { started, weighed } from "./board.js";
import { part } from "./parts.js";
import { remedyWords, wayBack } from "./remedy.js";
import { draw } from "./strip.js";
import { number, percent, weight } from "./words.js";

/** The safety range; {trouble} where there is none; null before the first fat is weighed. */
export function safetyOf(board, deeds) {
  if (!started(board)) return null;
  const { fats, alkalis, acids } = potOf(board.pack, deeds);
  try {
    return assess(fats, alkalis, acids, measuresOf(board.pack));
  } catch (error) {
    return { trouble: error.message };
  }
}

/** The range with its picture, and what to do where it is not safe. `remedy` is that of remedy.js. */
export function safetyFoot(board, safety, remedy, act) {
  if (!safety) return [];
  if (safety.trouble) return [part("trouble", { words: safety.trouble })];
  const { verdict, likely_low: low, likely_high: high } = safety;
  const safe = verdict === "safe";
  const lead = safe ? `with ${weight(alkaliOf(board), board.pack)} lye: ` : "";
  const foot = part("safety", {
    verdict: verdict[0].toUpperCase() + verdict.slice(1),
    range: `${lead}superfat likely ${number(low, 1)}\u00a0to\u00a0${percent(high)}`,
    advice: !safe && `${remedyWords(board, remedy)}${leastSure(safety)}`,
  });
  foot.querySelector(".safety").classList.add(`safety-${verdict}`);
  draw(foot.querySelector("svg"), safety, board.pack.superfat);
  return safe ? [foot] : [...wayBack(board, safety, remedy, act), foot];
}

/** A pot to be watched is so for what is not known of it; one to be stopped, for its weights. */
function leastSure({ verdict, narrows_most: most }) {
  if (verdict !== "watch" || !most) return "";
  return ` Least sure: ${most === SCALE ? "the steps of the scale" : most}.`;
}

/** The alkali that the range counts on: weighed, or else planned. */
function alkaliOf(board) {
  const alkalis = board.lines.filter(({ kind }) => kind === "alkali");
  const counts = (line) => (line.done ? weighed(line) : Math.max(weighed(line), line.planned));
  return alkalis.reduce((total, line) => total + counts(line), 0);
}
