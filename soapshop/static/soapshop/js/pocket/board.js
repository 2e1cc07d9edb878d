// A batch as it stands on this phone: the pack as it was kept, and every deed that was done since.
// The rules are those of batches/services/weighing.py. Weights are hundredths of a gram.

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

/** What the bench does next: "weigh", "lye", "confirm", or "poured". */
export function stepOf(board) {
  if (board.pouredAt) return "poured";
  const lyeWaits = waiting(board).some((line) => line.before_the_lye);
  if (!lyeWaits && !board.lyeMixedAt) return "lye";
  return waiting(board).length ? "weigh" : "confirm";
}

/** What the person of this phone weighed last: the one that undo takes back. */
export function lastWeighed(board) {
  const own = ({ weighing }) => weighing.by === board.pack.person.id;
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
