// The picture of a safety range: shared/safety_strip.py on the phone. Figures are superfat in per cent.

const WIDTH = 320;
const HATCH_TOP = 4;
const HATCH_BOTTOM = 22;
const HATCH_STEP = 7;
const LOWEST = -20;
const HIGHEST = 40;
const END = 16; // pixels kept free on the right for half of the last figure

/** Places along the axis in pixels, the hatch of the lye-heavy side as path data, and the figures beneath. */
export function layOut({ likelyLow, likelyHigh, worstLow, worstHigh, aim }) {
  const high = Math.min(Math.max(10, Math.ceil(worstHigh) + 1), HIGHEST);
  const low = Math.max(Math.min(-high / 3, Math.floor(worstLow) - 1), LOWEST);
  const place = (superfat) => {
    const held = Math.min(Math.max(superfat, low), high);
    return Math.round((10 * (WIDTH - END) * (held - low)) / (high - low)) / 10;
  };
  const step = high - low <= 30 ? 5 : 10;
  const last = step * Math.floor(Math.floor(high) / step);
  const figures = Array.from({ length: last / step + 1 }, (_, index) => index * step);
  return {
    zero: place(0),
    likelyLow: place(likelyLow),
    likelyHigh: place(likelyHigh),
    worstLow: place(worstLow),
    worstHigh: place(worstHigh),
    aim: place(aim),
    hatch: hatch(place(0)),
    ticks: figures.map((figure) => ({
      x: place(figure),
      label: figure === last ? `${figure} %` : `${figure}`,
    })),
  };
}

/** Strokes at 45 degrees that fill the box from 0 to `end`, cut off at its sides. */
function hatch(end) {
  const rise = HATCH_BOTTOM - HATCH_TOP;
  let path = "";
  for (let start = HATCH_STEP - rise; start < end; start += HATCH_STEP) {
    const left = Math.max(start, 0);
    const right = Math.min(start + rise, end);
    path += `M${left} ${HATCH_BOTTOM - left + start}L${right} ${HATCH_BOTTOM - right + start}`;
  }
  return path;
}
