// Stands between the pages and the network: a bench page that does not come is answered with the batch as it
// is kept on this phone, a form that does not get through is caught, and nothing else private is stored.
// `self.soapshop` tells the address of the page for no network, its files, and the version of the app.

const { matchPrecache, precacheAndRoute } = workbox.precaching;
const { registerRoute } = workbox.routing;
const { NetworkOnly } = workbox.strategies;

const AT_THE_BENCH = /^\/batches\/(\d+)\/(weigh|lye|split|pour|events|add)\//;
const POCKET = /^\/batches\/(\d+)\/pocket\/$/;
const PAGES = "pocket";
const FILES = "pocket-files";
const BAD_GATEWAYS = [502, 503, 504]; // said by a proxy that does not reach the workshop's computer
const AN_HOUR = 60 * 60 * 1000;
const LONGEST_WAIT = { page: 4, form: 6 }; // seconds

const pocketOf = (batch) => `/batches/${batch}/pocket/`;
const batchOf = (address) => AT_THE_BENCH.exec(new URL(address).pathname)?.[1];
const kept = (address) => caches.match(address, { ignoreVary: true });

// --- answering ---------------------------------------------------------------------------------------------

const { offline, version, files } = self.soapshop;
precacheAndRoute([
  { url: offline, revision: version },
  ...files.map((url) => ({ url, revision: /\.[0-9a-f]{12}\./.test(url) ? null : version })),
]);

const gateway = {
  fetchDidSucceed({ response }) {
    if (BAD_GATEWAYS.includes(response.status)) throw new Error("The workshop's computer was not reached.");
    return response;
  },
};

async function withoutNetwork({ request }) {
  const batch = batchOf(request.url);
  return (batch && (await kept(pocketOf(batch)))) || matchPrecache(offline);
}

const page = new NetworkOnly({ plugins: [gateway, { handlerDidError: withoutNetwork }] });
const benchPage = new NetworkOnly({
  networkTimeoutSeconds: LONGEST_WAIT.page,
  plugins: [gateway, { handlerDidError: withoutNetwork }],
});
const benchForm = new NetworkOnly({
  networkTimeoutSeconds: LONGEST_WAIT.form,
  plugins: [
    gateway,
    {
      async requestWillFetch({ request, state }) {
        state.copy = request.clone();
        return request;
      },
      handlerDidError: ({ state }) => caught(state.copy),
    },
  ],
});

async function stored({ request }) {
  return (await kept(request.url)) ?? fetch(request);
}

registerRoute(({ url, sameOrigin }) => sameOrigin && url.pathname.startsWith("/static/"), stored);
registerRoute(
  ({ url, request }) => request.mode === "navigate" && POCKET.test(url.pathname),
  async (asked) => {
    return (await kept(asked.url.pathname)) ?? page.handle(asked);
  },
);
registerRoute(
  ({ url, request }) => request.mode === "navigate" && AT_THE_BENCH.test(url.pathname),
  benchPage,
);
registerRoute(({ request }) => request.mode === "navigate", page);
registerRoute(({ url }) => AT_THE_BENCH.test(url.pathname), benchForm, "POST");

// --- catching ----------------------------------------------------------------------------------------------

/** Stores a form that did not get through, and leads to the batch as it is kept here. */
async function caught(request) {
  const batch = batchOf(request.url);
  if (!(await kept(pocketOf(batch)))) return Response.error();
  const fields = [...(await request.formData())].filter(([name]) => name !== "csrfmiddlewaretoken");
  const { pathname, search } = new URL(request.url);
  const database = await pocketDatabase.open();
  await database.add("caught", {
    batch: Number(batch),
    path: pathname,
    search,
    fields,
    at: new Date().toISOString(),
  });
  database.close();
  if (request.mode === "navigate") return Response.redirect(pocketOf(batch), 303);
  return new Response("", { headers: { "HX-Redirect": pocketOf(batch) } });
}

// --- keeping -----------------------------------------------------------------------------------------------

const underway = new Map();

self.addEventListener("message", (event) => {
  const { keep } = event.data;
  if (!keep) return;
  if (!underway.has(keep))
    underway.set(
      keep,
      keepBatch(keep).finally(() => underway.delete(keep)),
    );
  const done = underway.get(keep).then(
    () => event.source?.postMessage({ kept: keep }),
    () => {}, // no network in the middle of it: the next page tries again
  );
  event.waitUntil(done);
});

/** Stores what a batch needs to be poured without network: its pack, its page, and the files of the page. */
async function keepBatch(batch) {
  const askedAt = Date.now();
  const answer = await fetch(`/batches/${batch}/pack.json`, { cache: "no-store" });
  if (!answer.ok) throw new Error(`No pack: ${answer.status}`);
  const database = await pocketDatabase.open();
  const pack = await answer.json();
  await pocketDatabase.keepPack(database, pack, askedAt);
  if (!(await pocketDatabase.forgetIfDone(database, pack.batch))) await keepFreshPage(database, batch);
  database.close();
}

async function keepFreshPage(database, batch) {
  const row = await database.get("packs", batch);
  const isFresh = row.version === version && Date.now() - row.pageAt < AN_HOUR;
  if (isFresh && (await kept(pocketOf(batch)))) return;
  await keepPage(batch);
  await database.put("packs", { ...(await database.get("packs", batch)), version, pageAt: Date.now() });
}

async function keepPage(batch) {
  const answer = await fetch(pocketOf(batch), { cache: "no-store" });
  if (!answer.ok || answer.redirected) throw new Error(`No page: ${answer.status}`);
  const store = await caches.open(FILES);
  const named = filesOf(await answer.clone().text());
  const missing = await Promise.all(named.map(async (url) => ((await kept(url)) ? [] : [url])));
  await store.addAll(missing.flat());
  await (await caches.open(PAGES)).put(pocketOf(batch), answer);
}

function filesOf(html) {
  return [...new Set([...html.matchAll(/(?:href|src)="(\/static\/[^"#]+)/g)].map(([, url]) => url))];
}

/** Forgets files that no kept page names any more. */
async function tidy() {
  const pages = await (await caches.open(PAGES)).matchAll();
  const named = (await Promise.all(pages.map((one) => one.text()))).flatMap(filesOf);
  const store = await caches.open(FILES);
  for (const { url } of await store.keys()) {
    if (!named.includes(new URL(url).pathname)) await store.delete(url);
  }
}

// A new worker may take over at once: a kept page has its own files beside it, and nothing is held in memory.
self.addEventListener("install", () => self.skipWaiting());
self.addEventListener("activate", (event) => event.waitUntil(Promise.all([self.clients.claim(), tidy()])));
