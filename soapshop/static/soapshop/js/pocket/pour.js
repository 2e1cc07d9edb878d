// The last look, the pour, and what then waits.

import { lastWeighed, leftOut, stepOf, weighed } from "./board.js";
import { complain, part } from "./parts.js";
import { photoOf } from "./picture.js";
import { amount, clock, difference, things, weight } from "./words.js";

/** `safety` is {trouble} or {verdict}: see safety_foot.js. */
export function pour(board, asked, act, safety) {
  if (!board.pour && stepOf(board) !== "confirm") return null;
  const stop = safety.verdict === "stop";
  const { owner } = board.pack.person;
  const form = part("pour", {
    why: stop && owner,
    "only-owner": stop && !owner,
    lines: board.lines.map((line) => lineOf(board, line)),
    total: weight(
      board.lines.reduce((total, line) => total + (line.counted ? 0 : weighed(line)), 0),
      board.pack,
    ),
    form: ({ target }) => poured(target, board, act),
  });
  refill(form, board.pour);
  const last = lastWeighed(board)?.line ?? board.lines.at(-1);
  const actions = part("pour-actions", {
    back: { href: board.pour ? "#" : `#weigh?line=${last.id}` },
    poured: { form: "pour", ...((safety.trouble || (stop && !owner)) && { disabled: "" }) },
  });
  return { kicker: board.batch.code, title: "Pour", body: [form], actions: [actions] };
}

export function afterPour(board, deeds) {
  const waits = deeds.filter(({ state }) => state !== "sent").length;
  const pourWaits = board.pour && board.pour.state !== "sent";
  // One that may be on its way to the server is not changed any more.
  const mayChange = pourWaits && (board.pour.tries === 0 || board.pour.state === "refused");
  const waiting = `${things(waits)} ${waits === 1 ? "waits" : "wait"} to be sent.`;
  const state = waits ? waiting : "Everything is in the workshop's book.";
  const body = part("poured", {
    state,
    change: mayChange,
    record: !waits && { href: board.batch.urls.batch },
  });
  return {
    kicker: board.batch.code,
    title: pourWaits
      ? `Poured on this phone at ${clock(board.pouredAt)}`
      : `Poured at ${clock(board.pouredAt)}`,
    body: [body],
    actions: [],
  };
}

async function poured(form, board, act) {
  const why = form.elements.stop_reason?.value.trim() ?? "";
  if (form.elements.stop_reason && !why) {
    return complain(form, "stop_reason", "Write down why, or make it safe first.");
  }
  const content = { stop_reason: why, words: form.elements.words.value.trim() };
  const photo = await photoOf(form);
  if (board.pour) return act.change(board.pour, { content, ...(photo && { photo }) });
  return act.deed("pour", content, "", photo);
}

function refill(copy, before) {
  if (!before) return;
  copy.querySelector("[name=words]").value = before.content.words ?? "";
  const why = copy.querySelector("[name=stop_reason]");
  if (why) why.value = before.content.stop_reason ?? "";
}

function lineOf(board, line) {
  const lots = new Map();
  for (const { lot_code: code, quantity } of line.weighings) lots.set(code, (lots.get(code) ?? 0) + quantity);
  const several = lots.size > 1;
  const codes = [...lots].map(([code, taken]) =>
    several ? `${code} ${amount(taken, line, board.pack)}` : code,
  );
  const over = weighed(line) - line.planned;
  return part("pour-line", {
    material: line.material,
    lots: codes.join(", "),
    planned: line.extra ? "beyond it" : amount(line.planned, line, board.pack),
    weighed: leftOut(line) ? "left out" : amount(weighed(line), line, board.pack),
    difference: !line.extra && !leftOut(line) && over !== 0 && difference(over, board.pack, line),
  });
}
