// Without network: which batches are kept on this phone, with the way to their bench.

import { allWaiting, keptPacks } from "./outbox.js";
import { part } from "./parts.js";
import { things } from "./words.js";

const theme = /(?:^|; )theme=(\w+)/.exec(document.cookie)?.[1];
if (theme) document.documentElement.dataset.theme = theme;

const [packs, deeds] = await Promise.all([keptPacks(), allWaiting()]);
const rows = packs.map(({ batch: { id, code, recipe } }) => {
  const waits = deeds.filter((deed) => deed.batch === id).length;
  return part("kept-batch", {
    name: { text: recipe, href: `/batches/${id}/pocket/` },
    code,
    waits: waits > 0 && `${things(waits)} waiting to be sent`,
  });
});
document
  .getElementById("kept")
  .replaceChildren(...(rows.length ? [part("kept-batches", { rows })] : [part("none-kept")]));
