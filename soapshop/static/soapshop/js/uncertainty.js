// The distribution of a sum of independent rectangular and triangular terms: shared/uncertainty.py on the phone.
//
// The sum's characteristic function is the product of those of its terms, and its distribution function
// follows by inversion (Gil-Pelaez, Biometrika 38 (1951) 481-482). Two facts make it exact and cheap here:
//
// * A sum of bounded terms is bounded, so the inversion integral turns into a Fourier series free of aliasing.
// * The widest term W is left out of the series and put in exactly: with Y the rest of the sum,
//   P(W + Y < s) = E[F(s - Y)], and the distribution function F of a rectangle or triangle is made of
//   truncated powers (s - knot - Y)+ and (s - knot - Y)+^2. Their series fall off as k^-2 and k^-3 times the
//   characteristic function of Y, so that a few dozen points serve even for one single or one dominant term.

import { sum } from "./ingredients.js";

const TOLERANCE = 2e-6; // bound on the truncation error of a chance
const BLOCK = 8; // points of the series between two looks at what is left of it
const NEXT_TO_NOTHING = 1e-9; // share of the widest term's width
const SLIVER = 1e-5; // a mode on the very edge of its range is moved inwards by this share of the width
const EDGE = 1e-12;
const CLOSE_ENOUGH = 0.01; // of a standard uncertainty: one more secant step leaves some thousandths
const MAX_STEPS = 20;

/**
 * One term of a sum, about its own mean, in the unit of the sum.
 * A rectangle reaches `below` and `above` (equal) from its middle, a triangle from its mode.
 */
export class Term {
  constructor(below, above, rectangular) {
    this.below = below;
    this.above = above;
    this.rectangular = rectangular;
  }

  static rectangle(halfWidth) {
    return new Term(halfWidth, halfWidth, true);
  }

  static triangle(below, above) {
    const sliver = SLIVER * (below + above);
    return new Term(Math.max(below, sliver), Math.max(above, sliver), false);
  }

  get width() {
    return this.below + this.above;
  }

  /** JCGM 100:2008 (GUM) 4.3.7 for the rectangle; textbook variance of the triangle. */
  get variance() {
    if (this.rectangular) return (this.below * this.below) / 3;
    return (this.below * this.below + this.below * this.above + this.above * this.above) / 18;
  }

  get meanAboveMode() {
    return (this.above - this.below) / 3;
  }

  /** Largest density. */
  get peak() {
    return (this.rectangular ? 1 : 2) / this.width;
  }

  /** The term times a positive factor. */
  scaled(factor) {
    return new Term(this.below * factor, this.above * factor, this.rectangular);
  }

  /** E[exp(i t X)] of a triangle for t > 0, with X counted from the mean, as [real, imaginary]. */
  characteristic(t) {
    const mode = -this.meanAboveMode;
    const [leftRe, leftIm] = ramp(-t * this.below);
    const [rightRe, rightIm] = ramp(t * this.above);
    const re = this.below * leftRe + this.above * rightRe;
    const im = this.below * leftIm + this.above * rightIm;
    const turned = times([Math.cos(t * mode), Math.sin(t * mode)], [re, im]);
    return [turned[0] / this.width, turned[1] / this.width];
  }

  /**
   * A falling bound on the modulus of the characteristic function, for t > 0.
   * From the total variation of the density and, for a triangle, of its slope.
   */
  envelope(t) {
    if (this.rectangular) return Math.min(1, 1 / (t * this.below));
    const jump = 4 / (t * this.width);
    return Math.min(1, jump, (jump / t) * (1 / this.below + 1 / this.above));
  }
}

function times([a, b], [c, d]) {
  return [a * c - b * d, a * d + b * c];
}

/** Characteristic function of the density 2 (1 - v) on 0..1, as [real, imaginary]. */
function ramp(s) {
  if (Math.abs(s) < 1e-3) return [1 - (s * s) / 12, s / 3];
  return [(2 * (1 - Math.cos(s))) / (s * s), (2 * (s - Math.sin(s))) / (s * s)];
}

/**
 * Chance that the sum of independent terms, each counted from its own mean, is below the threshold.
 * Accurate to about 2e-6. Terms next to nothing beside the widest are left out; a sum without any is
 * exactly zero.
 */
export function chanceBelow(threshold, terms) {
  const widest = terms.reduce((most, term) => (term.variance > most.variance ? term : most), terms[0]);
  const live = terms.filter((term) => term.width > NEXT_TO_NOTHING * widest.width);
  const high = highest(live);
  if (threshold >= high || threshold <= high - sum(live.map((term) => term.width))) {
    return threshold > 0 ? 1 : 0;
  }
  live.splice(live.indexOf(widest), 1);
  const rest = new Rest(live, widest.peak);
  const invert = widest.rectangular ? rectangleChance : triangleChance;
  return Math.min(Math.max(invert(threshold, widest, rest), 0), 1);
}

function highest(terms) {
  return sum(terms.map((term) => term.above - term.meanAboveMode));
}

function rectangleChance(threshold, term, rest) {
  return (rest.excess(threshold + term.above) - rest.excess(threshold - term.below)) / term.width;
}

function triangleChance(threshold, term, rest) {
  const fromMode = threshold + term.meanAboveMode;
  const atMode = rest.squaredExcess(fromMode);
  const rise = rest.squaredExcess(fromMode + term.below) - atMode;
  const fall = atMode - rest.squaredExcess(fromMode - term.above);
  return (rise / term.below - fall / term.above) / term.width;
}

/** The sum Y of all terms but the widest: its support, its variance and its truncated moments. */
class Rest {
  constructor(terms, peak) {
    this.high = highest(terms);
    this.low = this.high - sum(terms.map((term) => term.width));
    this.variance = sum(terms.map((term) => term.variance));
    this.span = this.high - this.low;
    this.series = terms.length ? [...this.points(terms, peak)] : [];
  }

  /** E[(y - Y)+], from the Fourier series of the absolute value on one span to either side. */
  excess(y) {
    if (!(this.low < y && y < this.high)) return Math.max(y, 0);
    let waves = 0;
    for (const { n, t, re, im } of this.series) {
      waves += (Math.cos(t * y) * re + Math.sin(t * y) * im) / (n * n);
    }
    return (y + this.span / 2 - ((4 * this.span) / (Math.PI * Math.PI)) * waves) / 2;
  }

  /** E[((y - Y)+)^2], from the Fourier series of v |v| on one span to either side. */
  squaredExcess(y) {
    if (y <= this.low) return 0;
    if (y >= this.high) return y * y + this.variance;
    const { span } = this;
    let waves = 0;
    for (const { n, t, re, im } of this.series) {
      waves += (Math.sin(t * y) * re - Math.cos(t * y) * im) / (n * n * n);
    }
    const bent = ((8 * span * span) / (Math.PI * Math.PI * Math.PI)) * waves;
    return (y * y + this.variance + span * y - bent) / 2;
  }

  /**
   * Odd numbers n, t = n pi / span, and E[exp(i t Y)] there, until no more is needed.
   * What is left out of P(W + Y < s) is at most 2 span peak envelope / (pi^2 n).
   */
  *points(terms, peak) {
    for (let n = 1; ; n += 2) {
      const t = (n * Math.PI) / this.span;
      const [re, im] = characteristicOfSum(terms, t);
      yield { n, t, re, im };
      if (n % (2 * BLOCK) === 2 * BLOCK - 1) {
        const envelope = terms.reduce((product, term) => product * term.envelope(t), 1);
        if (2 * this.span * peak * envelope < TOLERANCE * Math.PI * Math.PI * n) return;
      }
    }
  }
}

function characteristicOfSum(terms, t) {
  let sincs = 1;
  for (const { below, rectangular } of terms) {
    if (rectangular) sincs *= Math.sin(t * below) / (t * below);
  }
  let value = [sincs, 0];
  for (const term of terms) {
    if (!term.rectangular) value = times(value, term.characteristic(t));
  }
  return value;
}

/**
 * The value at which a rising distribution function reaches `chance`.
 *
 * `guess` and `spread` are mean and standard uncertainty; `low` and `high` enclose the answer.
 * Secant steps on the normal scale, where the distribution of a sum is nearly a straight line;
 * a step that leaves the enclosure is replaced by halving it.
 */
export function quantile(distribution, chance, { guess, spread, low, high }) {
  const wanted = normalQuantile(chance);
  let value = guess + wanted * spread;
  let slope = 1 / spread;
  let before = null;
  for (let step = 0; step < MAX_STEPS; step += 1) {
    if (!(low < value && value < high)) value = (low + high) / 2;
    const score = normalQuantile(Math.min(Math.max(distribution(value), EDGE), 1 - EDGE));
    if (score < wanted) low = value;
    else high = value;
    if (before && score !== before.score) slope = (score - before.score) / (value - before.value);
    before = { value, score };
    value += (wanted - score) / slope;
    if (Math.abs(score - wanted) < CLOSE_ENOUGH) break;
  }
  return Math.min(Math.max(value, low), high);
}

// Coefficients of Wichura's rational approximations, the highest power first.
const MIDDLE = [
  [
    2.5090809287301226727e3, 3.3430575583588128105e4, 6.7265770927008700853e4, 4.5921953931549871457e4,
    1.3731693765509461125e4, 1.9715909503065514427e3, 1.3314166789178437745e2, 3.387132872796366608,
  ],
  [
    5.226495278852854561e3, 2.8729085735721942674e4, 3.930789580009271061e4, 2.1213794301586595867e4,
    5.3941960214247511077e3, 6.871870074920579083e2, 4.2313330701600911252e1, 1,
  ],
];
const TAIL = [
  [
    7.7454501427834140764e-4, 2.27238449892691845833e-2, 2.4178072517745061177e-1, 1.27045825245236838258,
    3.64784832476320460504, 5.7694972214606914055, 4.6303378461565452959, 1.42343711074968357734,
  ],
  [
    1.05075007164441684324e-9, 5.475938084995344946e-4, 1.51986665636164571966e-2, 1.4810397642748007459e-1,
    6.8976733498510000455e-1, 1.6763848301838038494, 2.05319162663775882187, 1,
  ],
];
const FAR_TAIL = [
  [
    2.01033439929228813265e-7, 2.71155556874348757815e-5, 1.2426609473880784386e-3, 2.65321895265761230930e-2,
    2.9656057182850489123e-1, 1.7848265399172913358, 5.4637849111641143699, 6.6579046435011037772,
  ],
  [
    2.04426310338993978564e-15, 1.4215117583164458887e-7, 1.8463183175100546818e-5, 7.868691311456132591e-4,
    1.48753612908506148525e-2, 1.3692988092273580531e-1, 5.9983220655588793769e-1, 1,
  ],
];

/**
 * The value below which a standard normal falls with this chance, for 0 < chance < 1.
 * Wichura, Algorithm AS 241, Applied Statistics 37 (1988) 477-484, as Python's statistics.NormalDist has it.
 */
export function normalQuantile(chance) {
  const fromMiddle = chance - 0.5;
  if (Math.abs(fromMiddle) <= 0.425) {
    const r = 0.180625 - fromMiddle * fromMiddle;
    return (polynomial(MIDDLE[0], r) * fromMiddle) / polynomial(MIDDLE[1], r);
  }
  const r = Math.sqrt(-Math.log(fromMiddle <= 0 ? chance : 1 - chance));
  const [[above, below], shift] = r <= 5 ? [TAIL, 1.6] : [FAR_TAIL, 5];
  const value = polynomial(above, r - shift) / polynomial(below, r - shift);
  return fromMiddle < 0 ? -value : value;
}

function polynomial(coefficients, x) {
  return coefficients.reduce((value, coefficient) => value * x + coefficient, 0);
}
