// What is seen, measured or said at the bench, with its time: a word by one tap.

import { span } from "../timers.js";
import { complain, part } from "./parts.js";
import { photoOf } from "./picture.js";
import { parseTemperature } from "./quantity.js";
import { clock, degrees } from "./words.js";

export function events(board, asked, act) {
  const { pack } = board;
  const kinds = pack.event_kinds.filter(({ kind }) => kind !== "note");
  const log = (kind, content, photo) => act.deed("event", { kind, ...content }, "events", photo);
  const words = kinds
    .filter(({ temperature }) => !temperature)
    .map(({ kind, label }) => part("word", { word: { text: label, tapped: () => log(kind, {}) } }));
  const temperatures = kinds
    .filter(({ temperature }) => temperature)
    .map(({ kind, label }) =>
      part("word", { word: { text: label, tapped: (event) => measured(event, kind) } }),
    );
  function measured({ currentTarget }, kind) {
    const celsius = celsiusOf(currentTarget.form, pack);
    if (celsius !== null) log(kind, { celsius: celsius.toFixed(1) });
  }
  async function noted({ target }) {
    const said = target.elements.words.value.trim();
    const photo = await photoOf(target);
    if (said || photo) log("note", { words: said }, photo);
    else complain(target, "words", "Write a few words, or take a photo.");
  }
  const body = part("events", {
    words,
    degrees: pack.units === "us" ? "°F" : "°C",
    temperatures,
    temperature: () => {},
    note: noted,
    "so-far": board.events.length > 0,
    log: board.events.toReversed().map((event) => happened(board, event, act)),
  });
  return { title: "What happens", body: [body], actions: [part("events-actions")] };
}

// One that has not gone off yet can be taken back here.
function happened(board, event, act) {
  const { words, celsius, photo, label, at } = event;
  const told = celsius ? `${label}: ${degrees(celsius, board.pack)}` : label;
  const afterLye = board.lyeMixedAt ? new Date(at) - new Date(board.lyeMixedAt) : 0;
  const beside = [
    afterLye > 0 && `${span(afterLye)} after lye in`,
    photo && "with a photo",
    event.here && "on this phone",
  ];
  return part("happened", {
    time: clock(at),
    words: words && label !== words ? `${told}. ${words}` : told,
    beside: beside.filter(Boolean).join(", "),
    "take-back": event.tries === 0 && (() => act.takeBack(event.key)),
  });
}

/** Degrees Celsius, or null where the field now says what is wrong. */
function celsiusOf(form, pack) {
  try {
    const celsius = parseTemperature(form.elements.celsius.value, pack.units);
    complain(form, "celsius");
    return celsius;
  } catch (error) {
    complain(form, "celsius", error.message);
    return null;
  }
}
