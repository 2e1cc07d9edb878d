// Weights, temperatures and times as the pages of the server write them. Weights come in hundredths of a gram.

const GROUP = "\u202f"; // narrow no-break space, between thousands
const TIE = "\u00a0"; // no-break space, before a unit
const MINUS = "\u2212";
const GRAMS_AN_OUNCE = 28.349523125; // NIST Handbook 44, Appendix C
const FINER_STEPS = [10, 1];

/** Hundredths of a gram from grams as the server writes them. */
export function hundredths(grams) {
  return Math.round(Number(grams) * 100);
}

/** Grams as the server reads them. */
export function inGrams(weight) {
  return (weight / 100).toFixed(2);
}

export function number(value, places = 0) {
  const [whole, part] = Math.abs(value).toFixed(places).split(".");
  const grouped = whole.replace(/\B(?=(\d{3})+$)/g, GROUP);
  const shown = part ? `${grouped}.${part}` : grouped;
  return value < 0 && Number(value.toFixed(places)) ? `${MINUS}${shown}` : shown;
}

export function percent(value, places = 1) {
  return `${number(value, places)}${TIE}%`;
}

/** A figure without noughts at its end. */
export function trimmed(value) {
  const [, part = ""] = String(Number(value)).split(".");
  return number(Number(value), part.length);
}

/** Figures of a weight with their units, in the units of the workshop: [["1 268", "g"]]. */
export function weightParts(weight, pack) {
  const step = coarsestStep(weight, hundredths(pack.scale_step));
  if (pack.units !== "us") return [[number(weight / 100, placesOf(step)), "g"]];
  const ounces = inOunces(weight, step);
  const pounds = Math.floor(ounces.value / 16);
  const rest = [number(ounces.value - 16 * pounds, ounces.places), "oz"];
  return pounds ? [[number(pounds), "lb"], rest] : [rest];
}

/** A weight as one reads it off the scale. */
export function weight(quantity, pack) {
  return weightParts(quantity, pack)
    .map((part) => part.join(TIE))
    .join(" ");
}

/** As one reads it off the scale, or as many pieces, of which hundredths are told as well. */
export function amount(quantity, line, pack) {
  return amountParts(quantity, line, pack)
    .map((part) => part.join(TIE))
    .join(" ");
}

/** Figures with their units. */
export function amountParts(quantity, { counted }, pack) {
  if (!counted) return weightParts(quantity, pack);
  return [[trimmed(quantity / 100), Math.ceil(quantity / 100) === 1 ? "piece" : "pieces"]];
}

/** A weight with its sign; nothing where there is none. */
export function difference(quantity, pack, line = {}) {
  return quantity ? `${quantity > 0 ? "+" : MINUS}${amount(Math.abs(quantity), line, pack)}` : "";
}

/** A weight on the shelf: kilograms or pounds once there is plenty. */
export function stockWeight(quantity, pack) {
  const [small, large, perSmall, perLarge] =
    pack.units === "us"
      ? ["oz", "lb", 100 * GRAMS_AN_OUNCE, 1600 * GRAMS_AN_OUNCE]
      : ["g", "kg", 100, 100_000];
  if (quantity >= 10 * perLarge) return `${number(quantity / perLarge, 1)}${TIE}${large}`;
  return `${number(quantity / perSmall)}${TIE}${small}`;
}

export function degrees(celsius, pack) {
  return pack.units === "us" ? `${number((celsius * 9) / 5 + 32)}${TIE}°F` : `${trimmed(celsius)}${TIE}°C`;
}

/** '14:32' by the clock of the phone. */
export function clock(when) {
  return new Date(when).toLocaleTimeString("en-GB", { hour: "2-digit", minute: "2-digit" });
}

/** '31 Jan 2027' from '2027-01-31'. */
export function day(date) {
  const [year, month, dayOfMonth] = date.split("-").map(Number);
  const name = new Date(year, month - 1, dayOfMonth).toLocaleDateString("en-GB", { month: "short" });
  return `${dayOfMonth} ${name.slice(0, 3)} ${year}`;
}

export function things(count) {
  return count === 1 ? "1 thing" : `${count} things`;
}

/** The coarsest step that shows all of a weight, the scale's own before others. */
function coarsestStep(quantity, own) {
  return [own, ...FINER_STEPS].find((step) => quantity % step === 0) ?? 1;
}

function placesOf(step) {
  if (step % 100 === 0) return 0;
  return step % 10 === 0 ? 1 : 2;
}

function inOunces(quantity, step) {
  const places = step >= 2800 ? 0 : step > 200 ? 1 : 2;
  const scale = 10 ** places;
  return { value: Math.round((quantity / 100 / GRAMS_AN_OUNCE) * scale) / scale, places };
}
