// Forms that were on their way when the network went: each becomes the deed that it would have been.
// Its key is that of the form, so that it counts once even if the form did arrive.

import { boardOf, missing, toWeigh, waiting } from "./board.js";
import { shrunk } from "./picture.js";
import { QuantityError, parseTemperature, parseWeight } from "./quantity.js";
import { fillsAsPlanned } from "./split.js";
import { splittingOf } from "./split_board.js";
import { hundredths, inGrams } from "./words.js";
import { unitOf } from "./weigh.js";

/** The `deeds` of a form, each {kind, content, key, photo, at}; and the `trouble` where it cannot be read here. */
export async function deedsOfForm({ path, fields, at }, pack, deeds) {
  const form = new Map(fields);
  const read = Object.entries(READ).find(([end]) => path.endsWith(end))?.[1];
  try {
    if (!read) throw new QuantityError("This can be done with network only.");
    const made = await read(form, boardOf(pack, deeds));
    return { deeds: made.map((deed) => ({ at, ...deed })) };
  } catch (error) {
    if (!(error instanceof QuantityError)) throw error;
    return { deeds: [], trouble: error.message };
  }
}

const READ = {
  "/weigh/": (form, board) => [weighing(form, board)],
  "/weigh/undo/": (form, board) => {
    const undone = board.pack.weighings.find(({ id }) => id === Number(form.get("weighing")));
    return undone ? [{ kind: "undo", content: { weighing: undone.key } }] : [];
  },
  "/weigh/leave/": (form) => [
    { kind: "leave", content: { line: Number(form.get("line")), done: !form.has("open") } },
  ],
  "/lye/": () => [{ kind: "lye", content: {} }],
  "/add/": (form, board) => {
    const quantity = inGrams(parseWeight(form.get("quantity") ?? "", unitOf(board.pack)));
    return [{ kind: "add", key: form.get("key"), content: { lot: Number(form.get("lot")), quantity } }];
  },
  "/split/": (form, board) => [filling(form, board)],
  "/split/empty/": (form, board) => [{ kind: "jug_undo", content: { jug: jugOf(form, board).name } }],
  "/split/leave/": (form, board) => [{ kind: "jug_leave", content: { jug: jugOf(form, board).name } }],
  "/split/more/": (form, board) => {
    const { name } = jugOf(form, board);
    return [{ kind: "jug_more", key: form.get("key"), content: { jug: name, grams: batterIn(form, board) } }];
  },
  "/split/take-out/": (form, board) => {
    const name = (form.get("name") ?? "").trim();
    if (!name) throw new QuantityError("Give it a name.");
    const content = { name, grams: batterIn(form, board), destination: form.get("destination") };
    const colour = form.get("colour") ?? "";
    return [{ kind: "jug_add", key: form.get("key"), content: { ...content, colour } }];
  },
  "/pour/": pouring,
  "/events/": happening,
};

function weighing(form, board) {
  const line = board.lines.find(({ id }) => id === Number(form.get("line")));
  if (!line) throw new QuantityError("This line is not on the card that is kept here.");
  const quantity = quantityOf(form, unitOf(board.pack));
  const more = form.has("more_to_come") && quantity < missing(line);
  const content = {
    line: line.id,
    lot: Number(form.get("lot")),
    quantity: inGrams(quantity),
    more_to_come: more,
  };
  return { kind: "weigh", key: form.get("key"), content };
}

/** What was put in; where the scale shows all that is in the pot, what it shows less what it showed before. */
function quantityOf(form, unit) {
  if (!form.has("reading")) return parseWeight(form.get("quantity") ?? "", unit);
  const quantity = parseWeight(form.get("reading"), unit) - hundredths(form.get("before") ?? "0");
  if (!(quantity > 0)) throw new QuantityError("The scale must show more than it showed before.");
  return quantity;
}

/** A jug with what was typed, or as it was shown. */
function filling(form, board) {
  if (form.has("work_out")) throw new QuantityError("Other weights are worked out on this phone too.");
  const jug = jugOf(form, board);
  const grams = batterIn(form, board);
  const asked = new Map([[jug.name, hundredths(grams)]]);
  const card = splittingOf(board, asked).cards.find((one) => one.jug.name === jug.name);
  const stirred = card.stir.map(({ line, grams: planned }) => ({
    line: line.id,
    grams: inGrams(stirredTyped(form.get(`stir-${line.id}`), board) ?? planned),
    lot: Number(form.get(`lot-${line.id}`)) || null,
  }));
  return { kind: "fill", key: form.get("key"), content: { jug: jug.name, grams, stirred } };
}

function stirredTyped(text, { pack }) {
  return text ? parseWeight(text, unitOf(pack), { allowZero: true }) : null;
}

function batterIn(form, { pack }) {
  return inGrams(parseWeight(form.get("grams") ?? "", unitOf(pack)));
}

function jugOf(form, board) {
  const jug = board.jugs.find(({ id }) => id === Number(form.get("jug")));
  if (!jug) throw new QuantityError("This jug is not among those that are kept here.");
  return jug;
}

async function pouring(form, board) {
  const planned = form.has("as_planned") ? asPlanned(board) : [];
  const content = {
    stop_reason: (form.get("stop_reason") ?? "").trim(),
    words: (form.get("words") ?? "").trim(),
  };
  const earlier = form.get("at") ? { at: new Date(form.get("at")).toISOString() } : {};
  return [
    ...planned,
    { kind: "pour", key: form.get("key"), content, photo: await photoIn(form), ...earlier },
  ];
}

/** A weight as planned for each line that waits, out of the lots first to be used, and the jugs filled. */
function asPlanned(board) {
  const lye = board.lyeMixedAt ? [] : [{ kind: "lye", content: {} }];
  const lines = waiting(board).filter(({ stage }) => stage !== "jug");
  const weights = lines.flatMap((line) => {
    const made = [];
    let toCome = missing(line);
    for (const lot of toWeigh(board, line).lots.filter(({ usable }) => usable)) {
      const quantity = Math.min(toCome, lot.free);
      if (!quantity) break;
      toCome -= quantity;
      const content = { line: line.id, lot: lot.id, quantity: inGrams(quantity), more_to_come: toCome > 0 };
      made.push({ kind: "weigh", content });
    }
    return made;
  });
  return [...weights, ...lye, ...fillsAsPlanned(board)];
}

async function happening(form, board) {
  const content = { kind: form.get("kind"), words: (form.get("words") ?? "").trim() };
  const measured = (form.get("celsius") ?? "").trim();
  if (measured) content.celsius = parseTemperature(measured, board.pack.units).toFixed(1);
  return [{ kind: "event", key: form.get("key"), content, photo: await photoIn(form) }];
}

async function photoIn(form) {
  const photo = form.get("photo");
  return photo instanceof File && photo.size ? shrunk(photo) : null;
}
