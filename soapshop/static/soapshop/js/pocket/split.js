// Splitting the batter: a card for each jug, worked out again with every one that is filled.

import { allLots, isOpen, lotsOf, stepOf } from "./board.js";
import { complain, part, weightFigures } from "./parts.js";
import { QuantityError, parseWeight } from "./quantity.js";
import { jugsDone, splittingOf } from "./split_board.js";
import { clock, inGrams, number, weight, weightParts } from "./words.js";
import { typedWeight, unitOf } from "./weigh.js";

const addressOf = (name) => `split?jug=${encodeURIComponent(name)}`;

/** The next jug, or the one asked for; null where there is nothing to split yet, or no jug left. */
export function split(board, asked, act) {
  const found = splittingOf(board);
  if (!found || (["weigh", "lye"].includes(stepOf(board)) && !found.taken)) return null;
  const named = found.cards.find(({ jug }) => jug.name === asked.get("jug"));
  const card = named ?? found.cards.find(({ jug }) => isOpen(jug));
  if (!card) return null;
  if (!isOpen(card.jug)) return filled(board, found, card, act);
  const view = asked.get("show") === "other" ? otherWeights : asShown;
  return view(board, found, card, act);
}

/** A portion that nobody had planned. */
export function takeOut(board, asked, act) {
  const found = splittingOf(board);
  if (!found || !board.lyeMixedAt) return null;
  const { destinations, natural } = board.pack.split;
  const body = part("take-out", {
    unit: unitOf(board.pack),
    destinations: destinations.map(({ value, label }) => new Option(label, value)),
    remains: weight(found.remains, board.pack),
    colour: { value: natural },
    form: ({ target }) => {
      const { name, destination, colour } = target.elements;
      const called = name.value.trim();
      const taken = found.cards.some(({ jug }) => jug.name.toLowerCase() === called.toLowerCase());
      complain(target, "name", taken ? "There is a jug called so already." : called ? "" : "Give it a name.");
      const grams = called && !taken ? batterTyped(target, board, found) : null;
      if (grams === null) return;
      const content = { name: called, grams: inGrams(grams), destination: destination.value };
      act.deed("jug_add", { ...content, colour: colour.value });
    },
  });
  const actions = [formActions("#split", "portion", "Taken")];
  return { title: "Take out another portion", body: [body], actions };
}

/** Plain batter for a jug that is filled. */
export function more(board, asked, act) {
  const found = splittingOf(board);
  const card = found?.cards.find(({ jug }) => jug.name === asked.get("jug") && jug.grams);
  if (!card) return null;
  const { name } = card.jug;
  const body = part("more", {
    unit: unitOf(board.pack),
    remains: weight(found.remains, board.pack),
    form: ({ target }) => {
      const grams = batterTyped(target, board, found);
      if (grams !== null) act.deed("jug_more", { jug: name, grams: inGrams(grams) });
    },
  });
  const actions = [formActions(`#${addressOf(name)}`, "lighter", "Taken")];
  return { kicker: name, title: "Add plain batter", body: [body], actions, focus: "#grams" };
}

/** Deeds that fill all jugs that are open with what they would get. */
export function fillsAsPlanned(board) {
  const found = splittingOf(board);
  const open = found?.cards.filter(({ jug, grams }) => isOpen(jug) && grams) ?? [];
  return open.map((card) => ({ kind: "fill", content: contentOf(card) }));
}

/** What a filling tells: the jug, its batter, and what was stirred in, out of the lots first to be used. */
function contentOf({ jug, grams, stir }) {
  const stirred = stir.map((one) => ({ line: one.line.id, grams: inGrams(one.grams), lot: null }));
  return { jug: jug.name, grams: inGrams(grams), stirred };
}

// --- the card of a jug -------------------------------------------------------------------------------------

function asShown(board, found, card, act) {
  const { jug, grams, stir } = card;
  const body = part("jug", {
    trouble: Boolean(found.trouble),
    "trouble-words": found.trouble,
    ...figures(board, card),
    stir: stir.length > 0 && grams !== null && stir.map((one) => stirRow(board, one.line, one.grams)),
    "nothing-stirred": !stir.length,
    short: shortWords(board, stir),
    "take-back": false,
    lighter: false,
  });
  lengthen(body);
  const actions = part("jug-actions", {
    other: { href: `#${addressOf(jug.name)}&show=other` },
    "as-shown": grams !== null && (() => act.deed("fill", contentOf(card))),
  });
  return { ...headOf(board, card), body: [body, jugsPart(board, found, card, act)], actions: [actions] };
}

function filled(board, found, card, act) {
  const { jug, stir } = card;
  const next = jug.planned === null ? "split" : addressOf(jug.name); // one that was added is gone then
  const body = part("jug", {
    trouble: false,
    ...figures(board, card),
    stir: stir.length > 0 && !jug.dropped && stir.map((one) => stirRow(board, one.line, one.weighed)),
    "nothing-stirred": false,
    short: false,
    "take-back": () => act.deed("jug_undo", { jug: jug.name }, next),
    "take-back-words": jug.dropped ? "Fill it after all" : "Take back what went in",
    lighter: jug.grams !== null,
    more: { href: `#more?jug=${encodeURIComponent(jug.name)}` },
  });
  lengthen(body);
  const actions = [part("split-go-on")];
  return { ...headOf(board, card), body: [body, jugsPart(board, found, card, act)], actions };
}

function headOf(board, { jug }) {
  const place = `Now fill, ${jugsDone(board) + 1} of ${board.jugs.length}`;
  const state = isOpen(jug) ? place : jug.dropped ? "Left out" : `Filled at ${clock(jug.filled_at)}`;
  return {
    kicker: [state, jug.leads_to, jug.technique, jug.trace].filter(Boolean).join(" · "),
    title: jug.name,
  };
}

function figures(board, { jug, grams, height, vessel }) {
  if (grams === null) return { weight: false, "batter-words": false };
  const { pack } = board;
  const changed = isOpen(jug) && jug.planned !== null && grams !== jug.planned;
  const words = [
    "of batter",
    changed && `planned were ${weight(jug.planned, pack)}`,
    height && `${number(height)}\u00a0mm in the mould`,
    isOpen(jug) && vessel && `a jug of ${number(vessel)}\u00a0mL`,
  ];
  return {
    weight: weightFigures(weightParts(grams, pack)),
    "batter-words": words.filter(Boolean).join(", "),
  };
}

function lengthen(body) {
  const long = [...body.querySelectorAll(".big-weight b")].some(({ textContent }) => textContent.length > 5);
  if (long) body.querySelector(".big-weight").classList.add("big-weight-long");
}

function stirRow(board, { material }, grams) {
  return part("jug-stir", { material, amount: weight(grams, board.pack) });
}

/** What this phone knows to be too little of. The batter waits for nothing: it can be filled all the same. */
function shortWords(board, stir) {
  const lacking = stir.flatMap(({ line, grams }) => {
    const usable = lotsOf(board, line).filter((lot) => lot.usable);
    const free = usable.reduce((total, lot) => total + lot.free, 0);
    return free < grams ? [`${line.material}: ${weight(free, board.pack)}`] : [];
  });
  const words = "As far as this phone knows there is no more than this left.";
  return lacking.length > 0 && `${words} ${lacking.join(", ")}.`;
}

/** All jugs, each a link. */
function jugsPart(board, { cards, remains }, { jug: current }, act) {
  const jugs = cards.map(({ jug, grams }) =>
    part("jug-row", {
      jug: {
        text: jug.name,
        href: `#${addressOf(jug.name)}`,
        ...(jug.name === current.name && { "aria-current": "step" }),
      },
      leads: jug.leads_to,
      count: countWords(board, jug, grams),
    }),
  );
  const done = `All jugs, ${jugsDone(board)} of ${cards.length} done`;
  return part("jugs", {
    summary: `${done}; ${weight(remains, board.pack)} in the bucket`,
    jugs,
    leave: isOpen(current) && (() => act.deed("jug_leave", { jug: current.name })),
    "leave-words": `Go on without ${current.name}`,
  });
}

function countWords({ pack }, jug, grams) {
  if (jug.dropped) return "left out";
  if (grams === null) return "–";
  return isOpen(jug) ? weight(grams, pack) : `${weight(grams, pack)}, filled`;
}

// --- other weights -----------------------------------------------------------------------------------------

function otherWeights(board, found, card, act) {
  const { jug, stir } = card;
  const body = part("jug-other", {
    unit: unitOf(board.pack),
    remains: weight(found.remains, board.pack),
    "stir-title": stir.length > 0,
    stirs: stir.map(({ line }) => stirFields(board, line)),
    form: ({ target }) => {
      const content = typed(target, board, found, card);
      if (content) act.deed("fill", content);
    },
  });
  const form = body.querySelector("form");
  const { grams } = form.elements;
  if (card.grams !== null) grams.value = plain(card.grams, board.pack);
  fillIn(form, board, stir);
  grams.addEventListener("input", () => workOut(form, board, jug));
  const actions = [formActions(`#${addressOf(jug.name)}`, "fill", "Done")];
  return { ...headOf(board, card), body: [body], actions, focus: "#grams" };
}

function stirFields(board, line) {
  const lots = lotsOf(board, line).filter(({ usable }) => usable);
  const field = `stir-${line.id}`;
  const copy = part("jug-stir-fields", {
    label: { text: line.material, for: field },
    amount: { id: field, name: field },
    unit: unitOf(board.pack),
    error: { id: `${field}-error` },
    "lot-label": { text: `Lot of ${line.material}`, for: `lot-${line.id}` },
    lot: { id: `lot-${line.id}`, name: `lot-${line.id}` },
  });
  copy.querySelector("select").append(...lots.map(({ code, id }) => new Option(code, id)));
  return copy;
}

/** Puts in what goes with so much batter, as long as it can be read. */
function workOut(form, board, jug) {
  try {
    const asked = new Map([[jug.name, parseWeight(form.elements.grams.value, unitOf(board.pack))]]);
    const { cards } = splittingOf(board, asked);
    fillIn(form, board, cards.find((card) => card.jug.name === jug.name).stir);
  } catch (error) {
    if (!(error instanceof QuantityError)) throw error;
  }
}

function fillIn(form, board, stir) {
  for (const { line, grams } of stir) form.elements[`stir-${line.id}`].value = plain(grams, board.pack);
}

/** As one would type it: grams, or ounces where the workshop weighs in them. */
function plain(grams, pack) {
  return pack.units === "us" ? `${inGrams(grams)} g` : String(grams / 100);
}

function typed(form, board, found, { jug, stir }) {
  const grams = batterTyped(form, board, found);
  if (grams === null) return null;
  const stirred = [];
  for (const { line } of stir) {
    const amount = typedWeight(form, board.pack, `stir-${line.id}`, { allowZero: true });
    if (amount === null) return null;
    const lot = Number(form.elements[`lot-${line.id}`].value) || null;
    const held = lot && allLots(board.pack).find(({ id }) => id === lot);
    if (held && amount > board.held.get(lot)) {
      complain(form, `stir-${line.id}`, `${held.code} holds ${weight(board.held.get(lot), board.pack)}.`);
      return null;
    }
    stirred.push({ line: line.id, grams: inGrams(amount), lot });
  }
  return { jug: jug.name, grams: inGrams(grams), stirred };
}

/** Hundredths of a gram of batter that the bucket can give; null where the field now says what is wrong. */
function batterTyped(form, { pack }, { batter, remains }) {
  const grams = typedWeight(form, pack, "grams");
  if (grams === null || grams <= remains + batter * pack.split.off_by) return grams;
  complain(form, "grams", `There are only ${weight(remains, pack)} left in the bucket.`);
  return null;
}

function formActions(back, form, words) {
  return part("form-actions", { back: { href: back }, send: { text: words, form } });
}
