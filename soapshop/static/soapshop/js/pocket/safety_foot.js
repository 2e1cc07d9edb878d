// The safety range at the foot of the bench, from what is in the pot by what this phone knows.

import { measuresOf, potOf } from "../pot.js";
import { assess } from "../safety.js";
import { started, weighed } from "./board.js";
import { part } from "./parts.js";
import { layOut } from "./strip.js";
import { number, percent, weight } from "./words.js";

const SVG = "http://www.w3.org/2000/svg";
const ADVICE = {
  watch: "Lye may be left over. Add fat, or undo a weight.",
  stop: "Do not pour this as it stands: lye would be left over. Add fat, or undo a weight.",
};

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

export function safetyFoot(board, safety) {
  if (!safety) return [];
  if (safety.trouble) return [part("trouble", { words: safety.trouble })];
  const { verdict, likely_low: low, likely_high: high } = safety;
  const lead = verdict === "safe" ? `with ${weight(alkaliOf(board), board.pack)} lye: ` : "";
  const foot = part("safety", {
    verdict: verdict[0].toUpperCase() + verdict.slice(1),
    range: `${lead}superfat likely ${number(low, 1)}\u00a0to\u00a0${percent(high)}`,
    advice: ADVICE[verdict],
  });
  foot.querySelector(".safety").classList.add(`safety-${verdict}`);
  draw(foot.querySelector("svg"), board, safety);
  return [foot];
}

/** The alkali that the range counts on: weighed, or else planned. */
function alkaliOf(board) {
  const alkalis = board.lines.filter(({ kind }) => kind === "alkali");
  const counts = (line) => (line.done ? weighed(line) : Math.max(weighed(line), line.planned));
  return alkalis.reduce((total, line) => total + counts(line), 0);
}

function draw(svg, { pack }, safety) {
  const strip = layOut({
    likelyLow: safety.likely_low,
    likelyHigh: safety.likely_high,
    worstLow: safety.worst_low,
    worstHigh: safety.worst_high,
    aim: pack.superfat,
  });
  const path = (name, d) => svg.querySelector(`.strip-${name}`).setAttribute("d", d);
  svg.querySelector(".strip-lye").setAttribute("width", strip.zero);
  path("hatch", strip.hatch);
  path("zero", `M${strip.zero} 0V26`);
  const { worstLow, worstHigh } = strip;
  path("worst", `M${worstLow} 13H${worstHigh}M${worstLow} 8V18M${worstHigh} 8V18`);
  path("likely", `M${strip.likelyLow} 13H${strip.likelyHigh}`);
  path("aim", `M${strip.aim} 2V24`);
  svg.querySelector(".strip-ticks").replaceChildren(...strip.ticks.map(tick));
}

function tick({ x, label }) {
  const text = document.createElementNS(SVG, "text");
  text.setAttribute("x", x);
  text.setAttribute("y", 38);
  text.setAttribute("text-anchor", "middle");
  text.textContent = label;
  return text;
}
