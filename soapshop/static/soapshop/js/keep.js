// Keeps the batch at the bench on this phone, says how many things wait on it, and sends them; when nobody is
// signed in any more, forgets what was kept. What waits to be sent is never forgotten.

const BENCH = /^\/batches\/(\d+)\/(weigh|lye|split|pour|events|add)\//;
const RECORD = /^\/batches\/(\d+)\/$/;
const EVERY = 10_000; // milliseconds
const { person } = document.body.dataset;

async function keep() {
  const [, onBench] = BENCH.exec(location.pathname) ?? [];
  const [, onRecord] = RECORD.exec(location.pathname) ?? [];
  // A browser that does not trust the certificate of the address refuses.
  const registered = await navigator.serviceWorker.register("/service-worker.js").catch(() => null);
  if (!registered || (!onBench && !onRecord)) return;
  const kept = async () => (await import("./pocket/outbox.js")).keptPack(Number(onRecord));
  // The record tells whether the batch was poured meanwhile: then it need not be kept any more.
  if (onRecord && !(await kept())) return;
  const { active } = await navigator.serviceWorker.ready;
  active.postMessage({ keep: Number(onBench ?? onRecord) });
  if (onBench) await navigator.storage?.persist?.();
}

async function send() {
  const place = document.getElementById("waiting");
  if (!place) return; // the bench in the pocket sends by itself
  const { allWaiting } = await import("./pocket/outbox.js");
  const { sendAll } = await import("./pocket/sender.js");
  const show = async () => {
    const waits = await allWaiting();
    const links = waits.length ? [linkTo(waits)] : [];
    if (place.textContent !== (links[0]?.textContent ?? "")) place.replaceChildren(...links);
  };
  const step = async () => {
    await sendAll(show);
    await show();
  };
  addEventListener("online", step);
  document.addEventListener("visibilitychange", step);
  setInterval(step, EVERY);
  await show();
  await step();
}

function linkTo(waits) {
  const stuck = waits.find(({ state }) => state && state !== "waiting");
  const link = document.createElement("a");
  link.className = "message warning waiting";
  link.href = `/batches/${(stuck ?? waits[0]).batch}/pocket/`;
  link.textContent = `On this phone: ${waits.length} waiting${stuck ? ", one of them for you" : ""}`;
  return link;
}

async function forget() {
  if (!(await caches.has("pocket"))) return;
  const { database } = await import("./pocket/outbox.js");
  await (await database()).clear("packs");
  await caches.delete("pocket");
}

if ("serviceWorker" in navigator && window.isSecureContext) {
  navigator.serviceWorker.addEventListener("message", ({ data }) => {
    if (data.kept) document.body.dataset.kept = data.kept;
  });
  if (person === "") forget();
  else if (person) Promise.all([keep(), send()]);
}
