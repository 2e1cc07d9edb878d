// The bench in the pocket: shows what is kept of the batch, notes what is done, and sends it when it can.

import { boardOf, stepOf, waiting } from "./board.js";
import { deedsOfForm } from "./caught.js";
import { events } from "./events.js";
import { lye } from "./lye.js";
import * as outbox from "./outbox.js";
import { part } from "./parts.js";
import { afterPour, pour } from "./pour.js";
import { remedyOf, remedyParts } from "./remedy.js";
import { safetyFoot, safetyOf } from "./safety_foot.js";
import { freshPack, sendAll } from "./sender.js";
import { more, split, takeOut } from "./split.js";
import { jugsDone } from "./split_board.js";
import { add, weigh } from "./weigh.js";
import { barOf, choose, needsMaker, sinceLye } from "./waiting.js";

const EVERY = 5_000; // milliseconds between two tries to send
const SEEN_FOR = 30_000; // after which the batch is fetched anew where nothing was sent
const VIEWS = { weigh, add, lye, events, pour, split, "take-out": takeOut, more };
const OF_PAGES = { lye: "lye", events: "events", add: "add", split: "split" };

const batch = Number(document.querySelector("[data-pocket]").dataset.pocket);
const place = Object.fromEntries(
  ["bar", "since", "way", "progress", "kicker", "title", "body", "remedy", "actions", "safety"].map((id) => [
    id,
    document.getElementById(id),
  ]),
);
const now = {
  pack: null,
  deeds: [],
  network: "unknown",
  fetchedAt: 0,
  promised: null,
  trouble: "",
  stepping: false,
  shown: "",
};

// --- what is done ------------------------------------------------------------------------------------------

const act = {
  async deed(kind, content, next = "", photo = null) {
    await outbox.add(batch, now.pack.person.id, kind, content, { photo });
    await go(next);
  },
  async change(deed, changes) {
    await outbox.change(deed.key, { ...changes, state: "waiting", answer: null });
    await go("");
  },
  async choose(deed, choice) {
    await outbox.choose(deed, choice, now.pack.person.id);
    await go("");
  },
  aside: (deed) => act.change(deed, { aside: true }),
  again: (deed) => act.change(deed, {}),
  async takeBack(key) {
    await outbox.takeBack(key);
    await go("events");
  },
  go: (hash) => go(hash),
  tell: (deed) => deed.photo && "The photo stays with it.",
};

async function go(hash) {
  const address = `${location.pathname}${hash && `#${hash}`}`;
  const moves = address !== `${location.pathname}${location.hash}`;
  if (moves) history.pushState(null, "", address);
  await read();
  show();
  step();
}

// --- what is shown -----------------------------------------------------------------------------------------

async function read() {
  now.pack = (await outbox.keptPack(batch)) ?? now.pack;
  now.deeds = await outbox.deedsOf(batch);
}

function show({ focus = true } = {}) {
  if (!now.pack) return showLost();
  const board = boardOf(now.pack, now.deeds);
  const safety = safetyOf(board, now.deeds);
  const view = viewOf(board, safety);
  place.kicker.textContent = view.kicker ?? "";
  place.title.textContent = view.title;
  document.title = `${view.title} · ${board.batch.recipe}`;
  place.body.replaceChildren(...troubleWords(), ...view.body, ...storageWords());
  place.actions.replaceChildren(...view.actions);
  showAround(board, safety);
  if (!focus) return;
  scrollTo(0, 0);
  (view.focus ? document.querySelector(view.focus) : place.title).focus();
}

/** Bar, strip and safety range: what may change while someone types. */
function showAround(board, safety) {
  const { words, way } = barOf(board, now.deeds, now.network);
  // A screen reader hears it when it has changed, and not each time it is looked at.
  if (place.bar.textContent !== words) place.bar.textContent = words;
  place.way.replaceChildren(...(way ? [part("way", { way })] : []));
  place.since.replaceChildren(...sinceLye(board));
  showSafety(board, safety);
  showProgress(board);
}

/** Of the card by its lines; while the batter is split, by its jugs. */
function showProgress(board) {
  const splits = stepOf(board) === "split";
  const all = splits ? board.jugs : board.lines;
  const done = splits ? jugsDone(board) : all.length - waiting(board).length;
  place.progress.hidden = false;
  place.progress.ariaLabel = `${done} of ${all.length} done`;
  place.progress.replaceChildren(...all.map((one, index) => stretch(index - done)));
}

/** The safety range and the way back; left alone while they are the same, so that no tap on them is lost. */
function showSafety(board, safety) {
  const remedy = remedyOf(board, now.deeds, safety);
  const shown = JSON.stringify([safety, remedy]);
  if (shown === now.shown) return;
  now.shown = shown;
  place.safety.replaceChildren(...safetyFoot(board, safety, remedy, act));
  place.remedy.replaceChildren(...remedyParts(board, remedy, act));
}

function stretch(ahead) {
  const span = document.createElement("span");
  span.className = ahead < 0 ? "progress-done" : ahead ? "progress-left" : "progress-now";
  return span;
}

function viewOf(board, safety) {
  const [name, question = ""] = location.hash.slice(1).split("?");
  if (name === "choose") return choose(now.deeds, act) ?? nextView(board, safety);
  const asked = new URLSearchParams(question);
  return VIEWS[name]?.(board, asked, act, safety) ?? nextView(board, safety);
}

function nextView(board, safety) {
  const next = stepOf(board);
  if (next === "poured") return afterPour(board, now.deeds);
  const name = next === "confirm" ? "pour" : next;
  return VIEWS[name](board, new URLSearchParams(), act, safety);
}

function showLost() {
  place.kicker.textContent = "On this phone";
  place.title.textContent = "Not kept yet";
  place.body.replaceChildren(part("lost"));
  place.bar.textContent = "Nothing of this batch is on this phone.";
}

function troubleWords() {
  if (!now.trouble) return [];
  const words = document.createElement("p");
  words.className = "notice notice-watch";
  words.textContent = now.trouble;
  now.trouble = "";
  return [words];
}

function storageWords() {
  return [part("kept"), ...(now.promised ? [] : [part("storage")])];
}

// --- what goes on by itself --------------------------------------------------------------------------------

/** Forms that were caught become deeds; what cannot be read is said. */
async function takeCaught() {
  for (const form of await outbox.caughtForms(batch)) {
    const made = await deedsOfForm(form, now.pack, now.deeds);
    for (const { kind, content, ...more } of made.deeds) {
      await outbox.add(batch, now.pack.person.id, kind, content, more);
    }
    if (made.trouble) now.trouble = `What you sent last was not kept: ${made.trouble}`;
    await outbox.forgetCaught(form.id);
    await read();
  }
}

/** Sends what waits, fetches the batch anew where that is due, and shows what has changed. */
async function step() {
  if (!now.pack || now.stepping) return;
  now.stepping = true;
  try {
    await sendAndFetch();
  } finally {
    now.stepping = false;
  }
}

async function sendAndFetch() {
  const stuckBefore = now.deeds.find(needsMaker)?.key;
  const ended = await sendAll(refresh);
  const isOld = now.network !== "there" || Date.now() - now.fetchedAt > SEEN_FOR;
  if (ended === "offline" || ended === "signed_out") now.network = ended;
  else if (ended !== "nothing" || isOld) await fetchPack();
  await refresh();
  // At the end of a pour nothing else is to be done; in the middle of it the bar says so.
  const stuck = now.deeds.find(needsMaker);
  const isPoured = stepOf(boardOf(now.pack, now.deeds)) === "poured";
  if (stuck && stuck.key !== stuckBefore && isPoured) await go("choose");
}

async function fetchPack() {
  const fresh = await freshPack(batch);
  now.fetchedAt = Date.now();
  if (typeof fresh === "string") {
    now.network = fresh;
    return;
  }
  Object.assign(now, { network: "there", pack: fresh });
  await outbox.forgetIfDone(fresh.batch);
}

async function refresh() {
  await read();
  const board = boardOf(now.pack, now.deeds);
  const onlyShown = !location.hash && stepOf(board) === "poured";
  if (onlyShown) show({ focus: false });
  else showAround(board, safetyOf(board, now.deeds));
}

async function begin() {
  const theme = /(?:^|; )theme=(\w+)/.exec(document.cookie)?.[1];
  if (theme) document.documentElement.dataset.theme = theme;
  const [, from] = /^\/batches\/\d+\/(\w+)\//.exec(location.pathname);
  const line = from === "weigh" && new URLSearchParams(location.search).get("line");
  const hash = line ? `#weigh?line=${line}` : OF_PAGES[from] ? `#${OF_PAGES[from]}` : location.hash;
  history.replaceState(null, "", `/batches/${batch}/pocket/${hash}`);
  now.promised = await navigator.storage?.persisted?.();
  await read();
  if (!now.pack) await fetchPack();
  await read();
  if (now.pack) await takeCaught();
  if (now.deeds.some(needsMaker) && !hash) history.replaceState(null, "", "#choose");
  show();
  await step();
}

addEventListener("popstate", () => show());
addEventListener("online", step);
document.addEventListener("visibilitychange", () => document.visibilityState === "visible" && step());
setInterval(() => document.visibilityState === "visible" && step(), EVERY);
begin();
