// Weights and temperatures as people type them: the grammar of shared/units.py, for what is typed at the bench.

const MAX_LENGTH = 40;
const MOST_GRAMS = 1_000_000;
const GRAMS = { mg: 0.001, g: 1, kg: 1000, oz: 28.349523125, lb: 453.59237 }; // NIST Handbook 44, Appendix C
const NAMES = {
  mg: ["mg"],
  g: ["g", "gr", "gram", "grams", "gramme", "grammes"],
  kg: ["kg", "kilo", "kilos", "kilogram", "kilograms"],
  oz: ["oz", "ounce", "ounces"],
  lb: ["lb", "lbs", "pound", "pounds"],
};
const UNIT_OF = Object.fromEntries(
  Object.entries(NAMES).flatMap(([unit, names]) => names.map((name) => [name, unit])),
);
const FRACTIONS = { "½": " 1/2", "¼": " 1/4", "¾": " 3/4", "⅓": " 1/3", "⅔": " 2/3", "⅛": " 1/8" };
const QUANTITY = /([0-9.,][0-9.,/ ]*)([^0-9]*)/y;
const PLAIN = /^(?:[0-9]+(?:[.,][0-9]+)?|[.,][0-9]+)$/;
const THOUSANDS = /^([1-9][0-9]{0,2}([ ,.])[0-9]{3}(?:\2[0-9]{3})*)(?:(?!\2)[.,]([0-9]+))?$/;
const TWO_WAYS = /^[1-9][0-9]{0,2},[0-9]{3}$/;
const FRACTION = /^(?:([0-9]+) )?([0-9]+)\/([0-9]*[1-9][0-9]*)$/;
const CELSIUS = ["", "c", "°c", "celsius"];
const FAHRENHEIT = ["f", "°f", "fahrenheit"];

/** What was typed is no quantity; the message is for whoever typed it. */
export class QuantityError extends Error {}

/** Hundredths of a gram. `unit` is what a bare number means: g or oz. */
export function parseWeight(text, unit, { allowZero = false } = {}) {
  let grams = 0;
  for (const [figure, name] of quantities(text, unit)) {
    if (!name) throw new QuantityError("Say the unit of each figure.");
    if (!Object.hasOwn(UNIT_OF, name)) {
      throw new QuantityError(`“${name}” is no weight known here. Write it like 250 g or 2 lb 3 oz.`);
    }
    grams += figure * GRAMS[UNIT_OF[name]];
  }
  if (grams > MOST_GRAMS) throw new QuantityError(`This may be ${MOST_GRAMS} g at most.`);
  const weight = Math.round(grams * 100);
  if (!weight && !allowZero) throw new QuantityError("This must be more than nothing.");
  return weight;
}

/** Degrees Celsius to a tenth. A bare number is °C, or °F where `units` are those of the United States. */
export function parseTemperature(text, units) {
  const cleaned = clean(text);
  const sign = cleaned.startsWith("-") ? -1 : 1;
  const found = quantities(cleaned.replace(/^-\s*/, ""), "");
  if (found.length > 1) throw new QuantityError("Give one temperature, such as 40 °C.");
  const [[figure, given]] = found;
  const name = given || (units === "us" ? "f" : "c");
  if (![...CELSIUS, ...FAHRENHEIT].includes(name)) {
    throw new QuantityError(`“${name}” is no temperature. Write it like 40 °C.`);
  }
  const celsius = FAHRENHEIT.includes(name) ? ((sign * figure - 32) * 5) / 9 : sign * figure;
  return Math.round(celsius * 10) / 10;
}

function clean(text) {
  if (text.length > MAX_LENGTH) throw new QuantityError("This is too long. Give an amount and its unit.");
  for (const [mark, fraction] of Object.entries(FRACTIONS)) text = text.replaceAll(mark, fraction);
  const cleaned = text.replaceAll("\u2212", "-").toLowerCase().trim().split(/\s+/).join(" ");
  if (!cleaned) throw new QuantityError("Enter what the scale shows.");
  return cleaned;
}

/** Numbers with their units, such as [[2, "lb"], [3, "oz"]]. */
function quantities(text, unit) {
  const cleaned = clean(text);
  if (cleaned.startsWith("-")) throw new QuantityError("A quantity cannot be below zero.");
  const found = [];
  let position = 0;
  while (position < cleaned.length) {
    QUANTITY.lastIndex = position;
    const match = QUANTITY.exec(cleaned);
    if (!match)
      throw new QuantityError("This cannot be read as a quantity. Write it like 250 g or 2 lb 3 oz.");
    const name = match[2].replace(/[.,]/g, " ").trim().split(/\s+/).join(" ").replace(/ and$/, "");
    found.push([figureOf(match[1].trim()), name]);
    position = QUANTITY.lastIndex;
  }
  return found.length === 1 && !found[0][1] ? [[found[0][0], unit]] : found;
}

function figureOf(text) {
  if (TWO_WAYS.test(text)) {
    const [plain, point] = [text.replace(",", ""), text.replace(",", ".")];
    throw new QuantityError(`“${text}” can be read in two ways. Write ${plain} or ${point}.`);
  }
  if (PLAIN.test(text)) return Number(text.replace(",", "."));
  const thousands = THOUSANDS.exec(text);
  if (thousands) return Number(`${thousands[1].replaceAll(thousands[2], "")}.${thousands[3] ?? 0}`);
  const fraction = FRACTION.exec(text);
  if (fraction) return Number(fraction[1] ?? 0) + Number(fraction[2]) / Number(fraction[3]);
  throw new QuantityError(`“${text}” is not a number. Write it like 1268 or 2.5.`);
}

/** Whole pieces, as hundredths like all amounts. */
export function parsePieces(text) {
  const cleaned = clean(text);
  if (!/^[1-9][0-9]{0,5}$/.test(cleaned)) throw new QuantityError("Count whole pieces, such as 12.");
  return 100 * Number(cleaned);
}
