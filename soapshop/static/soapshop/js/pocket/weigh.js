// Weighing: the line that comes next or was asked for, another weight, another lot, what was weighed already.

import {
  inTurn,
  lastWeighed,
  leftOut,
  lotsOf,
  mayBeLeftOut,
  missing,
  stepOf,
  toWeigh,
  waiting,
  weighed,
} from "./board.js";
import { complain, part, weightFigures } from "./parts.js";
import { jugsDone } from "./split_board.js";
import { QuantityError, parsePieces, parseWeight } from "./quantity.js";
import { amount as amountOf, amountParts, clock, day, inGrams, stockWeight } from "./words.js";

export const unitOf = (pack, line) => (line?.counted ? "pieces" : pack.units === "us" ? "oz" : "g");

export function weigh(board, asked, act) {
  const line = board.lines.find(({ id }) => id === Number(asked.get("line"))) ?? inTurn(board)[0];
  if (!line || line.stage === "jug") return null;
  if (line.done) return alreadyWeighed(board, line, act);
  const item = toWeigh(board, line, Number(asked.get("lot")));
  if (asked.get("show") === "lots") return chooseLot(board, item);
  if (!item.lot) return noneLeft(board, item, act);
  return asked.get("show") === "other" ? otherWeight(board, item, act) : asShown(board, item, act);
}

export function add(board, asked, act) {
  const form = part("add", { lots: lotOptions(board), unit: unitOf(board.pack), form: sent });
  function sent({ target }) {
    const quantity = typedWeight(target, board.pack);
    if (quantity === null) return;
    const lot = Number(target.elements.lot.value);
    const line = board.lines.find(({ lots }) => lots.some(({ id }) => id === lot));
    const free = board.held.get(lot);
    if (!line.done) complain(target, "lot", `Weigh the ${line.material} of the card first.`);
    else if (quantity > free) complain(target, "quantity", holdsOnly(board, line, free));
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
        ...addressOf(board, line),
        ...(line.id === current && { "aria-current": "step" }),
      },
      count: countWords(board, line),
    }),
  );
  const done = board.lines.length - waiting(board).length;
  return part("card", { summary: `The whole card, ${done} of ${board.lines.length} done`, lines });
}

/** What goes into jugs is weighed with them, once there is batter. */
function addressOf(board, line) {
  if (line.stage !== "jug") return { href: `#weigh?line=${line.id}` };
  return stepOf(board) === "split" || jugsDone(board) ? { href: "#split" } : {};
}

function asShown(board, item, act) {
  const { line, lot, amount, rest } = item;
  const { pack } = board;
  const others = item.lots.length > 1;
  const figures = amountParts(amount, line, pack);
  const vessel = line.when ? "cup" : line.kind; // what waits for trace shares neither pot nor jug
  const body = part("weigh", {
    weight: weightFigures(figures),
    fat: vessel === "fat",
    liquid: vessel === "liquid",
    alkali: vessel === "alkali",
    cup: !["fat", "liquid", "alkali"].includes(vessel),
    rest: rest > 0,
    "rest-weight": amountOf(rest, line, pack),
    lot: lot.code,
    keeps: keepsWords(lot),
    "other-lot": others && { href: `#weigh?line=${line.id}&show=lots` },
    ...undoLast(board, act),
  });
  if (figures.some(([figure]) => figure.length > 5)) {
    body.querySelector(".big-weight").classList.add("big-weight-long");
  }
  const actions = part("weigh-actions", {
    other: {
      href: `#weigh?line=${line.id}&lot=${lot.id}&show=other`,
      ...(line.counted && { text: "Other number" }),
    },
    "as-shown": () =>
      act.deed("weigh", { line: line.id, lot: lot.id, quantity: inGrams(amount), more_to_come: rest > 0 }),
  });
  return { ...headOf(board, line), body: [body, card(board, line.id)], actions: [actions] };
}

function headOf(board, line) {
  const place = board.lines.length - waiting(board).length + 1;
  const verb = line.counted ? "count" : "weigh";
  const what = line.weighings.length ? `${verb[0].toUpperCase()}${verb.slice(1)} the rest` : `Now ${verb}`;
  const when = line.when ? ` · ${line.when}` : "";
  return { kicker: `${what}, ${place} of ${board.lines.length}${when}`, title: line.material };
}

function undoLast(board, act) {
  const last = lastWeighed(board);
  if (!last) return { undo: false };
  return {
    undo: () => act.deed("undo", { weighing: last.weighing.key }, `weigh?line=${last.line.id}`),
    "undo-words": `Undo ${last.line.material}, ${amountOf(last.weighing.quantity, last.line, board.pack)}`,
  };
}

function otherWeight(board, { line, lot }, act) {
  const form = part("other-weight", {
    unit: unitOf(board.pack, line),
    label: line.counted ? "Pieces" : true,
    form: sent,
  });
  function sent({ target }) {
    const quantity = typedWeight(target, board.pack, "quantity", line);
    if (quantity === null) return;
    if (quantity > lot.free) return complain(target, "quantity", holdsOnly(board, line, lot.free));
    const more = target.elements.more_to_come.checked && quantity < missing(line);
    act.deed("weigh", { line: line.id, lot: lot.id, quantity: inGrams(quantity), more_to_come: more });
  }
  const back = `#weigh?line=${line.id}&lot=${lot.id}`;
  const actions = [formActions(back, line.counted ? "Counted" : "Weighed", "other-weight")];
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
      free: line.counted
        ? amountOf(Math.max(lot.free, 0), line, board.pack)
        : stockWeight(Math.max(lot.free, 0), board.pack),
    }),
  );
  const kicker = `${line.material}, ${amountOf(missing(line), line, board.pack)}`;
  const actions = [part("form-actions", { back: { href: `#weigh?line=${line.id}` }, send: false })];
  return { kicker, title: "Out of which lot?", body: [part("lots", { lots: rows })], actions };
}

function noneLeft(board, { line }, act) {
  const old = lotsOf(board, line)
    .filter(({ expired }) => expired)
    .map(({ code }) => code);
  const body = part("none-left", {
    missing: amountOf(missing(line), line, board.pack),
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
      weight: amountOf(weighing.quantity, line, board.pack),
      from: `from ${weighing.lot_code}, ${clock(weighing.at)}`,
      undo: () => act.deed("undo", { weighing: weighing.key }, `weigh?line=${line.id}`),
    }),
  );
  const body = leftOut(line) ? part("left-out", { open }) : part("weighed", { weighings: rows });
  return { ...head, body: [body, card(board, line.id)], actions: [part("go-on")] };
}

/** What was typed, in hundredths of a gram or of a piece; null where the field now says what is wrong. */
export function typedWeight(form, pack, name = "quantity", { counted = false, allowZero = false } = {}) {
  try {
    const text = form.elements[name].value;
    const weight = counted ? parsePieces(text) : parseWeight(text, unitOf(pack), { allowZero });
    complain(form, name);
    return weight;
  } catch (error) {
    if (!(error instanceof QuantityError)) throw error;
    complain(form, name, error.message);
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

function holdsOnly(board, line, free) {
  return `As far as this phone knows the lot holds ${amountOf(Math.max(free, 0), line, board.pack)}.`;
}

function countWords({ pack }, line) {
  if (leftOut(line)) return "left out";
  const done = amountOf(weighed(line), line, pack);
  if (line.done) return `${done}, ${line.counted ? "counted" : "weighed"}`;
  const planned = amountOf(line.planned, line, pack);
  return line.weighings.length ? `${done} of ${planned}` : planned;
}
