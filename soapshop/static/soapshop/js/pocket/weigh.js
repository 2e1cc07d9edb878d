// Weighing: the line that comes next or was asked for, another weight, another lot, what was weighed already.

import { lastWeighed, leftOut, lotsOf, mayBeLeftOut, missing, toWeigh, waiting, weighed } from "./board.js";
import { complain, part, weightFigures } from "./parts.js";
import { parseWeight } from "./quantity.js";
import { clock, day, inGrams, stockWeight, weight, weightParts } from "./words.js";

export const unitOf = (pack) => (pack.units === "us" ? "oz" : "g");

export function weigh(board, asked, act) {
  const line = board.lines.find(({ id }) => id === Number(asked.get("line"))) ?? waiting(board)[0];
  if (!line) return null;
  if (line.done) return alreadyWeighed(board, line, act);
  const item = toWeigh(board, line, Number(asked.get("lot")));
  if (asked.get("show") === "lots") return chooseLot(board, item);
  if (!item.lot) return noneLeft(board, item, act);
  return asked.get("show") === "other" ? otherWeight(board, item, act) : asShown(board, item, act);
}

export function add(board, asked, act) {
  const form = part("add", { lots: lotOptions(board), unit: unitOf(board.pack), form: sent });
  function sent({ target }) {
    const quantity = weightOf(target, board.pack);
    if (quantity === null) return;
    const lot = Number(target.elements.lot.value);
    const line = board.lines.find(({ lots }) => lots.some(({ id }) => id === lot));
    const free = board.held.get(lot);
    if (!line.done) complain(target, "lot", `Weigh the ${line.material} of the card first.`);
    else if (quantity > free) complain(target, "quantity", holdsOnly(board, free));
    else act.deed("add", { lot, quantity: inGrams(quantity) });
  }
  return { title: "Add beyond the card", body: [form], actions: [formActions("#", "Add it", "add")] };
}

/** The whole card, each line a link. */
export function card(board, current) {
  const lines = board.lines.map((line) =>
    part("card-line", {
      line: {
        text: line.material,
        href: `#weigh?line=${line.id}`,
        ...(line.id === current && { "aria-current": "step" }),
      },
      count: countWords(board, line),
    }),
  );
  const done = board.lines.length - waiting(board).length;
  return part("card", { summary: `The whole card, ${done} of ${board.lines.length} done`, lines });
}

function asShown(board, item, act) {
  const { line, lot, amount, rest } = item;
  const { pack } = board;
  const others = item.lots.length > 1;
  const figures = weightParts(amount, pack);
  const vessel = line.when ? "cup" : line.kind; // what waits for trace shares neither pot nor jug
  const body = part("weigh", {
    weight: weightFigures(figures),
    fat: vessel === "fat",
    liquid: vessel === "liquid",
    alkali: vessel === "alkali",
    cup: !["fat", "liquid", "alkali"].includes(vessel),
    rest: rest > 0,
    "rest-weight": weight(rest, pack),
    lot: lot.code,
    keeps: keepsWords(lot),
    "other-lot": others && { href: `#weigh?line=${line.id}&show=lots` },
    ...undoLast(board, act),
  });
  if (figures.some(([figure]) => figure.length > 5)) {
    body.querySelector(".big-weight").classList.add("big-weight-long");
  }
  const actions = part("weigh-actions", {
    other: { href: `#weigh?line=${line.id}&lot=${lot.id}&show=other` },
    "as-shown": () =>
      act.deed("weigh", { line: line.id, lot: lot.id, quantity: inGrams(amount), more_to_come: rest > 0 }),
  });
  return { ...headOf(board, line), body: [body, card(board, line.id)], actions: [actions] };
}

function headOf(board, line) {
  const place = board.lines.length - waiting(board).length + 1;
  const what = line.weighings.length ? "Weigh the rest" : "Now weigh";
  const when = line.when ? ` · ${line.when}` : "";
  return { kicker: `${what}, ${place} of ${board.lines.length}${when}`, title: line.material };
}

function undoLast(board, act) {
  const last = lastWeighed(board);
  if (!last) return { undo: false };
  return {
    undo: () => act.deed("undo", { weighing: last.weighing.key }, `weigh?line=${last.line.id}`),
    "undo-words": `Undo ${last.line.material}, ${weight(last.weighing.quantity, board.pack)}`,
  };
}

function otherWeight(board, { line, lot }, act) {
  const form = part("other-weight", { unit: unitOf(board.pack), form: sent });
  function sent({ target }) {
    const quantity = weightOf(target, board.pack);
    if (quantity === null) return;
    if (quantity > lot.free) return complain(target, "quantity", holdsOnly(board, lot.free));
    const more = target.elements.more_to_come.checked && quantity < missing(line);
    act.deed("weigh", { line: line.id, lot: lot.id, quantity: inGrams(quantity), more_to_come: more });
  }
  const back = `#weigh?line=${line.id}&lot=${lot.id}`;
  const actions = [formActions(back, "Weighed", "other-weight")];
  return { ...headOf(board, line), body: [form], actions, focus: "#quantity" };
}

function chooseLot(board, { line, lot: chosen, lots }) {
  const rows = lots.map((lot) =>
    part("lot", {
      link: lot.usable && { text: lot.code, href: `#weigh?line=${line.id}&lot=${lot.id}` },
      name: !lot.usable && lot.code,
      keeps: `${keepsWords(lot)}${lot.certified ? ", certificate" : ""}`,
      expired: lot.expired,
      empty: !lot.usable && !lot.expired,
      chosen: lot.id === chosen?.id,
      free: stockWeight(Math.max(lot.free, 0), board.pack),
    }),
  );
  const kicker = `${line.material}, ${weight(missing(line), board.pack)}`;
  const actions = [part("form-actions", { back: { href: `#weigh?line=${line.id}` }, send: false })];
  return { kicker, title: "Out of which lot?", body: [part("lots", { lots: rows })], actions };
}

function noneLeft(board, { line }, act) {
  const old = lotsOf(board, line)
    .filter(({ expired }) => expired)
    .map(({ code }) => code);
  const body = part("none-left", {
    missing: weight(missing(line), board.pack),
    expired: old.length > 0 && `${old.join(", ")} past best-before.`,
  });
  const leave = mayBeLeftOut(line) && {
    text: line.weighings.length ? "Go on without the rest" : "Go on without it",
    tapped: () => act.deed("leave", { line: line.id, done: true }),
  };
  return {
    ...headOf(board, line),
    body: [body, card(board, line.id)],
    actions: leave ? [part("none-left-actions", { leave })] : [],
  };
}

function alreadyWeighed(board, line, act) {
  const head = { kicker: leftOut(line) ? "Left out" : "Weighed", title: line.material };
  const open = () => act.deed("leave", { line: line.id, done: false }, `weigh?line=${line.id}`);
  const rows = line.weighings.map((weighing) =>
    part("weighing", {
      weight: weight(weighing.quantity, board.pack),
      from: `from ${weighing.lot_code}, ${clock(weighing.at)}`,
      undo: () => act.deed("undo", { weighing: weighing.key }, `weigh?line=${line.id}`),
    }),
  );
  const body = leftOut(line) ? part("left-out", { open }) : part("weighed", { weighings: rows });
  return { ...head, body: [body, card(board, line.id)], actions: [part("go-on")] };
}

/** What was typed as the weight, in hundredths of a gram; null where the field now says what is wrong. */
function weightOf(form, pack) {
  try {
    const weight = parseWeight(form.elements.quantity.value, unitOf(pack));
    complain(form, "quantity");
    return weight;
  } catch (error) {
    complain(form, "quantity", error.message);
    return null;
  }
}

function formActions(back, words, form) {
  return part("form-actions", { back: { href: back }, send: { text: words, form } });
}

function lotOptions(board) {
  return board.lines.flatMap((line) =>
    lotsOf(board, line)
      .filter(({ usable }) => usable)
      .map((lot) => new Option(`${line.material}, ${lot.code}`, lot.id)),
  );
}

function keepsWords({ place, best_before: keeps }) {
  return [place, keeps ? `best before ${day(keeps)}` : "no best-before"].filter(Boolean).join(", ");
}

function holdsOnly(board, free) {
  return `As far as this phone knows the lot holds ${weight(Math.max(free, 0), board.pack)}.`;
}

function countWords(board, line) {
  if (leftOut(line)) return "left out";
  if (line.done) return `${weight(weighed(line), board.pack)}, weighed`;
  const planned = weight(line.planned, board.pack);
  return line.weighings.length ? `${weight(weighed(line), board.pack)} of ${planned}` : planned;
}
