// A batch as it stands on this phone: the pack as it was kept, and every deed that was done since.
// The rules are those of batches/services/weighing.py and jugs.py. Weights are hundredths of a gram.

import { hundredths } from "./words.js";

/** The batch with its lines, each with what was weighed for it, and what happened beside. */
export function boardOf(pack, deeds) {
  const board = {
    pack,
    batch: pack.batch,
    lines: pack.lines.map((line) => ({
      ...line,
      planned: hundredths(line.planned),
      weighings: pack.weighings.filter((one) => one.line === line.id).map(noted),
    })),
    held: new Map(allLots(pack).map((lot) => [lot.id, hundredths(lot.free)])),
    lyeMixedAt: pack.batch.lye_mixed_at,
    pouredAt: pack.batch.poured_at,
    pour: null,
    events: [...pack.events],
    jugs: (pack.split?.jugs ?? []).map(jugged),
  };
  const known = new Set([...pack.weighings, ...pack.events].map(({ key }) => key));
  for (const deed of deeds) {
    if (!deed.aside && !known.has(deed.key)) DO[deed.kind]?.(board, deed);
  }
  board.events.sort((one, other) => new Date(one.at) - new Date(other.at));
  return board;
}

export function weighed(line) {
  return line.weighings.reduce((total, { quantity }) => total + quantity, 0);
}

export function missing(line) {
  return Math.max(line.planned - weighed(line), 0);
}

/** Whether the batch can do without a line, or without the rest of it. */
export function mayBeLeftOut(line) {
  return line.weighings.length > 0 || !line.before_the_lye;
}

export function leftOut(line) {
  return line.done && !line.weighings.length;
}

export function waiting(board) {
  return board.lines.filter((line) => !line.done);
}

export function openJugs(board) {
  return board.jugs.filter(isOpen);
}

export function isOpen({ grams, dropped }) {
  return grams === null && !dropped;
}

/** What waits to be weighed by itself: not what goes into jugs, nor before that what goes on top. */
export function inTurn(board) {
  const later = openJugs(board).length ? ["jug", "top"] : ["jug"];
  return waiting(board).filter(({ stage }) => !later.includes(stage));
}

/** What the bench does next: "weigh", "lye", "split", "confirm", or "poured". */
export function stepOf(board) {
  if (board.pouredAt) return "poured";
  const lyeWaits = waiting(board).some((line) => line.before_the_lye);
  if (!lyeWaits && !board.lyeMixedAt) return "lye";
  if (inTurn(board).length) return "weigh";
  return openJugs(board).length ? "split" : "confirm";
}

/** What the person of this phone weighed last: the one that undo takes back. Jugs are taken back whole. */
export function lastWeighed(board) {
  const own = ({ weighing }) => weighing.by === board.pack.person.id && !weighing.jug;
  const all = board.lines
    .flatMap((line) => line.weighings.map((weighing) => ({ line, weighing })))
    .filter(own);
  return all.reduce((last, one) => (last && last.weighing.at > one.weighing.at ? last : one), null);
}

export function started(board) {
  return board.lines.some((line) => line.kind === "fat" && line.weighings.length);
}

/** Lots of a line with what is free in each, those that can be used first. */
export function lotsOf(board, line) {
  const lots = line.lots.map((lot) => ({ ...lot, free: board.held.get(lot.id) }));
  const usable = (lot) => lot.free > 0 && !lot.expired;
  return [...lots.filter(usable), ...lots.filter((lot) => !usable(lot))].map((lot) => ({
    ...lot,
    usable: usable(lot),
  }));
}

/** What to weigh for a line out of a lot, what the scale then shows, and what is missing after that. */
export function toWeigh(board, line, lotId) {
  const lots = lotsOf(board, line);
  const usable = lots.filter((lot) => lot.usable);
  const lot = usable.find(({ id }) => id === lotId) ?? usable[0] ?? null;
  const amount = lot ? Math.min(missing(line), lot.free) : 0;
  return { line, lots, lot, amount, rest: missing(line) - amount };
}

/** Every lot that the phone knows of, with its material. */
export function allLots(pack) {
  return pack.lines.flatMap((line) => line.lots.map((lot) => ({ ...lot, material: line.material })));
}

function jugged(jug) {
  const weight = (grams) => (grams === null ? null : hundredths(grams));
  return { ...jug, planned: weight(jug.planned), grams: weight(jug.grams) };
}

function noted(weighing) {
  return { ...weighing, at: new Date(weighing.at).toISOString(), quantity: hundredths(weighing.quantity) };
}

// --- what each deed does -----------------------------------------------------------------------------------

const DO = {
  weigh(board, { key, at, by, content }) {
    const line = board.lines.find(({ id }) => id === content.line);
    if (line) note(board, line, { key, at, by, ...content }, !content.more_to_come);
  },

  add(board, { key, at, by, content }) {
    const owner = board.pack.lines.find(({ lots }) => lots.some(({ id }) => id === content.lot));
    const line = board.lines.find(({ id }) => id === owner?.id);
    if (line) note(board, line, { key, at, by, ...content }, true);
  },

  // Of a weight that had to be split over two lots, the other part goes with it.
  undo(board, { content }) {
    const isUndone = ({ key, part_of: whole }) => [key, whole].includes(content.weighing);
    for (const line of board.lines) {
      for (const { lot, quantity } of line.weighings.filter(isUndone)) {
        line.done = false;
        board.held.set(lot, (board.held.get(lot) ?? 0) + quantity);
      }
      line.weighings = line.weighings.filter((one) => !isUndone(one));
    }
    board.lines = board.lines.filter((line) => !line.extra || line.weighings.length);
  },

  leave(board, { content }) {
    const line = board.lines.find(({ id }) => id === content.line);
    if (line) line.done = content.done;
  },

  lye(board, { at }) {
    board.lyeMixedAt ??= at;
  },

  event(board, { key, at, by, content, photo, tries }) {
    const { label } = board.pack.event_kinds.find(({ kind }) => kind === content.kind) ?? { label: "" };
    board.events.push({ ...content, key, at, by, label, photo, tries, here: true });
  },

  fill(board, { key, at, by, content }) {
    const jug = jugCalled(board, content.jug);
    if (!jug || !isOpen(jug)) return;
    Object.assign(jug, { grams: hundredths(content.grams), key, filled_at: at });
    for (const stirred of content.stirred) stirIn(board, jug, { key, at, by, ...stirred });
    settle(board);
  },

  jug_undo(board, { content }) {
    const jug = jugCalled(board, content.jug);
    if (!jug || isOpen(jug)) return;
    for (const line of board.lines) {
      for (const { lot, quantity } of line.weighings.filter((one) => one.jug === jug.name)) {
        board.held.set(lot, (board.held.get(lot) ?? 0) + quantity);
      }
      line.weighings = line.weighings.filter((one) => one.jug !== jug.name);
    }
    Object.assign(jug, { grams: null, key: null, filled_at: null, dropped: false });
    if (jug.planned === null) board.jugs = board.jugs.filter((one) => one !== jug);
    settle(board);
  },

  jug_leave(board, { content }) {
    const jug = jugCalled(board, content.jug);
    if (jug && isOpen(jug)) jug.dropped = true;
    settle(board);
  },

  jug_more(board, { key, content }) {
    const jug = jugCalled(board, content.jug);
    if (!jug?.grams || jug.key === key) return;
    Object.assign(jug, { grams: jug.grams + hundredths(content.grams), key });
  },

  jug_add(board, { key, at, content: { name, grams, destination, colour } }) {
    if (jugCalled(board, name)) return;
    const leads = board.pack.split.destinations.find(({ value }) => value === destination);
    board.jugs.push({
      ...{ name, destination, colour, key, filled_at: at, planned: null, dropped: false, stir: [] },
      ...{ technique: "", trace: "", leads_to: leads?.leads_to ?? "", grams: hundredths(grams) },
      position: Math.max(0, ...board.jugs.map(({ position }) => position)) + 1,
    });
  },

  pour(board, deed) {
    board.pouredAt ??= deed.at;
    board.pour = deed;
  },

  count(board, { content }) {
    const taken = board.lines
      .flatMap(({ weighings }) => weighings)
      .filter(({ lot }) => lot === content.lot)
      .reduce((total, { quantity }) => total + quantity, 0);
    board.held.set(content.lot, hundredths(content.quantity) - taken);
  },
};

function note(board, line, { key, at, by, lot, quantity, part_of }, done) {
  const amount = hundredths(quantity);
  const known = line.lots.find(({ id }) => id === lot);
  const weighing = { key, at, by, lot, lot_code: known?.code ?? "", quantity: amount, part_of };
  line.weighings = [...line.weighings, weighing];
  line.done = done;
  board.held.set(lot, (board.held.get(lot) ?? 0) - amount);
}

function jugCalled(board, name) {
  return board.jugs.find((jug) => jug.name === name);
}

/** Out of one lot, or out of those first to be used; what no lot is known to hold is out of the last. */
function stirIn(board, jug, { key, at, by, line: id, grams, lot }) {
  const line = board.lines.find((one) => one.id === id);
  if (!line) return;
  const lots = lotsOf(board, line);
  const from = lot ? lots.filter((one) => one.id === lot) : lots.filter(({ usable }) => usable);
  let rest = hundredths(grams);
  for (const [index, { id: known, code, free }] of from.entries()) {
    const quantity = index === from.length - 1 ? rest : Math.min(rest, free);
    if (quantity <= 0) break;
    rest -= quantity;
    const weighing = { key: `${key} ${id} ${known}`, at, by, lot: known, lot_code: code, quantity };
    line.weighings = [...line.weighings, { ...weighing, jug: jug.name }];
    board.held.set(known, free - quantity);
  }
}

/** A line of what goes into jugs is done when no jug waits for it. */
function settle(board) {
  const waits = new Set(openJugs(board).flatMap(({ stir }) => stir.map(({ line }) => line)));
  for (const line of board.lines.filter(({ stage }) => stage === "jug")) line.done = !waits.has(line.id);
}
