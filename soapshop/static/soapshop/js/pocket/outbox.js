// Deeds in the order in which they were done, kept on this phone until the workshop's book has them.
//
// A deed is {key, batch, order, kind, at, by, aside, content, photo, state, tries, answer, sentAt}; its state is
// "waiting", "held" (the maker has to choose), "refused", "not_allowed", "other_person" or "sent".

import "../../vendor/idb.js";
import "./database.js";

const OF_JUGS = ["fill", "jug_undo", "jug_leave", "jug_more", "jug_add"];
const OF_THE_POT = ["weigh", "undo", "leave", "lye", "add", "count", "pour", ...OF_JUGS];

let opened;

export function database() {
  opened ??= self.pocketDatabase.open();
  return opened;
}

export async function keptPack(batch) {
  return (await (await database()).get("packs", batch))?.pack;
}

export async function keptPacks() {
  return (await (await database()).getAll("packs")).map(({ pack }) => pack);
}

export async function keepPack(pack, askedAt) {
  await self.pocketDatabase.keepPack(await database(), pack, askedAt);
}

export async function forgetIfDone(batch) {
  await self.pocketDatabase.forgetIfDone(await database(), batch);
}

/** All deeds of a batch, those that have arrived as well, in order. */
export async function deedsOf(batch) {
  return inOrder((await database()).transaction("deeds").store, batch);
}

/** Deeds that have not arrived, of all batches, in order. */
export async function unsent() {
  const deeds = await (await database()).getAllFromIndex("deeds", "in order");
  return deeds.filter(({ state }) => state !== "sent");
}

/** All that waits: deeds, and forms that are to become deeds, each with its batch. */
export async function allWaiting() {
  return [...(await unsent()), ...(await (await database()).getAll("caught"))];
}

/** Notes a deed. One of the pot goes in before a pour that waits: the pour stays the last. */
export async function add(batch, by, kind, content, { photo = null, key, at } = {}) {
  const writing = (await database()).transaction("deeds", "readwrite");
  const deeds = await inOrder(writing.store, batch);
  const pour = deeds.findIndex((deed) => deed.kind === "pour" && deed.state !== "sent");
  const place = pour >= 0 && OF_THE_POT.includes(kind) ? pour : deeds.length;
  const deed = newDeed(batch, by, kind, content, orderAt(deeds, place));
  await writing.store.put({ ...deed, photo, key: key ?? deed.key, at: at ?? deed.at });
  await writing.done;
}

/** Puts something else into a deed that has not arrived, and lets it wait again. */
export async function change(key, changes) {
  const writing = (await database()).transaction("deeds", "readwrite");
  const deed = await writing.store.get(key);
  if (deed) await writing.store.put({ ...deed, ...changes });
  await writing.done;
}

/** Takes back a deed that was never on its way. */
export async function takeBack(key) {
  const writing = (await database()).transaction("deeds", "readwrite");
  const deed = await writing.store.get(key);
  if (deed?.tries === 0) await writing.store.delete(key);
  await writing.done;
}

/** Does what the maker has chosen for a deed that was held: see the answers of the server. */
export async function choose(held, choice, by) {
  const writing = (await database()).transaction("deeds", "readwrite");
  const deeds = await inOrder(writing.store, held.batch);
  const place = deeds.findIndex(({ key }) => key === held.key);
  const before = deeds[place - 1]?.order ?? held.order - 1;
  const step = (held.order - before) / (choice.first.length + 1);
  for (const [index, { kind, content }] of choice.first.entries()) {
    await writing.store.put(newDeed(held.batch, by, kind, content, before + step * (index + 1)));
  }
  const again = { state: "waiting", answer: null, aside: choice.then !== "again" };
  const other = choice.kind || choice.content;
  const into = other ? { kind: choice.kind ?? held.kind, content: choice.content ?? held.content } : {};
  await writing.store.put({ ...held, ...into, ...again });
  if (choice.then === "rest_aside") {
    for (const deed of deeds.slice(place + 1)) {
      const asides = deed.state !== "sent" && OF_THE_POT.includes(deed.kind);
      if (asides) await writing.store.put({ ...deed, ...again });
    }
  }
  await writing.done;
}

/** Forms that the service worker has caught, the first one first. */
export async function caughtForms(batch) {
  const all = await (await database()).getAll("caught");
  return all.filter((form) => form.batch === batch);
}

export async function forgetCaught(id) {
  await (await database()).delete("caught", id);
}

function newDeed(batch, by, kind, content, order) {
  const key = crypto.randomUUID();
  const at = new Date().toISOString();
  return { key, batch, order, kind, at, by, aside: false, content, photo: null, state: "waiting", tries: 0 };
}

function inOrder(store, batch) {
  return store.index("in order").getAll(IDBKeyRange.bound([batch], [batch, []]));
}

/** A number between those of the deeds around a place. */
function orderAt(deeds, place) {
  const before = deeds[place - 1]?.order ?? 0;
  return place < deeds.length ? (before + deeds[place].order) / 2 : before + 1;
}
