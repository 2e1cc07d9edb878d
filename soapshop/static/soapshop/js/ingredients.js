// What goes into the pot, and the checks that keep nonsense out of it: shared/ingredients.py on the phone.
//
// Weights are grams, saponification values mg KOH per g of fat (ISO 3657), purities per cent.
//   fat     {name, grams, sap: {low, nominal, high}, lot}     lot is "" where it shares the fat's one value
//   alkali  {kind: "NaOH" | "KOH", grams, purity_low, purity_high}
//   acid    {kind, grams, percent}     percent (m/m) of a solution; 100 where it is not given
// Molar masses, labels and protons come with the batch, as `chemistry`:
//   {NaOH: {label, molar_mass}, KOH: {…}, acids: {citric: {label, molar_mass, protons}, …}}

export const MAX_GRAMS = 1e6; // one tonne, far above any kitchen batch
const MIN_GRAMS = 1e-3; // all fats, or all alkali, of a pot weigh at least this much
const LOWEST_SAP = 1;
const HIGHEST_SAP = 1000;

/** A pot that cannot be computed; `field` says which part of it: fats, alkalis, acids or scale. */
export class FormulaError extends Error {
  constructor(field, message) {
    super(message);
    this.name = "FormulaError";
    this.field = field;
  }
}

export function sum(numbers) {
  let total = 0;
  for (const number of numbers) total += number;
  return total;
}

/** Mol of alkali that one gram of fat takes, from its saponification value in mg KOH/g. */
export function molPerGram(sap, chemistry) {
  return sap / (1000 * chemistry.KOH.molar_mass);
}

/** Mol of alkali that the fats take at their nominal saponification values. */
export function nominalMol(fats, chemistry) {
  return sum(fats.map((fat) => fat.grams * molPerGram(fat.sap.nominal, chemistry)));
}

/** Mol of alkali at this purity in %, where the scale was wrong by so many grams. */
export function molOfAlkali(alkali, chemistry, purity = middlePurity(alkali), error = 0) {
  return (Math.max(alkali.grams + error, 0) * purity) / (100 * chemistry[alkali.kind].molar_mass);
}

/** Middle of the purity range, % m/m. */
export function middlePurity(alkali) {
  return (alkali.purity_low + alkali.purity_high) / 2;
}

/** Mol of alkali that this acid takes, where the scale was wrong by so many grams. */
export function molOfAcid(acid, chemistry, error = 0) {
  const { protons, molar_mass: molarMass } = chemistry.acids[acid.kind];
  const pure = (Math.max(acid.grams + error, 0) * percentOf(acid)) / 100;
  return (pure * protons) / molarMass;
}

/** Throws FormulaError unless there is fat to saponify and every weight and value makes sense. */
export function checkFats(fats) {
  for (const { name, grams, sap } of fats) {
    checkGrams("fats", name, grams);
    checkSap(name, sap);
  }
  if (sum(fats.map((fat) => fat.grams)) < MIN_GRAMS) {
    throw new FormulaError("fats", "Add at least one fat and its weight.");
  }
}

/** Throws FormulaError unless there is alkali and every weight and purity makes sense. */
export function checkAlkalis(alkalis, chemistry) {
  for (const alkali of alkalis) {
    const { label } = chemistry[alkali.kind];
    checkGrams("alkalis", label, alkali.grams);
    if (!(1 <= alkali.purity_low && alkali.purity_low <= alkali.purity_high && alkali.purity_high <= 100)) {
      throw new FormulaError(
        "alkalis",
        `${label}: the purity must lie between 1 and 100 %, the lower figure first.`,
      );
    }
  }
  if (sum(alkalis.map((alkali) => alkali.grams)) < MIN_GRAMS) {
    throw new FormulaError("alkalis", "Add the lye: without it there is no soap.");
  }
}

/** Throws FormulaError unless every weight and share makes sense. */
export function checkAcids(acids, chemistry) {
  for (const acid of acids) {
    const { label } = chemistry.acids[acid.kind];
    checkGrams("acids", label, acid.grams);
    if (!(0 < percentOf(acid) && percentOf(acid) <= 100)) {
      throw new FormulaError("acids", `${label}: its share must lie above 0 and up to 100 %.`);
    }
  }
}

/** Throws FormulaError unless the step of the scale is a weight from nothing to a kilogram. */
export function checkScaleStep(step) {
  if (!(0 <= step && step <= 1000)) {
    throw new FormulaError("scale", "The step of the scale must lie between 0 and 1000 g.");
  }
}

function percentOf({ percent = 100 }) {
  return percent;
}

/** Throws FormulaError unless the range lies within reason, its nominal value inside it. */
export function checkSap(name, { low, nominal, high }) {
  if (!(LOWEST_SAP <= low && low <= nominal && nominal <= high && high <= HIGHEST_SAP)) {
    throw new FormulaError(
      "fats",
      `${name}: the saponification value must lie between ${LOWEST_SAP} and ${HIGHEST_SAP} mg KOH/g, ` +
        "with the nominal value inside its range.",
    );
  }
}

function checkGrams(field, name, grams) {
  if (!(0 <= grams && grams <= MAX_GRAMS)) {
    throw new FormulaError(field, `${name}: the weight must lie between 0 g and 1 tonne.`);
  }
}
