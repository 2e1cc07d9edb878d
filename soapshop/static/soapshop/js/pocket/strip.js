// The picture of a safety range: shared/safety_strip.py on the phone. Figures are superfat in per cent.

import { number, percent } from "./words.js";

const WIDTH = 320;
const BAR_TOP = 18;
const BAR_BOTTOM = 36;
const HATCH_STEP = 7;
const LOWEST = -60;
const HIGHEST = 40;
const END = 16; // pixels kept free on the right for half of the last figure
const WORDS_LEFT = 92; // where the word of the aim stands clear of those at the ends
const WORDS_RIGHT = 244;
const SVG = "http://www.w3.org/2000/svg";

/** Places along the axis in pixels, the hatch of the lye-heavy side as path data, and the figures beneath. */
export function layOut(safety, aim) {
  const high = Math.min(Math.max(10, Math.ceil(safety.worst_high) + 1), HIGHEST);
  const low = Math.max(Math.min(-high / 3, Math.floor(safety.worst_low) - 1), LOWEST);
  const place = (superfat) => {
    const exact = ((WIDTH - END) * (Math.min(Math.max(superfat, low), high) - low)) / (high - low);
    return Math.floor(10 * exact + 0.5) / 10;
  };
  const step = high - low <= 30 ? 5 : 10;
  const last = step * Math.floor(Math.floor(high) / step);
  const figures = Array.from({ length: last / step + 1 }, (_, index) => index * step);
  return {
    zero: place(0),
    likely_low: place(safety.likely_low),
    likely_high: place(safety.likely_high),
    worst_low: place(safety.worst_low),
    worst_high: place(safety.worst_high),
    aim: place(aim),
    aim_word: Math.min(Math.max(place(aim), WORDS_LEFT), WORDS_RIGHT),
    hatch: hatch(place(0)),
    ticks: figures.map((figure) => ({
      x: place(figure),
      label: figure === last ? `${figure} %` : `${figure}`,
    })),
  };
}

/** Strokes at 45 degrees that fill the bar from 0 to `end`, cut off at its sides. */
function hatch(end) {
  const rise = BAR_BOTTOM - BAR_TOP;
  let path = "";
  for (let start = HATCH_STEP - rise; start < end; start += HATCH_STEP) {
    const left = Math.max(start, 0);
    const right = Math.min(start + rise, end);
    const [fromY, toY] = [BAR_BOTTOM - left + start, BAR_BOTTOM - right + start];
    path += `M${left.toFixed(1)} ${fromY.toFixed(1)}L${right.toFixed(1)} ${toY.toFixed(1)}`;
  }
  return path;
}

/** Puts a safety range into a copy of components/safety_strip.html. */
export function draw(svg, safety, aim) {
  const strip = layOut(safety, aim);
  const path = (name, d) => svg.querySelector(`.strip-${name}`).setAttribute("d", d);
  svg.setAttribute("class", `safety-strip strip-of-${safety.verdict}`);
  svg.ariaLabel = nameOf(safety);
  svg.querySelector(".strip-lye").setAttribute("width", strip.zero);
  path("hatch", strip.hatch);
  path("zero", `M${strip.zero} 14V40`);
  const { worst_low: worstLow, worst_high: worstHigh } = strip;
  path("worst", `M${worstLow} 27H${worstHigh}M${worstLow} 21V33M${worstHigh} 21V33`);
  path("likely", `M${strip.likely_low} 27H${strip.likely_high}`);
  path("aim", `M${strip.aim} 14V40`);
  svg.querySelector(".strip-aim-word").setAttribute("x", strip.aim_word);
  svg.querySelector(".strip-ticks").replaceChildren(...strip.ticks.map(tick));
}

function nameOf({ likely_low: low, likely_high: high, worst_low: least, worst_high: most }) {
  const likely = `Superfat likely ${number(low, 1)} to ${percent(high)}`;
  const worst = `in the very worst case ${number(least, 1)} to ${percent(most)}`;
  return `${likely}, ${worst}; below 0 % lye is left over`;
}

function tick({ x, label }) {
  const text = document.createElementNS(SVG, "text");
  text.setAttribute("x", x);
  text.setAttribute("y", 52);
  text.textContent = label;
  return text;
}
