// Sends what waits on this phone, in order, each until the server says that it has it. One page at a time.

import { change, deedsOf, keepPack, unsent } from "./outbox.js";

const LOCK = "soapshop-outbox";
const QUICKLY = 8_000; // milliseconds
const WITH_A_PHOTO = 120_000;
const STATES = { held: "held", refused: "refused", not_allowed: "not_allowed", other_person: "other_person" };

/** Sends all that waits; `told` is called after each. Returns "nothing", "sent", "offline", "busy",
 *  "signed_out" or "stopped" where something needs the maker. */
export async function sendAll(told = () => {}) {
  if (!(await unsent()).length) return "nothing";
  return navigator.locks.request(LOCK, { ifAvailable: true }, (lock) => (lock ? sendInOrder(told) : "busy"));
}

/** Who is signed in, as {person, csrf}; "signed_out"; or "offline". */
export async function hello() {
  const answer = await ask("/bench/hello.json");
  if (answer?.status === 401) return "signed_out";
  return answer?.ok ? answer.json() : "offline";
}

/** The batch as the workshop's book has it now, kept here too; or "signed_out" or "offline". */
export async function freshPack(batch) {
  const askedAt = Date.now();
  const answer = await ask(`/batches/${batch}/pack.json`);
  if (answer?.status === 401) return "signed_out";
  if (!answer?.ok) return "offline";
  const pack = await answer.json();
  await keepPack(pack, askedAt);
  return pack;
}

async function ask(address) {
  return fetch(address, { cache: "no-store", signal: AbortSignal.timeout(QUICKLY) }).catch(() => null);
}

async function sendInOrder(told) {
  const who = await hello();
  if (typeof who === "string") return who;
  const batches = new Set((await unsent()).map(({ batch }) => batch));
  let all = "sent";
  for (const batch of batches) {
    const ended = await sendBatch(batch, who, told);
    if (ended === "offline" || ended === "signed_out") return ended;
    if (ended === "stopped") all = "stopped";
  }
  return all;
}

async function sendBatch(batch, who, told) {
  for (;;) {
    const deed = (await deedsOf(batch)).find(({ state }) => state !== "sent");
    if (!deed) return "sent";
    if (!(await mayGo(deed, who))) return "stopped";
    await change(deed.key, { tries: deed.tries + 1 });
    const answer = await post(deed, who.csrf);
    if (typeof answer === "string") return answer;
    await change(deed.key, answer);
    told();
    if (answer.state !== "sent") return "stopped";
  }
}

/** Whether a deed can go now. What was another's to send goes once they are signed in. */
async function mayGo(deed, who) {
  if (deed.state === "other_person" && deed.by === who.person.id) return true;
  return deed.state === "waiting";
}

/** What to note beside the deed; or "offline" or "signed_out". */
async function post(deed, csrf) {
  const body = new FormData();
  const { key, kind, at, by, aside, content } = deed;
  body.set("deed", JSON.stringify({ key, kind, at, by, aside, content }));
  if (deed.photo) body.set("photo", deed.photo, deed.photo.name ?? "photo.jpg");
  const sent = await fetch(`/batches/${deed.batch}/deeds/`, {
    method: "POST",
    body,
    headers: { "X-CSRFToken": csrf },
    signal: AbortSignal.timeout(deed.photo ? WITH_A_PHOTO : QUICKLY),
  }).catch(() => null);
  const answer = await sent?.json().catch(() => null);
  if (!answer) return "offline";
  if (answer.result === "signed_out") return "signed_out";
  if (sent.ok) return { state: "sent", sentAt: Date.now(), answer };
  return answer.result in STATES ? { state: STATES[answer.result], answer } : "offline";
}
