// What waits on this phone: the bar on top of the bench, and the choices where the book had moved on.

import { span } from "../timers.js";
import { part } from "./parts.js";
import { things } from "./words.js";

const WORDS_OF = {
  held: "needs your choice",
  refused: "was not taken",
  not_allowed: "is not yours to do",
};

export const needsMaker = (deed) => deed.state in WORDS_OF;

/** How long the lye has been in, for as long as that matters. */
export function sinceLye({ lyeMixedAt, pouredAt }) {
  if (!lyeMixedAt || pouredAt) return [];
  const words = span(Date.now() - new Date(lyeMixedAt));
  return [part("since", { timer: { text: words, "data-since": lyeMixedAt } })];
}

/** What waits, as {words, way}: the way leads to what can be done about it. `network` is what sending came to. */
export function barOf({ batch }, deeds, network) {
  const waits = deeds.filter(({ state }) => state !== "sent");
  const stuck = waits.find(needsMaker);
  const other = waits.find(({ state }) => state === "other_person");
  const all = `On this phone: ${waits.length} waiting.`;
  if (network === "signed_out") return signIn(waits.length);
  if (stuck)
    return { words: `${all} One ${WORDS_OF[stuck.state]}.`, way: { text: "Look at it", href: "#choose" } };
  if (other) return { words: other.answer.words, way: { text: "Sign in", href: signInAddress() } };
  if (waits.length) return { words: `${all} ${network === "offline" ? "No network." : "Sending."}` };
  if (network === "offline") return { words: "No network. Go on: it is kept on this phone." };
  if (network === "unknown") return { words: "On this phone." };
  const open = batch.state === "planned";
  const way = {
    text: open ? "Go on there" : "To the batch",
    href: open ? batch.urls.weigh : batch.urls.batch,
  };
  return { words: "There is network, and nothing waits.", way };
}

/** The first deed that the maker has to decide about, with one button a choice. */
export function choose(deeds, act) {
  const deed = deeds.find(needsMaker);
  if (!deed) return null;
  const { title, words, choices = [] } = deed.answer;
  const buttons = choices.map((choice) => button(choice.words, () => act.choose(deed, choice)));
  if (deed.state !== "held") buttons.push(...afterRefusal(deed, act));
  const body = part("choice", { words, choices: buttons, what: act.tell(deed) });
  return {
    kicker: "On this phone",
    title: title ?? `This ${WORDS_OF[deed.state]}`,
    body: [body],
    actions: [part("later")],
  };
}

function afterRefusal(deed, act) {
  const buttons = [button("Keep it aside, in the record only", () => act.aside(deed))];
  if (deed.kind === "pour") buttons.unshift(button("Look it over again", () => act.go("pour")));
  if (deed.state === "not_allowed") buttons.unshift(button("Try once more", () => act.again(deed)));
  return buttons;
}

function button(words, tapped) {
  return part("choice-button", { choose: { text: words, tapped } });
}

function signIn(count) {
  const words = count ? `Sign in to send ${things(count)}.` : "You are signed out.";
  return { words, way: { text: "Sign in", href: signInAddress() } };
}

function signInAddress() {
  return `/sign-in/?next=${encodeURIComponent(location.pathname)}`;
}
